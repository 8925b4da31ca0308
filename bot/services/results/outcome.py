"""What became of a try: read from what a member typed, and said in words."""

import re
from dataclasses import dataclass, replace
from typing import cast

from engine.response_mistake import Mistake
from shared.errors import InputError
from shared.keys import variant_order
from shared.landing_text import AT_THE_HOLE, parse_landing
from shared.miss_text import MISS_EXAMPLE, SEVERAL_EXAMPLE, Miss
from shared.units import METRES_PER, METRES_PER_YARD, LengthUnit, UnitSystem
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
    rows = sorted(tallies, key=lambda tally: variant_order(tally.variant))
    return [f"**{each.variant}** {tally_words(each)}" for each in rows]


def outcome_words(played: Played, units: UnitSystem) -> str:
    """'went in', 'missed: 5.0 yd short, 3.0 right', 'came down 3.0 yd short, ended 2.0 yd long'."""
    if played.several is not None:
        return f"{tries_words(played.tries)}, {played.went_in} went in"
    if parts := _named(played, units):
        return ", ".join([*parts, *(["went in"] if played.holed else [])])
    if played.holed:
        return "went in"
    if played.miss_cm is None:
        side = side_words(played.missed_side or (0, 0))
        return f"missed: {side}, not measured" if side else "missed"
    words = _offset_words(played.miss_cm, units)
    return "missed by next to nothing" if words == "none" else f"missed: {words}"


def _named(played: Played, units: UnitSystem) -> list[str]:
    """Where it came down and ended, by name, where more is known than a plain miss."""
    if not played.onto and played.ended_cm is None and not (played.holed and _is_off(played)):
        return []
    places = (("came down", played.miss_cm), ("ended", played.ended_cm))
    said = [(how, _offset_words(at, units)) for how, at in places if at is not None]
    return [f"{how} {AT_THE_HOLE if words == 'none' else words}" for how, words in said]


def _is_off(played: Played) -> bool:
    return played.miss_cm is not None and any(played.miss_cm)


def _offset_words(at_cm: tuple[int, int], units: UnitSystem) -> str:
    long, right = (value / 100 / METRES_PER_YARD for value in at_cm)
    return offset_in(units, right_yd=right, long_yd=long)


def typed_words(played: Played, units: UnitSystem) -> str:
    """``outcome_words`` as a member would type them: 'in', '5.0 yd short', 'left'."""
    if played.several is not None:
        return f"{played.tries} tries, {played.went_in} in"
    if parts := _named(played, units):
        return ", ".join([*parts, *(["in"] if played.holed else [])])
    if played.holed:
        return "in"
    if played.miss_cm is None:
        return side_words(played.missed_side or (0, 0)) or "missed"
    return outcome_words(played, units).removeprefix("missed: ")


EXAMPLE = MISS_EXAMPLE
QUESTIONS = {
    Mistake.MIRRORED: "This would fit a wind from the other side, left for right: was it that?",
    Mistake.SWAPPED: "This would fit a helping wind for one into, or the other way: was it that?",
    Mistake.REVERSED: "This would fit a wind from just the opposite way: was it that?",
}


def mistake_question(mistake: Mistake) -> str:
    """What to ask of whoever may have typed a wind the wrong way round; empty for nobody."""
    return QUESTIONS.get(mistake, "")


@dataclass(frozen=True)
class Outcome:
    """Went in, or a miss: long + and right +, in ``unit``; ``known`` False: nobody measured it.

    ``side`` is all that is known of a miss nobody measured: (long, right) as -1, 0 or 1.
    ``several`` are (tries, went in) of tries told at once, whose misses nobody measured.
    ``named``: the miss is where it came down, said so, or ``known`` is False; ``ended`` is where it
    ended then, None where that was not said or it went in.
    """

    holed: bool
    long: float = 0.0
    right: float = 0.0
    unit: str = "yd"
    known: bool = True
    side: tuple[int, int] | None = None
    several: tuple[int, int] | None = None
    named: bool = False
    ended: "Outcome | None" = None

    def miss_m(self, *, mark_m: float) -> tuple[float, float] | None:
        """The miss (long, right) in metres; None where it isn't known."""
        if not self.known:
            return None
        scale = mark_m if self.unit == "marks" else METRES_PER[cast(LengthUnit, self.unit)]
        return self.long * scale, self.right * scale


HOLED = Outcome(holed=True)
NOT_KNOWN = Outcome(holed=False, known=False)


def read_outcome(text: str, *, units: UnitSystem, mark: str) -> Outcome:
    """'in', '5 short, 3 right', 'a bit left', 'came down 3 short, ended 2 long', '10 tries, 2 in'.

    Nothing typed is a miss nobody measured.

    A number without a unit is in the reader's ``units``; ``mark`` is the kit's name of a mark.
    A way nobody spoke of is taken as none. Errors: InputError.
    """
    if (several := read_several(text)) is not None:
        tries, went_in = several
        if tries == 1:
            return HOLED if went_in else NOT_KNOWN
        return Outcome(went_in == tries, known=False, several=several)
    landing = parse_landing(text, units=units, mark=mark)
    if landing.plain is not None:
        return _of_miss(landing.plain)
    ended = None if landing.ended is None else _of_miss(landing.ended)
    holed = ended is not None and ended.holed
    came = NOT_KNOWN if landing.came_down is None else _of_miss(landing.came_down)
    return replace(came, holed=holed, named=True, ended=None if holed else ended)


def _of_miss(miss: Miss) -> Outcome:
    """A plain miss as an outcome."""
    if miss.is_holed:
        return HOLED
    if miss.along is None and miss.across is None:
        return NOT_KNOWN
    said = [each for each in (miss.along, miss.across) if each is not None]
    sides = tuple(0 if each is None else each.side for each in (miss.along, miss.across))
    if any(each.side and each.amount is None for each in said):
        return Outcome(False, known=False, side=(sides[0], sides[1]))
    unit = next((each.unit for each in said if each.side), said[0].unit)
    long, right = (
        0.0 if each is None else each.side * (each.amount or 0.0)
        for each in (miss.along, miss.across)
    )
    return Outcome(False, long, right, unit=unit)


MOST_TRIES = 100
_TRIES = r"(?P<tries>\d+) ?(?:tries|try|attempts?|shots|balls)"
_IN = r"(?P<holed>\d+|none|no|all|zero) ?(?:of them |were |was )?(?:went in|in|holed|made)"
_MISSED = r"(?P<missed>\d+|none|no|all) ?(?:of them )?(?:missed|misses|miss|out)"
_SEVERAL = tuple(
    re.compile(pattern)
    for pattern in (
        rf"{_TRIES}:? {_IN}",
        rf"{_TRIES}:? {_MISSED}",
        rf"{_IN} (?:of|out of|from|in) {_TRIES}",
        rf"{_TRIES}:? (?P<holed>none|all|zero)",
        r"(?:made |holed )?(?P<holed>\d+) ?(?:of|out of|/|in|from|for) ?(?P<tries>\d+)"
        r"(?: tries)?(?: (?:went )?in| holed)?",
        rf"{_IN} {_MISSED}",
        rf"{_MISSED} {_IN}",
    )
)


def read_several(text: str) -> tuple[int, int] | None:
    """(tries, went in) of tries told at once; None for a text that tells of one.

    Errors: InputError for more in than tried, and for more tries than anybody counts.
    """
    words = " ".join(re.sub(r"[,;.]|\band\b", " ", text.casefold()).split())
    match = next((found for each in _SEVERAL if (found := each.fullmatch(words))), None)
    if match is None:
        return None
    said = match.groupdict()
    if "tries" not in said:
        counts = _count(said["holed"], 0), _count(said["missed"], 0)
        tries, went_in = sum(counts), counts[0]
    else:
        tries = int(said["tries"])
        missed = said.get("missed")
        went_in = _count(said["holed"], tries) if missed is None else tries - _count(missed, tries)
    if not 0 <= went_in <= tries or not 1 <= tries <= MOST_TRIES:
        raise InputError(
            f"At most {MOST_TRIES} tries at once, and no more in than tried.",
            SEVERAL_EXAMPLE,
            text,
        )
    return tries, went_in


def _count(word: str, every: int) -> int:
    return every if word == "all" else int(word) if word.isdigit() else 0


def side_words(side: tuple[int, int]) -> str:
    """'short and left', 'long'; empty where neither way was said."""
    long, right = side
    ways = (
        {1: "long", -1: "short"}.get(long, ""),
        {1: "right", -1: "left"}.get(right, ""),
    )
    return " and ".join(way for way in ways if way)
