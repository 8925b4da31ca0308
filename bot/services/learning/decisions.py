"""What coaches decided about the learning: frozen clubs, and every decision with its reason."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, cast

import numpy as np
from sqlalchemy import Connection

from engine.response import Posterior, Response, prior_response
from engine.response_features import ACROSS, ALONG
from shared.actor import Author
from storage.database import Database
from storage.decisions import Decision, FrozenClub
from storage.decisions import Decisions as KeptDecisions

Effect = Callable[[Connection], bool]
"""What a decision changes, inside its transaction; False where nothing was to change."""


@dataclass(frozen=True)
class Frozen:
    """The response a club is held at, one row by grade."""

    reason: str
    grades: dict[str, Response]


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
    held: Any = {}
    for name, index in grades.items():
        row = posterior.response(np.array([index]))
        held[name] = {each.name: getattr(row, each.name)[0].tolist() for each in fields(row)}
    return FrozenClub(club, reason, held)


def _frozen(club: FrozenClub) -> Frozen:
    stored: Any = club.grades
    return Frozen(club.reason, {grade: _row(held) for grade, held in stored.items()})


def _row(held: Any) -> Response:
    """One row as it was kept; before the response was learned it was [mean, cov] of a gain."""
    row = prior_response(rows=1)
    if isinstance(held, list):
        return _of_gain(row, cast("list[Any]", held))
    kept = {name: np.array([value], dtype=float) for name, value in held.items()}
    if any(getattr(row, each.name).shape != kept[each.name].shape for each in fields(row)):
        return row  # held with features that are learned no more
    return Response(**kept)


def _of_gain(row: Response, held: list[Any]) -> Response:
    """A gain and a bias by axis as weights of the law and the offset; nothing else was known."""
    mean, cov = (np.array(part, dtype=float) for part in held)
    parts: dict[str, np.ndarray] = {}
    for axis, (name, names) in enumerate((("along", ALONG), ("across", ACROSS))):
        at = [names.index("law"), names.index("offset")]
        weights, wide = np.zeros((1, len(names))), np.zeros((1, len(names), len(names)))
        weights[0, at] = mean[axis]
        wide[0, *np.ix_(at, at)] = cov[axis]
        parts |= {f"{name}_mean": weights, f"{name}_cov": wide}
    return replace(row, **parts)


def hold(
    response: Response, keys: tuple[tuple[str, str, str], ...], frozen: dict[str, Frozen]
) -> tuple[Response, dict[int, str]]:
    """A response with frozen clubs' rows put in place, and the reasons by row."""
    reasons: dict[int, str] = {}
    for row, (club, grade, _) in enumerate(keys):
        held = frozen.get(club)
        if held is not None and grade in held.grades:
            response = response.put(np.array([row]), held.grades[grade])
            reasons[row] = held.reason
    return response, reasons
