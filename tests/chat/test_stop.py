"""Told to stop in the middle of logging and posting, Leeward ends without a traceback.

What was asked for is answered or kept, and what is to be posted still is after the next start.
Requests to Discord take time here and fail once the session is closed, as aiohttp's do.
"""

import asyncio
import logging
from typing import Any

import pytest
from simcord.http import client as simulated
from sqlalchemy import select

from storage.played import Result
from storage.results import Results
from storage.schema import outbox
from tests.chat.asking import text
from tests.chat.booking import fields_of, load_cup
from tests.chat.conftest import Stage, by_the_wall

REQUEST_S = 0.05


@pytest.fixture
async def noted(stage: Stage) -> Stage:
    """The demo's cup, hole 2 published."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    return stage


def closing_session(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make requests take time, and fail once the bot has closed its session."""
    closed: list[object] = []
    close = simulated.FakeHTTPClient.close

    async def closes(http: Any) -> None:
        closed.append(http)
        await close(http)

    monkeypatch.setattr(simulated.FakeHTTPClient, "close", closes)
    for kind in (simulated.FakeHTTPClient, simulated.FakeWebhookAdapter):
        request = kind.request

        async def slow(each: Any, *args: Any, _request: Any = request, **fields: Any) -> Any:
            await by_the_wall(REQUEST_S)
            if closed:
                raise RuntimeError("Session is closed")
            return await _request(each, *args, **fields)

        monkeypatch.setattr(kind, "request", slow)


async def results_of(stage: Stage, who: Any) -> list[Result]:
    assert stage.bot.services is not None
    return await Results(stage.bot.services.db).of_member(stage.guild.id, who.id)


@pytest.mark.parametrize("after_s", [0.0, 0.02, 0.06, 0.1, 0.15, 0.3])
async def test_a_stop_in_the_middle_of_logging_and_posting_keeps_everything(
    noted: Stage,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    after_s: float,
) -> None:
    opened = await noted.tamsin.click(noted.notes.history()[0], label="Missed")
    typed = fields_of(opened.modal) | {"line": "A", "wind": "9 mph from 3", "outcome": "2 long"}
    with caplog.at_level(logging.INFO), monkeypatch.context() as patch:
        closing_session(patch)
        logging_it = asyncio.create_task(noted.tamsin.submit_modal(opened, typed))
        await by_the_wall(after_s)
        assert noted.bot.services is not None
        await noted.bot.close()
        done = await asyncio.gather(logging_it, return_exceptions=True)
    assert [each.getMessage() for each in caplog.records if each.exc_info] == []
    assert "Task was destroyed" not in caplog.text
    (result,) = done
    answered = not isinstance(result, BaseException) and result.acknowledged
    await noted.restart()
    kept = await results_of(noted, noted.tamsin)
    assert answered or kept
    assert len(kept) == 1  # the press had come before the stop
    (note,) = noted.notes.history()
    assert "**A** 1 try, 0 went in" in text(note.embeds[0].description)


async def test_a_stop_in_the_middle_of_a_publication_posts_the_rest_at_the_next_start(
    noted: Stage, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO), monkeypatch.context() as patch:
        closing_session(patch)
        publishing = asyncio.create_task(noted.coach.slash(noted.questions, "publish"))
        while len(noted.notes.history()) < 4:
            await by_the_wall(0.01)
        monkeypatch.setattr("bot.app.GOODBYE_S", 0.1)  # nine take longer
        await noted.bot.close()
        await asyncio.gather(publishing, return_exceptions=True)
    for error in noted.env.errors:  # the simulation keeps what the command raised
        assert "is closed" in str(error) or "already closed" in str(error)
    assert [each.getMessage() for each in caplog.records if each.exc_info] == []
    assert len(noted.notes.history()) < 9
    await noted.restart()
    titles = [text(message.embeds[0].title) for message in noted.notes.history()]
    assert sorted(title.split(" · ")[0] for title in titles) == [f"Hole {n}" for n in range(1, 10)]
    services = noted.bot.services
    assert services is not None
    states = await services.db.read(
        lambda connection: connection.execute(select(outbox.c.state)).scalars().all()
    )
    assert set(states) == {"posted"}
