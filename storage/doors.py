"""What stands behind ``Database.read`` and ``Database.write``: where a transaction runs.

SQLite: aiosqlite gives each connection a thread, and a whole transaction makes one trip there.
Statement by statement, with SQLAlchemy asking its driver for a cursor, the execution, the rows and
the closing one by one, a result's seven statements took twenty-eight trips, which cost more than
the work; and rows were made in the event loop's thread, which held it up.
"""

import asyncio
import sqlite3
from collections.abc import Callable, Sequence
from threading import Thread
from typing import Protocol, TypeVar

import aiosqlite
from sqlalchemy import Connection, Engine
from sqlalchemy.ext.asyncio import AsyncEngine

from storage.address import Address
from storage.engines import engine_on
from storage.faults import QUEUE_TIMEOUT_S, busy

T = TypeVar("T")


class Door(Protocol):
    """Where transactions run."""

    async def run(self, fn: Callable[[Connection], T]) -> T:
        """What ``fn`` returns, in a transaction of its own. Raises what the driver raises."""
        ...

    async def close(self) -> None:
        """Let go of every connection, when nothing runs any more."""
        ...


class SqliteDoor:
    """As many connections to a file as may work at once, each opened when it is first needed."""

    def __init__(self, address: Address, pragmas: Sequence[str], *, begin: str, size: int) -> None:
        self._where = address.where
        self._seats = [_Seat(address.where, pragmas, begin=begin) for _ in range(size)]
        self._free: asyncio.LifoQueue[_Seat] = asyncio.LifoQueue()
        for seat in self._seats:
            self._free.put_nowait(seat)

    async def run(self, fn: Callable[[Connection], T]) -> T:
        """As ``Door.run``; StorageError when no connection is free for a while."""
        try:
            async with asyncio.timeout(QUEUE_TIMEOUT_S):
                seat = await self._free.get()
        except TimeoutError:
            raise busy(self._where) from None
        try:
            return await seat.transact(fn)
        finally:
            self._free.put_nowait(seat)

    async def close(self) -> None:
        """As ``Door.close``."""
        for seat in self._seats:
            await seat.close()


class ServerDoor:
    """A pool of connections to a database server."""

    def __init__(self, engine: AsyncEngine) -> None:
        self._engine = engine

    async def run(self, fn: Callable[[Connection], T]) -> T:
        """As ``Door.run``."""
        async with self._engine.begin() as connection:
            return await connection.run_sync(fn)

    async def close(self) -> None:
        """As ``Door.close``."""
        await self._engine.dispose()


class _Seat:
    """One connection with its thread, and SQLAlchemy on it."""

    def __init__(self, path: str, pragmas: Sequence[str], *, begin: str) -> None:
        self._path = path
        self._pragmas = pragmas
        self._begin = begin
        self._connection: _Connection | None = None
        self._engine: Engine | None = None

    async def transact(self, fn: Callable[[Connection], T]) -> T:
        if self._connection is None:
            self._connection = await _connect(self._path)
        return await self._connection.in_thread(lambda raw: self._transact(raw, fn))

    def _transact(self, raw: sqlite3.Connection, fn: Callable[[Connection], T]) -> T:
        if self._engine is None:
            self._engine = engine_on(raw, self._pragmas, begin=self._begin)
        with self._engine.begin() as connection:
            return fn(connection)

    async def close(self) -> None:
        connection, self._connection, self._engine = self._connection, None, None
        if connection is not None:
            await connection.close()


class _Connection(aiosqlite.Connection):
    """An aiosqlite connection that takes whole pieces of work to its thread."""

    def __init__(self, path: str) -> None:
        # The driver must not begin transactions by itself: SQLAlchemy's begin hook does.
        super().__init__(lambda: sqlite3.connect(path, isolation_level=None), iter_chunk_size=64)
        # A database nobody closed must not keep the program from ending.
        thread = self if isinstance(self, Thread) else self._thread
        thread.daemon = True

    async def in_thread(self, fn: Callable[[sqlite3.Connection], T]) -> T:
        """What ``fn`` returns, run in the connection's thread."""
        raw = self._conn
        return await self._execute(lambda: fn(raw))  # pyright: ignore[reportUnknownMemberType]


async def _connect(path: str) -> _Connection:
    connection = _Connection(path)
    await connection
    return connection
