"""Polls from draft to outcome, on the stored votes. Knows no Discord connection."""

import asyncio
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from sqlalchemy import Connection

from bot.services.book.book import Book
from bot.services.book.events import require_named
from bot.services.polls.duration import hours_of
from bot.services.polls.labels import (
    answer_now,
    chosen_lines,
    line_label,
    own_answers,
    question_of,
    unique_labels,
)
from bot.services.polls.outcome import Outcome, Row
from bot.services.polls.words import closed_line, message_link, open_line, poll_link
from bot.services.verdicts.results import Verdicts
from bot.services.verdicts.words import row_of
from engine.verdict import Verdict
from shared.book import BookChange, Event, Hole
from shared.errors import InputError
from shared.keys import EventKey, HoleKey, names_key, outcome_key
from storage.database import Database
from storage.jobs import Jobs
from storage.json import JsonObject
from storage.outbox import Message, Outbox, want_message
from storage.polls import Ended, Poll, Polls, Tally, tally_of

KEEP_POSTED = timedelta(days=2)  # how long after closing a start still looks at a hole's note


@dataclass(frozen=True)
class PollDraft:
    """A poll to be posted; ``left_out`` are the letters of lines it has no room for."""

    question: str
    answers: tuple[str, ...]
    hours: int
    several: bool
    hole: HoleKey | None = None
    left_out: tuple[str, ...] = ()


class RendersOutcome(Protocol):
    """Makes the bodies of the messages about a poll that has closed."""

    def outcome(self, poll: Poll, outcome: Outcome, ended: Ended) -> JsonObject:
        """What a poll came to."""
        ...

    def deleted(self, poll: Poll, outcome: Outcome) -> JsonObject:
        """That a poll was deleted before it closed."""
        ...

    def renamed(self, poll: Poll, names: Mapping[str, str]) -> JsonObject:
        """That lines in an open poll have other names now, by what they are named in it."""
        ...


class PollService:
    """Everything about polls but the chat itself."""

    def __init__(
        self,
        *,
        db: Database,
        book: Book,
        outbox: Outbox,
        verdicts: Verdicts,
        render: RendersOutcome,
    ) -> None:
        self._render = render
        self.book = book
        self.polls = Polls(db)
        self.jobs = Jobs(db)
        self._verdicts = verdicts
        self._outbox = outbox
        self._db = db

    def now(self) -> datetime:
        """The time by the database's clock."""
        return self._db.now()

    # Opening ----------------------------------------------------------------------------------

    async def on_hole(
        self,
        community_id: int,
        number: int,
        *,
        time: str,
        question: str,
        several: bool,
        division: str | None = None,
    ) -> PollDraft:
        """A poll on the lines of a hole of the current event; an empty question is our own.

        ``division`` None asks on all lines, each with the divisions it is for.

        Errors: InputError for a hole with fewer than two lines, a time or a question out of bounds.
        """
        hours = hours_of(time)
        event = await self.book.event(community_id)
        hole = await self.book.hole(community_id, number, event.name)
        if division is not None:
            division = require_named(event.divisions, division, "division")
        lines, left_out = chosen_lines(hole, division)
        name = f" ({hole.name})" if hole.name else ""
        name = f"{name}, {division}" if division else name
        return PollDraft(
            question=question_of(question or f"Hole {number}{name}: which line works best?"),
            answers=unique_labels([line_label(line, whose=division is None) for line in lines]),
            hours=hours,
            several=several,
            hole=event.key.hole(number),
            left_out=tuple(line.variant for line in left_out),
        )

    def on_question(self, question: str, answers: str, *, time: str, several: bool) -> PollDraft:
        """A poll on a coach's own question. Errors: InputError for what a poll can't hold."""
        return PollDraft(
            question=question_of(question),
            answers=own_answers(answers),
            hours=hours_of(time),
            several=several,
        )

    async def keep(self, community_id: int, channel_id: int, draft: PollDraft) -> Poll:
        """Keep a poll before it is posted, so that none is lost between here and the chat."""
        return await self.polls.create(
            community_id,
            channel_id,
            question=draft.question,
            answers=draft.answers,
            closes_at=self.now() + timedelta(hours=draft.hours),
            hole_key=str(draft.hole) if draft.hole else None,
        )

    async def opened(self, poll: Poll, message_id: int) -> Poll:
        """A kept poll stands in the chat now."""
        await self.polls.posted(poll.id, message_id)
        return await self.polls.get(poll.id) or poll

    async def give_up(self, poll: Poll) -> bool:
        """A kept poll was never posted and won't be."""
        return await self.polls.close(poll.id, "deleted")

    # While it is open -------------------------------------------------------------------------

    async def standing(self, community_id: int) -> list[Poll]:
        """The open polls of a community, the one that closes first on top."""
        found = [
            poll
            for poll in await self.polls.not_closed()
            if poll.community_id == community_id and poll.state == "open"
        ]
        return sorted(found, key=lambda poll: poll.closes_at)

    async def named(self, community_id: int, typed: str) -> Poll | None:
        """The open poll meant, by its number or words of its question; the only one without.

        None where no poll is open. Errors: InputError where it is none or more than one.
        """
        polls = await self.standing(community_id)
        if not polls:
            return None
        word = typed.strip().casefold()
        by_number = [poll for poll in polls if str(poll.id) == word]
        found = by_number or [poll for poll in polls if word in poll.question.casefold()]
        if len(found) == 1:
            return found[0]
        meant = "none of them has these words" if not found else "say which by picking it"
        raise InputError(
            f"{len(polls)} polls are open; {meant}.", f"/poll end poll:{polls[0].id}", typed
        )

    async def reconcile(self, poll: Poll, voters: Mapping[int, Collection[int]]) -> int:
        """Make the votes those of the chat."""
        told = {answer: len(who) for answer, who in voters.items()}
        return await self.polls.reconcile(poll.id, voters, told=told)

    # Closing ----------------------------------------------------------------------------------

    async def close(self, poll: Poll, ended: Ended) -> bool:
        """Close a poll and want its outcome in its channel, both or neither.

        True for one caller only, however many try. The winner is counted from the stored votes in
        the same transaction.
        """
        found = await self._found(poll)
        hole, now = found[1] if found else None, self.now()
        verdict = None if ended == "deleted" or not found else await self._verdict(poll, *found)

        def effect(connection: Connection) -> None:
            tally = tally_of(connection, poll)
            outcome = _outcome(poll, hole, verdict, tally)
            if ended == "deleted":
                body = self._render.deleted(poll, outcome)
            else:
                body = self._render.outcome(poll, outcome, ended)
            key = outcome_key(poll.id)
            want_message(connection, poll.community_id, key, poll.channel_id, body, at=now)

        return await self.polls.close(poll.id, ended, effect)

    async def is_closed(self, poll: Poll) -> bool:
        """Whether a poll is closed by now."""
        now = await self.polls.get(poll.id)
        return now is None or now.state == "closed"

    async def outcome(self, poll: Poll) -> Message | None:
        """The message of a poll's outcome as the outbox knows it."""
        return await self._outbox.get(poll.community_id, outcome_key(poll.id))

    async def elsewhere(self, poll: Poll, channel_id: int | None) -> bool:
        """Want an outcome that its channel does not take in another; True where that is new."""
        message = await self.outcome(poll)
        if message is None or message.state != "failed" or message.body is None:
            return False
        if channel_id is None or channel_id == message.channel_id:
            return False
        return await self._outbox.want(poll.community_id, message.key, channel_id, message.body)

    async def event_of(self, poll: Poll) -> tuple[str, int] | None:
        """The event's name and the hole's number of a poll on a hole."""
        if poll.hole_key is None:
            return None
        hole = HoleKey.parse(poll.hole_key)
        names = await self.book.names(poll.community_id)
        name = next((each for each in names if EventKey.of(each) == hole.event), None)
        return None if name is None else (name, hole.number)

    async def lately_closed(self) -> list[Poll]:
        """Polls on holes that closed in the last days, whose notes a crash may have left behind."""
        return await self.polls.closed_since(self.now() - KEEP_POSTED)

    # On the note ------------------------------------------------------------------------------

    async def note_lines(self, community_id: int, event: Event, hole: Hole) -> list[str]:
        """What a hole's note says about its polls: the newest open one, the last outcome."""
        polls = await self.polls.of_hole(community_id, str(event.key.hole(hole.number)))
        said = [open_line(poll) for poll in polls if poll.state == "open"][-1:]
        closed = [poll for poll in polls if poll.state == "closed" and poll.ended != "deleted"]
        for poll in closed[-1:]:
            tally = await self.polls.tally(poll.id)
            message = await self.outcome(poll)
            outcome = _outcome(poll, event.hole(hole.number), None, tally)
            link = poll_link(poll)
            if message is not None and message.message_id is not None:
                link = message_link(community_id, message.channel_id, message.message_id)
            said.append(closed_line(outcome, link))
        return said

    async def refresh(self, change: BookChange) -> bool:
        """Want it said under open polls which of their lines have a letter of their own now.

        True where that is new.
        """
        key, wanted = EventKey.of(change.event), False
        for number in sorted(change.holes):
            for poll in await self.polls.of_hole(change.community_id, str(key.hole(number))):
                if poll.state == "open":
                    wanted |= await self._want_names(poll)
        return wanted

    async def _want_names(self, poll: Poll) -> bool:
        found = await self._found(poll)
        hole = found[1] if found else None
        before = [label.partition(":")[0] for label in poll.answers]
        now = [answer_now(label, hole)[0] for label in poll.answers]
        names = {old: new for old, new in zip(before, now, strict=True) if old != new}
        if not names:
            return False
        body = self._render.renamed(poll, names)
        return await self._outbox.want(poll.community_id, names_key(poll.id), poll.channel_id, body)

    async def _found(self, poll: Poll) -> tuple[Event, Hole] | None:
        """The event and the hole a poll is on; None where the book has them no more."""
        found = await self.event_of(poll)
        event = await self.book.event(poll.community_id, found[0]) if found else None
        hole = event.hole(found[1]) if event and found else None
        return None if event is None or hole is None else (event, hole)

    async def _verdict(self, poll: Poll, event: Event, hole: Hole) -> Verdict | None:
        """The verdict on all lines of the hole; None where nothing is known of them."""
        key = event.key.hole(hole.number)
        results = await self._verdicts.of_event(poll.community_id, event)
        return await asyncio.to_thread(results.verdict, key, results.shown(key, hole.lines))


def _outcome(poll: Poll, hole: Hole | None, verdict: Verdict | None, tally: Tally) -> Outcome:
    """The answers with their votes and results; a line's short name is its letter by now."""
    on_lines = poll.hole_key is not None
    rows: list[Row] = []
    for number, answer in enumerate(poll.answers, start=1):
        name, label = answer_now(answer, hole) if on_lines else (answer, answer)
        result = row_of(verdict, name) if on_lines else None
        rows.append(Row(label, name, tally.counts[number], result))
    return Outcome(tuple(rows), tally.voters, on_lines, verdict)
