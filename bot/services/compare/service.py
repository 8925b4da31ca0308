"""The table of a hole and of a round: what was tried, what went in, which variant is best.

Read from running sums, so it costs the same however many results there are. Knows no Discord.
"""

import asyncio
from dataclasses import dataclass, replace

import numpy as np

from bot.services.book.book import Book
from bot.services.learning.chances import ChanceService
from bot.services.line_chances.order import Computed, computed
from bot.services.line_chances.service import LineChances
from bot.services.members import BagCache, wind_mmps
from bot.services.verdicts.results import MM_PER_M, EventResults, Grade, OwnWind, Reader, Verdicts
from bot.services.verdicts.words import row_of, verdict_letters
from engine.variants import (
    LikeYours,
    MissSummary,
    MissSums,
    WindCells,
    miss_summary,
    winds_like_yours,
)
from engine.verdict import LineRow, Verdict
from shared.actor import Actor
from shared.book import Event, Hole, Line
from shared.keys import LineKey
from shared.quantities import Wind
from shared.units import UnitSystem
from storage.cells import LineCells
from storage.database import Database
from storage.polls import Polls
from storage.tallies import HoleTally, LineTally, Tallies


@dataclass(frozen=True)
class Rated:
    """What some tries say of a variant: rate with its 90% interval, chance to be best, the misses.

    ``best`` is None for a line out of play: retired, or for other divisions than the reader's.
    """

    tries: float
    holed: float
    rate: float
    low: float
    high: float
    best: float | None
    miss: MissSummary | None


@dataclass(frozen=True)
class VariantRow:
    """One variant: over all results, and in winds like the reader's where their wind is known."""

    variant: str
    title: str
    status: str
    divisions: tuple[str, ...]
    all: Rated
    yours: Rated | None
    votes: int | None

    @property
    def judged(self) -> Rated:
        """What the verdict was made of."""
        return self.all if self.yours is None else self.yours


@dataclass(frozen=True)
class HoleTable:
    """A hole's variants, those the verdict names first, then by expected rate, untried ones last
    in the order of what is computed of them.

    ``wind`` is the reader's, None where it isn't known; ``verdict`` holds in it, None for no line.
    ``computed`` is None where every line was tried, or the wind isn't known.
    """

    event: Event
    hole: Hole
    rows: tuple[VariantRow, ...]
    verdict: Verdict | None
    wind: Wind | None
    width_mps: float | None
    voted: bool
    units: UnitSystem
    computed: Computed | None = None

    @property
    def tries(self) -> int:
        """All results of the hole's lines."""
        return round(sum(row.all.tries for row in self.rows))


@dataclass(frozen=True)
class HoleRow:
    """One hole of a round: its tries, the lines that are best, and what a try is expected to hole.

    ``best`` is as verdict_letters says it, ``best_rate`` None where no line is ahead. ``rate`` is
    the mean of the lines' expected rates over the tries, None where there is none.
    """

    number: int
    variants: int
    tries: int
    holed: int
    best: str
    best_rate: float | None
    rate: float | None


@dataclass(frozen=True)
class RoundTable:
    """A round, hole by hole; the best lines are those of the reader's division."""

    event: Event
    rows: tuple[HoleRow, ...]

    @property
    def worst(self) -> tuple[HoleRow, ...]:
        """The three holes where most is lost: something missed, and the lowest expected rates."""
        lost = [(row.rate, row.number, row) for row in self.rows if row.holed < row.tries]
        return tuple(row for *_, row in sorted(lost, key=lambda each: (each[0] or 0.0, each[1])))[
            :3
        ]


class CompareService:
    """Reads the results and has the engine compare."""

    def __init__(
        self,
        *,
        db: Database,
        book: Book,
        bags: BagCache,
        verdicts: Verdicts,
        lines: LineChances,
        chances: ChanceService,
    ) -> None:
        self.book = book
        self.bags = bags
        self._verdicts = verdicts
        self._lines = lines
        self._chances = chances
        self._tallies = Tallies(db)
        self._polls = Polls(db)

    async def hole(self, who: Actor, number: int, *, wind: str = "") -> HoleTable:
        """A hole of the current event; ``wind`` in place of the hole's own for the member.

        Errors: InputError for a hole that isn't there, ShotTextError for the wind.
        """
        community = who.community_id
        event = await self.book.event(community)
        hole = await self.book.hole(community, number)
        await self.book.require_division(community, who.member_id)
        reader = await self._verdicts.reader(who)
        own = reader.own_wind(hole, wind)
        key = event.key.hole(number)
        results = await self._verdicts.of_event(community, event)
        found = await self._tallies.of_hole(community, str(key))
        votes = await self._votes(community, str(key))
        table = await asyncio.to_thread(_table, event, hole, results, found, votes, reader, own)
        return await self._with_computed(community, table, reader)

    async def round(self, who: Actor) -> RoundTable:
        """All holes of the current event."""
        event = await self.book.event(who.community_id)
        await self.book.require_division(who.community_id, who.member_id)
        reader = await self._verdicts.reader(who)
        results = await self._verdicts.of_event(who.community_id, event)
        return await asyncio.to_thread(_round, event, results, reader)

    async def _with_computed(
        self, community_id: int, table: HoleTable, reader: Reader
    ) -> HoleTable:
        """The table with what is computed, where a line in play was not tried yet."""
        untried = {
            row.variant for row in table.rows if not row.all.tries and row.all.best is not None
        }
        if table.wind is None or not untried:
            return table
        hole = table.hole.from_tee(reader.division)
        in_play = {row.variant for row in table.rows if row.all.best is not None}
        lines = [line for line in hole.lines if line.variant in in_play]
        played = await self._lines.of_hole(
            reader.caddie, hole, lines, bag=reader.bag, wind=table.wind
        )
        found = computed(played, await self._chances.earned(community_id))
        if found is None:
            return table
        tried = [row for row in table.rows if row.variant not in untried]
        last = [row for row in table.rows if row.variant in untried]
        last.sort(key=lambda row: found.place(row.variant))
        return replace(table, rows=(*tried, *last), computed=found)

    async def _votes(self, community_id: int, key: str) -> dict[str, int]:
        """Votes that stand in the hole's last poll on its lines, by letter."""
        polls = await self._polls.of_hole(community_id, key)
        if not polls:
            return {}
        tally = await self._polls.tally(polls[-1].id)
        labels = dict(enumerate(polls[-1].answers, start=1))
        return {labels[n][:1]: votes for n, votes in tally.counts.items() if labels[n][1:2] == ":"}


def _table(
    event: Event,
    hole: Hole,
    results: EventResults,
    found: HoleTally,
    votes: dict[str, int],
    reader: Reader,
    own: OwnWind | None,
) -> HoleTable:
    key = event.key.hole(hole.number)
    played = [line for line in hole.lines if line.is_for(reader.division)]
    lines = results.shown(key, played)
    tallies = {tally.variant: tally for tally in found.lines}
    everything = results.verdict(key, lines, division=reader.division)
    yours = results.verdict(key, lines, own, reader.division) if own is not None else None
    like = {line.variant: _like(line, found, own) for line in lines} if own is not None else {}
    rows = [
        VariantRow(
            variant=line.variant,
            title=line.title or "",
            status=line.status,
            divisions=line.divisions,
            all=_rated(row_of(everything, line.variant), _miss_sums(tallies.get(line.variant))),
            yours=_rated(row_of(yours, line.variant), like[line.variant].misses) if yours else None,
            votes=votes.get(line.variant, 0) if votes else None,
        )
        for line in lines
    ]
    verdict = yours or everything
    named = verdict.lines if verdict else ()
    rows.sort(key=lambda row: _place(row, named))
    width = next((each.width_mps for each in like.values()), None)
    wind = own.wind if own is not None else None
    return HoleTable(event, hole, tuple(rows), verdict, wind, width, bool(votes), reader.bag.units)


def _place(row: VariantRow, named: tuple[str, ...]) -> tuple[bool, bool, bool, float, str]:
    out = row.judged.best is None
    return row.variant not in named, out, not row.all.tries, -row.judged.rate, row.variant


def _rated(row: LineRow | None, misses: MissSums) -> Rated:
    assert row is not None
    miss = miss_summary(misses)
    return Rated(row.tries, row.holed, row.rate, row.low, row.high, row.best, miss)


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


def _like(line: Line, found: HoleTally, own: OwnWind) -> LikeYours:
    """A line's misses in the reader's wind, those with their own grade counting in full."""
    cells = next(
        (c for c in found.cells if LineKey.parse(c.line_key).variant == line.variant), None
    )
    along, right = (speed / MM_PER_M for speed in wind_mmps(own.wind))
    return winds_like_yours(_wind_cells(cells, own.grade(line)), along_mps=along, across_mps=right)


def _wind_cells(cells: LineCells | None, grade: Grade) -> WindCells:
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


def _round(event: Event, results: EventResults, reader: Reader) -> RoundTable:
    rows: list[HoleRow] = []
    for key, hole in zip(event.hole_keys, event.holes, strict=True):
        lines = results.shown(key, hole.lines)
        own = reader.known_wind(hole)
        verdict = results.verdict(key, lines, own, reader.division)
        everything = (
            results.verdict(key, lines, division=reader.division) if own is not None else verdict
        )
        of_line = everything.rows if everything else ()
        tries = sum(row.tries for row in of_line)
        best = row_of(verdict, verdict.lines[0]) if verdict and verdict.lines else None
        rows.append(
            HoleRow(
                number=hole.number,
                variants=sum(line.is_for(reader.division) for line in lines),
                tries=round(tries),
                holed=round(sum(row.holed for row in of_line)),
                best=verdict_letters(verdict),
                best_rate=best.rate if best else None,
                rate=sum(row.tries * row.rate for row in of_line) / tries if tries else None,
            )
        )
    return RoundTable(event, tuple(rows))
