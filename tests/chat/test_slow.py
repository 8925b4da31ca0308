"""With a slow database and a slow engine everybody is acknowledged in time, and answered.

By the wall clock: another program holds the database's write lock, or the engine's one way to an
allowance takes longer than Discord waits for an acknowledgement. What a member asked for is done
as soon as it can be, and what is to be posted is posted.
"""

import asyncio
import threading
import time
from collections.abc import Awaitable, Callable
from typing import Any

import aiohttp
import discord
import pytest
from simcord.http.client import FakeHTTPClient
from sqlalchemy import select

from bot.chat.causes import AWAY, TOO_LATE
from bot.commands.results.cog import ResultsCog
from bot.services.pictures import guides
from bot.services.wind.service import Reply, WindService
from engine import finish_law
from shared.errors import EngineError
from storage.schema import outbox
from tests.chat.booking import CUP, fill, load_cup, only_message
from tests.chat.conftest import SETTLE_S, Stage, by_the_wall
from tests.chat.holding import held

ALLOWED_S = 3.0
LONGER_S = 3.3  # than Discord waits
LOCKED_S = 7.0

Action = Callable[[Stage], Awaitable[Any]]


@pytest.fixture
async def noted(stage: Stage) -> Stage:
    """The demo's cup, hole 2 published; patience ends by the wall clock."""
    stage.bot.router.sleep = by_the_wall
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    return stage


def note(stage: Stage) -> Any:
    return stage.notes.history()[0]


async def bag(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "bag", club="6-iron", grade="yew")


async def share(stage: Stage) -> Any:
    asked = {"hole": 2, "shot": "6-iron, 155, up 6 aim 6 right", "result": "in"}
    return await stage.tamsin.slash(stage.questions, "share", **asked)


async def publish(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "publish", hole=3)


async def ask_poll(stage: Stage) -> Any:
    asked = {"question": "When do we meet?", "answers": "Saturday; Sunday"}
    return await stage.coach.slash(stage.questions, "poll ask", **asked)


async def retire(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "line retire", hole=2, line="B")


async def went_in(stage: Stage) -> Any:
    """A press that opens a form, and the form that logs."""
    return await fill(stage, stage.tamsin, await stage.tamsin.click(note(stage), label="Went in"))


async def for_me(stage: Stage) -> Any:
    opened = await stage.tamsin.click(note(stage), label="For me")
    return await fill(stage, stage.tamsin, opened, wind="11 mph from 2")


async def freeze(stage: Stage) -> Any:
    asked = {"club": "driver", "reason": "the game was updated"}
    return await stage.coach.slash(stage.questions, "gain freeze", **asked)


WRITING = (bag, share, publish, ask_poll, retire, freeze)


@pytest.mark.parametrize("action", WRITING, ids=lambda action: action.__name__)
async def test_whoever_waits_for_the_database_is_acknowledged_and_then_answered(
    noted: Stage, acknowledged_s: list[float], action: Action
) -> None:
    acknowledged_s.clear()
    began = time.perf_counter()
    async with held(noted.url, LONGER_S):
        result = await action(noted)
    assert time.perf_counter() - began > LONGER_S  # it did wait
    assert max(acknowledged_s) < ALLOWED_S
    assert noted.env.errors == []
    assert only_message(result) is not None
    assert await waiting(noted) == 0


async def test_a_result_logged_while_another_process_holds_the_lock_for_seven_seconds(
    noted: Stage, acknowledged_s: list[float]
) -> None:
    acknowledged_s.clear()
    async with held(noted.url, LOCKED_S):
        result = await went_in(noted)
    assert max(acknowledged_s) < ALLOWED_S
    assert noted.env.errors == []
    assert only_message(result).embeds[0].title == "Counted: hole 2, line A went in"
    cog = noted.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    assert len(await cog.service.results.of_member(noted.guild.id, noted.tamsin.id)) == 1
    assert "**A** 1 try, 1 went in" in str(note(noted).embeds[0].description)
    assert await waiting(noted) == 0


async def waiting(stage: Stage) -> int:
    """How many messages wait to be posted, whenever they may."""
    services = stage.bot.services
    assert services is not None
    wanted = select(outbox.c.id).where(outbox.c.state == "waiting")
    return len(await services.db.read(lambda connection: connection.execute(wanted).all()))


async def question(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "wind", question="8.4 mph from 2, 5-iron, 165")


async def equal(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "equal", carry="130", wind="5 mph from 3")


async def ceiling(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "ceiling", hole=2, line="A")


async def hole(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "hole", hole=4)


async def guide(stage: Stage) -> Any:
    return await stage.tamsin.slash(stage.questions, "guide")


COMPUTING = (question, equal, ceiling, hole, guide, for_me, went_in, share, publish)


@pytest.mark.parametrize("action", COMPUTING, ids=lambda action: action.__name__)
async def test_whoever_waits_for_the_engine_is_acknowledged_and_then_answered(
    noted: Stage,
    acknowledged_s: list[float],
    monkeypatch: pytest.MonkeyPatch,
    action: Action,
) -> None:
    slept: list[float] = []
    allow = finish_law.allow

    def slow(*args: Any, **fields: Any) -> Any:
        if not slept:  # once is enough to be late; in the loop's thread nothing else would go on
            slept.append(LONGER_S)
            time.sleep(LONGER_S)
        return allow(*args, **fields)

    monkeypatch.setattr(finish_law, "allow", slow)
    acknowledged_s.clear()
    result = await action(noted)
    assert slept == [LONGER_S]
    assert max(acknowledged_s) < ALLOWED_S
    assert noted.env.errors == []
    assert [each for each in (result.response, *result.followups) if each is not None]
    assert await waiting(noted) == 0


async def test_a_form_that_meets_the_acknowledgement_on_its_way_is_said_to_be_late(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    send = discord.InteractionResponse.send_modal

    async def after_the_watch(response: Any, form: Any) -> Any:
        await response._parent.response.defer(ephemeral=True, thinking=True)
        response._response_type = None  # as where both are on their way
        return await send(response, form)

    with monkeypatch.context() as patch:
        patch.setattr(discord.InteractionResponse, "send_modal", after_the_watch)
        result = await noted.tamsin.click(note(noted), label="Missed")
    assert only_message(result).content == TOO_LATE
    again = await noted.tamsin.click(note(noted), label="Missed")
    assert again.modal is not None


async def test_a_file_that_discord_does_not_give_is_no_error_of_ours(
    noted: Stage, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    async def away(_: Any, url: str) -> bytes:
        raise aiohttp.ClientConnectionError("no way there")

    seen = noted.env.error_cursor
    with monkeypatch.context() as patch:
        patch.setattr(FakeHTTPClient, "get_from_cdn", away)
        asked = {"file": ("cup.toml", CUP)}
        result = await noted.coach.slash(noted.questions, "event load", **asked)
    assert only_message(result).content == AWAY and "no way there" in caplog.text
    assert len(noted.env.errors[seen:]) == 1
    assert "Windlass Cup" in str((await load_cup(noted)).to_dict())


async def test_a_question_is_answered_while_many_guides_wait(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    release, asked = threading.Event(), threading.Event()

    def waits(**fields: Any) -> Any:
        asked.set()
        release.wait(SETTLE_S)
        raise EngineError("no guide today")

    monkeypatch.setattr(guides, "guide_of", waits)
    services = noted.bot.services
    assert services is not None
    here, who = noted.guild.id, noted.odile.id
    division = (await services.book.current(here))[0].divisions[0]
    many = [
        asyncio.create_task(services.guides.guide(here, who, mine=True, division=division))
        for _ in range(40)  # more than any pool has threads here
    ]
    while not asked.is_set() and not any(task.done() for task in many):
        await asyncio.sleep(0.01)
    try:
        wind = WindService(kits=services.kits, bags=services.bags, told=services.told)
        text = "8.4 mph from 2, 5-iron, 165"
        reply = await wind.reply(community_id=here, member_id=who, text=text)
        assert isinstance(reply, Reply) and reply.answer.text
        assert not any(task.done() for task in many)
    finally:
        release.set()
        await asyncio.gather(*many, return_exceptions=True)
