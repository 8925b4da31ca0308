"""Whether the chances of going in have earned to be shown: what was given against what went in.

Each chance was kept with its result as it was logged, by what was known before, so that nothing is
fitted in hindsight. Knows no Discord.
"""

import asyncio
from collections import OrderedDict
from dataclasses import dataclass
from typing import Final

import numpy as np

from bot.drawing.trust_scene import ChanceBin, ChancesScene
from bot.services.members import COMMUNITIES_IN_MEMORY
from engine.reliability import LEAST_HOLED, LEAST_TRIES, Reliability, Standing, reliability
from storage.database import Database
from storage.results import ChanceGiven, Results
from storage.versions import Versions

LATEST: Final = 2000  # results looked at: enough for a change to be seen, and soon read


@dataclass(frozen=True)
class Earned:
    """The diagram of a community's tries, with their number and how many went in."""

    diagram: Reliability
    tries: int
    holed: int

    @property
    def shown(self) -> bool:
        """Whether a chance may be given."""
        return self.diagram.standing is Standing.EARNED


class ChanceService:
    """Asks a community's logged tries whether a chance may be given.

    The diagram is kept until a result comes, in whichever process: until its version moves.
    """

    def __init__(self, db: Database, versions: Versions) -> None:
        self._results = Results(db)
        self._versions = versions
        self._seen: OrderedDict[int, tuple[int, Earned]] = OrderedDict()

    async def earned(self, community_id: int) -> Earned:
        """How the chances given have held."""
        version = (await self._versions.of(community_id)).get("belief", 0)
        found = self._seen.get(community_id)
        if found is None or found[0] != version:
            # Of a result that comes in between the older version is kept, and it is read again.
            given = await self._results.chances(community_id, limit=LATEST)
            found = version, await asyncio.to_thread(earned_by, given)
            self._seen[community_id] = found
        self._seen.move_to_end(community_id)
        while len(self._seen) > COMMUNITIES_IN_MEMORY:
            self._seen.popitem(last=False)
        return found[1]


def earned_by(given: list[ChanceGiven]) -> Earned:
    """The diagram of tries, those told at once counted one by one."""
    chance = np.array([each.chance for each in given for _ in range(each.tries)], dtype=float)
    holed = np.array(
        [n < each.went_in for each in given for n in range(each.tries)], dtype=np.bool_
    )
    # Tries of one chance are many, and lie with those that went in first: bins must not part them.
    mixed = np.random.default_rng(1).permutation(chance.size)
    diagram = reliability(chance=chance[mixed], holed=holed[mixed])
    return Earned(diagram, int(chance.size), int(holed.sum()))


def earned_sentence(earned: Earned) -> str:
    """Whether a chance of going in is given, and why or why not, in one sentence."""
    tried = f"{earned.tries} logged {'try' if earned.tries == 1 else 'tries'}, {earned.holed} in"
    if earned.diagram.standing is Standing.TOO_FEW:
        return (
            f"Not enough tries to give a chance: {tried}, of shots that are to end on a ground; "
            f"it takes {LEAST_TRIES} and {LEAST_HOLED} in."
        )
    if earned.diagram.standing is Standing.OFF:
        return f"The chances do not agree with what went in, so none is given ({tried})."
    return f"The chances agree with what went in, so they are given ({tried})."


def ranked_sentence(earned: Earned) -> str:
    """By what a card ranks, and why it gives no chance, or that it may."""
    ranked = "Ranked by what a shot leaves"
    if earned.shown:
        return f"{ranked}; chances of going in have held so far (/trust)."
    return f"{ranked}: {earned.diagram.standing.value}."


def chances_scene(earned: Earned) -> ChancesScene | None:
    """The diagram as a picture; None before a try was given a chance."""
    found = earned.diagram
    if not earned.tries:
        return None
    rows = zip(found.tries, found.given, found.holed, found.low, found.high, strict=True)
    return ChancesScene(
        title="Chances given, and what went in",
        subtitle=f"{earned.tries} tries, sorted by the chance they were given",
        bins=tuple(ChanceBin(round(float(n)), *(float(v) for v in rest)) for n, *rest in rows),
        interval="90% interval",
    )
