"""What a server adds: transactions that meet, connections that break."""

import asyncio
import threading
import time

import pytest
from sqlalchemy import Connection, text

from storage import doors
from storage.address import address_of
from storage.database import Database
from storage.faults import DatabaseError
from tests.postgres import Server, with_password
from tests.unit.conftest import Opener

pytestmark = pytest.mark.parametrize("database_url", ["postgresql"], indirect=True)


def make_accounts(connection: Connection) -> None:
    connection.execute(text("CREATE TABLE accounts (id INTEGER PRIMARY KEY, n INTEGER NOT NULL)"))
    connection.execute(text("INSERT INTO accounts VALUES (1, 0), (2, 0)"))


def read_both(connection: Connection) -> list[int]:
    query = text("SELECT n FROM accounts ORDER BY id")
    return list(connection.execute(query).scalars())


def add(connection: Connection, account: int) -> None:
    statement = text("UPDATE accounts SET n = n + 1 WHERE id = :id")
    connection.execute(statement, {"id": account})


async def test_fn_does_not_run_in_the_loops_thread(db: Database) -> None:
    for door in (db.read, db.write):
        assert await door(lambda connection: threading.get_ident()) != threading.get_ident()


async def test_a_read_sees_one_moment(db: Database, open_another: Opener) -> None:
    await db.write(make_accounts)
    other, seen, go_on = await open_another(), threading.Event(), threading.Event()

    def twice(connection: Connection) -> tuple[list[int], list[int]]:
        before = read_both(connection)
        seen.set()
        assert go_on.wait(timeout=20)
        return before, read_both(connection)

    reading = asyncio.create_task(db.read(twice))
    await asyncio.to_thread(seen.wait, 20)
    await other.write(lambda connection: add(connection, 1))
    go_on.set()
    assert await reading == ([0, 0], [0, 0])
    assert await db.read(read_both) == [1, 0]
    with pytest.raises(DatabaseError, match="may only be read"):
        await db.read(lambda connection: add(connection, 1))


async def test_two_that_lock_crosswise_both_happen_once(db: Database, open_another: Opener) -> None:
    await db.write(make_accounts)
    other, meet = await open_another(), threading.Barrier(2, timeout=20)
    tries: list[int] = []

    def crosswise(first: int, second: int):
        runs: list[int] = []

        def fn(connection: Connection) -> None:
            tries.append(first)
            runs.append(first)
            add(connection, first)
            if len(runs) == 1:  # the first time each holds its own before asking for the other's
                meet.wait()
            add(connection, second)

        return fn

    await asyncio.gather(db.write(crosswise(1, 2)), other.write(crosswise(2, 1)))
    assert await db.read(read_both) == [2, 2]
    assert len(tries) >= 3  # one of them had to run again


async def test_each_decides_by_what_the_other_would_change(
    db: Database, open_another: Opener
) -> None:
    """Two that each read what the other writes: one after another, the second sees the first."""
    await db.write(make_accounts)
    other, meet = await open_another(), threading.Barrier(2, timeout=20)

    def only_if_nothing_yet(account: int):
        runs: list[int] = []

        def fn(connection: Connection) -> bool:
            runs.append(account)
            nothing = sum(read_both(connection)) == 0
            if len(runs) == 1:
                meet.wait()
            if nothing:
                add(connection, account)
            return nothing

        return fn

    did = await asyncio.gather(
        db.write(only_if_nothing_yet(1)), other.write(only_if_nothing_yet(2))
    )
    assert sorted(did) == [False, True]
    assert sum(await db.read(read_both)) == 1


async def test_connections_a_restart_broke_are_made_anew(
    db: Database, server: Server, database_url: str
) -> None:
    await db.write(make_accounts)
    await db.read(read_both)
    name = address_of(database_url).url.database
    broken = server.run(
        f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'"
    )
    assert len(broken) >= 2
    assert await db.read(read_both) == [0, 0]
    await db.write(lambda connection: add(connection, 2))
    assert await db.read(read_both) == [0, 1]


async def test_a_write_whose_connection_breaks_halfway_happens_once(
    db: Database, server: Server
) -> None:
    await db.write(make_accounts)
    runs: list[int] = []

    def fn(connection: Connection) -> None:
        runs.append(connection.execute(text("SELECT pg_backend_pid()")).scalar_one())
        add(connection, 1)
        if len(runs) == 1:
            server.run(f"SELECT pg_terminate_backend({runs[0]})")
            time.sleep(0.05)
        add(connection, 2)

    await db.write(fn)
    assert len(set(runs)) == 2 and await db.read(read_both) == [1, 1]


async def test_a_commit_nobody_can_vouch_for_is_not_run_again(db: Database, server: Server) -> None:
    await db.write(make_accounts)
    runs: list[int] = []

    def fn(connection: Connection) -> None:
        runs.append(connection.execute(text("SELECT pg_backend_pid()")).scalar_one())
        add(connection, 1)
        server.run(f"SELECT pg_terminate_backend({runs[-1]})")
        time.sleep(0.05)  # the next thing sent is the commit

    with pytest.raises(DatabaseError, match="does not answer"):
        await db.write(fn)
    assert len(runs) == 1 and await db.read(read_both) == [0, 0]


async def test_a_server_that_went_away_is_a_sentence_without_its_address(
    database_url: str, server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors, "RETRY_FOR_S", 0.1)
    secret = "hunter2-very-secret"
    db = await Database.open(with_password(database_url, secret))
    name = address_of(database_url).url.database
    assert name is not None
    server.drop(name)
    with pytest.raises(DatabaseError) as caught:
        await db.read(lambda connection: connection.execute(text("SELECT 1")).scalar())
    await db.close()
    assert str(caught.value).startswith("The database does ")
    assert name not in str(caught.value) and name in caught.value.detail
    assert secret not in caught.value.detail and secret not in str(caught.value)
