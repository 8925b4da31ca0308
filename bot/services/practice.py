"""What to test next, for the group. Knows no Discord."""

import asyncio
from dataclasses import dataclass

from numpy import argsort, asarray

from bot.services.book.book import Book
from engine.practice import PracticeHole, PracticePlan, Separation, plan_practice, tries_to_separate
from engine.variants import pooled_prior, rate_posteriors
from shared.actor import Actor
from shared.book import Event
from shared.errors import EngineError, InputError
from storage.database import Database
from storage.tallies import LineTally, Tallies


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


@dataclass(frozen=True)
class Practice:
    """A plan; ``letters`` are each hole's variants in the order in which the plan counts them."""

    event: Event
    entries: int
    plan: PracticePlan
    letters: dict[int, tuple[str, ...]]
    leaders: Leaders | None


class PracticeService:
    """Plans a member's practice entries from what the group knows."""

    def __init__(self, *, db: Database, book: Book) -> None:
        self.book = book
        self._tallies = Tallies(db)

    async def plan(self, who: Actor, entries: int) -> Practice:
        """Spread entries over the current event. Errors: InputError where nothing can be chosen."""
        event = await self.book.event(who.community_id)
        keys = list(map(str, event.hole_keys))
        tallies = await self._tallies.of_holes(who.community_id, keys)
        return await asyncio.to_thread(plan_of, event, tallies, entries)


def plan_of(event: Event, tallies: list[LineTally], entries: int) -> Practice:
    """The plan for an event with these results. Errors: InputError where no hole has two lines."""
    holes: list[PracticeHole] = []
    letters: dict[int, tuple[str, ...]] = {}
    for key, hole in zip(event.hole_keys, event.holes, strict=True):
        own = {t.variant: t for t in tallies if t.hole_key == str(key)}
        lines = hole.in_use
        if len(lines) < 2:
            continue
        of = [own.get(line.variant) for line in lines]
        tries, holed = [t.tries if t else 0 for t in of], [t.holed if t else 0 for t in of]
        rates = rate_posteriors(holed, tries, prior=pooled_prior(sum(holed), sum(tries)))
        holes.append(PracticeHole(str(hole.number), rates.a, rates.b))
        letters[hole.number] = tuple(line.variant for line in lines)
    if not holes:
        raise InputError(
            "No hole has two lines to choose between yet; share another way to play one.",
            "/share hole:1 shot:8-iron, 128",
        )
    plan = plan_practice(holes, entries)
    first = int(plan.allocations[0].hole) if plan.allocations else int(holes[0].hole)
    chosen = next(each for each in holes if int(each.hole) == first)
    return Practice(event, entries, plan, letters, _leaders(chosen, letters[first]))


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
