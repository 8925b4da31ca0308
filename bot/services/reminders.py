"""Reminding members of a round they have not logged. Knows no Discord.

A round that begins by its date has one reminder: some time after it began, and before the next.
"""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from bot.services.book.book import Book
from shared.book import Event
from shared.errors import InputError
from shared.keys import hole_played
from storage.database import Database
from storage.jobs import Job, Jobs, schedule_job
from storage.json import JsonObject
from storage.reminders import Reminders
from storage.results import Results

ROUND, MEMBER = "remind round", "remind member"
AFTER, BEFORE_NEXT = timedelta(hours=20), timedelta(hours=2)
MOST_FAILURES = 6  # then a reminder comes too late to be one


@dataclass(frozen=True)
class Reminder:
    """What a member is told; ``token`` is the same whenever this one is sent again."""

    community_id: int
    member_id: int
    event: str
    round: str
    token: str


Tell = Callable[[Reminder], Awaitable[bool]]
"""Tells a member; False where they can't be told. Raises where it may work later."""


class RoundReminders:
    """Whom to remind, and when."""

    def __init__(self, *, db: Database, book: Book) -> None:
        self._db = db
        self._book = book
        self._jobs = Jobs(db)
        self._results = Results(db)
        self.asked = Reminders(db)

    async def send_due(self, tell: Tell) -> None:
        """Send what is due, each once."""
        while due := await self._jobs.claim_due([ROUND, MEMBER]):
            for job in due:
                try:
                    await (self._round(job) if job.kind == ROUND else self._member(job, tell))
                except InputError as error:  # the event is gone
                    await self._jobs.refuse(job, error.sentence)

    async def _round(self, job: Job) -> None:
        """Have each member who asked reminded, where the round is still played."""
        event, round_, at = _of(job)
        current, now = await self._book.current(job.community_id)
        members: list[int] = []
        if current.name == event and now == round_ and current.start(round_) == at:
            members = await self.asked.members(job.community_id)
        due = self._db.now()

        def fn(connection: Connection) -> None:
            for member in members:
                payload: JsonObject = {**job.payload, "member": str(member)}
                key = f"{job.key}/{member}"
                schedule_job(connection, job.community_id, MEMBER, key, due_at=due, payload=payload)

        await self._jobs.finish(job, fn)

    async def _member(self, job: Job, tell: Tell) -> None:
        event, round_, at = _of(job)
        member = int(str(job.payload["member"]))
        wanted = await self.asked.asked(job.community_id, member)
        if not wanted or await self._logged(job.community_id, member, event, at):
            await self._jobs.finish(job)
            return
        reminder = Reminder(job.community_id, member, event, round_, f"remind{job.id}")
        try:
            told = await tell(reminder)
        except Exception as error:
            if job.failures >= MOST_FAILURES:
                await self._jobs.refuse(job, str(error))
            else:
                await self._jobs.put_off(job, str(error))
            return
        if told:
            await self._jobs.finish(job)
        else:
            await self._jobs.refuse(job, "takes no direct messages")

    async def _logged(self, community_id: int, member: int, event: str, since: datetime) -> bool:
        found = await self._book.event(community_id, event)
        for result in await self._results.of_member(community_id, member, limit=1):
            hole = hole_played(result.played.hole_key)
            return hole is not None and hole.event == found.key and result.created_at >= since
        return False


def schedule_reminder(
    connection: Connection, community_id: int, event: Event, round_: str, at: datetime
) -> None:
    """Remind of a round that begins now, inside the transaction that begins it."""
    later = [start.at for start in event.starts if start.at > at]
    due = min([at + AFTER, *(each - BEFORE_NEXT for each in later)])
    payload: JsonObject = {"event": event.name, "round": round_, "at": at.isoformat()}
    key = f"{event.key}/{event.rounds.index(round_)}/{at.isoformat()}"
    schedule_job(connection, community_id, ROUND, key, due_at=max(due, at), payload=payload)


def _of(job: Job) -> tuple[str, str, datetime]:
    at = datetime.fromisoformat(str(job.payload["at"]))
    return str(job.payload["event"]), str(job.payload["round"]), at
