"""What stands behind ``Database.read`` and ``Database.write``: where a transaction runs.

SQLite: aiosqlite gives each connection a thread, and a whole transaction makes one trip there.
Statement by statement, with SQLAlchemy asking its driver for a cursor, the execution, the rows and
the closing one by one, a result's seven statements took twenty-eight trips, which cost more than
the work; and rows were made in the event loop's thread, which held it up.

PostgreSQL: a thread for each connection, for the same reason. A transaction that lost against
another (a serialization failure, a deadlock) or whose connection broke before its commit was sent
is run again; nothing of it is in the database then. Where the connection breaks during the commit
nobody can say, so that is an error.
"""

import asyncio
import random
import sqlite3
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Thread
from typing import Protocol, TypeVar

import aiosqlite
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from storage.address import Address
from storage.engines import engine_on
from storage.faults import MAY_RUN_AGAIN, QUEUE_TIMEOUT_S, busy, lost_connection, sqlstate

T = TypeVar("T")

FIRST_WAIT_S, LONGEST_WAIT_S = 0.002, 0.1
RETRY_FOR_S = 10.0  # a server's restart takes a few seconds


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
    """A pool of connections to a database server, each used in a thread of its own."""

    def __init__(self, engine: Engine, *, where: str, size: int) -> None:
        self._engine = engine
        self._where = where
        self._free = asyncio.Semaphore(size)
        self._threads = ThreadPoolExecutor(size, thread_name_prefix="database")

    async def run(self, fn: Callable[[Connection], T]) -> T:
        """As ``Door.run``; ``fn`` may run several times, of which the last counts."""
        try:
            async with asyncio.timeout(QUEUE_TIMEOUT_S):
                await self._free.acquire()
        except TimeoutError:
            raise busy(self._where) from None
        try:
            return await asyncio.get_running_loop().run_in_executor(
                self._threads, self._transact, fn
            )
        finally:
            self._free.release()

    async def close(self) -> None:
        """As ``Door.close``."""
        self._threads.shutdown()
        self._engine.dispose()

    def _transact(self, fn: Callable[[Connection], T]) -> T:
        give_up_at = time.monotonic() + RETRY_FOR_S
        wait_s = FIRST_WAIT_S
        while True:
            attempt = _Attempt()
            try:
                return attempt.run(self._engine, fn)
            except DBAPIError as error:
                if not attempt.may_run_again(error) or time.monotonic() > give_up_at:
                    raise
            # Of two that met, chance decides who goes first the next time.
            time.sleep(wait_s * random.uniform(0.5, 1.5))
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)


class _Attempt:
    """One try at a transaction, and how far it came."""

    def __init__(self) -> None:
        self._committing = False

    def run(self, engine: Engine, fn: Callable[[Connection], T]) -> T:
        with engine.connect() as connection, connection.begin() as transaction:
            outcome = fn(connection)
            self._committing = True
            transaction.commit()
            return outcome

    def may_run_again(self, error: DBAPIError) -> bool:
        """Whether it is known that nothing was committed, and another try may help."""
        if sqlstate(error) in MAY_RUN_AGAIN:
            return True
        broke = lost_connection(error) or sqlstate(error).startswith(("08", "57P01", "57P02"))
        return broke and not self._committing


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
