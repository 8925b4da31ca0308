"""Rounds that begin by themselves when their time has come. Knows no Discord."""

from datetime import datetime

from sqlalchemy import Connection

from bot.services.book.book import Book
from bot.services.book.whole_events import ROUND_JOB, begins_now
from bot.services.reminders import schedule_reminder
from shared.errors import InputError
from storage.database import Database
from storage.jobs import Job, Jobs


class RoundStarts:
    """Makes a round the current one at the time its event gives for it."""

    def __init__(self, *, db: Database, book: Book) -> None:
        self._jobs = Jobs(db)
        self._book = book

    async def begin_due(self) -> None:
        """Begin every round whose time has come, if its event is still the current one."""
        while due := await self._jobs.claim_due([ROUND_JOB]):
            for job in due:
                try:
                    await self._begin(job)
                except InputError as error:  # the event or its round are gone
                    await self._jobs.refuse(job, error.sentence)

    async def _begin(self, job: Job) -> None:
        name, round_ = str(job.payload["event"]), str(job.payload["round"])
        at = datetime.fromisoformat(str(job.payload["at"]))
        event = await self._book.event(job.community_id, name)
        current, now = await self._book.current(job.community_id)
        begins = current.key == event.key and begins_now(event, round_, at)
        if begins and now != round_:
            await self._book.set_round(job.community_id, round_)

        def fn(connection: Connection) -> None:
            if begins:
                schedule_reminder(connection, job.community_id, event, round_, at)

        await self._jobs.finish(job, fn)
