"""Results: every logged shot, every correction and removal, and the sums that follow them.

Rows are only added: a correction is a new edition, a removal a time. The sums (``Tallies``,
``VectorSums``) change in the same transaction.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache

from sqlalchemy import ColumnElement, Connection, Select, bindparam, func, or_, select, update
from sqlalchemy.sql.dml import ReturningInsert

from shared.errors import StorageError
from storage.database import Database
from storage.dialect import insert, insert_for
from storage.played import Played, Result
from storage.result_rows import from_row, to_row
from storage.schema import results
from storage.stale import mark_hole
from storage.tallies import Change
from storage.versions import bump

_STANDS = results.c.removed_at.is_(None)
_ATTEMPT_KEY = ("community_id", "line_key", "member_id")
_TRIES = 10  # more than a server has connections that could be ahead of us


@dataclass(frozen=True, slots=True)
class Logged:
    """The result that stands; ``counted`` is False when the same press had been counted before."""

    result: Result
    counted: bool


@dataclass(frozen=True, slots=True)
class ChanceGiven:
    """The chance that tries were given as they were logged, and how many of them went in."""

    chance: float
    tries: int
    went_in: int


class Results:
    """All results of all communities."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def add(
        self,
        community_id: int,
        played: Played,
        *,
        member_id: int | None,
        author_name: str | None,
        interaction_id: int,
        attempt: int | None = None,
        at: datetime | None = None,
    ) -> Logged:
        """Keep a result and count it, once for an interaction and once for an attempt.

        ``attempt``: what ``next_attempt`` said when the form was opened, so that a form sent twice
        counts once; None takes the next one, so that every interaction counts. ``at`` is when it
        was played, None for now.
        """
        now = at or self._db.now()

        def fn(connection: Connection) -> Logged:
            return add_result(
                connection,
                community_id,
                played,
                member_id=member_id,
                author_name=author_name,
                interaction_id=interaction_id,
                attempt=attempt,
                at=now,
            )

        return await self._db.write(fn)

    async def next_attempt(self, community_id: int, line_key: str, member_id: int) -> int:
        """The number of the member's next try on a line; 1 for the first."""
        c = results.c
        query = _after_last().where(
            c.community_id == community_id, c.line_key == line_key, c.member_id == member_id
        )
        return await self._db.read(lambda connection: connection.execute(query).scalar()) or 1

    async def correct(
        self, result_id: int, played: Played, *, interaction_id: int
    ) -> Logged | None:
        """Put ``played`` in place of what stands of a result (any edition's id does).

        What a coach left out stays left out.
        None when it was removed or never was. ``counted`` is False when the same interaction
        corrected it before. Raises ValueError for another line: that is another result.
        """
        now = self._db.now()
        return await self._db.write(
            lambda c: correct_result(c, result_id, played, interaction_id=interaction_id, at=now)
        )

    async def remove(self, result_id: int) -> bool:
        """Take a result (any edition's id) out of all sums; False when that was done before."""
        now = self._db.now()
        return await self._db.write(lambda connection: remove_result(connection, result_id, at=now))

    async def standing(self, result_id: int) -> Result | None:
        """The edition that stands of a result (any edition's id); None when it was removed."""
        return await self._db.read(lambda connection: _standing(connection, result_id))

    async def editions(self, result_id: int) -> list[Result]:
        """Every edition of a result (any edition's id), removed or not, oldest first."""

        def fn(connection: Connection) -> list[Result]:
            query = select(results).where(_same_origin(result_id)).order_by(results.c.edition)
            return _all(connection, query)

        return await self._db.read(fn)

    async def of_member(
        self, community_id: int, member_id: int, *, line_key: str | None = None, limit: int = 25
    ) -> list[Result]:
        """The member's last results that stand, newest first."""
        c = results.c
        query = select(results).where(
            c.community_id == community_id, c.member_id == member_id, _STANDS
        )
        if line_key is not None:
            query = query.where(c.line_key == line_key)
        query = query.order_by(c.id.desc()).limit(limit)
        return await self._db.read(lambda connection: _all(connection, query))

    async def last_of_club(self, community_id: int, club: str, *, limit: int) -> list[Result]:
        """A club's last results that stand, oldest first; they cost the same of however many.

        Without their parts, whose decoding took half of the reading.
        """
        c = results.c
        named = (column for column in c if column is not c.parts)
        query = select(*named).where(c.community_id == community_id, c.club == club, _STANDS)
        query = query.order_by(c.id.desc()).limit(limit)
        found = await self._db.read(lambda connection: _all(connection, query))
        return found[::-1]

    async def chances(self, community_id: int, *, limit: int) -> list[ChanceGiven]:
        """The last results that stand and were given a chance as they were logged, newest first."""
        c = results.c
        query = (
            select(c.chance, c.holed, c.tries, c.went_in)
            .where(c.community_id == community_id, c.chance.is_not(None), _STANDS)
            .order_by(c.id.desc())
            .limit(limit)
        )
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [
            ChanceGiven(row.chance, 1, int(row.holed))
            if row.tries is None
            else ChanceGiven(row.chance, row.tries, row.went_in)
            for row in rows
        ]

    async def page(
        self, community_id: int, *, club: str | None = None, after_id: int = 0, limit: int = 1000
    ) -> list[Result]:
        """Results that stand, of one club or all, with an id above ``after_id``, in order.

        For going through all. One club's cost what they are, however many others there are.
        """
        c = results.c
        query = select(results).where(c.community_id == community_id, c.id > after_id, _STANDS)
        if club is not None:
            query = query.where(c.club == club)
        query = query.order_by(c.id).limit(limit)
        return await self._db.read(lambda connection: _all(connection, query))


def add_result(
    connection: Connection,
    community_id: int,
    played: Played,
    *,
    member_id: int | None,
    author_name: str | None,
    interaction_id: int,
    attempt: int | None,
    at: datetime,
) -> Logged:
    """``Results.add``, inside a transaction."""
    values: dict[str, object] = {
        "community_id": community_id,
        "member_id": member_id,
        "author_name": author_name,
        "interaction_id": interaction_id,
        "edition": 0,
        "created_at": at,
        **to_row(played),
    }
    row = _insert(connection, values, attempt)
    if row is None:
        return Logged(_counted_before(connection, values, attempt), counted=False)
    result_id, attempt = row
    _count(connection, community_id, gone=None, new=played)
    result = Result(
        id=result_id,
        community_id=community_id,
        member_id=member_id,
        author_name=author_name,
        interaction_id=interaction_id,
        attempt=attempt,
        edition=0,
        origin_id=result_id,
        supersedes=None,
        played=played,
        created_at=at,
        removed_at=None,
    )
    return Logged(result, counted=True)


def correct_result(
    connection: Connection, result_id: int, played: Played, *, interaction_id: int, at: datetime
) -> Logged | None:
    """``Results.correct``, inside a transaction."""
    # Locked before looking: on a server the same press may be under way a second time.
    old = _standing(connection, result_id, for_update=True)
    if (before := _by_interaction(connection, interaction_id)) is not None:
        return Logged(_standing(connection, before.id) or before, counted=False)
    if old is None:
        return None
    if (old.played.hole_key, old.played.line_key) != (played.hole_key, played.line_key):
        raise ValueError("a correction stays on its line")
    if old.played.left_out:  # a coach's word goes with the result, whatever its member corrects
        aside = {"left_out": old.played.left_out, "weight": 0.0, "parts": old.played.parts}
        played = replace(played, **aside)
    if not _retire(connection, old.id, at=at):
        return None
    statement = insert(connection, results).values(
        community_id=old.community_id,
        member_id=old.member_id,
        author_name=old.author_name,
        interaction_id=interaction_id,
        attempt=old.attempt,
        edition=old.edition + 1,
        origin_id=old.origin_id,
        supersedes=old.id,
        created_at=at,
        **to_row(played),
    )
    new_id = connection.execute(statement.returning(results.c.id)).scalar_one()
    _count(connection, old.community_id, gone=old.played, new=played)
    new = connection.execute(select(results).where(results.c.id == new_id)).one()
    return Logged(from_row(new), counted=True)


def remove_result(connection: Connection, result_id: int, *, at: datetime) -> bool:
    """``Results.remove``, inside a transaction."""
    old = _standing(connection, result_id, for_update=True)
    if old is None or not _retire(connection, old.id, at=at):
        return False
    _count(connection, old.community_id, gone=old.played, new=None)
    return True


def _count(
    connection: Connection, community_id: int, *, gone: Played | None, new: Played | None
) -> None:
    """Bring the sums up to date, and say so where what is learned has changed."""
    change = Change(community_id)
    for played, sign in ((gone, -1), (new, 1)):
        if played is not None:
            change.add([played], sign=sign)
    change.apply(connection)
    for hole_key in {each.hole_key for each in (gone, new) if each is not None}:
        mark_hole(connection, community_id, hole_key)
    if any(played is not None and _teaches(played) for played in (gone, new)):
        bump(connection, community_id, "belief")


def _teaches(played: Played) -> bool:
    """Whether it adds to what is learned, or to how the chances given have held."""
    return bool(played.parts) or played.chance is not None


def _retire(connection: Connection, result_id: int, *, at: datetime) -> bool:
    # Whoever sets the time takes the result out of the sums: nobody does it twice.
    statement = update(results).where(results.c.id == result_id, _STANDS).values(removed_at=at)
    return connection.execute(statement).rowcount == 1


def _insert(
    connection: Connection, values: Mapping[str, object], attempt: int | None
) -> tuple[int, int] | None:
    """Id and attempt of the new row; None when the interaction or the attempt was there."""
    dialect = connection.dialect.name
    if attempt is not None:
        row = connection.execute(_insert_attempt(dialect), {**values, "attempt": attempt}).first()
        return None if row is None else (row[0], row[1])
    mine = {f"at_{key}": values[key] for key in _ATTEMPT_KEY}
    for _ in range(_TRIES):
        row = connection.execute(_insert_next(dialect), {**values, **mine}).first()
        if row is not None:
            return row[0], row[1]
        if _by_interaction(connection, values["interaction_id"]) is not None:
            return None
        # On a server only: another transaction took this attempt a moment ago.
    raise StorageError("Too many results came in the same moment; send this one again")


def _counted_before(
    connection: Connection, values: Mapping[str, object], attempt: int | None
) -> Result:
    found = _by_interaction(connection, values["interaction_id"])
    if found is None:
        same = [results.c[key] == values[key] for key in _ATTEMPT_KEY]
        query = select(results).where(*same, results.c.attempt == attempt, results.c.edition == 0)
        found = from_row(connection.execute(query).one())
    return _standing(connection, found.id) or found


# Statements that run for every result are built once: building one costs more than running it.


@cache
def _insert_attempt(dialect: str) -> ReturningInsert[int, int]:
    statement = insert_for(dialect, results).on_conflict_do_nothing()
    return statement.returning(results.c.id, results.c.attempt)


@cache
def _insert_next(dialect: str) -> ReturningInsert[int, int]:
    c = results.c
    following = _after_last().where(*(c[key] == bindparam(f"at_{key}") for key in _ATTEMPT_KEY))
    attempt = func.coalesce(following.scalar_subquery(), 1)
    statement = insert_for(dialect, results).values(attempt=attempt)
    return statement.on_conflict_do_nothing().returning(c.id, c.attempt)


def _after_last() -> Select[int]:
    """The number after the last try."""
    c = results.c
    after = c.attempt + func.coalesce(c.tries, 1)
    return select(after).order_by(c.attempt.desc(), c.edition.desc()).limit(1)


def _standing(connection: Connection, result_id: int, *, for_update: bool = False) -> Result | None:
    query = select(results).where(_same_origin(result_id), _STANDS)
    row = connection.execute(query.with_for_update() if for_update else query).one_or_none()
    return None if row is None else from_row(row)


def _same_origin(result_id: int) -> ColumnElement[bool]:
    c = results.c
    origin = select(func.coalesce(c.origin_id, c.id)).where(c.id == result_id).scalar_subquery()
    return or_(c.id == origin, c.origin_id == origin)


def _by_interaction(connection: Connection, interaction_id: object) -> Result | None:
    query = select(results).where(results.c.interaction_id == interaction_id)
    row = connection.execute(query).one_or_none()
    return None if row is None else from_row(row)


def _all(connection: Connection, query: Select[*tuple[object, ...]]) -> list[Result]:
    return [from_row(row) for row in connection.execute(query)]
