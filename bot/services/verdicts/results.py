"""What the group's results say of each line: one verdict for every place that gives one.

Knows no Discord.
"""

import asyncio
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bot.services.book.book import Book
from bot.services.caddie.adapt import read_line, read_wind
from bot.services.caddie.caddie import Caddie, choose
from bot.services.members import BagCache, Caddies, wind_mmps
from bot.services.verdicts.words import verdict_line
from engine.group_rates import GroupRates, MemberTries, learn_group
from engine.variants import MemberCells, members_like_yours
from engine.verdict import TriedLine, Verdict, hole_verdict
from shared.actor import Actor
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import LeewardError
from shared.keys import HoleKey
from shared.quantities import Wind
from storage.database import Database
from storage.member_tries import LineMembers, member_tries

MM_PER_M = 1000
GROUPS_KEPT = 64
UNTRIED = MemberTries(np.empty(0), np.empty(0))

Grade = tuple[str, str]
Counts = tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]


@dataclass(frozen=True)
class OwnWind:
    """A reader's wind, and with which club and grade they hit a line's last shot."""

    wind: Wind
    grade: Callable[[Line], Grade]


@dataclass(frozen=True)
class Reader:
    """Who reads a verdict: their division (None: all), their bag and the kit they play with."""

    division: str | None
    round: str
    bag: Bag
    caddie: Caddie

    def own_wind(self, hole: Hole, text: str = "") -> OwnWind | None:
        """The wind of this text, else the hole's for them; None where none is known.

        Errors: ShotTextError and InputError for a text that is no wind.
        """
        known = self.division and hole.wind(division=self.division, round_=self.round)
        said = text or known
        if not said:
            return None
        bearing = hole.bearing_deg
        units = self.bag.units if text else "yards"  # a bare number of the book is miles an hour
        wind = read_wind(text=said, kit=self.caddie.kit, bearing_deg=bearing, units=units)
        return OwnWind(wind, lambda line: grade_of(line, hole, self.caddie, self.bag))

    def known_wind(self, hole: Hole) -> OwnWind | None:
        """The hole's wind for them; one that can't be read any more is not known."""
        try:
            return self.own_wind(hole)
        except LeewardError:
            return None


@dataclass(frozen=True)
class EventResults:
    """An event's results by line key, and what they say of the group."""

    lines: Mapping[str, LineMembers]
    group: GroupRates

    def members(self, hole: HoleKey, line: Line, own: OwnWind | None) -> MemberTries:
        """Each member's holed and tries on a line, weighted for a reader's wind where given."""
        found = self.lines.get(str(hole.line(line.variant)))
        if found is None:
            return UNTRIED
        if own is None:
            return MemberTries(*found.by_member())
        along, right = (speed / MM_PER_M for speed in wind_mmps(own.wind))
        cells = MemberCells(
            member=found.member,
            along_mps=found.along_mps,
            across_mps=found.right_mps,
            same_grade=found.same_grade(*own.grade(line)),
            tries=found.tries,
            holed=found.holed,
        )
        return members_like_yours(cells, along_mps=along, across_mps=right)

    def verdict(
        self,
        hole: HoleKey,
        lines: Sequence[Line],
        own: OwnWind | None = None,
        division: str | None = None,
    ) -> Verdict | None:
        """Which of a hole's lines is best, in a reader's wind where given; None for no line.

        Those retired or for other divisions than the reader's (None: all) are out of play.
        Takes some milliseconds: not for the event loop.
        """
        if not lines:
            return None
        judged = [
            TriedLine(
                line.variant,
                self.members(hole, line, own),
                retired=line.retired or not line.is_for(division),
            )
            for line in sorted(lines, key=lambda line: line.order)
        ]
        return hole_verdict(judged, self.group)

    def shown(self, hole: HoleKey, lines: Sequence[Line]) -> list[Line]:
        """The lines to compare: all that are not retired, and retired ones somebody has tried."""
        return [
            line for line in lines if not line.retired or str(hole.line(line.variant)) in self.lines
        ]


class Verdicts:
    """Reads the results that the verdicts are made of."""

    def __init__(self, *, db: Database, book: Book, kits: Caddies, bags: BagCache) -> None:
        self._db = db
        self._book = book
        self._kits = kits
        self._bags = bags

    async def reader(self, who: Actor, event: str | None = None) -> Reader:
        """Who reads of an event: in the round on now, or in the first of another event's."""
        community, member = who.community_id, who.member_id
        current, round_ = await self._book.current(community)
        division = await self._book.division_of(community, member)
        if event is not None and event != current.name:
            asked = await self._book.event(community, event)
            division = division if division in asked.divisions else None
            round_ = asked.rounds[0]
        bag = await self._bags.get(community, member)
        return Reader(division, round_, bag, await self._kits.caddie(community))

    async def of_event(self, community_id: int, event: Event) -> EventResults:
        """The results of all holes of an event, of which the group is learned."""
        before = {
            played: str(key)
            for key, hole in zip(event.hole_keys, event.holes, strict=True)
            for played in hole.played
        }
        return await self.of_holes(community_id, event.hole_keys, before)

    async def of_holes(
        self, community_id: int, holes: Sequence[HoleKey], before: Mapping[str, str] | None = None
    ) -> EventResults:
        """The results of these holes, and of those they were ``before``.

        To learn from them takes 25 ms once they have changed.
        """
        keys = [*map(str, holes), *(before or {})]
        found = await member_tries(self._db, community_id, keys, before)
        return await asyncio.to_thread(event_results, found)

    async def note_lines(self, community_id: int, event: Event, hole: Hole) -> list[str]:
        """What a hole's note says of its lines: the verdict in all winds, for all divisions."""
        results = await self.of_event(community_id, event)
        key = event.key.hole(hole.number)
        lines = results.shown(key, hole.lines)
        found = await asyncio.to_thread(results.verdict, key, lines)
        return (
            []
            if found is None or len(found.rows) < 2 or not found.tries
            else [f"**By what went in** {verdict_line(found)}"]
        )


def event_results(found: Sequence[LineMembers]) -> EventResults:
    """The results with what they say of the group."""
    counts: Counts = tuple(
        (tuple(map(int, holed)), tuple(map(int, tries)))
        for holed, tries in (line.by_member() for line in found)
    )
    return EventResults({line.line_key: line for line in found}, _group(counts))


@lru_cache(maxsize=GROUPS_KEPT)
def _group(counts: Counts) -> GroupRates:
    """What a group is like; asked again for the same counts until a result comes in."""
    return learn_group([MemberTries(holed, tries) for holed, tries in counts])


def grade_of(line: Line, hole: Hole, caddie: Caddie, bag: Bag) -> Grade:
    """Club and grade a bag hits the line's last shot with; blanks where it can't be read."""
    try:
        read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return "", ""
    shot = read.shots[-1].shot.model_copy(update={"grade": None, "ball": None})
    choice = choose(shot=shot, bag=bag, kit=caddie.kit)
    return choice.club, choice.grade
