"""The periodic full pass: all of a community's results weighed again, off the event loop.

A result's weight is fixed as it enters, by what was known then. Now and then every weight is made
anew by what is known now; how far the two doors part is measured in tests/bench/worlds.py. Where
the law has become another, the features are made anew by the way.
"""

import asyncio
from collections.abc import AsyncIterator

from bot.services.caddie.believed import tree_of
from bot.services.caddie.caddie import Caddie
from bot.services.learning.kept import Kept, kept_results, side_row
from bot.services.learning.learner import SCOPE, SCOPE_BEFORE, Learner, kind_of, sum_key
from bot.services.members import Caddies
from engine.response import full_pass
from engine.response_sums import set_aside_row, shot_rows
from storage.database import Database
from storage.played import Part, Result
from storage.results import Results
from storage.reweigh import Reweighed, reweigh

PAGE = 1000
AT_ONCE = 200  # results changed in one transaction: others wait that long
NOTICEABLE = 1 / 256  # the grid of weights


class FullPass:
    """Weighs a community's results anew."""

    def __init__(self, *, db: Database, kits: Caddies, learner: Learner) -> None:
        self._db = db
        self._results = Results(db)
        self._kits = kits
        self.learner = learner

    async def refresh(self, community_id: int) -> int:
        """Make every weight anew and put those that changed in place; how many did."""
        caddie = await self._kits.caddie(community_id)
        stored = [result async for result in self._all(community_id)]
        changes = await asyncio.to_thread(weighed, caddie, stored) if stored else []
        for start in range(0, len(changes), AT_ONCE):
            await reweigh(self._db, community_id, changes[start : start + AT_ONCE])
        self.learner.made_anew(community_id, caddie)
        if changes:
            await self.learner.learn(community_id)
            await self._kits.answers_changed(community_id)
        return len(changes)

    async def refresh_stale(self) -> None:
        """Weigh anew where the sums are of another law."""
        for community_id in tuple(self.learner.stale):
            await self.refresh(community_id)

    async def _all(self, community_id: int) -> AsyncIterator[Result]:
        after = 0
        while page := await self._results.page(community_id, after_id=after, limit=PAGE):
            for result in page:
                yield result
            after = page[-1].id


def weighed(caddie: Caddie, stored: list[Result]) -> list[Reweighed]:
    """The results that a full pass changes, with what they add from now on."""
    kept = kept_results(caddie, [each for each in stored if not each.played.left_out])
    parts = _parts(caddie, kept)
    changes: list[Reweighed] = []
    for result in stored:
        played = result.played
        if (played.club, played.grade) not in caddie.kit_rack.stamps:
            continue  # a club that the kit lacks now may come back
        weight, part = parts.get(result.id, (played.weight, None))
        if played.left_out and any(each.scope in (SCOPE, SCOPE_BEFORE) for each in played.parts):
            weight, part = 0.0, aside(caddie, result)
        before = [each for each in played.parts if each.scope in (SCOPE, SCOPE_BEFORE)]
        same = [(SCOPE, part.key)] if part else []
        kept_now = [(each.scope, each.key) for each in before]
        if kept_now == same and abs(weight - played.weight) < NOTICEABLE:
            continue
        others = tuple(each for each in played.parts if each.scope not in (SCOPE, SCOPE_BEFORE))
        new = (*others, part) if part else others
        changes.append(Reweighed(result.id, weight, new, played.left_out or None))
    return changes


def aside(caddie: Caddie, result: Result) -> Part:
    """What a result adds that a coach left out: its count."""
    played = result.played
    key = sum_key(caddie, played.club, played.grade, kind_of(played.holed))
    return Part(SCOPE, key, set_aside_row())


def _parts(caddie: Caddie, kept: Kept) -> dict[int, tuple[float, Part]]:
    """By result its weight and what it adds."""
    found: dict[int, tuple[float, Part]] = {}
    if kept.shots:
        done = full_pass(kept.results, tree_of(caddie.kit), missed=kept.missed_sums)
        rows = shot_rows(kept.results, done.weight)
        for result, weight, row in zip(
            kept.shots, done.weight.tolist(), rows.tolist(), strict=True
        ):
            played = result.played
            key = sum_key(caddie, played.club, played.grade, kind_of(played.holed))
            found[result.id] = weight, Part(SCOPE, key, tuple(row))
    for result in kept.missed:
        played = result.played
        key = sum_key(caddie, played.club, played.grade, "missed")
        found[result.id] = played.weight, Part(SCOPE, key, side_row(played))
    return found
