"""The three ways through the house, walked: the files of bot/ that a question enters, and so on.

A call that comes from a lower room into a higher one is a way back up. The router is the front
door: what it hands on to a command begins the way. A way ends at the answer: what is learned from
a result and told to listeners afterwards is a way of its own.
"""

import asyncio
import sys
from collections.abc import Awaitable, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

import bot
from tests.chat.booking import fill, load_cup
from tests.chat.conftest import Stage

HOME = Path(bot.__file__).parent
FLOORS = {"drawing": 0, "chat": 1, "services": 1, "commands": 2}
DOORS = {"app.py", "chat/router.py", "chat/cooldown.py"}
AFTERWARDS = {"ResultService.spread", "EventStore._told"}


class Walk:
    """The files entered and the calls between them, as ``chat/respond.py``.

    ``where`` is the room in which the way begins: what other features hear of it is no part of it.
    """

    def __init__(self, where: str) -> None:
        self.where = where
        self.ended = False
        self.files: set[str] = set()
        self.calls: set[tuple[str, str]] = set()

    def seen(self, frame: FrameType, event: str, _: Any) -> None:
        """A profile function: notes a call into bot/ and the nearest caller there."""
        here = place_of(frame) if event == "call" else None
        if here is None:
            return
        callers = list(outward(frame.f_back))
        self.ended |= any(each.f_code.co_qualname in AFTERWARDS for each in (frame, *callers))
        if self.ended:  # also what threads do for it, whose callers can't be seen from there
            return
        way = [here, *filter(None, map(place_of, callers))]
        began = next((each for each in reversed(way) if each not in DOORS), here)
        if began.startswith("commands/") and not began.startswith(self.where):
            return
        self.files |= set(way) - DOORS
        self.calls |= set(zip(way[1:], way, strict=False))

    @property
    def back_up(self) -> set[tuple[str, str]]:
        """Calls from a lower floor into a higher one."""
        return {
            (there, here)
            for there, here in self.calls
            if there not in DOORS and floor(there) < floor(here)
        }


def outward(frame: FrameType | None) -> Iterator[FrameType]:
    """A frame and its callers, the nearest first."""
    while frame is not None:
        yield frame
        frame = frame.f_back


def place_of(frame: FrameType) -> str | None:
    """A frame's file below bot/; None for a file elsewhere, or one entered to be imported."""
    if frame.f_code.co_name.startswith("<"):
        return None
    path = Path(frame.f_code.co_filename)
    return path.relative_to(HOME).as_posix() if path.is_relative_to(HOME) else None


def floor(file: str) -> int:
    return FLOORS.get(file.partition("/")[0], 3)


@contextmanager
def walking(where: str) -> Iterator[Walk]:
    """Notes every call in this thread and in the threads that work for the loop."""
    walk = Walk(where)
    loop = asyncio.get_running_loop()
    loop.set_default_executor(ThreadPoolExecutor(2, initializer=lambda: sys.setprofile(walk.seen)))
    sys.setprofile(walk.seen)
    try:
        yield walk
    finally:
        sys.setprofile(None)
        loop.set_default_executor(ThreadPoolExecutor(2))


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    """The demo's cup loaded, hole 2 published; everything a member asks for was asked before."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    return stage


async def walked(
    where: str,
    act: Callable[[Any], Awaitable[Any]],
    opened: Callable[[], Awaitable[Any]] | None = None,
) -> Walk:
    """What an act enters once everything is warm; ``opened`` is the form it begins at."""
    await act(await opened() if opened else None)
    form = await opened() if opened else None
    with walking(where) as walk:
        await act(form)
    return walk


async def test_a_wind_question_passes_nine_files(cup: Stage) -> None:
    async def ask(_: Any) -> None:
        await cup.tamsin.slash(cup.questions, "wind", question="9 from 2, 5-iron, 160")

    walk = await walked("commands/wind", ask)
    assert {"commands/wind/cog.py", "services/caddie/caddie.py"} <= walk.files
    assert len(walk.files) <= 9, sorted(walk.files)
    assert not walk.back_up


async def test_for_me_passes_thirteen_files(cup: Stage) -> None:
    note = cup.notes.history()[0]

    async def opened() -> Any:
        return await cup.tamsin.click(note, label="For me")

    async def ask(form: Any) -> None:
        await fill(cup, cup.tamsin, form, wind="9 from 2")

    walk = await walked("commands/for_me", ask, opened)
    assert {"commands/for_me/card.py", "services/caddie/adapt.py"} <= walk.files
    assert len(walk.files) <= 13, sorted(walk.files)
    assert not walk.back_up


async def test_a_logged_result_passes_thirteen_files(cup: Stage) -> None:
    note = cup.notes.history()[0]

    async def opened() -> Any:
        return await cup.tamsin.click(note, label="Missed")

    async def log(form: Any) -> None:
        await fill(cup, cup.tamsin, form, line="A", outcome="2 long", wind="9 from 2")

    walk = await walked("commands/results", log, opened)
    assert {"commands/results/cards.py", "services/results/shot.py"} <= walk.files
    assert len(walk.files) <= 13, sorted(walk.files)
    assert not walk.back_up
