"""What to test next, for the group. Knows no Discord."""

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass

from numpy import argsort, asarray

from bot.services.book.book import Book
from bot.services.learning.chances import ChanceService
from bot.services.line_chances.service import LineChances
from bot.services.verdicts.results import EventResults, Reader, Verdicts
from engine.practice import (
    HoleLines,
    PracticeHole,
    PracticePlan,
    Separation,
    plan_practice,
    practice_holes,
    tries_to_separate,
)
from engine.practice_prior import ComputedChance, with_computed
from engine.reliability import Standing
from shared.actor import Actor
from shared.book import Event
from shared.errors import EngineError, InputError
from shared.shot_text import format_shot
from shared.shot_text.write import example_shot


@dataclass(frozen=True)
class Leaders:
    """The two variants of a hole expected to hole most often, and what it takes to part them.

    ``apart`` is None where both are expected to hole equally often.
    """

    hole: int
    first: str
    second: str
    rates: tuple[float, float]
    apart: Separation | None


Computed = Mapping[tuple[int, str], ComputedChance]
"""Computed chances by hole and variant."""


@dataclass(frozen=True)
class Practice:
    """A plan; ``letters`` are each hole's variants in the order in which the plan counts them.

    ``least_sure`` is the hole and the variant of the plan whose computed chance is least sure, None
    where nothing was computed of any.
    """

    event: Event
    entries: int
    plan: PracticePlan
    letters: dict[int, tuple[str, ...]]
    leaders: Leaders | None
    least_sure: tuple[int, str] | None = None


class PracticeService:
    """Plans a member's practice entries from what the group knows."""

    def __init__(
        self, *, book: Book, verdicts: Verdicts, lines: LineChances, chances: ChanceService
    ) -> None:
        self.book = book
        self._verdicts = verdicts
        self._lines = lines
        self._chances = chances

    async def plan(self, who: Actor, entries: int) -> Practice:
        """Spread entries over the current event. Errors: InputError where nothing can be chosen."""
        event = await self.book.event(who.community_id)
        await self.book.require_division(who.community_id, who.member_id)
        reader = await self._verdicts.reader(who)
        results = await self._verdicts.of_event(who.community_id, event)
        computed = await self._computed(who.community_id, event, reader)
        return await asyncio.to_thread(plan_of, event, results, reader, entries, computed)

    async def _computed(self, community_id: int, event: Event, reader: Reader) -> Computed:
        """The chances of the reader's lines in the winds that are known; none where chances have
        not agreed with what went in."""
        earned = await self._chances.earned(community_id)
        if earned.diagram.standing is Standing.OFF:
            return {}
        asked = [
            (hole.from_tee(reader.division), hole.lines_for(reader.division), own.wind)
            for hole in event.holes
            if (own := reader.known_wind(hole)) is not None
        ]
        asked = [each for each in asked if len(each[1]) > 1]
        found = await self._lines.of_holes(reader.caddie, asked, bag=reader.bag)
        return {
            (hole.number, line.variant): ComputedChance(line.goes_in.value, line.goes_in.sd)
            for (hole, *_), lines in zip(asked, found, strict=True)
            for line in lines
            if line is not None
        }


def plan_of(
    event: Event,
    results: EventResults,
    reader: Reader,
    entries: int,
    computed: Computed | None = None,
) -> Practice:
    """The plan over the lines of the reader's division, none retired, in this round's winds.

    Errors: InputError where no hole has two such lines.
    """
    given: list[HoleLines] = []
    letters: dict[int, tuple[str, ...]] = {}
    for key, hole in zip(event.hole_keys, event.holes, strict=True):
        lines = hole.lines_for(reader.division)
        if len(lines) < 2:
            continue
        members = [results.members(key, line, reader.known_wind(hole)) for line in lines]
        given.append(HoleLines(str(hole.number), members))
        letters[hole.number] = tuple(line.variant for line in lines)
    if not given:
        raise InputError(
            "No hole has two lines to choose between yet; share another way to play one.",
            f"/share hole:{event.holes[0].number} shot:{_shot_of(reader)}",
        )
    holes = practice_holes(given, results.group)
    chances = computed or {}
    believed = [
        with_computed(
            hole, [chances.get((int(hole.hole), each)) for each in letters[int(hole.hole)]]
        )
        for hole in holes
    ]
    plan = plan_practice(believed, entries, correlation=results.group.correlation)
    first = int(plan.allocations[0].hole) if plan.allocations else int(holes[0].hole)
    chosen = next(each for each in holes if int(each.hole) == first)
    unsure = _least_sure(plan, letters, chances)
    return Practice(event, entries, plan, letters, _leaders(chosen, letters[first]), unsure)


def _least_sure(
    plan: PracticePlan, letters: Mapping[int, tuple[str, ...]], computed: Computed
) -> tuple[int, str] | None:
    """Of the lines that are to be tried the one whose computed chance is least sure."""
    tried = [(int(each.hole), letters[int(each.hole)][each.variant]) for each in plan.allocations]
    known = [key for key in tried if key in computed]
    return max(known, key=lambda key: computed[key].logit_sd, default=None)


def _shot_of(reader: Reader) -> str:
    """A right shot with the reader's own clubs."""
    shot = example_shot(reader.caddie.kit, reader.bag.units)
    return format_shot(shot.model_copy(update={"wind": None}))


def _leaders(hole: PracticeHole, letters: tuple[str, ...]) -> Leaders:
    a, b = asarray(hole.a), asarray(hole.b)
    rates = a / (a + b)
    first, second = (int(place) for place in argsort(-rates, kind="stable")[:2])
    pair = (float(rates[first]), float(rates[second]))
    try:
        apart = tries_to_separate(*pair)
    except EngineError:  # equal rates: no number of tries parts them
        apart = None
    return Leaders(int(hole.hole), letters[first], letters[second], pair, apart)
