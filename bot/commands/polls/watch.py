"""Watches over the polls: votes as they come, what a downtime missed, closing exactly once."""

import asyncio
import logging
from datetime import timedelta

import discord

from bot.chat.publisher import Publisher
from bot.commands.polls.poll_messages import PollMessages
from bot.services.polls.service import PollService
from bot.services.roles import Roles
from shared.book import BookChange
from storage.jobs import Job
from storage.polls import CLOSE_POLL, Ended, Poll

log = logging.getLogger(__name__)

SLACK = timedelta(seconds=30)  # Discord's own clock decides until when votes count
SETTLING = timedelta(minutes=15)  # a command lives that long, so its poll may still be on its way
PATIENCE = timedelta(hours=1)  # then a poll is closed on the votes we have


class PollWatch:
    """Brings stored polls and the chat together."""

    def __init__(
        self,
        *,
        service: PollService,
        messages: PollMessages,
        publisher: Publisher,
        roles: Roles,
    ) -> None:
        self.service = service
        self._messages = messages
        self._publisher = publisher
        self._roles = roles
        self._again: set[int] = set()
        self._closing: dict[int, asyncio.Lock] = {}  # by community

    async def look_all(self) -> None:
        """After a start or a new connection: look at every poll that is not closed.

        Notes that a crash left behind a poll that had just closed are brought up to date too.
        """
        await self._publisher.deliver()  # so that a note can link to an outcome
        before = {poll.hole_key: poll for poll in await self.service.lately_closed()}
        for poll in await self.service.polls.not_closed():
            await self.look(poll)
        for poll in before.values():
            await self.tell_note(poll)

    async def look_due(self) -> None:
        """Look at the polls whose time has come, and at those that could not be looked at."""
        while due := await self.service.jobs.claim_due([CLOSE_POLL]):
            for job in due:
                await self._look_due(job)
        for poll in await self.service.polls.not_closed():
            if poll.state == "waiting" or poll.id in self._again:
                await self.look(poll)

    async def _look_due(self, job: Job) -> None:
        """Close the poll of a job; where that can't be yet, later."""
        poll = await self.service.polls.get(int(str(job.payload["poll"])))
        trouble = await self.look(poll) if poll is not None and poll.state != "closed" else ""
        if poll is not None and not await self.service.is_closed(poll):
            settled = poll.closes_at + SLACK
            later = settled if self.service.now() < settled else None
            await self.service.jobs.put_off(job, trouble or "it is still open", until=later)
            return
        await self.service.jobs.finish(job)  # closing has ended it, unless the poll is gone

    async def look(self, poll: Poll) -> str:
        """Do with one poll what its state in the chat asks for; what went wrong, "" for nothing."""
        try:
            if poll.state == "waiting":
                await self._look_for(poll)
            else:
                await self._look_at(poll)
            self._again.discard(poll.id)
            return ""
        except discord.HTTPException as error:
            log.warning("poll %s could not be looked at: %s", poll.id, error)
            self._again.add(poll.id)
            # Where we may not look, or Discord is long in trouble, the kept votes are all there is.
            wait = SLACK if isinstance(error, discord.Forbidden) else PATIENCE
            if self.service.now() >= poll.closes_at + wait:
                await self._close(poll, "time")
            return str(error)

    async def finalised(self, message_id: int) -> bool:
        """Discord says that a poll is final; True where that closed it."""
        poll = await self.service.polls.by_message(message_id)
        if poll is None or poll.state != "open":
            return False
        return await self.finish(poll, self._ending(poll))

    async def finish(self, poll: Poll, ended: Ended) -> bool:
        """Take over the last votes, close the poll and tell; True for one caller only."""
        try:
            await self.service.reconcile(poll, await self._messages.voters(poll))
        except discord.Forbidden:
            log.warning("the voters of poll %s may not be seen: the kept votes count", poll.id)
        except discord.HTTPException as error:
            log.warning("the voters of poll %s could not be asked for: %s", poll.id, error)
            if self.service.now() < poll.closes_at + PATIENCE:
                self._again.add(poll.id)
                return False
        return await self._close(poll, ended)

    async def end(self, poll: Poll) -> bool:
        """End a poll now; True where this closed it. Errors: discord.HTTPException."""
        await self._messages.end(poll)
        return await self.finish(poll, self._ending(poll))

    async def deleted(self, message_id: int) -> None:
        """A message is gone; if it was an open poll, that is said once."""
        poll = await self.service.polls.by_message(message_id)
        if poll is not None and poll.state == "open":
            await self._close(poll, "deleted")

    async def channel_deleted(self, channel_id: int) -> None:
        """A channel is gone, and its polls with it."""
        for poll in await self.service.polls.not_closed():
            if poll.channel_id == channel_id:
                await self._close(poll, "deleted")

    async def _look_for(self, poll: Poll) -> None:
        """A poll that was kept and perhaps posted before a crash."""
        try:
            message_id = await self._messages.find(poll)
        except (discord.NotFound, discord.Forbidden):
            message_id = None
        if message_id is None:
            # Looked for each minute while it waits; what never came is given up.
            if self.service.now() >= poll.created_at + SETTLING:
                log.warning("poll %s was never posted", poll.id)
                await self.service.give_up(poll)
            return
        opened = await self.service.opened(poll, message_id)
        await self._look_at(opened)
        await self.tell_note(opened)

    async def _look_at(self, poll: Poll) -> None:
        sight = await self._messages.see(poll)
        if sight == "gone":
            await self._close(poll, "deleted")
        elif sight == "finalised" or self.service.now() >= poll.closes_at + SLACK:
            await self.finish(poll, self._ending(poll))
        else:
            await self.service.reconcile(poll, await self._messages.voters(poll))

    async def _close(self, poll: Poll, ended: Ended) -> bool:
        notes = await self._roles.notes_channel(poll.community_id)
        closing = self._closing.setdefault(poll.community_id, asyncio.Lock())
        async with closing:  # who comes second finds the outcome posted
            if not await self.service.close(poll, ended):
                return False
            await self._publisher.deliver(poll.community_id)
            if await self.service.elsewhere(poll, notes):
                await self._publisher.deliver(poll.community_id)
        await self.tell_note(poll)
        return True

    async def tell_note(self, poll: Poll) -> None:
        """Bring the note of the poll's hole up to date."""
        found = await self.service.event_of(poll)
        if found is None:
            return
        event, number = found
        await self._publisher.refresh(BookChange(poll.community_id, event, frozenset({number})))

    def _ending(self, poll: Poll) -> Ended:
        return "time" if self.service.now() >= poll.closes_at - SLACK else "early"
