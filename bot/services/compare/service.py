"""The table of a hole and of a round: what was tried, what went in, which variant is best.

Read from running sums, so it costs the same however many results there are. Knows no Discord.
"""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bot.services.book.book import Book
from bot.services.caddie.adapt import read_line, read_wind
from bot.services.caddie.caddie import Caddie, choose
from bot.services.members import BagCache, Caddies, wind_mmps
from engine.variants import (
    LikeYours,
    MissSummary,
    MissSums,
    WindCells,
    compare_variants,
    miss_summary,
    pooled_prior,
    rate_posteriors,
    winds_like_yours,
)
from shared.actor import Actor
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import LeewardError
from shared.keys import LineKey
from shared.quantities import Wind
from shared.units import UnitSystem
from storage.cells import LineCells
from storage.database import Database
from storage.polls import Polls
from storage.tallies import HoleTally, LineTally, Tallies

MM_PER_M = 1000
FEW_TRIES = 10
"""A judgement: with fewer tries of a line its 95% interval is wider than half of all rates."""


@dataclass(frozen=True)
class Rated:
    """What some tries say of a variant: rate with its interval, chance to be best, the misses."""

    tries: float
    holed: float
    rate: float
    low: float
    high: float
    best: float
    miss: MissSummary | None


@dataclass(frozen=True)
class VariantRow:
    """One variant: over all results, and in winds like the reader's where their wind is known."""

    variant: str
    title: str
    status: str
    all: Rated
    yours: Rated | None
    votes: int | None


@dataclass(frozen=True)
class HoleTable:
    """A hole's variants, the highest expected rate first, untried ones last.

    ``wind`` is the reader's, None where it isn't known.
    """

    event: Event
    hole: Hole
    rows: tuple[VariantRow, ...]
    wind: Wind | None
    width_mps: float | None
    voted: bool
    units: UnitSystem

    @property
    def tries(self) -> int:
        """All results of the hole."""
        return round(sum(row.all.tries for row in self.rows))

    @property
    def few(self) -> bool:
        """Whether some variant was tried too seldom to say anything of it."""
        return any(row.all.tries < FEW_TRIES for row in self.rows)


@dataclass(frozen=True)
class HoleRow:
    """One hole of a round: its tries, the best variant, and what went in of a hundred tries."""

    number: int
    variants: int
    tries: int
    holed: int
    leader: str
    leader_rate: float
    rate: float


@dataclass(frozen=True)
class RoundTable:
    """A round, hole by hole."""

    event: Event
    rows: tuple[HoleRow, ...]

    @property
    def worst(self) -> tuple[HoleRow, ...]:
        """The three tried holes where most is lost: the lowest expected rate over all tries."""
        tried = [row for row in self.rows if row.tries]
        return tuple(sorted(tried, key=lambda row: (row.rate, row.number))[:3])


class CompareService:
    """Reads the sums and has the engine compare."""

    def __init__(self, *, db: Database, book: Book, kits: Caddies, bags: BagCache) -> None:
        self.book = book
        self.bags = bags
        self._kits = kits
        self._tallies = Tallies(db)
        self._polls = Polls(db)

    async def hole(self, who: Actor, number: int, *, wind: str = "") -> HoleTable:
        """A hole of the current event; ``wind`` in place of the hole's own for the member.

        Errors: InputError for a hole that isn't there, ShotTextError for the wind.
        """
        community = who.community_id
        event, round_ = await self.book.current(community)
        hole = await self.book.hole(community, number)
        caddie = await self._kits.caddie(community)
        bag = await self.bags.get(community, who.member_id)
        division = await self.book.division_of(community, who.member_id)
        text = wind or (hole.wind(division=division, round_=round_) if division else None)
        own = None
        if text:
            units = bag.units if wind else "yards"  # a bare number of the book is miles an hour
            own = read_wind(text=text, kit=caddie.kit, bearing_deg=hole.bearing_deg, units=units)
        key = str(event.key.hole(number))
        found = await self._tallies.of_hole(community, key)
        votes = await self._votes(community, key)
        return await asyncio.to_thread(_table, event, hole, found, votes, caddie, bag, own)

    async def round(self, who: Actor) -> RoundTable:
        """All holes of the current event."""
        event = await self.book.event(who.community_id)
        keys = list(map(str, event.hole_keys))
        tallies = await self._tallies.of_holes(who.community_id, keys)
        return await asyncio.to_thread(_round, event, tallies)

    async def _votes(self, community_id: int, key: str) -> dict[str, int]:
        """Votes that stand in the hole's last poll on its lines, by letter."""
        polls = await self._polls.of_hole(community_id, key)
        if not polls:
            return {}
        tally = await self._polls.tally(polls[-1].id)
        labels = dict(enumerate(polls[-1].answers, start=1))
        return {labels[n][:1]: votes for n, votes in tally.counts.items() if labels[n][1:2] == ":"}


def rated(tries: list[float], holed: list[float], misses: list[MissSums]) -> list[Rated]:
    """Variants beside each other; the prior is their own average, worth two tries."""
    if not tries:
        return []
    rates = rate_posteriors(holed, tries, prior=pooled_prior(sum(holed), sum(tries)))
    found = compare_variants(rates)
    return [
        Rated(
            tries=tries[i],
            holed=holed[i],
            rate=float(found.rate[i]),
            low=float(found.low[i]),
            high=float(found.high[i]),
            best=float(found.best[i]),
            miss=miss_summary(misses[i]),
        )
        for i in range(len(tries))
    ]


def shown_lines(hole: Hole, tallies: list[LineTally]) -> list[Line]:
    """The lines to compare: all that are not retired, and retired ones somebody has tried."""
    tried = {tally.variant for tally in tallies}
    return [line for line in hole.lines if not line.retired or line.variant in tried]


def _table(
    event: Event,
    hole: Hole,
    found: HoleTally,
    votes: dict[str, int],
    caddie: Caddie,
    bag: Bag,
    wind: Wind | None,
) -> HoleTable:
    lines = shown_lines(hole, found.lines)
    tallies = {tally.variant: tally for tally in found.lines}
    of = [tallies.get(line.variant) for line in lines]
    everything = _over_all(of)
    yours: list[Rated] | None = None
    width: float | None = None
    if wind is not None and lines:
        like = [_like(line, hole, found, caddie, bag, wind) for line in lines]
        width = like[0].width_mps
        yours = rated(
            [each.tries for each in like],
            [each.holed for each in like],
            [each.misses for each in like],
        )
    rows = [
        VariantRow(
            variant=line.variant,
            title=line.title or "",
            status=line.status,
            all=everything[i],
            yours=yours[i] if yours else None,
            votes=votes.get(line.variant, 0) if votes else None,
        )
        for i, line in enumerate(lines)
    ]
    rows.sort(key=lambda row: (row.all.tries == 0, -row.all.rate, row.variant))
    return HoleTable(event, hole, tuple(rows), wind, width, bool(votes), bag.units)


def _over_all(of: Sequence[LineTally | None]) -> list[Rated]:
    return rated(
        [float(t.tries) if t else 0.0 for t in of],
        [float(t.holed) if t else 0.0 for t in of],
        [_miss_sums(t) for t in of],
    )


def _miss_sums(tally: LineTally | None) -> MissSums:
    if tally is None:
        return MissSums(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    return MissSums(
        weight=tally.measured,
        squared_weight=tally.measured,
        along_m=tally.sum_long_m,
        across_m=tally.sum_right_m,
        along2_m2=tally.sum_long2_m2,
        across2_m2=tally.sum_right2_m2,
        product_m2=tally.sum_product_m2,
    )


def _like(
    line: Line, hole: Hole, found: HoleTally, caddie: Caddie, bag: Bag, wind: Wind
) -> LikeYours:
    """A line's results in the reader's wind, those with their own grade counting in full."""
    cells = next(
        (c for c in found.cells if LineKey.parse(c.line_key).variant == line.variant), None
    )
    along, right = (speed / MM_PER_M for speed in wind_mmps(wind))
    own = _wind_cells(cells, _grade(line, hole, caddie, bag))
    return winds_like_yours(own, along_mps=along, across_mps=right)


def _grade(line: Line, hole: Hole, caddie: Caddie, bag: Bag) -> tuple[str, str]:
    """Club and grade the reader hits the line's last shot with."""
    try:
        read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return "", ""
    shot = read.shots[-1].shot.model_copy(update={"grade": None, "ball": None})
    choice = choose(shot=shot, bag=bag, kit=caddie.kit)
    return choice.club, choice.grade


def _wind_cells(cells: LineCells | None, grade: tuple[str, str]) -> WindCells:
    if cells is None:
        none = np.array([])
        return WindCells(none, none, none, none, none, none, none, none, none, none, none)
    return WindCells(
        along_mps=cells.along_mps,
        across_mps=cells.right_mps,
        same_grade=cells.same_grade(*grade),
        tries=cells.tries,
        holed=cells.holed,
        measured=cells.measured,
        sum_along_m=cells.sum_long_m,
        sum_across_m=cells.sum_right_m,
        sum_along2_m2=cells.sum_long2_m2,
        sum_across2_m2=cells.sum_right2_m2,
        sum_product_m2=cells.sum_product_m2,
    )


def _round(event: Event, tallies: list[LineTally]) -> RoundTable:
    rows: list[HoleRow] = []
    for key, hole in zip(event.hole_keys, event.holes, strict=True):
        own = [t for t in tallies if t.hole_key == str(key)]
        tries, holed = sum(t.tries for t in own), sum(t.holed for t in own)
        found = rated(
            [float(t.tries) for t in own],
            [float(t.holed) for t in own],
            [_miss_sums(t) for t in own],
        )
        best = max(range(len(own)), key=lambda i: found[i].rate, default=None)
        prior = pooled_prior(holed, tries)
        rows.append(
            HoleRow(
                number=hole.number,
                variants=len(shown_lines(hole, own)),
                tries=tries,
                holed=holed,
                leader="" if best is None else own[best].variant,
                leader_rate=0.0 if best is None else found[best].rate,
                rate=(prior[0] + holed) / (sum(prior) + tries),
            )
        )
    return RoundTable(event, tuple(rows))
