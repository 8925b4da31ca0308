"""The aims members were told lately: what they aimed by when they log where the ball came down.

Between question and result others log too, and the allowance moves; a miss taken from the newer aim
would teach the gain that it was nearer the truth than it is. Kept in memory only: after a restart
the allowance of the moment stands in. Knows no Discord.
"""

import math
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bot.services.caddie.shots import Choice
from shared.quantities import Wind

Whole = tuple[int, int]

KEPT_MEMBERS = 4096
KEPT_AIMS = 24  # a member's; a round of nine holes asked twice over, with some to spare
KEPT_S = 12 * 3600.0  # a result is logged the same day, or nobody knows what was aimed by
SAME_CARRY_YD = 1.0
SAME_WIND_MMPS = 300  # two thirds of a mile an hour: the wind as read off twice


@dataclass(frozen=True)
class ToldAim:
    """An allowance as told, (long, right) in yards; ``carry_yd`` None: for whatever carry."""

    choice: Choice
    wind_mmps: Whole
    carry_yd: float | None
    aim_yd: tuple[float, float]


class ToldAims:
    """Each member's latest aims, by community."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._aims: OrderedDict[tuple[int, int], deque[tuple[float, ToldAim]]] = OrderedDict()

    def note(self, community_id: int, member_id: int, aim: ToldAim) -> None:
        """Remember what a member has just been told."""
        key = community_id, member_id
        self._aims.setdefault(key, deque(maxlen=KEPT_AIMS)).append((self._clock(), aim))
        self._aims.move_to_end(key)
        while len(self._aims) > KEPT_MEMBERS:
            self._aims.popitem(last=False)

    def of(self, community_id: int, member_id: int) -> tuple[ToldAim, ...]:
        """What a member was told lately, newest first."""
        since = self._clock() - KEPT_S
        told = self._aims.get((community_id, member_id), ())
        return tuple(aim for at, aim in reversed(told) if at >= since)


def aim_told(
    told: Sequence[ToldAim], *, choice: Choice, wind: Wind, carry_yd: float
) -> tuple[float, float] | None:
    """The first aim told for this club, grade and ball, this carry and this wind; yards."""
    along, right = wind_mmps(wind)
    for aim in told:
        apart = math.hypot(aim.wind_mmps[0] - along, aim.wind_mmps[1] - right)
        near = aim.carry_yd is None or abs(aim.carry_yd - carry_yd) <= SAME_CARRY_YD
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
