"""One text being read, with what it is read by, and how its errors are worded."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from shared.errors import ShotTextError
from shared.kit import Kit
from shared.shot_text.names import NameIndex
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

    def piece(self, start: int, end: int) -> str:
        """What stands from ``start`` to ``end``, in quotation marks, for a sentence."""
        return quoted(self.text[start:end])

    def error(
        self, sentence: str, *, start: int, end: int, more: str = "", wind: str = ""
    ) -> ShotTextError:
        """An error about a place in the text.

        The example is a whole question, with ``more`` behind it or with ``wind`` for its wind.
        """
        example = format_shot(example_shot(self.kit, self.units))
        if wind:
            example = ", ".join([wind, *example.split(", ")[1:]])
        return ShotTextError(
            sentence=sentence,
            example=f"{example}, {more}" if more else example,
            given=clipped(self.text),
            start=min(start, MAX_TEXT),
            end=min(end, MAX_TEXT),
        )


def clipped(text: str) -> str:
    """The text, cut where it is longer than any shot text."""
    return text if len(text) <= MAX_TEXT else text[:MAX_TEXT] + "…"


def quoted(piece: str) -> str:
    """A piece of typed text, made printable and short, in quotation marks."""
    visible = (letter for letter in piece if unicodedata.category(letter) != "Cf")
    shown = "".join(letter if letter.isprintable() else "\ufffd" for letter in visible).strip()
    return f"“{shown if len(shown) <= MAX_QUOTE else shown[:MAX_QUOTE] + '…'}”"


def listed(names: Sequence[str], *, last: str = "and") -> str:
    """ "a, b and c" """
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
