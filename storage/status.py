"""What an operator asks of a database: its version, its size, its rows, what waits."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, func, inspect, select, text
from sqlalchemy.exc import SQLAlchemyError

from shared.errors import StorageError
from storage.address import address_of, must_be_there
from storage.engines import looking_engine
from storage.faults import storage_error
from storage.migrations import HEAD, stored_version
from storage.schema import communities, jobs, metadata, outbox


@dataclass(frozen=True, slots=True)
class Status:
    """A database as it stands; ``version`` None: no tables of ours. ``head``: what we know.

    ``waiting`` messages are still to be posted, since ``waiting_since``; ``refused`` ones need
    somebody. ``due`` jobs are late or due. ``left`` communities are served no more.
    """

    where: str
    version: str | None
    head: str
    bytes: int
    rows: dict[str, int]
    waiting: int
    waiting_since: datetime | None
    refused: int
    due: int
    left: int


def status_of(url: str | None, *, now: datetime | None = None) -> Status:
    """Look at a database and change nothing, not even an older one's tables.

    Blocks: call it in a thread. Raises StorageError for one that cannot be looked at.
    """
    address = address_of(url)
    must_be_there(address)
    engine = looking_engine(address)
    try:
        with engine.begin() as connection:
            return _status(connection, address.where, now or datetime.now(UTC))
    except SQLAlchemyError as error:
        told = storage_error(error, address.where)
        if told is None:
            raise
        raise StorageError(getattr(told, "detail", str(told))) from error
    finally:
        engine.dispose()


def _status(connection: Connection, where: str, now: datetime) -> Status:
    there = set(inspect(connection).get_table_names())
    tables = [table for table in metadata.sorted_tables if table.name in there]
    rows = {
        table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
        for table in tables
    }
    version = stored_version(connection)
    waiting, since, refused, due, left = 0, None, 0, 0, 0
    if version == HEAD:
        c = outbox.c
        here = select(func.count(), func.min(c.updated_at, type_=c.updated_at.type))
        waiting, since = connection.execute(here.where(c.state == "waiting")).one()
        refused, _ = connection.execute(here.where(c.state == "failed")).one()
        late = select(func.count()).where(jobs.c.done_at.is_(None), jobs.c.due_at <= now)
        due = connection.execute(late).scalar_one()
        gone = select(func.count()).where(communities.c.left_at.is_not(None))
        left = connection.execute(gone).scalar_one()
    return Status(
        where=where,
        version=version,
        head=HEAD,
        bytes=_size(connection, where),
        rows=rows,
        waiting=waiting,
        waiting_since=since,
        refused=refused,
        due=due,
        left=left,
    )


def _size(connection: Connection, where: str) -> int:
    if connection.dialect.name == "sqlite":
        files = (Path(where + suffix) for suffix in ("", "-wal"))
        return sum(file.stat().st_size for file in files if file.exists())
    return connection.execute(text("SELECT pg_database_size(current_database())")).scalar_one()
