"""The practice ground's invented season: there on the first evening, and after a restart."""

from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from bot.app import Leeward, make_bot
from bot.cli import practice
from bot.cli.practice import KEPT, NOTES, _kept_url, prepare, put_polls_back, world
from bot.cli.season import DAYS, MEMBERS, VOTERS
from bot.practice_ground.simulated import Ground
from bot.settings import Settings
from storage.schema import results
from tests.kits import demo_kit


@asynccontextmanager
async def opened(settings: Settings) -> AsyncIterator[Ground]:
    kit = demo_kit()
    assert settings.database is not None
    ground = Ground(lambda: make_bot(settings), world(kit))
    await put_polls_back(ground, settings.database)
    async with ground:
        await ground.post_welcomes()
        await prepare(ground, kit)
        yield ground


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(database=f"sqlite:///{tmp_path / 'season.sqlite3'}", one_process=True)


async def counted(ground: Ground) -> tuple[int, int, float]:
    """Results, their members, and the days from the first to the last."""
    assert isinstance(ground.bot, Leeward) and ground.bot.services is not None
    c = results.c
    query = select(
        func.count(),
        func.count(c.member_id.distinct()),
        func.min(c.created_at),
        func.max(c.created_at),
    )
    count, members, first, last = await ground.bot.services.db.read(
        lambda connection: connection.execute(query).one()
    )
    return count, members, (last - first).total_seconds() / 86400


async def said(ground: Ground, who: str, command: str, **options: Any) -> str:
    answer = await ground.members[who].slash(ground.channels["wind-questions"], command, **options)
    assert answer.response is not None
    return str([embed.to_dict() for embed in answer.response.embeds]) + answer.response.content


async def test_everything_has_something_to_say_and_a_restart_keeps_it(settings: Settings) -> None:
    async with opened(settings) as ground:
        count, members, days = await counted(ground)
        assert count > 100 and members == len(MEMBERS) == 12 and DAYS - 2 < days <= DAYS
        welcome = ground.channels["wind-questions"].history()[0].content
        assert "Two weeks of a season are invented" in welcome and "what you log counts" in welcome
        await ground.members["Tamsin"].slash(
            ground.channels["wind-questions"], "me division", division="Sail"
        )
        assert "tries" in await said(ground, "Tamsin", "compare", hole=3)
        assert "The group loses most on holes" in await said(ground, "Tamsin", "table")
        assert "your game" in await said(ground, "Tamsin", "trust", club="8-iron")
        assert "hole" in (await said(ground, "Tamsin", "practice")).lower()
        assert f"{VOTERS} voters" in await said(ground, "Tamsin", "polls")
        notes = [str(each.embeds[0].to_dict()) for each in ground.channels[NOTES].history()]
        shared = [each for each in notes if "Wilma" in each]
        assert len(shared) == 1
        await said(ground, "Tamsin", "bag", grade="oak")
        await said(ground, "Rosalind", "event hole", row="1 par 4, 380, bearing 20, Slipway")
    async with opened(settings) as ground:
        assert (await counted(ground))[:2] == (count, members)
        assert "oak" in await said(ground, "Tamsin", "bag")
        assert "380" in await said(ground, "Tamsin", "cup show")
        titles = [str(each.embeds[0].title) for each in ground.channels[NOTES].history()]
        assert sorted(title.split(" ·")[0] for title in titles[:3]) == [
            "Hole 1",
            "Hole 2",
            "Hole 3",
        ]


async def pass_time(ground: Ground, hours: float) -> None:
    """Let time pass on the simulated clock, and on the database's with it."""
    assert isinstance(ground.bot, Leeward) and ground.bot.services is not None
    ground.bot.services.db._clock = ground.env.now
    for _ in range(round(4 * hours)):
        await ground.env.advance_time(900)


async def test_a_poll_that_was_open_when_the_ground_was_closed_ends_as_it_should(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the season, which takes its time: a poll, three votes, closed, opened, one more."""
    monkeypatch.setattr(practice, "play_season", nothing)
    monkeypatch.setattr(practice, "share_and_ask", nothing)
    asked = {"question": "When do we meet?", "answers": "Saturday; Sunday", "time": "3 hours"}
    async with opened(settings) as ground:
        questions = ground.channels["wind-questions"]
        await ground.members["Rosalind"].slash(questions, "poll ask", **asked)
        (poll,) = [message for message in questions.history() if message.poll]
        for name, answer in (("Wilma", 2), ("Barnaby", 2), ("Odile", 1)):
            await ground.others[name].vote(poll, answer=answer)
        first = poll.id
    async with opened(settings) as ground:
        questions = ground.channels["wind-questions"]
        (poll,) = [message for message in questions.history() if message.poll]
        assert (
            poll.id == first and poll.poll is not None and poll.poll.question == "When do we meet?"
        )
        said_now = await said(ground, "Tamsin", "polls")
        assert "3 voters" in said_now
        await ground.members["Tamsin"].vote(poll, answer=2)
        await ground.others["Odile"].vote(poll, answer=2)
        await pass_time(ground, 2.5)
        assert [each for each in questions.history() if each.embeds] == []
        await pass_time(ground, 1)
        (outcome,) = [each for each in questions.history() if each.embeds]
        assert outcome.embeds[0].title == "Sunday wins: 4 of 4 voters"
        assert "Closed at its time" in str(outcome.embeds[0].description)
        assert "No poll is open" in await said(ground, "Tamsin", "polls")
    async with opened(settings) as ground:  # what has ended does not stand again
        history = ground.channels["wind-questions"].history()
        assert [each for each in history if each.poll or each.embeds] == []


async def nothing(*_: Any) -> None:
    """In place of what a test does without."""


def test_the_file_is_kept_for_the_next_time_unless_it_is_to_begin_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    file = tmp_path / "leeward" / KEPT
    with ExitStack() as stack:
        assert _kept_url(stack, fresh=False) == f"sqlite:///{file}"
        file.write_text("what was done")
        with ExitStack() as other:  # one that opens meanwhile leaves it alone
            assert KEPT not in _kept_url(other, fresh=True)
    assert file.read_text() == "what was done"
    with ExitStack() as stack:
        _kept_url(stack, fresh=True)
    assert not file.exists()
