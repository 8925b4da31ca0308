"""The practice ground's invented season: there on the first evening, and after a restart."""

from collections.abc import AsyncIterator
from contextlib import ExitStack, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from bot.app import Leeward, make_bot
from bot.cli.practice import KEPT, NOTES, _kept_url, prepare, world
from bot.cli.season import DAYS, MEMBERS, VOTERS
from bot.practice_ground.simulated import Ground
from bot.settings import Settings
from storage.schema import results
from tests.kits import demo_kit


@asynccontextmanager
async def opened(settings: Settings) -> AsyncIterator[Ground]:
    kit = demo_kit()
    async with Ground(lambda: make_bot(settings), world(kit)) as ground:
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
