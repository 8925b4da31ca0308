"""Polls and their votes.

Votes are kept as they come, as events; who votes for what now is the last event of each member and
answer. After a downtime the chat's own lists put that right. A poll is closed exactly once.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import ColumnElement, Connection, Row, func, insert, select, update

from storage.database import Database
from storage.jobs import cancel_job, schedule_job
from storage.schema import polls, votes
from storage.stale import mark_hole

State = Literal["waiting", "open", "closed"]
CLOSE_POLL = "close poll"
"""The kind of a poll's closing job; its payload is ``{"poll": id}``. Closing ends the job."""
Ended = Literal["time", "early", "deleted"]


@dataclass(frozen=True, slots=True)
class Poll:
    """One poll. ``state``: waiting to be posted, open, closed.

    Answers are numbered from 1, as the chat does. ``ended``: at its time, early by somebody, or
    because its message was deleted. ``told``: what the chat last said the counts are, by answer.
    """

    id: int
    community_id: int
    channel_id: int
    message_id: int | None
    hole_key: str | None
    question: str
    answers: tuple[str, ...]
    closes_at: datetime
    state: State
    ended: Ended | None
    told: dict[int, int] | None
    created_at: datetime
    closed_at: datetime | None


@dataclass(frozen=True, slots=True)
class Tally:
    """Votes that stand: ``counts`` by answer, also those with none, and how many voted at all."""

    counts: dict[int, int]
    voters: int


class Polls:
    """All polls of all communities."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def create(
        self,
        community_id: int,
        channel_id: int,
        *,
        question: str,
        answers: Sequence[str],
        closes_at: datetime,
        hole_key: str | None = None,
        message_id: int | None = None,
    ) -> Poll:
        """Keep a poll; without ``message_id`` it waits to be posted."""
        now = self._db.now()

        def fn(connection: Connection) -> Poll:
            return create_poll(
                connection,
                community_id,
                channel_id,
                question=question,
                answers=answers,
                closes_at=closes_at,
                hole_key=hole_key,
                message_id=message_id,
                at=now,
            )

        return await self._db.write(fn)

    async def posted(self, poll_id: int, message_id: int) -> bool:
        """A waiting poll now stands in the chat and is open; False when it was not waiting."""
        statement = (
            update(polls)
            .where(polls.c.id == poll_id, polls.c.state == "waiting")
            .values(message_id=message_id, state="open")
            .returning(polls.c.community_id, polls.c.hole_key)
        )

        def fn(connection: Connection) -> bool:
            opened = connection.execute(statement).one_or_none()
            if opened is not None and opened.hole_key is not None:
                mark_hole(connection, opened.community_id, opened.hole_key)
            return opened is not None

        return await self._db.write(fn)

    async def get(self, poll_id: int) -> Poll | None:
        """The poll, or None."""
        return await self._db.read(lambda connection: _one(connection, polls.c.id == poll_id))

    async def by_message(self, message_id: int) -> Poll | None:
        """The poll that stands in the chat as ``message_id``, or None."""
        here = polls.c.message_id == message_id
        return await self._db.read(lambda connection: _one(connection, here))

    async def not_closed(self) -> list[Poll]:
        """Every poll that is waiting or open of who is served here, oldest first."""
        live = polls.c.state.in_(("waiting", "open"))
        return await self._many(live, self._db.serves(polls.c.community_id))

    async def of_hole(self, community_id: int, hole_key: str) -> list[Poll]:
        """The polls on a hole, oldest first."""
        return await self._many(polls.c.community_id == community_id, polls.c.hole_key == hole_key)

    async def closed_since(self, at: datetime) -> list[Poll]:
        """The polls of who is served here that closed at ``at`` or later, oldest first."""
        here = self._db.serves(polls.c.community_id)
        return await self._many(polls.c.state == "closed", polls.c.closed_at >= at, here)

    async def vote(self, message_id: int, member_id: int, answer: int, *, added: bool) -> bool:
        """Keep a vote given or taken back.

        False when nothing changes: delivered twice, no such answer, no open poll of ours.
        """
        now = self._db.now()
        # Asked of a reader: votes on everybody else's polls must not wait in the writer's queue.
        seen = await self.by_message(message_id)
        if seen is None or seen.state != "open":
            return False

        def fn(connection: Connection) -> bool:
            poll = _one(connection, polls.c.message_id == message_id, for_update=True)
            if poll is None or poll.state != "open" or not 1 <= answer <= len(poll.answers):
                return False
            if ((member_id, answer) in _standing(connection, poll.id)) == added:
                return False
            _keep(connection, poll, [(member_id, answer, added)], at=now)
            return True

        return await self._db.write(fn)

    async def tally(self, poll_id: int) -> Tally:
        """The votes that stand; raises LookupError when there is no such poll."""

        def fn(connection: Connection) -> Tally:
            poll = _one(connection, polls.c.id == poll_id)
            if poll is None:
                raise LookupError(f"no poll {poll_id}")
            return tally_of(connection, poll)

        return await self._db.read(fn)

    async def voters(self, poll_id: int) -> dict[int, set[int]]:
        """Who votes for what now, by answer; forgotten members, whose ids are below 0, too."""
        standing = await self._db.read(lambda connection: _standing(connection, poll_id))
        found: dict[int, set[int]] = {}
        for member, answer in standing:
            found.setdefault(answer, set()).add(member)
        return found

    async def reconcile(
        self,
        poll_id: int,
        voters: Mapping[int, Collection[int]],
        *,
        told: Mapping[int, int] | None = None,
    ) -> int:
        """Make the votes those of the chat: ``voters`` by answer; says how many votes changed.

        An answer that is not in ``voters`` stays as it is. ``told`` are the chat's own counts, kept
        beside. A closed poll stays as it is.
        """
        now = self._db.now()

        def fn(connection: Connection) -> int:
            poll = _one(connection, polls.c.id == poll_id, for_update=True)
            if poll is None or poll.state == "closed":
                return 0
            standing = _standing(connection, poll.id)
            events = [
                event
                for answer in range(1, len(poll.answers) + 1)
                if answer in voters
                for event in _differences(standing, answer, voters[answer])
            ]
            _keep(connection, poll, events, at=now)
            if told is not None:
                counts = {str(answer): count for answer, count in told.items()}
                connection.execute(update(polls).where(polls.c.id == poll_id).values(told=counts))
            return len(events)

        return await self._db.write(fn)

    async def close(
        self, poll_id: int, ended: Ended, effect: Callable[[Connection], object] | None = None
    ) -> bool:
        """Close the poll and let ``effect`` happen with it; True for one caller only."""
        now = self._db.now()

        def fn(connection: Connection) -> bool:
            if not close_poll(connection, poll_id, ended, at=now):
                return False
            if effect is not None:
                effect(connection)
            return True

        return await self._db.write(fn)

    async def _many(self, *where: ColumnElement[bool]) -> list[Poll]:
        query = select(polls).where(*where).order_by(polls.c.id)
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [_poll(row) for row in rows]


def create_poll(
    connection: Connection,
    community_id: int,
    channel_id: int,
    *,
    question: str,
    answers: Sequence[str],
    closes_at: datetime,
    hole_key: str | None = None,
    message_id: int | None = None,
    at: datetime,
) -> Poll:
    """``Polls.create``, inside a transaction; a job of kind ``CLOSE_POLL`` is due at its end."""
    statement = insert(polls).values(
        community_id=community_id,
        channel_id=channel_id,
        message_id=message_id,
        hole_key=hole_key,
        question=question,
        answers=list(answers),
        closes_at=closes_at,
        state="waiting" if message_id is None else "open",
        created_at=at,
    )
    poll = _poll(connection.execute(statement.returning(polls)).one())
    schedule_job(
        connection,
        community_id,
        CLOSE_POLL,
        str(poll.id),
        due_at=closes_at,
        payload={"poll": poll.id},
    )
    return poll


def close_poll(connection: Connection, poll_id: int, ended: Ended, *, at: datetime) -> bool:
    """Close the poll inside a transaction; True for one caller only."""
    statement = (
        update(polls)
        .where(polls.c.id == poll_id, polls.c.state != "closed")
        .values(state="closed", ended=ended, closed_at=at)
    )
    returned = statement.returning(polls.c.community_id, polls.c.hole_key)
    closed = connection.execute(returned).one_or_none()
    if closed is None:
        return False
    cancel_job(connection, closed.community_id, CLOSE_POLL, str(poll_id), at=at)
    if closed.hole_key is not None:
        mark_hole(connection, closed.community_id, closed.hole_key)
    return True


def tally_of(connection: Connection, poll: Poll) -> Tally:
    """The votes that stand, inside a transaction."""
    standing = _standing(connection, poll.id)
    counts = dict.fromkeys(range(1, len(poll.answers) + 1), 0)
    for _, answer in standing:
        counts[answer] += 1
    return Tally(counts=counts, voters=len({member for member, _ in standing}))


def _standing(connection: Connection, poll_id: int) -> set[tuple[int, int]]:
    """(member, answer) of every vote that stands."""
    c = votes.c
    last = select(func.max(c.id)).where(c.poll_id == poll_id).group_by(c.member_id, c.answer)
    query = select(c.member_id, c.answer).where(c.id.in_(last), c.added)
    return {(row.member_id, row.answer) for row in connection.execute(query)}


def _differences(
    standing: set[tuple[int, int]], answer: int, voters: Collection[int]
) -> list[tuple[int, int, bool]]:
    """(member, answer, added) events that make the votes for one answer those of ``voters``."""
    ours = {member for member, voted in standing if voted == answer}
    theirs = set(voters)
    fresh = sorted(theirs - ours)
    forgotten = sorted(member for member in ours if member < 0)
    # Somebody we do not know may be one we were asked to forget: who they are stays forgotten.
    same = min(len(fresh), len(forgotten))
    gone = sorted(member for member in ours - theirs if member > 0)
    return [
        *((member, answer, True) for member in fresh[same:]),
        *((member, answer, False) for member in (*gone, *forgotten[same:])),
    ]


def _keep(
    connection: Connection, poll: Poll, events: Sequence[tuple[int, int, bool]], *, at: datetime
) -> None:
    rows = [
        {
            "community_id": poll.community_id,
            "poll_id": poll.id,
            "member_id": member_id,
            "answer": answer,
            "added": added,
            "at": at,
        }
        for member_id, answer, added in events
    ]
    if rows:
        connection.execute(insert(votes), rows)


def _one(
    connection: Connection, where: ColumnElement[bool], *, for_update: bool = False
) -> Poll | None:
    query = select(polls).where(where)
    row = connection.execute(query.with_for_update() if for_update else query).one_or_none()
    return None if row is None else _poll(row)


def _poll(row: Row[*tuple[object, ...]]) -> Poll:
    values = {name: getattr(row, name) for name in Poll.__dataclass_fields__}
    values["answers"] = tuple(row.answers)
    if row.told is not None:
        values["told"] = {int(answer): count for answer, count in row.told.items()}
    return Poll(**values)
