"""One text being read, with what it is read by, and how its errors are worded."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from shared.bag import Bag
from shared.errors import ShotTextError
from shared.kit import Kit
from shared.shot_text.name_index import NameIndex
from shared.shot_text.write import example_shot, format_shot
from shared.units import UnitSystem

MAX_TEXT = 300  # characters; a shot with everything said takes about 150
MAX_QUOTE = 40


@dataclass(frozen=True, slots=True)
class Source:
    """The text as typed and everything its meaning depends on."""

    text: str
    kit: Kit
    index: NameIndex
    units: UnitSystem
    bearing_deg: float | None
    bag: Bag

    def quote(self, start: int, end: int) -> str:
        """What stands from ``start`` to ``end``, in quotation marks, for a sentence."""
        return quoted(self.text[start:end])

    def error(
        self,
        sentence: str,
        *,
        start: int,
        end: int,
        more: str = "",
        wind: str = "",
        instead: Sequence[str] = (),
    ) -> ShotTextError:
        """An error about a place in the text.

        The example is a whole question, with ``more`` behind it or with ``wind`` for its wind.
        ``instead`` are texts one of which may have been meant at that place.
        """
        example = format_shot(example_shot(self.kit, self.units))
        if wind:
            example = ", ".join([wind, *example.split(", ")[1:]])
        whole = [self.text[:start] + each + self.text[end:] for each in instead]
        return ShotTextError(
            sentence=sentence,
            example=f"{example}, {more}" if more else example,
            given=clipped(self.text),
            start=min(start, MAX_TEXT),
            end=min(end, MAX_TEXT),
            suggestions=tuple(dict.fromkeys(whole)),
        )


def clipped(text: str) -> str:
    """The text, cut where it is longer than any shot text."""
    return text if len(text) <= MAX_TEXT else text[:MAX_TEXT] + "…"


def quoted(typed: str) -> str:
    """A piece of typed text, made printable and short, in quotation marks."""
    visible = (letter for letter in typed if unicodedata.category(letter) != "Cf")
    shown = "".join(letter if letter.isprintable() else "\ufffd" for letter in visible).strip()
    return f"“{shown if len(shown) <= MAX_QUOTE else shown[:MAX_QUOTE] + '…'}”"


def listed(names: Sequence[str], *, last: str = "and") -> str:
    """ "a, b and c" """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
