"""The two doors to the database: ``read`` and ``write``.

SQLAlchemy Core: a transaction runs in its connection's own thread, the event loop is free
meanwhile. What is handed to a door is a plain function of a connection, so that the same
function serves inside a larger transaction, in a migration and in a test.
"""

import asyncio
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Self, TypeVar

from sqlalchemy import Column, ColumnElement, Connection, true
from sqlalchemy.exc import SQLAlchemyError

from shared.shard import ALONE, ID_BITS, Shard
from storage.address import Address, address_of
from storage.doors import Door, ServerDoor, SqliteDoor
from storage.engines import READER_PRAGMAS, WRITER_PRAGMAS, server_engine
from storage.faults import closed, storage_error
from storage.migrations import bring_up_to_date

T = TypeVar("T")
Clock = Callable[[], datetime]

READERS = 3  # more people looking in the same millisecond wait for one another
SERVER_READERS, SERVER_WRITERS = 4, 4


def utc_now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


class Database:
    """One open database; make it with ``await Database.open(url)``."""

    def __init__(
        self,
        address: Address,
        *,
        writer: Door,
        reader: Door,
        clock: Clock,
        shard: Shard,
    ) -> None:
        self._address = address
        self._writer = writer
        self._reader = reader
        self._clock = clock
        self._shard = shard
        self._closed = False
        self._under_way: set[asyncio.Task[object]] = set()

    @classmethod
    async def open(
        cls, url: str | None = None, *, clock: Clock = utc_now, shard: Shard = ALONE
    ) -> Self:
        """Open the database at a SQLAlchemy URL (``None``: the default file), made if missing.

        Its tables are brought up to date first. ``clock`` says what time it is wherever a row
        keeps a time, ``shard`` which communities this process serves. Raises StorageError with
        one sentence when that cannot be done.
        """
        address = address_of(url)
        await asyncio.to_thread(bring_up_to_date, address)
        if address.is_sqlite:
            writer = SqliteDoor(address, WRITER_PRAGMAS, begin="BEGIN IMMEDIATE", size=1)
            reader = SqliteDoor(address, READER_PRAGMAS, begin="BEGIN", size=READERS)
        else:
            writer = _server_door(address, SERVER_WRITERS, read_only=False)
            reader = _server_door(address, SERVER_READERS, read_only=True)
        return cls(address, writer=writer, reader=reader, clock=clock, shard=shard)

    @property
    def where(self) -> str:
        """The file, or host and name: for people; it never holds a password."""
        return self._address.where

    def now(self) -> datetime:
        """The time by the database's clock, in UTC."""
        return self._clock().astimezone(UTC)

    def serves(self, community_id: Column[int]) -> ColumnElement[bool]:
        """True in rows of communities that this process serves: others post and close theirs."""
        if self._shard.is_alone:
            return true()
        return community_id // 2**ID_BITS % self._shard.count == self._shard.number

    async def read(self, fn: Callable[[Connection], T]) -> T:
        """What ``fn`` returns, from one consistent view of the data.

        ``fn`` runs in another thread: it touches nothing but the connection and its own values.
        """
        return await self._run(self._reader, fn)

    async def write(self, fn: Callable[[Connection], T]) -> T:
        """Run ``fn`` in one transaction: all of it is on disk when this returns, or none.

        ``fn`` runs in another thread, and on a server again where it lost against another write:
        it changes nothing but the database. A cancelled caller does not stop a write that was
        asked for: it completes by itself, so a write whose caller may ask twice must be harmless
        twice.
        Raises StorageError; what ``fn`` itself raises undoes the transaction and comes out
        unchanged.
        """
        return await self._run(self._writer, fn)

    async def close(self) -> None:
        """Let what is under way complete, then let go of the database; harmless twice."""
        self._closed = True
        while self._under_way:
            await asyncio.wait(set(self._under_way))
        await self._writer.close()
        await self._reader.close()

    async def _run(self, door: Door, fn: Callable[[Connection], T]) -> T:
        if self._closed:
            raise closed(self.where)
        outcome = asyncio.create_task(door.run(fn))
        self._under_way.add(outcome)
        outcome.add_done_callback(self._under_way.discard)
        try:
            return await asyncio.shield(outcome)
        except asyncio.CancelledError:
            outcome.add_done_callback(_tell_the_loop_of_a_failure)
            raise
        except (SQLAlchemyError, sqlite3.Error) as error:
            told = storage_error(error, self.where)
            if told is None:
                raise
            raise told from error


def _server_door(address: Address, size: int, *, read_only: bool) -> ServerDoor:
    engine = server_engine(address, size=size, read_only=read_only)
    return ServerDoor(engine, where=address.where, size=size)


def _tell_the_loop_of_a_failure(outcome: "asyncio.Task[T]") -> None:
    # Nobody awaits it any more, and a lost write must not go unheard.
    if not outcome.cancelled() and (error := outcome.exception()) is not None:
        outcome.get_loop().call_exception_handler(
            {"message": "a database call failed after its caller was cancelled", "exception": error}
        )
