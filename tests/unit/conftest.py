"""A database with every table, and a clock that stands still until it is moved.

``db`` is each kind of database in turn; ``database_file`` and ``sqlite_db`` are for what only a
SQLite file can do.
"""

import asyncio
import shutil
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Connection, select

from storage.database import Database
from storage.schema import metadata
from tests.postgres import Server, serving

KINDS = ("sqlite", "postgresql")


class HandClock:
    """Says what it was last set to."""

    def __init__(self) -> None:
        self.time = datetime(2031, 3, 9, 18, 30, 5, 250_000, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.time

    def advance(self, *, seconds: float) -> None:
        self.time += timedelta(seconds=seconds)


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


async def make(url: str) -> None:
    await (await Database.open(url)).close()


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with all tables and no rows, made once: copying it is faster."""
    path = tmp_path_factory.mktemp("database") / "empty.db"
    asyncio.run(make(f"sqlite:///{path}"))
    return path


@pytest.fixture
def database_file(tmp_path: Path, empty_database: Path) -> Path:
    path = tmp_path / "leeward.db"
    shutil.copy(empty_database, path)
    return path


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    with serving() as running:
        yield running


@pytest.fixture(scope="session")
def empty_on_server(server: Server) -> str:
    name = server.create()
    asyncio.run(make(server.url(name)))
    return name


@pytest.fixture
def server_url(server: Server, empty_on_server: str) -> Iterator[str]:
    name = server.create(empty_on_server)
    yield server.url(name)
    server.drop(name)


@pytest.fixture(params=KINDS)
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of a database with all tables and no rows, of each kind in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{request.getfixturevalue('database_file')}"
    return request.getfixturevalue("server_url")


Opener = Callable[[], Awaitable[Database]]


@pytest.fixture
async def open_another(database_url: str, clock: HandClock) -> AsyncIterator[Opener]:
    """Opens the database of ``db`` once more, as another process would."""
    opened: list[Database] = []

    async def another() -> Database:
        opened.append(await Database.open(database_url, clock=clock))
        return opened[-1]

    yield another
    for database in opened:
        await database.close()


@pytest.fixture
async def db(open_another: Opener) -> Database:
    return await open_another()


@pytest.fixture
async def sqlite_db(database_file: Path, clock: HandClock) -> AsyncIterator[Database]:
    database = await Database.open(f"sqlite:///{database_file}", clock=clock)
    yield database
    await database.close()


def everything(connection: Connection) -> str:
    """Every value of every row, for looking for what must not be there."""
    lines: list[str] = []
    for table in metadata.sorted_tables:
        lines += [f"{table.name}: {tuple(row)}" for row in connection.execute(select(table))]
    return "\n".join(lines)
