"""A hole's variants as a picture: bars with intervals."""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.compare.desk import HoleTable, Rated, VariantRow
from bot.pictures.trust_scene import Bar, BarsScene
from bot.results.words import tries_words
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
    tried = [row for row in table.rows if row.all.tries > 0][:MOST_BARS]
    if len(tried) < 2:
        return None
    return BarsScene(
        title=_title(table.hole.number),
        subtitle=f"{table.tries} tries of the group",
        bars=tuple(_bar(row) for row in tried),
        interval=INTERVAL,
    )


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
    return BarsScene(
        title=title,
        subtitle=f"{tries_words(sum(tries))} of the group",
        bars=tuple(
            Bar(
                label=each.label,
                value=float(rates.mean[at]),
                low=float(found.low[at]),
                high=float(found.high[at]),
                note=f"{each.holed} of {each.tries} holed",
            )
            for at, each in enumerate(tried)
        ),
        interval=INTERVAL,
    )


def _title(number: int) -> str:
    return f"Hole {number}: which line to take"


def _bar(row: VariantRow) -> Bar:
    rated: Rated = row.all
    return Bar(
        label=f"{row.variant} · {row.title}" if row.title else row.variant,
        value=rated.rate,
        low=rated.low,
        high=rated.high,
        note=f"{rated.holed:g} of {rated.tries:g} holed",
    )
