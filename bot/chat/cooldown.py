"""How often one member may ask: enough for a round in a hurry, too little to hold others up."""

import time
from collections import OrderedDict, deque
from collections.abc import Callable

from discord import app_commands

WINDOW_S = 60.0
POSTS = ("share", "poll ask", "poll hole", "publish")  # what others see
DRAWS = ("sheet", "guide")  # what takes seconds
MOST_POSTS, MOST_DRAWS, MOST = 8, 8, 60  # in a window, each command or button by itself
REMEMBERED = 10_000  # members with a command

Who = tuple[int, int]


class TooOftenError(app_commands.CheckFailure):
    """A member asked for the same too often; ``wait_s`` is how long until they may again."""

    def __init__(self, name: str, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(f"That was {name} too often in a minute; again in {wait_s:.0f} s.")


class Cooldowns:
    """When each member asked for what, within the last minute."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._asked: OrderedDict[tuple[Who, str], deque[float]] = OrderedDict()

    def ask(self, who: Who, name: str) -> None:
        """Count that a member of a community asks. Errors: TooOftenError, which counts nothing."""
        now, most = self._clock(), most_of(name)
        asked = self._asked.setdefault((who, name), deque())
        self._asked.move_to_end((who, name))
        while len(self._asked) > REMEMBERED:
            self._asked.popitem(last=False)
        while asked and asked[0] <= now - WINDOW_S:
            asked.popleft()
        if len(asked) >= most:
            raise TooOftenError(name, max(1.0, asked[0] + WINDOW_S - now))
        asked.append(now)


class NoCooldowns(Cooldowns):
    """For measuring, and for a simulated Discord without anybody to hold up."""

    def ask(self, who: Who, name: str) -> None:
        """Let everything pass."""


def most_of(name: str) -> int:
    """How often in a window a member may ask for a command or press a button."""
    if name in POSTS:
        return MOST_POSTS
    return MOST_DRAWS if name in DRAWS else MOST
