"""A transaction makes one trip to its connection's thread."""

import asyncio
import subprocess
import sys
import threading
from pathlib import Path

import aiosqlite
import pytest
from sqlalchemy import text

from shared.errors import StorageError
from storage import doors
from storage.database import Database


@pytest.fixture
def db(sqlite_db: Database) -> Database:
    """The trips, the thread and the queue are those of SQLite's door."""
    return sqlite_db


QUERY = text("SELECT count(*) FROM bags")
SLOW = text(
    "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 4000000)"
    " SELECT max(i) FROM n"
)


async def test_a_transaction_is_one_trip(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    await db.write(lambda connection: None)  # connects
    trips: list[object] = []
    whole = aiosqlite.Connection._execute

    async def count(self, fn, *args, **kwargs):
        trips.append(fn)
        return await whole(self, fn, *args, **kwargs)

    monkeypatch.setattr(aiosqlite.Connection, "_execute", count)
    await db.write(lambda connection: [connection.execute(QUERY).scalar() for _ in range(3)])
    assert len(trips) == 1


async def test_the_writer_has_one_thread_and_it_is_not_the_loops(db: Database) -> None:
    threads = {await db.write(lambda connection: threading.get_ident()) for _ in range(4)}
    assert len(threads) == 1 and threading.get_ident() not in threads


async def test_readers_work_at_the_same_time(db: Database) -> None:
    meet = threading.Barrier(3, timeout=20)
    outcomes = await asyncio.gather(*(db.read(lambda connection: meet.wait()) for _ in range(3)))
    assert sorted(outcomes) == [0, 1, 2]


async def test_too_long_a_queue_is_a_sentence(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors, "QUEUE_TIMEOUT_S", 0.05)
    first = asyncio.create_task(db.write(lambda connection: connection.execute(SLOW).scalar()))
    await asyncio.sleep(0.01)
    with pytest.raises(StorageError, match="has been busy for 20 s"):
        await db.write(lambda connection: None)
    assert await first == 4_000_000
    assert await db.write(lambda connection: 5) == 5


async def test_a_failed_transaction_leaves_the_connection_fit_for_the_next(db: Database) -> None:
    def fail(connection) -> None:
        connection.execute(text("DELETE FROM bags"))
        raise LookupError

    for _ in range(3):
        with pytest.raises(LookupError):
            await db.write(fail)
        with pytest.raises(StorageError):
            await db.write(lambda connection: connection.execute(text("NONSENSE")))
    assert await db.write(lambda connection: connection.execute(QUERY).scalar()) == 0


def test_a_database_nobody_closed_lets_the_program_end(database_file: Path) -> None:
    code = (
        "import asyncio\n"
        "from storage.database import Database\n"
        "async def main():\n"
        f"    database = await Database.open({f'sqlite:///{database_file}'!r})\n"
        "    await database.write(lambda connection: None)\n"
        "    print('written')\n"
        "asyncio.run(main())\n"
    )
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.stdout == "written\n"
