"""What coaches decided about the learning: frozen gains, and every decision with its reason.

Frozen gains and the log are one JSON value each in the community's settings.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from engine.gain import Posterior
from engine.trust import Trust
from storage.settings import CommunitySettings

FROZEN, LOG = "frozen_gains", "gain_log"
LOG_KEPT = 200


@dataclass(frozen=True)
class Decision:
    """One decision of a coach."""

    at: datetime
    coach: str
    what: str
    reason: str


@dataclass(frozen=True)
class Frozen:
    """The gain a club is held at: by grade, means (2, 2) and covariances (2, 2, 2)."""

    reason: str
    grades: dict[str, tuple[np.ndarray, np.ndarray]]


class Decisions:
    """Decisions by community."""

    def __init__(self, settings: CommunitySettings) -> None:
        self._settings = settings

    async def frozen(self, community_id: int) -> dict[str, Frozen]:
        """Frozen clubs by name."""
        stored: Any = await self._settings.get(community_id, FROZEN) or {}
        return {
            club: Frozen(
                entry["reason"],
                {
                    grade: (np.array(mean), np.array(cov))
                    for grade, (mean, cov) in entry["grades"].items()
                },
            )
            for club, entry in stored.items()
        }

    async def freeze(
        self,
        community_id: int,
        club: str,
        grades: dict[str, int],
        posterior: Posterior,
        reason: str,
    ) -> None:
        """Hold a club's grades (indices by name) at what the posterior says now."""
        stored: Any = await self._settings.get(community_id, FROZEN) or {}
        beliefs = posterior.grades
        stored[club] = {
            "reason": reason,
            "grades": {
                name: [beliefs.mean[index].tolist(), beliefs.cov[index].tolist()]
                for name, index in grades.items()
            },
        }
        await self._settings.set(community_id, **{FROZEN: stored})

    async def release(self, community_id: int, club: str) -> bool:
        """Let a club learn again; False where it was not frozen."""
        stored: Any = await self._settings.get(community_id, FROZEN) or {}
        if stored.pop(club, None) is None:
            return False
        await self._settings.set(community_id, **{FROZEN: stored or None})
        return True

    async def note(self, community_id: int, decision: Decision) -> None:
        """Write a decision into the log; the newest 200 are kept."""
        stored: Any = await self._settings.get(community_id, LOG) or []
        entry: Any = [decision.at.isoformat(), decision.coach, decision.what, decision.reason]
        await self._settings.set(community_id, **{LOG: [*stored, entry][-LOG_KEPT:]})

    async def log(self, community_id: int) -> list[Decision]:
        """The decisions, newest first."""
        stored: Any = await self._settings.get(community_id, LOG) or []
        return [
            Decision(datetime.fromisoformat(at), coach, what, reason)
            for at, coach, what, reason in reversed(stored)
        ]


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
