"""A hole's variants as a picture: bars with intervals."""

from bot.compare.desk import HoleTable, Rated, VariantRow
from bot.pictures.trust_scene import Bar, BarsScene
from engine.intervals import CONFIDENCE

MOST_BARS = 10


def bars_of(table: HoleTable) -> BarsScene | None:
    """The tried variants of a hole, None where fewer than two were tried."""
    tried = [row for row in table.rows if row.all.tries > 0][:MOST_BARS]
    if len(tried) < 2:
        return None
    return BarsScene(
        title=f"Hole {table.hole.number}: which line to take",
        subtitle=f"{table.tries} tries of the group",
        bars=tuple(_bar(row) for row in tried),
        interval=f"{CONFIDENCE:.0%} interval of the hole-out rate",
    )


def _bar(row: VariantRow) -> Bar:
    rated: Rated = row.all
    title = f" · {row.title}" if row.title else ""
    return Bar(
        label=f"{row.variant}{title}",
        value=rated.rate,
        low=rated.low,
        high=rated.high,
        note=f"{rated.holed:g} of {rated.tries:g} holed",
    )
