"""Suggestions by a clock of their own: in time they are given, later an empty list is."""

import asyncio
from types import SimpleNamespace
from typing import Any

import discord
import pytest

from bot.chat.causes import ACKNOWLEDGED
from bot.chat.router import PATIENCE_S, Router


class HandBell:
    """A sleep that ends when the test says so."""

    def __init__(self) -> None:
        self.asked: list[float] = []
        self.rung = asyncio.Event()

    async def sleep(self, seconds: float) -> None:
        self.asked.append(seconds)
        await self.rung.wait()


class Typing:
    """An interaction that asks for suggestions; what it was given."""

    def __init__(self) -> None:
        self.given: list[list[str]] = []
        self.refuses: Exception | None = None
        self.response = SimpleNamespace(autocomplete=self._take, is_done=lambda: bool(self.given))

    async def _take(self, choices: list[str]) -> None:
        if self.refuses is not None:
            raise self.refuses
        self.given.append(choices)


async def asked(router: Router, typing: Typing, work: Any) -> "asyncio.Task[None]":
    interaction: Any = typing
    task = asyncio.create_task(router.suggesting(interaction, work))
    for _ in range(5):
        await asyncio.sleep(0)
    return task


async def test_what_comes_in_time_is_given_and_the_clock_is_asked_for_half_of_discords() -> None:
    bell, typing = HandBell(), Typing()

    async def work() -> None:
        await typing.response.autocomplete(["oak"])

    await (await asked(Router(bell.sleep), typing, work))
    assert typing.given == [["oak"]] and bell.asked == [PATIENCE_S] and 0 < PATIENCE_S < 3


async def test_what_takes_longer_is_an_empty_list_and_is_not_waited_for() -> None:
    bell, typing = HandBell(), Typing()
    locked, left = asyncio.Event(), []

    async def work() -> None:
        try:
            await locked.wait()
        finally:
            left.append(True)
        await typing.response.autocomplete(["too late"])

    router = Router(bell.sleep)
    task = await asked(router, typing, work)
    assert typing.given == [] and not task.done()
    bell.rung.set()
    await task
    assert (typing.given, left) == ([[]], [True])
    locked.set()
    await asyncio.sleep(0)
    assert typing.given == [[]]
    await asyncio.wait_for(router.all_answered(), 1.0)


async def test_work_that_says_nothing_gives_nothing() -> None:
    bell, typing = HandBell(), Typing()

    async def work() -> None:
        """As where the library has swallowed what went wrong."""

    await (await asked(Router(bell.sleep), typing, work))
    assert typing.given == [[]]


async def test_an_answer_on_its_way_is_no_trouble() -> None:
    bell, typing = HandBell(), Typing()
    response: Any = SimpleNamespace(status=400, reason="Bad Request")
    typing.refuses = discord.HTTPException(response, {"code": ACKNOWLEDGED, "message": "so"})

    async def work() -> None:
        await bell.rung.wait()
        await asyncio.Event().wait()

    task = await asked(Router(bell.sleep), typing, work)
    bell.rung.set()
    await task
    assert typing.given == []


async def test_a_stop_waits_for_suggestions_under_way() -> None:
    bell, typing, go = HandBell(), Typing(), asyncio.Event()

    async def work() -> None:
        await go.wait()
        await typing.response.autocomplete(["yew"])

    router = Router(bell.sleep)
    task = await asked(router, typing, work)
    stopping = asyncio.create_task(router.all_answered())
    with pytest.raises(TimeoutError):
        await asyncio.wait_for(asyncio.shield(stopping), 0.05)
    go.set()
    await stopping
    await task
    assert typing.given == [["yew"]]
