"""SQLAlchemy engines set up as Leeward needs them.

SQLite: the driver begins no transaction by itself (``isolation_level`` None); the begin hook does,
at once for writing (``BEGIN IMMEDIATE``), so that a read-then-write cannot find the database
locked halfway. WAL lets readers read meanwhile; ``synchronous = FULL`` keeps an acknowledged
write through a power cut.

PostgreSQL: a read sees the database as it was at its first statement (REPEATABLE READ); writes
leave what some order one after another would (SERIALIZABLE), as SQLite's one writer does.
"""

import sqlite3
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import NoSuchModuleError
from sqlalchemy.pool import ConnectionPoolEntry, NullPool, StaticPool

from shared.errors import StorageError
from storage.address import Address
from storage.faults import BUSY_TIMEOUT_S

# A scan of a whole table marks all of it as read, and every write to it as a conflict.
NARROW_LOCKS = "-c enable_seqscan=off"
CONNECT_TIMEOUT_S = 5  # a whole number: the driver's own rule
_ALWAYS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_S * 1000}",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
)
_IN_USE = (
    *_ALWAYS,
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",  # who asks to be forgotten must not linger in free pages
)
WRITER_PRAGMAS = _IN_USE
READER_PRAGMAS = (*_IN_USE, "PRAGMA query_only = ON")
# A table is altered by copying it and dropping the old one; with foreign keys on, the drop
# would delete every row that points at it.
_MIGRATION_PRAGMAS = (*_ALWAYS, "PRAGMA foreign_keys = OFF")


def engine_on(raw: sqlite3.Connection, pragmas: Sequence[str], *, begin: str) -> Engine:
    """An engine on a connection that is open already, for the thread it was opened in."""
    engine = create_engine("sqlite+pysqlite://", creator=lambda: raw, poolclass=StaticPool)
    _prepare(engine, pragmas, begin=begin)
    return engine


def server_engine(address: Address, *, size: int, read_only: bool) -> Engine:
    """PostgreSQL, for reading from one consistent view, or for writing as if one after another.

    Raises StorageError when its driver is missing.
    """
    level, options = ("REPEATABLE READ", "") if read_only else ("SERIALIZABLE", NARROW_LOCKS)
    with _driver_needed():
        engine = create_engine(
            address.url,
            isolation_level=level,
            pool_size=size,
            max_overflow=0,
            pool_pre_ping=True,
            connect_args={"connect_timeout": CONNECT_TIMEOUT_S, "options": options},
        )
    return engine.execution_options(postgresql_readonly=True) if read_only else engine


def migration_engine(address: Address) -> Engine:
    """An engine for changing tables, for a thread of its own; it keeps no connection."""
    if not address.is_sqlite:
        with _driver_needed():
            options = {"connect_timeout": CONNECT_TIMEOUT_S}
            return create_engine(address.url, connect_args=options, poolclass=NullPool)
    url = address.url.set(drivername="sqlite+pysqlite")
    options = {"isolation_level": None, "check_same_thread": False}
    engine = create_engine(url, connect_args=options, poolclass=NullPool)
    _prepare(engine, _MIGRATION_PRAGMAS, begin="BEGIN IMMEDIATE")
    return engine


def looking_engine(address: Address) -> Engine:
    """An engine for looking at everything as it is at one moment, and changing nothing."""
    if not address.is_sqlite:
        return server_engine(address, size=1, read_only=True)
    where = f"{Path(address.where).as_uri()}?mode=ro"
    engine = create_engine(
        "sqlite+pysqlite://",
        creator=lambda: sqlite3.connect(where, uri=True, isolation_level=None),
        poolclass=NullPool,
    )
    _prepare(engine, (f"PRAGMA busy_timeout = {BUSY_TIMEOUT_S * 1000}",), begin="BEGIN")
    return engine


def _prepare(engine: Engine, pragmas: Sequence[str], *, begin: str) -> None:
    def on_connect(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        for pragma in pragmas:
            cursor.execute(pragma)
        cursor.close()

    def on_begin(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    event.listen(engine, "connect", on_connect)
    event.listen(engine, "begin", on_begin)


@contextmanager
def _driver_needed() -> Generator[None]:
    try:
        yield
    except (ImportError, NoSuchModuleError) as error:
        raise StorageError(
            "PostgreSQL needs a driver that is not installed: pip install 'leeward[postgres]'"
        ) from error
