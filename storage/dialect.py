"""The one statement the two databases spell through different classes: insert-or-update."""

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

Insert = sqlite.Insert | postgresql.Insert


def insert(connection: Connection, table: Table) -> Insert:
    """An insert that knows ``on_conflict_do_update`` and ``on_conflict_do_nothing``."""
    return insert_for(connection.dialect.name, table)


def insert_for(dialect: str, table: Table) -> Insert:
    """The same by the name of the dialect, for statements that are built once and kept."""
    return sqlite.insert(table) if dialect == "sqlite" else postgresql.insert(table)
