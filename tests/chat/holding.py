"""Another program's hold on a database of either kind, so that who needs it has to wait."""

import asyncio
import sqlite3
import threading
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import psycopg

from storage.address import address_of
from storage.schema import metadata


@asynccontextmanager
async def held(
    url: str, for_s: float, *, from_readers_too: bool = False, to_the_end: bool = False
) -> AsyncIterator[None]:
    """Nobody else writes for so long from the body's beginning on; on return it is free again.

    ``from_readers_too``: on PostgreSQL nobody reads either; nothing keeps a SQLite file's readers
    out. ``to_the_end``: not before the body has ended.
    """
    locked, over = threading.Event(), threading.Event()
    if not to_the_end:
        over.set()
    mode = "ACCESS EXCLUSIVE" if from_readers_too else "EXCLUSIVE"

    def hold() -> None:
        if url.startswith("sqlite"):
            _hold_file(url, locked, over, for_s)
        else:
            _hold_server(url, locked, over, for_s, mode)

    thread = threading.Thread(target=hold)
    thread.start()
    assert await asyncio.to_thread(locked.wait, 30.0)
    try:
        yield
    finally:
        over.set()
        await asyncio.to_thread(thread.join)


def _hold_file(url: str, locked: threading.Event, over: threading.Event, for_s: float) -> None:
    connection = sqlite3.connect(address_of(url).where, isolation_level=None, timeout=30.0)
    connection.execute("BEGIN EXCLUSIVE")
    locked.set()
    time.sleep(for_s)
    over.wait()
    connection.execute("ROLLBACK")
    connection.close()


def _hold_server(
    url: str, locked: threading.Event, over: threading.Event, for_s: float, mode: str
) -> None:
    with psycopg.connect(url) as connection:
        tables = ", ".join(f'"{table.name}"' for table in metadata.sorted_tables)
        connection.execute(f"LOCK TABLE {tables} IN {mode} MODE".encode())
        locked.set()
        time.sleep(for_s)
        over.wait()
        connection.rollback()
