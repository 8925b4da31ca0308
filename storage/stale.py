"""Messages whose subject has changed: marked in the transaction that changes it.

What a message says is made outside any transaction, since it takes a while. So what changes a
hole, a line, a result or a poll marks the messages about it, and whoever makes them anew takes
the mark off; a crash, a lock or a lost network in between leaves the mark for the next look.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from sqlalchemy import ColumnElement, Connection, Update, and_, bindparam, or_, select, update

from shared.keys import MEASURED, EventKey, HoleKey, LineKey, share_key
from storage.database import Database
from storage.dialect import insert
from storage.outbox import fingerprint, new_nonce
from storage.schema import outbox

AFTER = "0"  # the character after "/", which ends the range of what begins with a key


@dataclass(frozen=True, slots=True)
class Stale:
    """A message that is to be made anew; ``stale`` counts the causes so far."""

    community_id: int
    key: str
    stale: int


class StaleMessages:
    """The marked messages of every community."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def some(self, *, limit: int = 100) -> list[Stale]:
        """Marked messages of who is served here, those of a community side by side."""
        here = self._db.serves(outbox.c.community_id)
        return await self._found(and_(outbox.c.stale > 0, here), limit)

    async def of_holes(self, community_id: int, holes: Sequence[HoleKey]) -> list[Stale]:
        """The marked messages about these holes."""
        about = or_(False, *(_about(str(hole)) for hole in holes))
        return await self._found(
            and_(outbox.c.stale > 0, outbox.c.community_id == community_id, about), None
        )

    async def made(self, messages: Sequence[Stale]) -> None:
        """These were made anew; one that was marked again since keeps its mark."""
        if not messages:
            return

        def fn(connection: Connection) -> None:
            for each in messages:
                c = outbox.c
                mine = and_(c.community_id == each.community_id, c.key == each.key)
                still = update(outbox).where(mine, c.stale == each.stale)
                connection.execute(still.values(stale=0))

        await self._db.write(fn)

    async def _found(self, where: ColumnElement[bool], limit: int | None) -> list[Stale]:
        c = outbox.c
        query = select(c.community_id, c.key, c.stale).where(where)
        query = query.order_by(c.community_id, c.key).limit(limit)
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [Stale(row.community_id, row.key, row.stale) for row in rows]


def mark_hole(connection: Connection, community_id: int, hole_key: str) -> None:
    """The messages about a hole and its lines may read otherwise now."""
    if hole_key != MEASURED:
        _mark(connection, community_id, hole_key)


def mark_event(connection: Connection, community_id: int, event_key: str) -> None:
    """The messages about all of an event's holes may read otherwise now."""
    _mark(connection, community_id, event_key)


def mark_changed(connection: Connection, community_id: int, kind: str, key: str) -> None:
    """A revision was kept under this key of the book."""
    if kind == LineKey.kind:
        mark_hole(connection, community_id, key.rpartition("/")[0])
    elif kind == HoleKey.kind:
        mark_hole(connection, community_id, key)
    elif kind == EventKey.kind:
        mark_event(connection, community_id, key)


def doubt_all(connection: Connection) -> None:
    """What stands in the chat may be newer than this database: make all of it anew."""
    posted = update(outbox).where(outbox.c.state == "posted")
    connection.execute(posted.values(stale=outbox.c.stale + 1, fingerprint=""))


def want_share(
    connection: Connection, community_id: int, line: LineKey, channel_id: int, *, at: datetime
) -> None:
    """A shared line is to stand in a channel; what its message says is made afterwards."""
    statement = insert(connection, outbox).values(
        community_id=community_id,
        key=share_key(line),
        channel_id=channel_id,
        state="unmade",
        body=None,
        fingerprint=fingerprint(None),
        version=1,
        claim=0,
        nonce=new_nonce(),
        attempts=0,
        stale=1,
        updated_at=at,
    )
    connection.execute(statement.on_conflict_do_nothing())


def _mark(connection: Connection, community_id: int, about: str) -> None:
    given = {"here": community_id, "note": f"note/{about}", "share": f"share/{about}/"}
    given |= {"under": f"{given['note']}/", "after": f"{given['note']}{AFTER}"}
    connection.execute(_marking(), {**given, "last": f"share/{about}{AFTER}"})


@cache
def _marking() -> Update:
    c = outbox.c
    note = or_(
        c.key == bindparam("note"),
        and_(c.key >= bindparam("under"), c.key < bindparam("after")),
    )
    shares = and_(c.key >= bindparam("share"), c.key < bindparam("last"))
    marked = update(outbox).where(c.community_id == bindparam("here"), or_(note, shares))
    return marked.values(stale=c.stale + 1)


def _about(hole_key: str) -> ColumnElement[bool]:
    key = outbox.c.key
    return or_(
        key == f"note/{hole_key}",
        and_(key >= f"share/{hole_key}/", key < f"share/{hole_key}{AFTER}"),
    )
