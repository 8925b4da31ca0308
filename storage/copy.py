"""Copying everything from one database to another, of the same kind or not."""

from sqlalchemy import Connection, Table, func, insert, select, text
from sqlalchemy.exc import SQLAlchemyError

from shared.errors import StorageError
from storage.address import Address, address_of, must_be_there
from storage.engines import looking_engine, migration_engine
from storage.faults import storage_error
from storage.migrations import HEAD, bring_up_to_date, stored_version
from storage.schema import metadata

ROWS_AT_ONCE = 1000


def copy(source: str | None, target: str | None) -> dict[str, int]:
    """Copy every row, and what numbers the next rows get; rows by table, counted in the target.

    The source is read as it is at one moment and not changed; the target must hold nothing, and
    takes all or nothing. Blocks: call it in a thread. Raises StorageError.
    """
    old, new = address_of(source), address_of(target)
    if old.url == new.url:
        raise StorageError("A database cannot be copied onto itself; name another one")
    must_be_there(old)
    reading = looking_engine(old)
    try:
        with reading.begin() as from_:
            _require_newest(from_, old)
            bring_up_to_date(new)
            writing = migration_engine(new)
            try:
                with writing.begin() as to:
                    _require_empty(to, new)
                    return {t.name: _copy_table(from_, to, t) for t in metadata.sorted_tables}
            finally:
                writing.dispose()
    except SQLAlchemyError as error:
        # Which of the two it was, the text of the driver says.
        told = storage_error(error, f"{old.where} or {new.where}")
        if told is None:
            raise
        raise StorageError(getattr(told, "detail", str(told))) from error
    finally:
        reading.dispose()


def _require_newest(connection: Connection, address: Address) -> None:
    version = stored_version(connection)
    if version != HEAD:
        raise StorageError(
            f"The database {address.where} is at version {version}, this Leeward at {HEAD};"
            " start Leeward on it once, then copy it"
        )


def _require_empty(connection: Connection, address: Address) -> None:
    for table in metadata.sorted_tables:
        if connection.execute(select(1).select_from(table).limit(1)).first() is not None:
            raise StorageError(
                f"The database {address.where} holds something already; name an empty one"
            )


def _copy_table(from_: Connection, to: Connection, table: Table) -> int:
    query = select(table).order_by(*table.primary_key)  # a result's corrections come after it
    found = from_.execution_options(yield_per=ROWS_AT_ONCE).execute(query)
    for rows in found.mappings().partitions():
        to.execute(insert(table), [dict(row) for row in rows])
    counts = [
        connection.execute(select(func.count()).select_from(table)).scalar_one()
        for connection in (from_, to)
    ]
    if counts[0] != counts[1]:
        raise StorageError(
            f"{counts[0]} rows of {table.name} became {counts[1]}; nothing was copied"
        )
    if table.primary_key.columns.keys() == ["id"] and table.c.id.autoincrement is not False:
        _number_from(to, table, _last_number(from_, table))
    return counts[1]


def _last_number(connection: Connection, table: Table) -> int:
    """The highest row number ever given, as far as the database knows."""
    highest = connection.execute(select(func.coalesce(func.max(table.c.id), 0))).scalar_one()
    if connection.dialect.name == "sqlite":
        if not table.dialect_options["sqlite"]["autoincrement"]:
            return highest
        query = text("SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = :name")
        return max(highest, connection.execute(query, {"name": table.name}).scalar_one())
    sequence = f"SELECT CASE WHEN is_called THEN last_value ELSE 0 END FROM {table.name}_id_seq"
    return max(highest, connection.exec_driver_sql(sequence).scalar_one())


def _number_from(connection: Connection, table: Table, last: int) -> None:
    """Give the next row a number above ``last``."""
    values = {"name": table.name, "last": last}
    if connection.dialect.name != "sqlite":
        if last:
            query = text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)")
            connection.execute(query, values)
    elif table.dialect_options["sqlite"]["autoincrement"]:
        connection.execute(text("DELETE FROM sqlite_sequence WHERE name = :name"), values)
        connection.execute(text("INSERT INTO sqlite_sequence VALUES (:name, :last)"), values)
