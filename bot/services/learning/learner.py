"""What a community's logged shots teach: a response from running sums, and what a new shot adds.

The sums are a few vectors a club grade (``engine.response_sums``), kept in the transaction that
keeps a result; what one result adds is fixed as it enters. So an answer costs the same at ten
results and at ten million. A sum's key names the law its features were made with: where that is
another now, the results are weighed anew in the background. Knows no Discord.
"""

import asyncio
from collections import OrderedDict
from dataclasses import dataclass, replace

import numpy as np

from bot.services.caddie.believed import Believed, GradeKey, grade_keys, learned, tree_of
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.hits import HITS, RUNS, rolls_from
from bot.services.learning.decisions import Decisions, hold
from bot.services.members import COMMUNITIES_IN_MEMORY, Caddies
from engine.response import Posterior, posterior_from_sums, shot_weight
from engine.response_features import Situations, features
from engine.response_mistake import Mistake, explain_miss, misread
from engine.response_refer import joined_stamp
from engine.response_sums import KINDS, Results, Sums, shot_rows
from shared.kit import Kit
from storage.played import Part
from storage.vectors import VectorSums

SCOPE = "response"
SCOPE_BEFORE = "gain"  # what results taught before the response was learned
ANEW = "the shots logged before are being weighed anew"
Pair = tuple[float, float]


@dataclass(frozen=True)
class Seen:
    """What a played shot did: ``situations`` (1,) is what the law was asked, ``observed_m`` (long,
    right) where the ball came down from where still air would have put it."""

    club: str
    grade: str
    situations: Situations
    observed_m: Pair
    holed: bool = False


@dataclass(frozen=True)
class Lesson:
    """What one played shot adds: the part of its grade's sums, and how far it is trusted (0..1)."""

    part: Part
    weight: float


@dataclass(frozen=True)
class _Learned:
    """A community's response and the places of its grades."""

    posterior: Posterior
    index: dict[GradeKey, int]


class Learner:
    """Responses by community, from the sums alone.

    ``stale`` are communities whose sums are of another law; ``FullPass`` makes them anew.
    """

    def __init__(self, *, kits: Caddies, sums: VectorSums, decisions: Decisions) -> None:
        self._kits = kits
        self._sums = sums
        self._decisions = decisions
        self._learned: OrderedDict[int, _Learned] = OrderedDict()
        self._made: dict[int, str] = {}
        self.stale: set[int] = set()

    async def beliefs(self, community_id: int, caddie: Caddie) -> Believed:
        """What the community's shots say of the law, for its caddie."""
        posterior = await self._fresh(community_id, caddie)
        found = learned(kit=caddie.kit, kit_rack=caddie.kit_rack, posterior=posterior)
        sources = list(found.sources)
        if community_id in self.stale:
            sources = [f"{each}; {ANEW}" for each in sources]
        hits = await self._sums.all(community_id, HITS)
        rolls = rolls_from(await self._sums.all(community_id, RUNS))
        response, frozen = found.response, await self._decisions.frozen(community_id)
        if frozen:
            response, reasons = hold(response, caddie.kit_rack.keys, frozen)
            for row, reason in reasons.items():
                sources[row] = f"frozen by a coach: {reason}"
        return replace(found, response=response, sources=tuple(sources), hits=hits, rolls=rolls)

    async def posterior(self, community_id: int) -> Posterior:
        """The response of every club grade of the community's kit."""
        return (await self._of(community_id)).posterior

    async def without_shots(self, community_id: int) -> Posterior:
        """What would be known without any shot: where a measuring series begins."""
        kit = (await self._kits.caddie(community_id)).kit
        nothing = Sums.zero(grades=len(grade_keys(kit)))
        return await asyncio.to_thread(posterior_from_sums, nothing, tree_of(kit))

    async def lesson(self, community_id: int, seen: Seen) -> Lesson | None:
        """What a played shot is to add, None for a grade the kit lacks.

        Errors: EngineError for effects no wind can have.
        """
        caddie = await self._kits.caddie(community_id)
        known = await self._of(community_id)
        posterior, index = known.posterior, known.index.get((seen.club, seen.grade))
        if index is None:
            return None
        shot = _result(index, seen)
        weight = await asyncio.to_thread(shot_weight, posterior, shot)
        vector = tuple(float(value) for value in shot_rows(shot, weight)[0])
        key = sum_key(caddie, seen.club, seen.grade, kind_of(seen.holed))
        return Lesson(Part(SCOPE, key, vector), float(weight[0]))

    async def missed(
        self, community_id: int, *, club: str, grade: str, row: tuple[float, ...]
    ) -> Lesson | None:
        """What a miss nobody measured is to add (``engine.response_sums.missed_row``)."""
        caddie = await self._kits.caddie(community_id)
        if (club, grade) not in _index(caddie.kit):
            return None
        return Lesson(Part(SCOPE, sum_key(caddie, club, grade, "missed"), row), 1.0)

    async def mistake(self, community_id: int, seen: Seen) -> Mistake:
        """Whether a miss is better explained by a wind typed from the other side, and which."""
        known = await self._of(community_id)
        posterior, index = known.posterior, known.index.get((seen.club, seen.grade))
        if index is None:
            return Mistake.NONE
        shot = _result(index, seen)
        found = explain_miss(posterior, shot, misread(seen.situations))
        return found.mistake if found.ask else Mistake.NONE

    async def learn(self, community_id: int) -> None:
        """Take in what has been kept since; called after a result was added, changed or removed."""
        await self._kits.refresh(community_id)

    def made_anew(self, community_id: int, caddie: Caddie) -> None:
        """The results were weighed by this caddie's law: that is done once for each law."""
        self._made[community_id] = _law(caddie)
        self.stale.discard(community_id)

    async def _fresh(self, community_id: int, caddie: Caddie) -> Posterior:
        kit = caddie.kit
        rows = await self._sums.all(community_id, SCOPE)
        before = await self._sums.all(community_id, SCOPE_BEFORE)
        places = {
            sum_key(caddie, club, grade, kind): (n, kind)
            for n, (club, grade) in enumerate(grade_keys(kit))
            for kind in KINDS
        }
        known = {places[key]: row for key, row in rows.items() if key in places}
        others = [*(key for key in rows if key not in places), *before]
        names = {f"{club}/{grade}" for club, grade in grade_keys(kit)}
        if any(key.split("#")[0] in names for key in others):
            self._tell_stale(community_id, caddie)
        sums = Sums.from_rows(known, grades=len(grade_keys(kit)))
        posterior = await asyncio.to_thread(posterior_from_sums, sums, tree_of(kit))
        self._learned[community_id] = _Learned(posterior, _index(kit))
        self._learned.move_to_end(community_id)
        while len(self._learned) > COMMUNITIES_IN_MEMORY:
            self._learned.popitem(last=False)
        return posterior

    async def _of(self, community_id: int) -> "_Learned":
        await self._kits.caddie(community_id)
        if community_id not in self._learned:  # so many others were asked for meanwhile
            await self._kits.refresh(community_id)
        return self._learned[community_id]

    def _tell_stale(self, community_id: int, caddie: Caddie) -> None:
        if self._made.get(community_id) != _law(caddie):
            self.stale.add(community_id)


def sum_key(caddie: Caddie, club: str, grade: str, kind: str) -> str:
    """The key of a grade's sums of one kind, by the law their features were made with."""
    return f"{club}/{grade}#{caddie.kit_rack.stamps[club, grade]}|{kind}"


def kind_of(holed: bool) -> str:
    """Under which kind a result whose effect is known is summed."""
    return "holed" if holed else "measured"


def _result(grade: int, seen: Seen) -> Results:
    observed_m = np.array([seen.observed_m], float)
    return Results(np.array([grade]), features(seen.situations), observed_m, np.array([seen.holed]))


def _law(caddie: Caddie) -> str:
    return joined_stamp(caddie.kit_rack.stamps.values())


def _index(kit: Kit) -> dict[GradeKey, int]:
    return {key: number for number, key in enumerate(grade_keys(kit))}
