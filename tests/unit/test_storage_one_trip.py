"""The driver under SQLAlchemy: one trip to the thread a statement, and nothing lost on the way."""

import asyncio
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import aiosqlite
import pytest
from sqlalchemy import text

from shared.errors import StorageError
from storage.database import Database
from storage.one_trip import OneTripConnection, OneTripCursor


async def test_a_cursor_gives_what_sqlite_gives(tmp_path: Path) -> None:
    connection = OneTripConnection(str(tmp_path / "x.db"))
    await connection
    cursor = OneTripCursor(connection)
    await cursor.execute("CREATE TABLE t (id INTEGER PRIMARY KEY, a TEXT)")
    assert cursor.description is None and await cursor.fetchall() == []
    await cursor.execute("INSERT INTO t (a) VALUES (?)", ("one",))
    assert (cursor.lastrowid, cursor.rowcount) == (1, 1)
    await cursor.executemany("INSERT INTO t (a) VALUES (?)", [("two",), ("three",)])
    assert cursor.rowcount == 2
    await cursor.execute("SELECT a, id FROM t WHERE id > ? ORDER BY id", (1,))
    assert [column[0] for column in cursor.description or ()] == ["a", "id"]
    assert await cursor.fetchall() == [("two", 2), ("three", 3)]
    assert await cursor.fetchall() == []
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        await cursor.execute("SELECT 1 FROM nowhere")
    await connection.close()


async def test_a_statement_is_one_trip(db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    await db.write(lambda connection: None)  # connects
    trips: list[str] = []
    whole = aiosqlite.Connection._execute

    async def count(self, fn, *args, **kwargs):
        trips.append(getattr(fn, "__name__", "?"))
        return await whole(self, fn, *args, **kwargs)

    monkeypatch.setattr(aiosqlite.Connection, "_execute", count)
    query = text("SELECT count(*) FROM bags")
    await db.write(lambda connection: [connection.execute(query).scalar() for _ in range(3)])
    # BEGIN, three statements, commit, and the pool's own rollback.
    assert len(trips) == 6 and trips[-2:] == ["commit", "rollback"]


async def test_statements_run_outside_the_loops_thread(db: Database) -> None:
    seen: set[int] = set()

    def fn(connection):
        raw = connection.connection.driver_connection
        return raw.in_thread(lambda _: seen.add(threading.get_ident()))

    await (await db.write(fn))
    assert seen and threading.get_ident() not in seen


async def test_too_long_a_queue_is_a_sentence(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(db._writer.pool, "_timeout", 0.05)
    slow = text(
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 4000000)"
        " SELECT max(i) FROM n"
    )
    first = asyncio.create_task(db.write(lambda connection: connection.execute(slow).scalar()))
    await asyncio.sleep(0.01)
    with pytest.raises(StorageError, match="has been busy for 5 s"):
        await db.write(lambda connection: None)
    assert await first == 4_000_000
    assert await db.write(lambda connection: 5) == 5


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
