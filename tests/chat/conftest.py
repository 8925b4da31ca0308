"""The real bot on the simulated Discord, a coach and two members in front of it."""

import asyncio
import os
import shutil
import threading
import time
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import discord
import pytest
import simcord

from bot.app import Leeward, make_bot
from bot.settings import Settings
from storage.database import Database
from tests.chat.limits import watch_bodies
from tests.chat.wire import BotProcess, serving_discord
from tests.chat.wire_community import Community, Place, community, prepare
from tests.postgres import Server, serving

SETTLE_S = 60.0
KINDS = ("sqlite", "postgresql")
TESTS_ON = "LEEWARD_TESTS_ON"  # one kind of database instead of both
ACKNOWLEDGING = ("send_message", "defer", "autocomplete", "send_modal", "edit_message")


@dataclass
class Stage:
    """A community with its people; ``restart`` brings up a new bot on the same database."""

    env: simcord.Env
    settings: Settings
    guild: Any
    questions: Any
    notes: Any
    coach: Any
    tamsin: Any
    odile: Any

    @property
    def bot(self) -> Leeward:
        bot = self.env.bot
        assert isinstance(bot, Leeward)
        return bot

    @property
    def url(self) -> str:
        """Where its database is."""
        assert self.settings.database is not None
        return self.settings.database

    async def restart(self) -> None:
        await self.env.restart_bot(make_bot(self.settings))


@pytest.fixture(autouse=True)
def bodies_within_limits(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Holds every body sent in a chat test against Discord's limits."""
    yield from watch_bodies(monkeypatch)


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with all tables and no rows, made once: copying it is faster."""
    path = tmp_path_factory.mktemp("chat") / "empty.sqlite3"
    asyncio.run(_make(f"sqlite:///{path}"))
    return path


async def _make(url: str) -> None:
    await (await Database.open(url)).close()


@pytest.fixture(scope="session")
def chat_server() -> Iterator[Server]:
    """A PostgreSQL for the tests of the chat."""
    with serving() as running:
        yield running


@pytest.fixture(scope="session")
def empty_on_chat_server(chat_server: Server) -> str:
    """A database with all tables and no rows, made once: copying it is faster."""
    name = chat_server.create()
    asyncio.run(_make(chat_server.url(name)))
    return name


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Every test of the chat runs on both databases, unless its file says why one is enough.

    It says so as ``ONE_DATABASE``; test_both_databases.py holds it to what that may leave out.
    """
    if "database" in metafunc.fixturenames:
        kinds = KINDS[:1] if hasattr(metafunc.module, "ONE_DATABASE") else KINDS
        wanted = os.environ.get(TESTS_ON)
        kinds = tuple(kind for kind in kinds if wanted in (None, kind))
        metafunc.parametrize("database", kinds, indirect=True)


@pytest.fixture
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a new database with all tables and no rows."""
    if request.param == "sqlite":
        file = tmp_path / "leeward.sqlite3"
        shutil.copy(request.getfixturevalue("empty_file"), file)
        yield f"sqlite:///{file}"
        return
    server: Server = request.getfixturevalue("chat_server")
    name = server.create(request.getfixturevalue("empty_on_chat_server"))
    yield server.url(name)
    server.drop(name)


@pytest.fixture
def settings(database: str) -> Settings:
    return Settings(database=database, one_process=True)


@pytest.fixture
async def env(settings: Settings) -> AsyncIterator[simcord.Env]:
    """The bot on the simulated Discord.

    Not by ``simcord.run``, which must be left in the context it was entered in: a fixture is not.
    """
    running = simcord.Env(make_bot(settings), settle_timeout=SETTLE_S)
    await running.start()
    try:
        yield running
    finally:
        await running.shutdown()
    running._raise_errors_since(running._errors_acknowledged)


@pytest.fixture
def stage(env: simcord.Env, settings: Settings) -> Stage:
    guild = env.create_guild()
    role = guild.create_role(
        "Coach",
        permissions=discord.Permissions(
            manage_guild=True, manage_messages=True, send_messages=True
        ),
    )
    questions = guild.create_text_channel("wind-questions")
    notes = guild.create_text_channel("hole-notes")
    coach = guild.add_member(env.create_user("rosalind"), roles=[role])
    tamsin = guild.add_member(env.create_user("tamsin"))
    odile = guild.add_member(env.create_user("odile"))
    return Stage(env, settings, guild, questions, notes, coach, tamsin, odile)


@pytest.fixture
def acknowledged_s(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[float]]:
    """Seconds from each interaction's arrival to the end of its acknowledgement."""
    arrived: dict[int, float] = {}
    taken: list[float] = []
    made = discord.Interaction.__init__

    def note_arrival(interaction: Any, **fields: Any) -> None:
        began = time.perf_counter()
        made(interaction, **fields)
        arrived[interaction.id] = began

    monkeypatch.setattr(discord.Interaction, "__init__", note_arrival)
    for name in ACKNOWLEDGING:
        acknowledge = getattr(discord.InteractionResponse, name)

        async def note(
            response: Any, *args: Any, _acknowledge: Any = acknowledge, **fields: Any
        ) -> Any:
            result = await _acknowledge(response, *args, **fields)
            taken.append(time.perf_counter() - arrived[response._parent.id])
            return result

        monkeypatch.setattr(discord.InteractionResponse, name, note)
    yield taken


async def by_the_wall(seconds: float) -> None:
    """Sleep; the simulated Discord lets no time pass while something is computed."""
    loop, over = asyncio.get_running_loop(), asyncio.Event()
    timer = threading.Timer(seconds, loop.call_soon_threadsafe, [over.set])
    timer.start()
    try:
        await over.wait()
    finally:
        timer.cancel()


@pytest.fixture(params=KINDS)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """Where a bot that is a process of its own has its database, of each kind in turn."""
    if request.param == "sqlite":
        return Place(tmp_path, None)
    return Place(tmp_path, request.getfixturevalue("chat_server"))


@pytest.fixture
async def on_the_wire(place: Place, tmp_path: Path) -> AsyncIterator[Community]:
    """A server on a real port, prepared, with a bot that is a process of its own."""
    async with serving_discord() as wire:
        bot = BotProcess(wire, place.url(), tmp_path / "bot.log")
        home = community(wire, bot, id=2**60)
        try:
            await bot.start()
            await prepare(home)
            yield home
        finally:
            await home.bot.kill()
