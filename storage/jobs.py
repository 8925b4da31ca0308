"""Timed jobs: what is to happen at a time, exactly once, also after the bot was down.

A job is claimed with a lease, worked on outside any transaction, and finished together with its
effect in one transaction. Who died leaves a lease that runs out; who was too slow finds on
finishing that somebody else has the job, and their effect does not happen. What fails waits longer
after each failure; what can never work is given up with its cause.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import (
    ColumnElement,
    Connection,
    Row,
    and_,
    case,
    delete,
    func,
    or_,
    select,
    update,
)

from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import jobs

LEASE_S = 60.0  # longer than any answer of the chat takes, short enough to wait for after a crash
FIRST_WAIT_S, LONGEST_WAIT_S = 15.0, 3600.0
Outcome = Literal["done", "cancelled", "refused"]


@dataclass(frozen=True, slots=True)
class Job:
    """One job; ``claim`` counts how often it was taken up, ``trouble`` is why it last failed.

    ``failures`` counts those in a row. ``outcome`` is how it ended at ``done_at``, None until then.
    """

    id: int
    community_id: int
    kind: str
    key: str
    payload: JsonObject
    due_at: datetime
    claim: int
    failures: int
    trouble: str | None
    done_at: datetime | None
    outcome: Outcome | None


class Jobs:
    """All timed jobs of all communities."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def schedule(
        self,
        community_id: int,
        kind: str,
        key: str,
        *,
        due_at: datetime,
        payload: JsonObject | None = None,
    ) -> None:
        """See to it that the job is done at ``due_at``.

        The same key again moves the job and replaces its payload; one done or cancelled stays so.
        """
        await self._db.write(
            lambda connection: schedule_job(
                connection, community_id, kind, key, due_at=due_at, payload=payload
            )
        )

    async def cancel(self, community_id: int, kind: str, key: str) -> bool:
        """The job is not to happen any more; says whether it was still to happen."""
        now = self._db.now()
        return await self._db.write(
            lambda connection: cancel_job(connection, community_id, kind, key, at=now)
        )

    async def get(self, community_id: int, kind: str, key: str) -> Job | None:
        """The job, done or not, or None."""
        query = select(jobs).where(*_is_at(community_id, kind, key))
        row = await self._db.read(lambda connection: connection.execute(query).one_or_none())
        return None if row is None else _job(row)

    async def next_due(self) -> datetime | None:
        """When a job can next be claimed (in the past when one is overdue); None without jobs."""
        free_at = case(
            (jobs.c.claimed_until > jobs.c.due_at, jobs.c.claimed_until), else_=jobs.c.due_at
        )
        query = select(func.min(free_at, type_=jobs.c.due_at.type)).where(jobs.c.done_at.is_(None))
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def claim_due(
        self, kinds: Sequence[str] | None = None, *, limit: int = 10, lease_s: float = LEASE_S
    ) -> list[Job]:
        """Take up jobs (of these kinds) that are due and that nobody holds, longest overdue first.

        Several processes share the jobs of whom they serve: each gets others.
        """
        now = self._db.now()
        until = now + timedelta(seconds=lease_s)
        due = (
            select(jobs.c.id)
            .where(
                jobs.c.done_at.is_(None),
                jobs.c.due_at <= now,
                self._db.serves(jobs.c.community_id),
                or_(jobs.c.claimed_until.is_(None), jobs.c.claimed_until <= now),
                *([] if kinds is None else [jobs.c.kind.in_(kinds)]),
            )
            .order_by(jobs.c.due_at, jobs.c.id)
            .limit(limit)
        )

        # Asked of a reader: looking for jobs every few seconds needs no writer.
        if not await self._db.read(lambda connection: connection.execute(due).first()):
            return []
        free_ones = due.with_for_update(skip_locked=True)

        def fn(connection: Connection) -> list[Job]:
            ids = connection.execute(free_ones).scalars().all()
            taken = jobs.c.id.in_(ids)
            connection.execute(
                update(jobs).where(taken).values(claim=jobs.c.claim + 1, claimed_until=until)
            )
            rows = connection.execute(select(jobs).where(taken).order_by(jobs.c.due_at, jobs.c.id))
            return [_job(row) for row in rows]

        return await self._db.write(fn)

    async def finish(
        self,
        job: Job,
        effect: Callable[[Connection], object] | None = None,
        *,
        again_at: datetime | None = None,
    ) -> bool:
        """Mark a claimed job done and let ``effect`` happen, both or neither.

        With ``again_at`` it is to be done again then. False, and no effect, when the job is done
        already, cancelled, or claimed by another.
        """
        ended: dict[str, object] = {"done_at": self._db.now(), "outcome": "done"}
        values = ended if again_at is None else {"due_at": again_at}

        def fn(connection: Connection) -> bool:
            mine = update(jobs).where(_unfinished(job))
            done = mine.values(claimed_until=None, trouble=None, failures=0, **values)
            if connection.execute(done).rowcount == 0:
                return False
            if effect is not None:
                effect(connection)
            return True

        return await self._db.write(fn)

    async def put_off(self, job: Job, trouble: str, *, until: datetime | None = None) -> bool:
        """Give a claimed job back, to be tried again; False when it is not ours.

        At ``until``, or after a wait that grows with each failure.
        """
        wait = timedelta(seconds=min(FIRST_WAIT_S * 2**job.failures, LONGEST_WAIT_S))
        values = {"due_at": until or self._db.now() + wait, "failures": jobs.c.failures + 1}
        return await self._change(job, trouble=trouble, **values)

    async def refuse(self, job: Job, trouble: str) -> bool:
        """Give a claimed job up for good, with the cause; False when it is not ours."""
        return await self._change(job, trouble=trouble, done_at=self._db.now(), outcome="refused")

    async def purge(self, *, before: datetime) -> int:
        """Delete jobs that ended before a time; says how many. Their keys may be used again."""
        statement = delete(jobs).where(jobs.c.done_at < before)
        return await self._db.write(lambda connection: connection.execute(statement).rowcount)

    async def _change(self, job: Job, **values: object) -> bool:
        statement = update(jobs).where(_unfinished(job)).values(claimed_until=None, **values)
        return await self._db.write(lambda connection: connection.execute(statement).rowcount > 0)


def schedule_job(
    connection: Connection,
    community_id: int,
    kind: str,
    key: str,
    *,
    due_at: datetime,
    payload: JsonObject | None = None,
) -> None:
    """``Jobs.schedule``, inside a transaction."""
    change = {"due_at": due_at, "payload": payload or {}}
    statement = insert(connection, jobs).values(
        community_id=community_id, kind=kind, key=key, claim=0, failures=0, **change
    )
    connection.execute(
        statement.on_conflict_do_update(
            index_elements=["community_id", "kind", "key"],
            set_=change,
            where=jobs.c.done_at.is_(None),
        )
    )


def cancel_job(
    connection: Connection, community_id: int, kind: str, key: str, *, at: datetime
) -> bool:
    """``Jobs.cancel``, inside a transaction."""
    statement = (
        update(jobs)
        .where(*_is_at(community_id, kind, key), jobs.c.done_at.is_(None))
        .values(done_at=at, claimed_until=None, outcome="cancelled")
    )
    return connection.execute(statement).rowcount > 0


def _unfinished(job: Job) -> ColumnElement[bool]:
    return and_(jobs.c.id == job.id, jobs.c.claim == job.claim, jobs.c.done_at.is_(None))


def _is_at(community_id: int, kind: str, key: str) -> tuple[ColumnElement[bool], ...]:
    return jobs.c.community_id == community_id, jobs.c.kind == kind, jobs.c.key == key


def _job(row: Row[*tuple[object, ...]]) -> Job:
    return Job(**{name: getattr(row, name) for name in Job.__dataclass_fields__})
