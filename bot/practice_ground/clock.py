"""A frozen clock that is carried along with the wall."""

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime

# Everything due within one step must be done before the simulation's own deadline (60 s), so that
# a machine that slept overnight is caught up in parts rather than in one leap that times out.
LONGEST_STEP_S = 600.0


def wall_now() -> datetime:
    """Tell the time of this machine."""
    return datetime.now(UTC)


class LivingClock:
    """Carries a clock that only moves when told to up to the time on the wall.

    ``now`` reads that clock and ``advance`` moves it by seconds, doing all that comes due on the
    way; the caller holds the lock under which it may be moved.
    """

    def __init__(
        self,
        *,
        now: Callable[[], datetime],
        advance: Callable[[float], Awaitable[None]],
        wall: Callable[[], datetime] = wall_now,
    ) -> None:
        self._now = now
        self._advance = advance
        self._wall = wall

    def behind_s(self) -> float:
        """Measure how far the clock is behind the wall, in seconds; never negative."""
        return max(0.0, (self._wall() - self._now()).total_seconds())

    async def catch_up(self) -> None:
        """Advance to the time the wall shows now, in steps no longer than LONGEST_STEP_S."""
        target = self._wall()
        while (remaining_s := (target - self._now()).total_seconds()) > 0:
            await self._advance(min(remaining_s, LONGEST_STEP_S))
