"""A hole's variants as a picture: bars with intervals."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.drawing.trust_scene import Bar, BarsScene
from bot.services.compare.service import HoleTable
from engine.intervals import CONFIDENCE, beta_interval
from engine.variants import pooled_prior, rate_posteriors

MOST_BARS = 10
INTERVAL = f"{CONFIDENCE:.0%} interval of the hole-out rate"


@dataclass(frozen=True)
class Tried:
    """A variant with its results."""

    label: str
    tries: int
    holed: int


def bars_of(table: HoleTable) -> BarsScene | None:
    """The tried variants of a hole, None where fewer than two were tried."""
    rows = [row for row in table.rows if row.all.tries > 0][:MOST_BARS]
    bars = [
        _bar(
            line_label(row.variant, row.title),
            row.all.holed,
            row.all.tries,
            (row.all.rate, row.all.low, row.all.high),
        )
        for row in rows
    ]
    return _scene(_title(table.hole.number), table.tries, bars)


def hole_bars(number: int, variants: Sequence[Tried]) -> BarsScene | None:
    """The same from plain counts, in the order given."""
    return tried_bars(_title(number), variants)


def tried_bars(title: str, variants: Sequence[Tried]) -> BarsScene | None:
    """Hole-out rates of the variants that were tried; None where fewer than two were.

    The rates of /compare: beta posteriors on the variants' own average, worth two tries.
    """
    tried = [each for each in variants if each.tries > 0][:MOST_BARS]
    if len(tried) < 2:
        return None
    holed, tries = [each.holed for each in tried], [each.tries for each in tried]
    rates = rate_posteriors(holed, tries, prior=pooled_prior(sum(holed), sum(tries)))
    found = beta_interval(rates.a, rates.b)
    bars = [
        _bar(each.label, each.holed, each.tries, (rate, low, high))
        for each, rate, low, high in zip(
            tried, rates.mean.tolist(), found.low.tolist(), found.high.tolist(), strict=True
        )
    ]
    return _scene(title, sum(tries), bars)


def line_label(variant: str, title: str | None) -> str:
    """'B · the safe one', or the letter alone."""
    return f"{variant} · {title}" if title else variant


def _title(number: int) -> str:
    return f"Hole {number}: which line to take"


def _bar(label: str, holed: float, tries: float, rate: tuple[float, float, float]) -> Bar:
    """``rate`` is the expected one and its interval."""
    value, low, high = rate
    return Bar(label, value, low, high, note=f"{holed:g} of {tries:g} holed")


def _scene(title: str, tries: int, bars: list[Bar]) -> BarsScene | None:
    if len(bars) < 2:
        return None
    return BarsScene(title, f"{tries} tries of the group", tuple(bars), INTERVAL)
