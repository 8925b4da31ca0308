"""Long answers in pages, so that making their rows never holds everything else for long.

On a server the rows are made in the event loop's thread, which gets its turn between two pages: a
thousand rows at once would hold it for longer than a suggestion while typing may take.
"""

from collections.abc import Iterator
from typing import TypeVarTuple

from sqlalchemy import Connection, Row, Select

PAGE = 100  # rows; making as many results of them takes a few milliseconds
Columns = TypeVarTuple("Columns")


def in_pages(connection: Connection, query: Select[*Columns]) -> Iterator[Row[*Columns]]:
    """Every row of a query whose order leaves no two rows equal, inside a transaction."""
    offset = 0
    while True:
        rows = connection.execute(query.limit(PAGE).offset(offset)).all()
        yield from rows
        if len(rows) < PAGE:
            return
        offset += PAGE
