"""The periodic full pass: all of a community's results weighed again, off the event loop.

A result's weight is fixed as it enters, by what was known then. Now and then every weight is made
anew by what is known now; how far the two doors part is measured in tests/bench/gain.py.
"""

import asyncio
from collections.abc import AsyncIterator

import numpy as np

from bot.services.caddie.believed import grade_keys, tree_of
from bot.services.learning.learner import SCOPE, Learner, sum_key
from bot.services.members import Caddies
from engine.gain import full_pass
from engine.gain_sums import Results as GainResults
from engine.gain_sums import shot_sums
from shared.kit import Kit
from storage.database import Database
from storage.played import Part, Result
from storage.results import Results
from storage.reweigh import Reweighed, reweigh

PAGE = 1000
AT_ONCE = 200  # results changed in one transaction: others wait that long
CM = 100.0
NOTICEABLE = 1 / 256  # the grid of weights


class FullPass:
    """Weighs a community's results anew."""

    def __init__(self, *, db: Database, kits: Caddies, learner: Learner) -> None:
        self._db = db
        self._results = Results(db)
        self._kits = kits
        self._learner = learner

    async def refresh(self, community_id: int) -> int:
        """Make every weight anew and put those that changed in place; how many did."""
        kit = (await self._kits.caddie(community_id)).kit
        index = {key: n for n, key in enumerate(grade_keys(kit))}
        known = [result async for result in self._all(community_id) if _teaches(result, index)]
        if not known:
            return 0
        changes = await asyncio.to_thread(_weighed, kit, index, known)
        for start in range(0, len(changes), AT_ONCE):
            await reweigh(self._db, community_id, changes[start : start + AT_ONCE])
        await self._learner.learn(community_id)
        return len(changes)

    async def _all(self, community_id: int) -> AsyncIterator[Result]:
        after = 0
        while page := await self._results.page(community_id, after_id=after, limit=PAGE):
            for result in page:
                yield result
            after = page[-1].id


def _teaches(result: Result, index: dict[tuple[str, str], int]) -> bool:
    played = result.played
    measured = played.observed_cm is not None and played.effect_cm is not None
    return measured and not played.left_out and (played.club, played.grade) in index


def _weighed(kit: Kit, index: dict[tuple[str, str], int], known: list[Result]) -> list[Reweighed]:
    """The results whose weight a full pass changes, with what they add from now on."""
    grade = np.array([index[r.played.club, r.played.grade] for r in known])
    predicted = np.array([r.played.effect_cm for r in known], float) / CM
    observed = np.array([r.played.observed_cm for r in known], float) / CM
    found = full_pass(GainResults(grade, predicted, observed), tree_of(kit))
    rows = shot_sums(predicted, observed, found.weight)
    changes: list[Reweighed] = []
    for result, weight, row in zip(known, found.weight.tolist(), rows.tolist(), strict=True):
        played = result.played
        if abs(weight - played.weight) < NOTICEABLE:
            continue
        part = Part(SCOPE, sum_key(played.club, played.grade), tuple(row))
        kept = tuple(each for each in played.parts if each.scope != SCOPE)
        changes.append(Reweighed(result.id, weight, (*kept, part)))
    return changes
