"""A database with every table, and a clock that stands still until it is moved."""

import asyncio
import shutil
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from storage.database import Database


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


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with all tables and no rows, made once: copying it is faster."""
    path = tmp_path_factory.mktemp("database") / "empty.db"

    async def make() -> None:
        await (await Database.open(f"sqlite:///{path}")).close()

    asyncio.run(make())
    return path


@pytest.fixture
def database_file(tmp_path: Path, empty_database: Path) -> Path:
    path = tmp_path / "leeward.db"
    shutil.copy(empty_database, path)
    return path


@pytest.fixture
async def db(database_file: Path, clock: HandClock) -> AsyncIterator[Database]:
    database = await Database.open(f"sqlite:///{database_file}", clock=clock)
    yield database
    await database.close()
