"""Work that goes on beside commands: looked at again and again, whatever goes wrong.

What a turn raises is logged once with its cause and tried again after a wait that grows; the same
cause again is no news. Nothing but ``stop`` ends it.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from contextlib import suppress

from discord.ext import tasks

log = logging.getLogger(__name__)

FIRST_WAIT_S, LONGEST_WAIT_S = 5.0, 900.0
Turn = Callable[[], Awaitable[object]]


class Background:
    """One piece of work, done every ``every_s``; ``failures`` counts those in a row."""

    def __init__(self, name: str, turn: Turn, *, every_s: float) -> None:
        self._name = name
        self._turn = turn
        self._every_s = every_s
        self._loop = tasks.loop(seconds=every_s)(self._work)
        self._one = asyncio.Lock()
        self._known_cause = ""
        self.failures = 0

    @property
    def is_running(self) -> bool:
        """Whether it has begun and was not stopped."""
        return self._loop.is_running()

    def start(self) -> None:
        """Begin; harmless twice."""
        if not self.is_running:
            self._loop.start()

    async def stop(self) -> None:
        """End it where it is; returns when it has ended."""
        task = self._loop.get_task()
        self._loop.cancel()
        if task is not None:
            with suppress(asyncio.CancelledError):
                await task

    async def once(self) -> bool:
        """One turn, after one that is under way; False where it failed, which is logged."""
        async with self._one:
            try:
                await self._turn()
            except Exception as error:
                self.failures += 1
                self._tell(error)
                return False
        if self.failures:
            log.info("%s works again", self._name)
        self.failures, self._known_cause = 0, ""
        return True

    @property
    def wait_s(self) -> float:
        """How long it rests now: longer after each failure in a row."""
        if not self.failures:
            return self._every_s
        return min(FIRST_WAIT_S * 2.0 ** min(self.failures - 1, 16), LONGEST_WAIT_S)

    async def _work(self) -> None:
        await self.once()
        self._loop.change_interval(seconds=self.wait_s)

    def _tell(self, error: Exception) -> None:
        cause = cause_of(error)
        if cause != self._known_cause:
            self._known_cause = cause
            log.error("%s failed and goes on: %s", self._name, cause, exc_info=error)


def cause_of(error: Exception) -> str:
    """What went wrong, for the log: with the place where a database says it."""
    said = getattr(error, "detail", "") or str(error)
    return f"{type(error).__name__}: {said}" if said else type(error).__name__
