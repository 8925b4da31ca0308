"""Everything kept about a member, and forgetting it.

What a member did stays (a result counts for the group, a vote was given, a line was written), but
nothing says any more who it was.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Column, Connection, Table, delete, select, update

from storage.bags import forget_bag
from storage.database import Database
from storage.json import Json, JsonObject
from storage.named import forget_names, names_of
from storage.schema import (
    bags,
    decisions,
    divisions,
    drafts,
    homes,
    measured_series,
    member_rounds,
    outbox,
    reminders,
    results,
    revisions,
    told_aims,
    votes,
)


@dataclass(frozen=True, slots=True)
class _Trace:
    """A table that says who, in ``who`` and, where there is a name, in ``name``."""

    table: Table
    who: Column[int]
    name: Column[str] | None = None


TRACES = (
    _Trace(bags, bags.c.member_id),
    _Trace(divisions, divisions.c.member_id),
    _Trace(drafts, drafts.c.member_id),
    _Trace(homes, homes.c.member_id),
    _Trace(member_rounds, member_rounds.c.member_id),
    _Trace(measured_series, measured_series.c.member_id),
    _Trace(reminders, reminders.c.member_id),
    _Trace(results, results.c.member_id, results.c.author_name),
    _Trace(revisions, revisions.c.author_id, revisions.c.author_name),
    _Trace(told_aims, told_aims.c.member_id),
    _Trace(votes, votes.c.member_id),
    _Trace(outbox, outbox.c.member_id),
    _Trace(decisions, decisions.c.coach_id, decisions.c.coach_name),
)
"""Every place that says who. A test holds every table of the schema against it."""

_OWN = (
    divisions,
    drafts,
    homes,
    measured_series,
    member_rounds,
    reminders,
    told_aims,
)  # nobody else's, so they go as the bag does


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What was taken away: rows by table; ``unnamed`` are keys of lines whose text named them."""

    rows: dict[str, int]
    unnamed: frozenset[str]


class People:
    """What is kept about members, across all tables."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def export(self, community_id: int, member_id: int) -> dict[str, list[JsonObject]]:
        """Every row that says it is the member's, by table: plain JSON, times in ISO 8601."""

        def fn(connection: Connection) -> dict[str, list[JsonObject]]:
            return {
                trace.table.name: _rows(connection, trace, community_id, member_id)
                for trace in TRACES
            }

        return await self._db.read(fn)

    async def forget(self, community_id: int, member_id: int) -> Forgotten:
        """Delete what is the member's own, and take their id and name off all else.

        A line's author goes where it is the member: in lines they wrote or shared by any name they
        had, elsewhere (copied events, files) by names that nobody else here has. Harmless twice.
        Other texts stay as they were written, also where they name somebody.
        """
        return await self._db.write(
            lambda connection: forget_everywhere(connection, community_id, member_id)
        )


def forget_everywhere(connection: Connection, community_id: int, member_id: int) -> Forgotten:
    """``People.forget``, inside a transaction."""
    names = names_of(connection, community_id, member_id)
    unnamed = forget_names(connection, community_id, member_id, names)
    rows = forget_member(connection, community_id, member_id)
    return Forgotten(rows, unnamed)


def forget_member(connection: Connection, community_id: int, member_id: int) -> dict[str, int]:
    """Ids and names in columns, without what texts say; rows changed by table."""
    changed: dict[str, int] = {}
    for trace in TRACES:
        name = trace.table.name
        here = (trace.table.c.community_id == community_id, trace.who == member_id)
        if trace.table is bags:
            changed[name] = int(forget_bag(connection, community_id, member_id))
        elif trace.table in _OWN:
            changed[name] = connection.execute(delete(trace.table).where(*here)).rowcount
        elif trace.table is votes:
            changed[name] = _hide_votes(connection, community_id, member_id)
        else:
            blank = {column: None for column in (trace.who, trace.name) if column is not None}
            statement = update(trace.table).where(*here).values(blank)
            changed[name] = connection.execute(statement).rowcount
    return changed


def _hide_votes(connection: Connection, community_id: int, member_id: int) -> int:
    """Another negative number in each poll, so that two polls' votes cannot be tied together."""
    here = (votes.c.community_id == community_id, votes.c.member_id == member_id)
    poll_ids = connection.execute(select(votes.c.poll_id).where(*here).distinct()).scalars().all()
    return sum(
        connection.execute(
            update(votes)
            .where(*here, votes.c.poll_id == poll_id)
            .values(member_id=-1 - secrets.randbits(62))
        ).rowcount
        for poll_id in poll_ids
    )


def _rows(
    connection: Connection, trace: _Trace, community_id: int, member_id: int
) -> list[JsonObject]:
    columns = list(trace.table.columns)
    query = (
        select(*columns)
        .where(trace.table.c.community_id == community_id, trace.who == member_id)
        .order_by(*trace.table.primary_key)
    )
    return [
        {column.name: _plain(value) for column, value in zip(columns, row, strict=True)}
        for row in connection.execute(query)
    ]


def _plain(value: Json | datetime) -> Json:
    return value.isoformat() if isinstance(value, datetime) else value
