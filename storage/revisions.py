"""Revisions: what is kept under a key, with every earlier state of it, its author and its time.

Kits, events, holes and lines are kept this way. A body is text; what it means is the caller's.
Nothing is overwritten: a change is a new revision, and an old one comes back as a new one.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from functools import cache
from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, func, select
from sqlalchemy.sql.dml import ReturningInsert

from shared.actor import Author
from shared.errors import StorageError
from storage.audit import tell_audit
from storage.database import Database
from storage.dialect import insert_for
from storage.schema import revisions
from storage.stale import mark_changed
from storage.versions import bump

KEYS_AT_ONCE = 100  # in one question
MOST_CODE_POINT, FIRST_SURROGATE, AFTER_SURROGATES = 0x10FFFF, 0xD800, 0xE000
OF_THE_KIT = ("kit", "charts")  # kinds that no note shows
BasedOn = int | None | Literal["newest"]


@dataclass(frozen=True, slots=True)
class Draft:
    """What somebody wants to keep under a key.

    ``based_on`` is the number of the revision they started from, None when they saw none; with
    "newest" their text goes on top of whatever is there.
    """

    kind: str
    key: str
    body: str
    based_on: BasedOn = "newest"


@dataclass(frozen=True, slots=True)
class Revision:
    """One kept state; ``number`` counts from 1. A forgotten author is None and None.

    ``id`` is its place among all revisions, which grows with time; 0 before it is kept.
    """

    community_id: int
    kind: str
    key: str
    number: int
    body: str
    author_id: int | None
    author_name: str | None
    reason: str
    created_at: datetime
    id: int = 0


@dataclass(eq=False)
class RevisionConflict(StorageError):
    """Somebody else was first: ``newest`` is theirs (None: gone), ``unsaved`` the refused draft."""

    newest: Revision | None
    unsaved: Draft

    def __str__(self) -> str:
        if self.newest is None:
            return f"There is no {self.unsaved.kind} {self.unsaved.key} to change any more"
        return (
            f"{self.newest.author_name or 'Somebody'} changed {self.unsaved.kind}"
            f" {self.unsaved.key} meanwhile (revision {self.newest.number})"
        )


class Revisions:
    """Every kept state of everything that has a key."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def latest(self, community_id: int, kind: str, key: str) -> Revision | None:
        """The newest revision of a key, or None."""
        return await self._db.read(lambda c: latest_revision(c, community_id, kind, key))

    async def history(
        self, community_id: int, kind: str, key: str, *, limit: int = 50
    ) -> list[Revision]:
        """The last revisions of a key, newest first."""
        query = (
            select(revisions)
            .where(*_is_at(community_id, kind, key))
            .order_by(revisions.c.number.desc())
            .limit(limit)
        )
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [_revision(row) for row in rows]

    async def latest_of_kind(
        self, community_id: int, kind: str, prefix: str = ""
    ) -> list[Revision]:
        """The newest revision of every key that starts with ``prefix``, in order of the keys."""
        return await self._db.read(lambda c: latest_of_kind(c, community_id, kind, prefix))

    async def append(
        self,
        community_id: int,
        kind: str,
        key: str,
        body: str,
        *,
        author: Author,
        based_on: BasedOn,
        reason: str = "",
    ) -> Revision:
        """Keep ``body`` as the newest revision; what is there already word for word stays as it is.

        Raises RevisionConflict, which carries both texts, when ``based_on`` is not the newest.
        """
        draft = Draft(kind=kind, key=key, body=body, based_on=based_on)
        now = self._db.now()
        return await self._db.write(
            lambda connection: append_revision(
                connection, community_id, draft, author=author, reason=reason, at=now
            )
        )

    async def bring_back(
        self,
        community_id: int,
        kind: str,
        key: str,
        number: int,
        *,
        author: Author,
        based_on: BasedOn = "newest",
    ) -> Revision:
        """Keep the text of revision ``number`` as a new revision.

        Raises StorageError when there is no such revision, RevisionConflict as ``append``.
        """
        now = self._db.now()
        query = select(revisions.c.body).where(
            *_is_at(community_id, kind, key), revisions.c.number == number
        )

        def fn(connection: Connection) -> Revision:
            body = connection.execute(query).scalar()
            if body is None:
                raise StorageError(f"There is no revision {number} of {kind} {key}")
            draft = Draft(kind=kind, key=key, body=body, based_on=based_on)
            reason = f"brought back revision {number}"
            return append_revision(
                connection, community_id, draft, author=author, reason=reason, at=now
            )

        return await self._db.write(fn)


def latest_revision(
    connection: Connection, community_id: int, kind: str, key: str
) -> Revision | None:
    """The newest revision of a key, inside a transaction."""
    query = (
        select(revisions)
        .where(*_is_at(community_id, kind, key))
        .order_by(revisions.c.number.desc())
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else _revision(row)


def revision_at(
    connection: Connection, community_id: int, kind: str, key: str, number: int
) -> Revision | None:
    """A revision of a key by its number, inside a transaction."""
    query = select(revisions).where(*_is_at(community_id, kind, key), revisions.c.number == number)
    row = connection.execute(query).one_or_none()
    return None if row is None else _revision(row)


def revision_by_id(connection: Connection, community_id: int, place: int) -> Revision | None:
    """A community's revision by its place among all, inside a transaction."""
    c = revisions.c
    query = select(revisions).where(c.id == place, c.community_id == community_id)
    row = connection.execute(query).one_or_none()
    return None if row is None else _revision(row)


def latest_of_kind(
    connection: Connection, community_id: int, kind: str, prefix: str = ""
) -> list[Revision]:
    """The newest revision of every key that starts with ``prefix``, inside a transaction."""
    rows = connection.execute(_newest(community_id, kind, _starts_with(prefix)))
    return [_revision(row) for row in rows]


def latest_of_every(connection: Connection, kind: str, key: str) -> list[Revision]:
    """The newest revision of a key in every community, inside a transaction."""
    c = revisions.c
    here = (c.kind == kind, c.key == key)
    newest = (
        select(c.community_id, func.max(c.number).label("number"))
        .where(*here)
        .group_by(c.community_id)
        .subquery()
    )
    same = and_(c.community_id == newest.c.community_id, c.number == newest.c.number)
    rows = connection.execute(select(revisions).join(newest, same).where(*here))
    return [_revision(row) for row in rows.all()]


def append_revision(
    connection: Connection,
    community_id: int,
    draft: Draft,
    *,
    author: Author,
    reason: str,
    at: datetime,
) -> Revision:
    """Keep one draft, inside a transaction; the newest revision comes back. May raise."""
    append_revisions(connection, community_id, [draft], author=author, reason=reason, at=at)
    newest = latest_revision(connection, community_id, draft.kind, draft.key)
    assert newest is not None
    return newest


def append_revisions(
    connection: Connection,
    community_id: int,
    drafts: Sequence[Draft],
    *,
    author: Author,
    reason: str,
    at: datetime,
) -> list[Revision]:
    """Keep drafts, inside a transaction that must not survive a RevisionConflict."""
    if len({(draft.kind, draft.key) for draft in drafts}) != len(drafts):
        raise ValueError("two drafts for one key")
    there = _newest_under(connection, community_id, drafts)
    kept: list[Revision] = []
    for draft in drafts:
        newest = there.get((draft.kind, draft.key))
        if newest is not None and newest.body == draft.body:
            continue
        number = None if newest is None else newest.number
        if draft.based_on not in (number, "newest"):
            raise RevisionConflict(newest=newest, unsaved=draft)
        revision = Revision(
            community_id=community_id,
            kind=draft.kind,
            key=draft.key,
            number=(number or 0) + 1,
            body=draft.body,
            author_id=author.member_id,
            author_name=author.name,
            reason=reason,
            created_at=at,
        )
        place = _insert(connection, revision)
        if place is None:
            other = latest_revision(connection, community_id, draft.kind, draft.key)
            raise RevisionConflict(newest=other, unsaved=draft)
        kept.append(replace(revision, id=place))
    if any(each.kind in OF_THE_KIT for each in kept):
        bump(connection, community_id, "kit")
    if any(each.kind not in OF_THE_KIT for each in kept):
        bump(connection, community_id, "book")
    for each in kept:
        mark_changed(connection, community_id, each.kind, each.key)
    what = [f"{each.kind} {each.key} (revision {each.number})" for each in kept]
    tell_audit(connection, community_id, author, what, reason, at=at)
    return kept


def _newest_under(
    connection: Connection, community_id: int, drafts: Sequence[Draft]
) -> dict[tuple[str, str], Revision]:
    """The newest revision under each draft's kind and key that has one."""
    found: dict[tuple[str, str], Revision] = {}
    for kind in {draft.kind for draft in drafts}:
        keys = [draft.key for draft in drafts if draft.kind == kind]
        for start in range(0, len(keys), KEYS_AT_ONCE):
            among = revisions.c.key.in_(keys[start : start + KEYS_AT_ONCE])
            for row in connection.execute(_newest(community_id, kind, among)):
                found[kind, row.key] = _revision(row)
    return found


def _newest(community_id: int, kind: str, which: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    """The newest revision of each key of a kind that fulfils ``which``, in order of the keys."""
    here = (revisions.c.community_id == community_id, revisions.c.kind == kind)
    newest = (
        select(revisions.c.key, func.max(revisions.c.number).label("number"))
        .where(*here, which)
        .group_by(revisions.c.key)
        .subquery()
    )
    same = and_(revisions.c.key == newest.c.key, revisions.c.number == newest.c.number)
    return select(revisions).join(newest, same).where(*here).order_by(revisions.c.key)


def _starts_with(prefix: str) -> ColumnElement[bool]:
    """The keys with a prefix, as a range: an index finds them, whatever else there is."""
    # Not LIKE: in SQLite it takes A for a, and % and _ for anything.
    key, end = revisions.c.key, following(prefix)
    return key >= prefix if end is None else and_(key >= prefix, key < end)


def following(prefix: str) -> str | None:
    """The first text, by code point, after all that start with ``prefix``; None: there is none."""
    for at in range(len(prefix) - 1, -1, -1):
        after = ord(prefix[at]) + 1
        if after <= MOST_CODE_POINT:
            # The surrogates between are no characters.
            return prefix[:at] + chr(AFTER_SURROGATES if after == FIRST_SURROGATE else after)
    return None


def _insert(connection: Connection, revision: Revision) -> int | None:
    # On a server somebody may have taken the number since it was read: then nothing is inserted.
    statement = _insert_new(connection.dialect.name)
    values = asdict(revision)
    del values["id"]
    return connection.execute(statement, values).scalar_one_or_none()


@cache
def _insert_new(dialect: str) -> ReturningInsert[int]:
    statement = insert_for(dialect, revisions).on_conflict_do_nothing()
    return statement.returning(revisions.c.id)


def _is_at(community_id: int, kind: str, key: str) -> tuple[ColumnElement[bool], ...]:
    c = revisions.c
    return c.community_id == community_id, c.kind == kind, c.key == key


def _revision(row: Row[*tuple[object, ...]]) -> Revision:
    return Revision(**{name: getattr(row, name) for name in Revision.__dataclass_fields__})
