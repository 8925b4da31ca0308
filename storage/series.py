"""Measured series: shots a coach plays on purpose to measure a club, one series for each club."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, delete, select

from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import measured_series

Change = Callable[[JsonObject | None], JsonObject]


class MeasuredSeries:
    """Series by community, member and club; what a body means is the caller's."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, member_id: int, club: str) -> JsonObject | None:
        """The series, or None where none was begun."""
        return await self._db.read(
            lambda connection: series_of(connection, community_id, member_id, club)
        )

    async def change(
        self, community_id: int, member_id: int, club: str, change: Change
    ) -> JsonObject:
        """Put ``change`` of the series (None: none) in its place, in one step; the new one."""
        now = self._db.now()
        return await self._db.write(
            lambda connection: change_series(
                connection, community_id, member_id, club, change, at=now
            )
        )

    async def drop(self, community_id: int, member_id: int, club: str) -> bool:
        """Forget a series; False where there was none."""
        return await self._db.write(
            lambda connection: drop_series(connection, community_id, member_id, club)
        )


def series_of(
    connection: Connection, community_id: int, member_id: int, club: str
) -> JsonObject | None:
    """``MeasuredSeries.get``, inside a transaction."""
    query = select(measured_series.c.body).where(*_at(community_id, member_id, club))
    return connection.execute(query).scalar()


def change_series(
    connection: Connection,
    community_id: int,
    member_id: int,
    club: str,
    change: Change,
    *,
    at: datetime,
) -> JsonObject:
    """``MeasuredSeries.change``, inside the transaction that keeps the shot."""
    body = change(series_of(connection, community_id, member_id, club))
    values = {"body": body, "updated_at": at}
    connection.execute(
        insert(connection, measured_series)
        .values(community_id=community_id, member_id=member_id, club=club, **values)
        .on_conflict_do_update(index_elements=list(measured_series.primary_key), set_=values)
    )
    return body


def drop_series(connection: Connection, community_id: int, member_id: int, club: str) -> bool:
    """``MeasuredSeries.drop``, inside the transaction that keeps the chart."""
    statement = delete(measured_series).where(*_at(community_id, member_id, club))
    return connection.execute(statement).rowcount > 0


def _at(community_id: int, member_id: int, club: str) -> tuple[ColumnElement[bool], ...]:
    c = measured_series.c
    return c.community_id == community_id, c.member_id == member_id, c.club == club
