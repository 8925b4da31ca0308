"""What is kept in memory of communities and their members, beside the database.

The caddie of a community with its kit and beliefs, the bags of its members (a suggestion asks for
both per keystroke), and the aims they were told a moment ago.
"""

import asyncio
import logging
import math
from collections import OrderedDict, deque
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from bot.services.caddie.believed import Believed
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.rack import Choice
from shared.bag import Bag
from shared.errors import InputError, StorageError
from shared.kit import SURFACE_KINDS, Kit, SurfaceKind
from shared.quantities import Wind
from shared.units import UnitSystem
from shared.wording import quoted
from storage.bags import Bags
from storage.json import JsonObject
from storage.told import KEPT_AIMS, KeptAims, Member
from storage.versions import Versions

log = logging.getLogger(__name__)

Whole = tuple[int, int]

GATHERED_S = 0.03  # what is told within it is kept in one write
KEPT_MEMBERS = 4096  # whose aims wait to be kept
KEPT = timedelta(hours=12)  # a result is logged the same day, or nobody knows what was aimed by
SAME_CARRY_YD = 1.0
SAME_WIND_MMPS = 300  # two thirds of a mile an hour: the wind as read off twice


@dataclass(frozen=True)
class ToldAim:
    """An allowance as told, (long, right) in yards from the target ``carry_yd`` away.

    ``carry_yd`` None: for whatever carry. ``onto`` is what the ball is to finish on there.
    """

    choice: Choice
    wind_mmps: Whole
    carry_yd: float | None
    aim_yd: tuple[float, float]
    onto: SurfaceKind | None = None

    def body(self, at: datetime) -> JsonObject:
        """As it is kept, told at a time."""
        return {
            "at": at.isoformat(),
            "club": self.choice.club,
            "grade": self.choice.grade,
            "ball": self.choice.ball,
            "wind_mmps": list(self.wind_mmps),
            "carry_yd": self.carry_yd,
            "aim_yd": list(self.aim_yd),
            "onto": self.onto,
        }

    @classmethod
    def read(cls, body: Mapping[str, Any]) -> "ToldAim":
        """What ``body`` wrote."""
        along, right = body["wind_mmps"]
        far, aside = body["aim_yd"]
        choice = Choice(body["club"], body["grade"], body["ball"])
        kinds: list[SurfaceKind] = [kind for kind in SURFACE_KINDS if kind == body.get("onto")]
        said = kinds[0] if kinds else None
        return cls(choice, (along, right), body["carry_yd"], (far, aside), said)


class ToldAims:
    """Each member's latest aims, by community.

    They are kept in the database a moment after they were told, many members' in one write, so
    that a restart and other processes know them; until then they are here alone.
    """

    def __init__(self, kept: KeptAims) -> None:
        self._kept = kept
        self._new: dict[Member, list[JsonObject]] = {}
        self._winds: OrderedDict[Member, deque[Whole]] = OrderedDict()
        self._writing: asyncio.Task[None] | None = None

    def note(self, community_id: int, member_id: int, aim: ToldAim) -> None:
        """Remember what a member has just been told."""
        member = community_id, member_id
        told = self._new.setdefault(member, [])
        told.append(aim.body(self._kept.now()))
        if member in self._winds:
            self._winds[member].appendleft(aim.wind_mmps)
        del told[:-KEPT_AIMS]
        while len(self._new) > KEPT_MEMBERS:
            del self._new[next(iter(self._new))]
        if self._writing is None or self._writing.done():
            self._writing = asyncio.create_task(self._write())

    async def all_kept(self) -> None:
        """Wait until what was told is kept."""
        if self._writing is not None:
            await self._writing

    def drop(self, community_id: int, member_id: int) -> None:
        """Forget what is in memory of a member, whose rows are gone."""
        self._new.pop((community_id, member_id), None)
        self._winds.pop((community_id, member_id), None)

    async def of(self, community_id: int, member_id: int) -> tuple[ToldAim, ...]:
        """What a member was told lately, newest first."""
        member = community_id, member_id
        before = tuple(self._new.get(member, ()))  # what is kept meanwhile is there twice
        told = await self._kept.of(*member)
        told += [each for each in before if each not in told]
        since = self._kept.now() - KEPT
        return tuple(
            ToldAim.read(each)
            for each in reversed(told[-KEPT_AIMS:])
            if datetime.fromisoformat(str(each["at"])) >= since
        )

    async def winds(self, community_id: int, member_id: int) -> list[Whole]:
        """The winds a member asked in lately, newest first; elsewhere meanwhile, they may lack."""
        member = community_id, member_id
        if member not in self._winds:
            told = await self.of(community_id, member_id)
            self._winds[member] = deque((aim.wind_mmps for aim in told), maxlen=KEPT_AIMS)
        self._winds.move_to_end(member)
        while len(self._winds) > KEPT_MEMBERS:
            self._winds.popitem(last=False)
        return list(self._winds[member])

    async def _write(self) -> None:
        while self._new:
            await asyncio.sleep(GATHERED_S)
            now = {member: list(told) for member, told in self._new.items()}
            try:
                await self._kept.add(now)
            except StorageError as error:
                log.warning("what members were told is kept later: %s", error)
                return
            for member, told in now.items():
                left = [each for each in self._new.get(member, ()) if each not in told]
                if left:
                    self._new[member] = left
                else:
                    self._new.pop(member, None)


def aim_told(
    told: Sequence[ToldAim],
    *,
    choice: Choice,
    wind: Wind,
    carry_yd: float,
    onto: SurfaceKind | None = None,
) -> tuple[float, float] | None:
    """The first aim told for this club, grade and ball, this target and this wind; yards."""
    along, right = wind_mmps(wind)
    for aim in told:
        apart = math.hypot(aim.wind_mmps[0] - along, aim.wind_mmps[1] - right)
        near = aim.carry_yd is None or abs(aim.carry_yd - carry_yd) <= SAME_CARRY_YD
        near = near and aim.onto == onto
        if _hit_with(aim.choice) == _hit_with(choice) and near and apart <= SAME_WIND_MMPS:
            return aim.aim_yd
    return None


def wind_mmps(wind: Wind) -> Whole:
    """A wind as the air's velocity in the axes of the line of play: along + helps, right +."""
    turn = math.radians(wind.relative_deg)
    speed = 1000 * wind.speed.mps
    return round(-speed * math.cos(turn)), round(-speed * math.sin(turn))


def _hit_with(choice: Choice) -> tuple[str, str, str]:
    return choice.club, choice.grade, choice.ball


BAGS_IN_MEMORY = 2_000


class BagCache:
    """The bags asked for last, each for as long as no process has changed one of its community."""

    def __init__(self, bags: Bags, versions: Versions) -> None:
        self._bags = bags
        self._versions = versions
        self._seen: OrderedDict[Member, tuple[int, Bag]] = OrderedDict()

    async def get(self, community_id: int, member_id: int) -> Bag:
        """A member's bag; an empty one (all defaults) where none was set."""
        key = (community_id, member_id)
        version = (await self._versions.of(community_id)).get("bags", 0)
        found = self._seen.get(key)
        if found is None or found[0] != version:
            # Of a bag that changes in between the older version is kept, and it is read again.
            found = version, await self._bags.get(community_id, member_id) or Bag()
            self._seen[key] = found
        self._seen.move_to_end(key)
        while len(self._seen) > BAGS_IN_MEMORY:
            self._seen.popitem(last=False)
        return found[1]

    async def change(
        self,
        community_id: int,
        member_id: int,
        *,
        grades: dict[str, str],
        ball: str | None = None,
        units: UnitSystem | None = None,
        private: bool | None = None,
    ) -> Bag:
        """Set what is given and leave the rest, in one write; the bag as it is then."""

        def changed(bag: Bag) -> Bag:
            return Bag(
                grades=bag.grades | grades,
                ball=ball or bag.ball,
                units=units or bag.units,
                private=bag.private if private is None else private,
            )

        return await self._bags.change(community_id, member_id, changed)

    def drop(self, community_id: int, member_id: int) -> None:
        """Forget what is remembered of a member."""
        self._seen.pop((community_id, member_id), None)


def grades_to_set(*, kit: Kit, club: str | None, grade: str | None) -> dict[str, str]:
    """Grades by club for what a member chose: one club, or every club that has the grade.

    Errors: InputError for a grade without its club, or a club without its grade.
    """
    if grade is None:
        if club is None:
            return {}
        names = ", ".join(each.name for each in kit.club(club).grades)
        raise InputError(
            f"Say which grade of the {club} you own: {names}.",
            f"/bag club:{club} grade:{kit.club(club).grades[-1].name}",
        )
    clubs = [kit.club(club)] if club is not None else list(kit.clubs)
    typed = grade.strip().casefold()
    having = {
        each.name: own.name for each in clubs for own in each.grades if own.name.casefold() == typed
    }
    if not having:
        names = ", ".join(own.name for own in clubs[0].grades)
        owner = f"the {club}" if club is not None else "the kit"
        raise InputError(
            f"{owner[0].upper()}{owner[1:]} has no grade called {quoted(grade)}; it has {names}.",
            f"/bag club:{clubs[0].name} grade:{clubs[0].grades[-1].name}",
        )
    return having


Own = Callable[[int, Kit], Awaitable[Kit | None]]
Beliefs = Callable[[int, Caddie], Awaitable[Believed]]
VersionsOf = Callable[[int], Awaitable[dict[str, int]]]
Seen = tuple[int, int]
"""The versions of a community's kit and of what is believed of it."""

COMMUNITIES_IN_MEMORY = 256


@dataclass
class _Standing:
    """A community's caddie, and the versions it was made from."""

    caddie: Caddie
    seen: Seen
    asked: int = 0
    answered: int = 0


class Caddies:
    """Caddies by community, made when first asked for and kept while nothing has changed.

    Every community starts with the kit Leeward was started with; ``teach`` says where a
    community's beliefs come from, ``watch`` how another process's change is noticed.
    """

    def __init__(self, caddie: Caddie) -> None:
        self._first = caddie
        self._standing: OrderedDict[int, _Standing] = OrderedDict()
        self._beliefs: Beliefs | None = None
        self._own: Own | None = None
        self._listeners: list[Callable[[int], Awaitable[None]]] = []
        self._versions: VersionsOf | None = None

    @classmethod
    async def open(cls, kit: Kit) -> "Caddies":
        """Solve the kit's full shots off the event loop."""
        return cls(await asyncio.to_thread(Caddie, kit))

    def teach(self, beliefs: Beliefs) -> None:
        """Have every community's caddie believe what ``beliefs`` says of it."""
        self._beliefs = beliefs
        self._standing.clear()

    @property
    def first(self) -> Kit:
        """The kit Leeward was started with."""
        return self._first.kit

    def keep(self, own: Own) -> None:
        """Have communities play the kit of their own that ``own`` says they have."""
        self._own = own
        self._standing.clear()

    def watch(self, versions: VersionsOf) -> None:
        """Ask ``versions`` before each answer whether kit or beliefs have changed."""
        self._versions = versions

    async def caddie(self, community_id: int) -> Caddie:
        """The caddie of a community."""
        seen, known = await self._seen(community_id), self._standing.get(community_id)
        if known is None or known.seen != seen:
            if known is None or known.seen[0] != seen[0]:
                await self._begin(community_id, seen)
            await self.refresh(community_id)
            known = self._standing[community_id]
        self._standing.move_to_end(community_id)
        return known.caddie

    async def refresh(self, community_id: int) -> None:
        """Ask anew what a community's shots have taught."""
        seen = await self._seen(community_id)
        known = self._standing.get(community_id)
        if known is None:
            known = await self._begin(community_id, seen)
        known.asked += 1
        number, caddie = known.asked, known.caddie
        fresh = caddie
        if self._beliefs is not None:
            fresh = caddie.believing(await self._beliefs(community_id, caddie))
            if fresh.believed.hits:  # the next result asks for it
                await asyncio.to_thread(lambda: fresh.hit_spread)
        # Meanwhile another kit may have come, or a later question its answer.
        if known.caddie.kit is caddie.kit and number > known.answered:
            known.answered, known.caddie, known.seen = number, fresh, (known.seen[0], seen[1])
        if self._standing.get(community_id) is None:  # taken for a while by many others
            self._keep(community_id, known)

    def on_other_answers(self, listener: Callable[[int], Awaitable[None]]) -> None:
        """Have ``listener`` called with a community whose answers are others from now on.

        By another kit, a chart, a coach's decision or a full pass; a single result moves them by
        next to nothing and is not told.
        """
        self._listeners.append(listener)

    async def answers_changed(self, community_id: int) -> None:
        """Tell that a community's answers are others now."""
        for listener in self._listeners:
            await listener(community_id)

    async def change_kit(self, community_id: int, kit: Kit) -> None:
        """Have a community play another kit from now on."""
        seen = await self._seen(community_id)
        self._keep(community_id, _Standing(await asyncio.to_thread(Caddie, kit), seen))
        await self.refresh(community_id)
        await self.answers_changed(community_id)

    async def _begin(self, community_id: int, seen: Seen) -> _Standing:
        """A caddie with the community's kit, that believes nothing of it yet."""
        own = await self._own(community_id, self.first) if self._own is not None else None
        caddie = self._first if own is None else await asyncio.to_thread(Caddie, own)
        standing = _Standing(caddie, (seen[0], -1))
        self._keep(community_id, standing)
        return standing

    async def _seen(self, community_id: int) -> Seen:
        now = {} if self._versions is None else await self._versions(community_id)
        return now.get("kit", 0), now.get("belief", 0)

    def _keep(self, community_id: int, standing: _Standing) -> None:
        self._standing[community_id] = standing
        self._standing.move_to_end(community_id)
        while len(self._standing) > COMMUNITIES_IN_MEMORY:
            self._standing.popitem(last=False)
