"""A verdict in words, the same everywhere."""

from collections.abc import Sequence

from engine.intervals import CONFIDENCE
from engine.verdict import LineRow, Outcome, Verdict
from shared.wording import listed

NEARLY_SURE = 0.995  # no number of tries makes it a certainty
INTERVALS = f"ranges are {CONFIDENCE:.0%} intervals"


def verdict_words(found: Verdict) -> str:
    """What a hole's lines come to: 'line B leads', 'lines A and C are about equal'."""
    if not found.tries:
        return "nobody has logged a try yet"
    if found.outcome is Outcome.LEADS:
        return f"line {found.lines[0]} leads"
    if found.outcome is Outcome.BEST:
        return f"line {found.lines[0]} is the best"
    if found.outcome is Outcome.EQUAL:
        return f"lines {listed(found.lines, 'and')} are about equal"
    if any(row.holed for row in found.rows if row.best is not None):
        return "no line is clearly ahead yet"
    return "nothing has gone in yet"


def verdict_line(found: Verdict) -> str:
    """The same with the chance of what is said."""
    if found.outcome is Outcome.NONE:
        return verdict_words(found)
    what = "within five in a hundred" if found.outcome is Outcome.EQUAL else "to be the best"
    return f"{verdict_words(found)} ({chance_words(found.chance)} {what})"


def verdict_letters(found: Verdict | None) -> str:
    """For a table: 'B', 'A = C', a dash where no line is ahead."""
    return " = ".join(found.lines) if found is not None and found.lines else "–"


def chance_words(chance: float) -> str:
    """A chance that is neither nothing nor certain never reads so."""
    if 0 < chance < 1 - NEARLY_SURE:
        return "under 1%"
    return "over 99%" if NEARLY_SURE <= chance < 1 else f"{chance:.0%}"


def row_of(found: Verdict | None, variant: str) -> LineRow | None:
    """What the verdict says of one line."""
    rows: Sequence[LineRow] = found.rows if found is not None else ()
    return next((row for row in rows if row.name == variant), None)
