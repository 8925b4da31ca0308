"""What coaches decided about the learning: frozen gains, and every decision with its reason."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import Connection

from engine.gain import Posterior
from engine.trust import Trust
from shared.actor import Author
from storage.database import Database
from storage.decisions import Decision, FrozenClub
from storage.decisions import Decisions as KeptDecisions

Effect = Callable[[Connection], bool]
"""What a decision changes, inside its transaction; False where nothing was to change."""


@dataclass(frozen=True)
class Frozen:
    """The gain a club is held at: by grade, means (2, 2) and covariances (2, 2, 2)."""

    reason: str
    grades: dict[str, tuple[np.ndarray, np.ndarray]]


class Decisions:
    """Decisions by community."""

    def __init__(self, db: Database) -> None:
        self._kept = KeptDecisions(db)
        self._now = db.now

    async def frozen(self, community_id: int) -> dict[str, Frozen]:
        """Frozen clubs by name."""
        return {each.club: _frozen(each) for each in await self._kept.frozen(community_id)}

    async def decide(
        self, community_id: int, coach: Author, what: str, reason: str, effect: Effect
    ) -> bool:
        """Let ``effect`` happen and keep the decision, both or neither; False where neither."""
        decision = Decision(coach.member_id, coach.name, what, reason, self._now())
        return await self._kept.decide(community_id, decision, effect)

    async def log(self, community_id: int) -> list[Decision]:
        """The last 200 decisions, newest first."""
        return await self._kept.last(community_id)


def held_at(club: str, grades: dict[str, int], posterior: Posterior, reason: str) -> FrozenClub:
    """A club's grades (indices by name) held at what the posterior says now."""
    beliefs = posterior.grades
    held: Any = {
        name: [beliefs.mean[index].tolist(), beliefs.cov[index].tolist()]
        for name, index in grades.items()
    }
    return FrozenClub(club, reason, held)


def _frozen(club: FrozenClub) -> Frozen:
    stored: Any = club.grades
    return Frozen(
        club.reason,
        {grade: (np.array(mean), np.array(cov)) for grade, (mean, cov) in stored.items()},
    )


def hold(
    trust: Trust, keys: tuple[tuple[str, str, str], ...], frozen: dict[str, Frozen]
) -> tuple[Trust, dict[int, str]]:
    """A trust with frozen clubs' rows put in place, and the reasons by row."""
    mean, cov = trust.mean.copy(), trust.cov.copy()
    reasons: dict[int, str] = {}
    for row, (club, grade, _) in enumerate(keys):
        held = frozen.get(club)
        if held is not None and grade in held.grades:
            mean[row], cov[row] = held.grades[grade]
            reasons[row] = held.reason
    return Trust(mean, cov), reasons
