"""aiosqlite with one trip to the connection's thread for a statement.

SQLAlchemy asks its driver for a cursor, the execution, the rows and the closing one by one. Through
aiosqlite each is a message to the connection's thread and back, which for short statements costs
more than the statement itself. Here the four go together.
"""

import sqlite3
from collections.abc import Callable, Sequence
from threading import Thread
from typing import Self, TypeVar

import aiosqlite

T = TypeVar("T")
Parameters = Sequence[object]
Description = Sequence[tuple[str, None, None, None, None, None, None]]


class OneTripCursor:
    """What SQLAlchemy uses of an aiosqlite cursor; everything but executing is at hand."""

    arraysize = 1

    def __init__(self, connection: "OneTripConnection") -> None:
        self._connection = connection
        self._rows: list[object] = []
        self.description: Description | None = None
        self.rowcount = -1
        self.lastrowid: int | None = None

    async def __aenter__(self) -> Self:
        return self

    async def execute(self, sql: str, parameters: Parameters = ()) -> Self:
        """Execute and fetch every row."""
        return await self._go(lambda raw: raw.execute(sql, parameters))

    async def executemany(self, sql: str, parameters: Sequence[Parameters]) -> Self:
        """Execute once for each set of parameters."""
        return await self._go(lambda raw: raw.executemany(sql, parameters))

    async def fetchall(self) -> list[object]:
        """The rows that were fetched on executing."""
        rows, self._rows = self._rows, []
        return rows

    async def close(self) -> None:
        """Nothing is open: the cursor ended in its own thread."""

    async def _go(self, call: Callable[[sqlite3.Connection], sqlite3.Cursor]) -> Self:
        def there(raw: sqlite3.Connection) -> None:
            cursor = call(raw)
            self._rows = cursor.fetchall() if cursor.description else []
            self.description = cursor.description
            self.rowcount = cursor.rowcount
            self.lastrowid = cursor.lastrowid
            cursor.close()

        await self._connection.in_thread(there)
        return self


class OneTripConnection(aiosqlite.Connection):
    """An aiosqlite connection whose cursors make one trip a statement."""

    def __init__(self, path: str) -> None:
        # The driver must not begin transactions by itself: SQLAlchemy's begin hook does.
        super().__init__(lambda: sqlite3.connect(path, isolation_level=None), iter_chunk_size=64)
        # A database nobody closed must not keep the program from ending.
        thread = self if isinstance(self, Thread) else self._thread
        thread.daemon = True

    def cursor(self) -> OneTripCursor:  # pyright: ignore[reportIncompatibleMethodOverride]
        """A cursor; nothing happens yet."""
        return OneTripCursor(self)

    async def in_thread(self, fn: Callable[[sqlite3.Connection], T]) -> T:
        """What ``fn`` returns, run in the connection's thread."""
        raw = self._conn
        return await self._execute(lambda: fn(raw))  # pyright: ignore[reportUnknownMemberType]
