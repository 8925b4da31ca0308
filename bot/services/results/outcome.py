"""What became of a try: read from what a member typed, and said in words."""

import re
from dataclasses import dataclass, replace

from shared.errors import InputError
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import offset_in
from storage.played import Played
from storage.tallies import LineTally


def tries_words(count: float) -> str:
    """'1 try', '14 tries'."""
    return f"{count:g} {'try' if count == 1 else 'tries'}"


def tally_words(tally: LineTally) -> str:
    """'14 tries, 5 went in'."""
    return f"{tries_words(tally.tries)}, {tally.holed} went in"


def note_rows(tallies: list[LineTally]) -> list[str]:
    """'**A** 14 tries, 5 went in', a row a variant."""
    rows = sorted(tallies, key=lambda tally: tally.variant)
    return [f"**{each.variant}** {tally_words(each)}" for each in rows]


def outcome_words(played: Played, units: UnitSystem) -> str:
    """'went in', 'missed: 5.0 yd short, 3.0 right', 'missed'."""
    if played.holed:
        return "went in"
    if played.miss_cm is None:
        long, right = played.missed_side or (0, 0)
        named = [("", "long", "short")[long], ("", "right", "left")[right]]
        return ", ".join(["missed", *(way for way in named if way)])
    long, right = (value / 100 / METRES_PER_YARD for value in played.miss_cm)
    words = offset_in(units, right_yd=right, long_yd=long)
    return "missed by next to nothing" if words == "none" else f"missed: {words}"


EXAMPLE = "5 short, 3 right"
MOST_MISS_M = 300 * METRES_PER_YARD  # farther off, and it was another shot that was meant
WENT_IN = frozenset({"in", "went in", "it went in", "holed", "hole in one", "ace", "worked"})
SIDES = {"long": (1, 0), "short": (-1, 0), "right": (0, 1), "left": (0, -1)}
VAGUE = frozenset({"missed", "miss", "a", "bit", "little", "just", "slightly", "it", "was", "far"})
UNKNOWN = frozenset({"", "missed", "miss", "no", "out"})
_NUMBER = r"(?P<{0}>\d+(?:[.,]\d+)?|[.,]\d+)"
_METRES = ("m", "metre", "metres", "meter", "meters")
_YARDS = ("y", "yd", "yds", "yard", "yards")
_FILLING = re.compile(r"[\s,;.&+]+|\band\b", re.IGNORECASE)


@dataclass(frozen=True)
class Outcome:
    """Went in, or a miss: long + and right +, in ``unit``; ``known`` False: nobody said how far,
    and ``side`` is which way, (long +1, right +1), as far as that was said."""

    holed: bool
    long: float = 0.0
    right: float = 0.0
    unit: str = "yd"
    known: bool = True
    side: tuple[int, int] = (0, 0)

    def miss_m(self, *, mark_m: float) -> tuple[float, float] | None:
        """The miss (long, right) in metres; None where it isn't known."""
        if not self.known:
            return None
        scale = {"yd": METRES_PER_YARD, "m": 1.0, "marks": mark_m}[self.unit]
        return self.long * scale, self.right * scale


HOLED = Outcome(holed=True)
NOT_KNOWN = Outcome(holed=False, known=False)


def read_outcome(text: str, *, units: UnitSystem, mark: str) -> Outcome:
    """'in', '5 short, 3 right', '2 marks long'; nothing typed is a miss nobody measured.

    A number without a unit is in the reader's ``units``; ``mark`` is the kit's name of a mark.
    Errors: InputError.
    """
    said = " ".join(text.casefold().split()).rstrip(".!")
    if said in WENT_IN:
        return HOLED
    if said in UNKNOWN:
        return NOT_KNOWN
    offsets: dict[str, float] = {}
    used: set[str] = set()
    rest = said
    for match in _pattern(mark).finditer(said):
        way = match["way"] or match["before"]
        axis = "long" if way in ("long", "short") else "right"
        number = float((match["number"] or match["after"]).replace(",", "."))
        if axis in offsets:
            raise _wrong("That says twice how far it missed one way.", text)
        offsets[axis] = number if way in ("long", "right") else -number
        word = match["unit"] or match["unit_after"]
        if word:  # one unit named holds for both ways
            used.add(_unit(word, units))
        rest = rest.replace(match[0], " ", 1)
    if not offsets and (side := _side(said)) is not None:
        return replace(NOT_KNOWN, side=side)
    if not offsets or _FILLING.sub("", rest):
        raise _wrong("Say whether it went in, or how far it missed and which way.", text)
    if len(used) > 1:
        raise _wrong("Give both ways in one unit.", text)
    long, right = offsets.get("long", 0.0), offsets.get("right", 0.0)
    unit = used.pop() if used else _unit("", units)
    return _within(Outcome(False, long, right, unit=unit), text)


def _side(said: str) -> tuple[int, int] | None:
    """Which way, where that is all that was said: 'missed, short', 'left'."""
    words = _FILLING.sub(" ", said).split()
    sides = [word for word in words if word in SIDES]
    if not sides or len(sides) > 2 or any(w not in SIDES and w not in VAGUE for w in words):
        return None
    long, right = (sum(SIDES[word][axis] for word in sides) for axis in (0, 1))
    once = len({SIDES[word].index(0) for word in sides}) == len(sides)
    return (long, right) if once else None


def _pattern(mark: str) -> re.Pattern[str]:
    own = re.escape(mark.casefold())
    units = "|".join((*_YARDS[::-1], *_METRES[::-1], "marks?", f"{own}(?:e?s)?"))
    ways = "long|short|left|right"
    return re.compile(
        rf"(?:{_NUMBER.format('number')}\s*(?P<unit>{units})?\s*(?P<way>{ways})\b)"
        rf"|(?:\b(?P<before>{ways})\s+(?:by\s+)?{_NUMBER.format('after')}\s*"
        rf"(?P<unit_after>(?:{units})\b)?)"
    )


def _unit(word: str, units: UnitSystem) -> str:
    if not word:
        return "m" if units == "metric" else "yd"
    if word in _METRES:
        return "m"
    return "yd" if word in _YARDS else "marks"


def _within(outcome: Outcome, text: str) -> Outcome:
    farthest = outcome.miss_m(mark_m=METRES_PER_YARD) or (0.0, 0.0)
    if max(map(abs, farthest)) > MOST_MISS_M:
        raise _wrong("A miss is at most 300 yards.", text)
    return outcome


def _wrong(sentence: str, text: str) -> InputError:
    return InputError(sentence, EXAMPLE, text)
