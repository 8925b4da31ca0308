"""The two doors to the database: ``read`` and ``write``.

SQLAlchemy runs in threads of the database's own, one a connection: a transaction of several
statements goes to its thread once and comes back once. Through an asynchronous driver every
statement goes there and back several times, which made a one-row write half as fast.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import Self, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from shared.errors import StorageError
from storage.address import Address, address_of
from storage.engines import reader_engine, server_engine, writer_engine
from storage.faults import storage_error
from storage.migrations import bring_up_to_date

T = TypeVar("T")
Clock = Callable[[], datetime]

READERS = 3  # more people looking in the same millisecond wait for one another
SERVER_CONNECTIONS = 5


def utc_now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


class _Door:
    """An engine and as many threads as it has connections."""

    def __init__(self, engine: Engine, *, threads: int, name: str) -> None:
        self.engine = engine
        self.threads = ThreadPoolExecutor(threads, thread_name_prefix=f"leeward-{name}")

    def in_transaction(self, fn: Callable[[Connection], T]) -> T:
        with self.engine.begin() as connection:
            return fn(connection)

    def close(self) -> None:
        self.threads.shutdown(wait=True)
        self.engine.dispose()


class Database:
    """One open database; make it with ``await Database.open(url)``."""

    def __init__(self, address: Address, *, writer: _Door, reader: _Door, clock: Clock) -> None:
        self._address = address
        self._writer = writer
        self._reader = reader
        self._clock = clock
        self._closed = False

    @classmethod
    async def open(cls, url: str | None = None, *, clock: Clock = utc_now) -> Self:
        """Open the database at a SQLAlchemy URL (``None``: the default file), made if missing.

        Its tables are brought up to date first. ``clock`` says what time it is wherever a row
        keeps a time. Raises StorageError with one sentence when that cannot be done.
        """
        address = address_of(url)
        await asyncio.to_thread(bring_up_to_date, address)
        if address.is_sqlite:
            writer = _Door(writer_engine(address), threads=1, name="writer")
            reader = _Door(reader_engine(address, size=READERS), threads=READERS, name="reader")
        else:
            engine = server_engine(address, size=SERVER_CONNECTIONS)
            writer = reader = _Door(engine, threads=SERVER_CONNECTIONS, name="database")
        return cls(address, writer=writer, reader=reader, clock=clock)

    @property
    def where(self) -> str:
        """The file, or host and name: for people; it never holds a password."""
        return self._address.where

    def now(self) -> datetime:
        """The time by the database's clock, in UTC."""
        return self._clock().astimezone(UTC)

    async def read(self, fn: Callable[[Connection], T]) -> T:
        """What ``fn`` returns, from one consistent view of the data.

        ``fn`` runs in another thread: it touches nothing but the connection and its own values.
        """
        return await self._run(self._reader, fn)

    async def write(self, fn: Callable[[Connection], T]) -> T:
        """Run ``fn`` in one transaction: all of it is on disk when this returns, or none.

        ``fn`` runs in another thread. A cancelled caller does not stop a write that was asked
        for: it completes by itself, so a write whose caller may ask twice must be harmless
        twice. Raises StorageError; what ``fn`` itself raises undoes the transaction and comes
        out unchanged.
        """
        return await self._run(self._writer, fn)

    async def close(self) -> None:
        """Let the writes under way complete, then let go of the database; harmless twice."""
        self._closed = True
        await asyncio.to_thread(self._writer.close)
        await asyncio.to_thread(self._reader.close)

    async def _run(self, door: _Door, fn: Callable[[Connection], T]) -> T:
        if self._closed:
            raise StorageError(f"The database {self.where} is already closed")
        loop = asyncio.get_running_loop()
        outcome = loop.run_in_executor(door.threads, door.in_transaction, fn)
        try:
            return await asyncio.shield(outcome)
        except asyncio.CancelledError:
            outcome.add_done_callback(_tell_the_loop_of_a_failure)
            raise
        except SQLAlchemyError as error:
            told = storage_error(error, self.where)
            if told is None:
                raise
            raise told from error


def _tell_the_loop_of_a_failure(outcome: asyncio.Future[T]) -> None:
    # Nobody awaits it any more, and a lost write must not go unheard.
    if not outcome.cancelled() and (error := outcome.exception()) is not None:
        outcome.get_loop().call_exception_handler(
            {"message": "a database call failed after its caller was cancelled", "exception": error}
        )
