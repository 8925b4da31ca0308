"""What a community's logged shots teach: gains from running sums, and what a new shot adds to them.

The sums are fourteen numbers a club grade (``engine.gain_sums``), kept in the transaction that
keeps a result; what one result adds is fixed as it enters. So an answer costs the same at ten
results and at ten million. Knows no Discord.
"""

import asyncio
from dataclasses import dataclass

import numpy as np

from bot.services.caddie.believed import Believed, GradeKey, grade_keys, learned, tree_of
from bot.services.caddie.caddie import Caddie
from bot.services.learning.decisions import Decisions, hold
from bot.services.members import Caddies
from engine.gain import Posterior, posterior_from_sums, shot_weight
from engine.gain_mistake import Mistake, explain_miss
from engine.gain_sums import SUM_NAMES, GainSums, Results, shot_sums
from shared.kit import Kit
from storage.played import Part
from storage.vectors import VectorSums

SCOPE = "gain"
Pair = tuple[float, float]


@dataclass(frozen=True)
class Lesson:
    """What one played shot adds: the part of its grade's sums, and how far it is trusted (0..1)."""

    part: Part
    weight: float


class Learner:
    """Gains by community, from the sums alone."""

    def __init__(self, *, kits: Caddies, sums: VectorSums, decisions: Decisions) -> None:
        self._kits = kits
        self._sums = sums
        self._decisions = decisions
        self._posteriors: dict[int, Posterior] = {}
        self._indexes: dict[int, dict[GradeKey, int]] = {}

    async def beliefs(self, community_id: int, caddie: Caddie) -> Believed:
        """What the community's shots say of the law, for its caddie."""
        posterior = await self._fresh(community_id, caddie.kit)
        found = learned(kit=caddie.kit, kit_rack=caddie.kit_rack, posterior=posterior)
        frozen = await self._decisions.frozen(community_id)
        if not frozen:
            return found
        trust, reasons = hold(found.trust, caddie.kit_rack.keys, frozen)
        sources = list(found.sources)
        for row, reason in reasons.items():
            sources[row] = f"frozen by a coach: {reason}"
        return Believed(trust, tuple(sources), found.spreads)

    async def posterior(self, community_id: int) -> Posterior:
        """Gain and bias of every club grade of the community's kit."""
        await self._kits.caddie(community_id)
        return self._posteriors[community_id]

    async def without_shots(self, community_id: int) -> Posterior:
        """What would be known without any shot: where a measuring series begins."""
        kit = (await self._kits.caddie(community_id)).kit
        nothing = GainSums.zero(grades=len(grade_keys(kit)))
        return await asyncio.to_thread(posterior_from_sums, nothing, tree_of(kit))

    async def lesson(
        self, community_id: int, *, club: str, grade: str, predicted_m: Pair, observed_m: Pair
    ) -> Lesson | None:
        """What a played shot is to add, None for a grade the kit lacks.

        Effects are (long, right) in metres: what the law says the wind does, and where the ball
        came down from where still air would have put it. Errors: EngineError for effects no wind
        can have.
        """
        posterior = await self.posterior(community_id)
        index = self._indexes[community_id].get((club, grade))
        if index is None:
            return None
        shot = Results(
            np.array([index]), np.array([predicted_m], float), np.array([observed_m], float)
        )
        weight = await asyncio.to_thread(shot_weight, posterior, shot)
        row = shot_sums(shot.predicted_m, shot.observed_m, weight)[0]
        vector = tuple(float(value) for value in row)
        return Lesson(Part(SCOPE, sum_key(club, grade), vector), float(weight[0]))

    async def mistake(
        self, community_id: int, *, club: str, grade: str, predicted_m: Pair, observed_m: Pair
    ) -> Mistake:
        """Whether a miss is better explained by a wind typed from the other side, and which."""
        posterior = await self.posterior(community_id)
        index = self._indexes[community_id].get((club, grade))
        if index is None:
            return Mistake.NONE
        found = explain_miss(
            posterior,
            grade=index,
            predicted_m=predicted_m,
            observed_m=observed_m,
        )
        return found.mistake if found.ask else Mistake.NONE

    async def learn(self, community_id: int) -> None:
        """Take in what has been kept since; called after a result was added, changed or removed."""
        await self._kits.refresh(community_id)

    async def _fresh(self, community_id: int, kit: Kit) -> Posterior:
        rows = await self._sums.all(community_id, SCOPE)
        nothing = (0.0,) * len(SUM_NAMES)
        sums = GainSums.from_rows(
            [rows.get(sum_key(club, grade), nothing) for club, grade in grade_keys(kit)]
        )
        posterior = await asyncio.to_thread(posterior_from_sums, sums, tree_of(kit))
        self._posteriors[community_id] = posterior
        self._indexes[community_id] = _index(kit)
        return posterior


def sum_key(club: str, grade: str) -> str:
    """The key of a grade's sums."""
    return f"{club}/{grade}"


def _index(kit: Kit) -> dict[GradeKey, int]:
    return {key: number for number, key in enumerate(grade_keys(kit))}
