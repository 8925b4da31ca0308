"""Results in words."""

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
        return "missed"
    long, right = (value / 100 / METRES_PER_YARD for value in played.miss_cm)
    words = offset_in(units, right_yd=right, long_yd=long)
    return "missed by next to nothing" if words == "none" else f"missed: {words}"
