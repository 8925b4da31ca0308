"""A hole's variants as a picture: bars with intervals, from the rows of its verdict."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.drawing.trust_scene import Bar, BarsScene
from bot.services.compare.service import HoleTable
from engine.intervals import CONFIDENCE
from engine.verdict import LineRow

MOST_BARS = 10
INTERVAL = f"{CONFIDENCE:.0%} interval of the hole-out rate"
OF_THE_GROUP = "of the group"
LIKE_YOURS, LIKE_THIS = "in winds like yours", "in winds like this"


@dataclass(frozen=True)
class Tried:
    """A variant with what the verdict says of it."""

    label: str
    row: LineRow


def bars_of(table: HoleTable) -> BarsScene | None:
    """The tried variants of a hole, None where fewer than two were tried."""
    rows = {row.name: row for row in table.verdict.rows} if table.verdict else {}
    tried = [Tried(line_label(row.variant, row.title), rows[row.variant]) for row in table.rows]
    whose = OF_THE_GROUP if table.wind is None else LIKE_YOURS
    return hole_bars(table.hole.number, tried, whose)


def hole_bars(
    number: int, variants: Sequence[Tried], whose: str = OF_THE_GROUP
) -> BarsScene | None:
    """The same from a verdict's rows, in the order given."""
    return tried_bars(f"Hole {number}: which line to take", variants, whose)


def tried_bars(
    title: str, variants: Sequence[Tried], whose: str = OF_THE_GROUP
) -> BarsScene | None:
    """Hole-out rates of the variants that were tried; None where fewer than two were."""
    tried = [each for each in variants if each.row.tries > 0][:MOST_BARS]
    if len(tried) < 2:
        return None
    tries = _count(sum(each.row.tries for each in tried))
    return BarsScene(title, f"{tries} tries {whose}", tuple(map(_bar, tried)), INTERVAL)


def line_label(variant: str, title: str | None) -> str:
    """'B · the safe one', or the letter alone."""
    return f"{variant} · {title}" if title else variant


def _bar(each: Tried) -> Bar:
    row = each.row
    note = f"{_count(row.holed)} of {_count(row.tries)} holed"
    return Bar(each.label, row.rate, row.low, row.high, note=note)


def _count(number: float) -> str:
    """Whole tries as they are; weighted ones to a tenth."""
    return f"{round(number, 1):g}"
