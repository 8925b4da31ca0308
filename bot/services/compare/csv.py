"""The tables as CSV files, lengths in yards."""

import csv
import io
from collections.abc import Sequence

from bot.services.compare.service import HoleTable, Rated, RoundTable
from shared.units import METRES_PER_YARD

RATED = (
    "tries",
    "holed",
    "rate",
    "low",
    "high",
    "best",
    "miss_long_yd",
    "miss_right_yd",
    "spread_yd",
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def hole_csv(table: HoleTable) -> bytes:
    """A row a variant: over all results, then in winds like the reader's (``yours_``)."""
    head = ["event", "hole", "variant", "title", "status", *RATED]
    head += ["votes", *(f"yours_{name}" for name in RATED)]
    rows = [
        [
            _text(table.event.name),
            table.hole.number,
            row.variant,
            _text(row.title),
            row.status,
            *_rated(row.all),
            "" if row.votes is None else row.votes,
            *(_rated(row.yours) if row.yours else [""] * len(RATED)),
        ]
        for row in sorted(table.rows, key=lambda row: row.variant)
    ]
    return _bytes(head, rows)


def round_csv(table: RoundTable) -> bytes:
    """A row a hole."""
    head = ["event", "hole", "variants", "tries", "holed", "rate", "best_variant", "best_rate"]
    rows = [
        [
            _text(table.event.name),
            row.number,
            row.variants,
            row.tries,
            row.holed,
            _rounded(row.rate),
            row.best if row.best_rate is not None else "",
            _rounded(row.best_rate),
        ]
        for row in table.rows
    ]
    return _bytes(head, rows)


def _rated(rated: Rated) -> list[object]:
    miss = rated.miss
    long, right, spread = (None, None, None)
    if miss is not None:
        long, right, spread = miss.along_m, miss.across_m, miss.spread_m
    lengths = [
        "" if value is None else round(value / METRES_PER_YARD, 2)
        for value in (long, right, spread)
    ]
    rates = [_rounded(value) for value in (rated.rate, rated.low, rated.high, rated.best)]
    return [round(rated.tries, 3), round(rated.holed, 3), *rates, *lengths]


def _rounded(share: float | None) -> float | str:
    return "" if share is None else round(share, 4)


def _text(text: str) -> str:
    """A spreadsheet must not take somebody's title for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def _bytes(head: list[str], rows: Sequence[Sequence[object]]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")
