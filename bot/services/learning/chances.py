"""Whether the chances of going in have earned to be shown: what was given against what went in.

What was computed of a try was kept with its result as it was logged, by what was known before. What
is given is that put right by what went in of the tries before it (``engine.calibration``), so that
nothing is fitted in hindsight. Knows no Discord.
"""

import asyncio
from collections import OrderedDict
from dataclasses import dataclass
from typing import Final

import numpy as np

from bot.drawing.trust_scene import ChanceBin, ChancesScene
from bot.services.members import COMMUNITIES_IN_MEMORY
from engine.calibration import FIRST, Calibration, calibrate, calibrated_before
from engine.reliability import LEAST_HOLED, LEAST_TRIES, Reliability, Standing, reliability
from storage.database import Database
from storage.results import ChanceGiven, Results
from storage.versions import Versions

LATEST: Final = 2000  # results looked at: enough to put chances right, and soon read
JUDGED: Final = 600  # tries, the last: what was given when little was known is soon behind


@dataclass(frozen=True)
class Earned:
    """The diagram of a community's last tries, with their number and how many went in; ``logged``
    are all that were looked at. ``calibration`` puts a computed chance right."""

    diagram: Reliability
    tries: int
    holed: int
    logged: int
    calibration: Calibration

    @property
    def shown(self) -> bool:
        """Whether a chance may be given."""
        return self.diagram.standing is Standing.EARNED

    def goes_in(self, computed: float, *, half_width: float = 0.0) -> tuple[float, float]:
        """A computed chance put right, and the wider half of its 90% interval.

        ``half_width``: of the computed one's own interval.
        """
        ends = np.clip(computed + half_width * np.array([0.0, -1.0, 1.0]), 0.0, 1.0)
        found = self.calibration.of(ends)
        chance = found.chance[0]
        own = np.abs(found.chance - chance).max()
        common = max(found.high[0] - chance, chance - found.low[0])
        return float(chance), float(np.hypot(own, common))


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
    """The diagram of results, newest first; tries told at once are counted one by one."""
    oldest = given[::-1]
    computed = np.array([each.chance for each in oldest], dtype=np.float64)
    tries = np.array([each.tries for each in oldest], dtype=np.intp)
    went_in = np.array([each.went_in for each in oldest], dtype=np.float64)
    results = {"chance": computed, "tries": tries.astype(np.float64), "went_in": went_in}
    chance = np.repeat(calibrated_before(**results), tries)
    nth = np.concatenate([np.arange(each.tries) for each in oldest] or [np.zeros(0)])
    holed = nth < np.repeat(went_in, tries)
    judged = np.flatnonzero(np.isfinite(chance))[-JUDGED:]
    # Tries of one chance are many, and lie with those that went in first: bins must not part them.
    mixed = np.random.default_rng(1).permutation(judged)
    diagram = reliability(chance=chance[mixed], holed=holed[mixed])
    return Earned(
        diagram, judged.size, int(holed[judged].sum()), int(tries.sum()), calibrate(**results)
    )


def earned_sentence(earned: Earned) -> str:
    """Whether a chance of going in is given, and why or why not, in one sentence."""
    if earned.diagram.standing is Standing.TOO_FEW:
        logged = f"{earned.logged} logged {'try' if earned.logged == 1 else 'tries'}"
        after = f", {earned.holed} of the last {earned.tries} in" if earned.tries else ""
        wanted = f"{FIRST + LEAST_TRIES}, and {LEAST_HOLED} in after the first {FIRST}"
        return (
            f"Not enough tries to give a chance: {logged} of shots that are to end on a "
            f"ground{after}; it takes {wanted}."
        )
    tried = f"of the last {earned.tries} tries {earned.holed} went in"
    if earned.diagram.standing is Standing.OFF:
        return f"The chances do not agree with what went in, so none is given: {tried}."
    return f"The chances agree with what went in, so they are given: {tried}."


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
        subtitle=f"The last {earned.tries} tries, sorted by the chance they were given",
        bins=tuple(ChanceBin(round(float(n)), *(float(v) for v in rest)) for n, *rest in rows),
        interval="90% interval",
    )
