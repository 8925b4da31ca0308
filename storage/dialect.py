"""The one statement the two databases spell through different classes: insert-or-update."""

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import postgresql, sqlite

Insert = sqlite.Insert | postgresql.Insert


def insert(connection: Connection, table: Table) -> Insert:
    """An insert that knows ``on_conflict_do_update`` and ``on_conflict_do_nothing``."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(table)
    return postgresql.insert(table)
