"""Events as wholes: deleted with a way back, renamed, dated; holes played before. No Discord."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from bot.services.book.cup_words import next_name
from bot.services.book.events import EventStore, named
from bot.services.book.made import Made
from bot.services.book.stored import (
    REMOVED,
    Frame,
    Kept,
    draft_at,
    drafts_of,
    event_names,
    kept_event,
)
from shared.actor import Author
from shared.book import Event, Hole, Line, RoundStart
from shared.errors import InputError
from shared.keys import EventKey, HoleKey, LineKey
from storage.jobs import schedule_job
from storage.json import JsonObject
from storage.member_tries import member_tries
from storage.revisions import Draft, append_revisions, latest_of_kind, revision_at

DELETED = "deleted"
ROUND_JOB = "round begins"


@dataclass(frozen=True)
class PlayedHole:
    """A hole of an earlier event."""

    event: Event
    hole: Hole


class WholeEvents:
    """What is done to an event as a whole."""

    def __init__(self, events: EventStore) -> None:
        self._events = events
        self._db = events.db

    async def made_from(self, community_id: int, name: str | None) -> tuple[Event, Made]:
        """An event for a file, and what that says of itself."""
        at = self._db.now()  # before it is read: what changes meanwhile is newer
        kept = await self._events.kept(community_id, name)
        return kept.event, Made.of(kept, at)

    async def delete(self, community_id: int, name: str, *, author: Author) -> Event:
        """Take an event out of the book. Errors: InputError for the current one."""
        kept = await self._not_current(community_id, name, "deleted")
        now = self._db.now()
        gone = _gone(kept)

        def fn(connection: Connection) -> None:
            append_revisions(connection, community_id, gone, author=author, reason=DELETED, at=now)

        await self._db.write(fn)
        return kept.event

    async def bring_back(self, community_id: int, name: str, *, author: Author) -> Event:
        """Put a deleted event back as it was. Errors: InputError where none of it is deleted."""
        key, now = EventKey.of(name), self._db.now()

        def fn(connection: Connection) -> Kept | None:
            if kept_event(connection, community_id, key) is None:
                drafts = _before_deletion(connection, community_id, key)
                append_revisions(
                    connection, community_id, drafts, author=author, reason="brought back", at=now
                )
            return kept_event(connection, community_id, key)

        kept = await self._db.write(fn)
        if kept is None:
            raise InputError("There is no deleted event of this name.", "/cup show", name)
        return kept.event

    async def rename(self, community_id: int, name: str, new: str, *, author: Author) -> Event:
        """Give a draft another name; its lines, winds and revisions come along.

        Errors: InputError for the current event, one that was played, and a name that is taken.
        """
        kept = await self._not_current(community_id, name, "renamed")
        event = kept.event.model_copy(update={"name": new})
        if event.key == kept.key:
            raise InputError("It has this name already.", next_name(new), new)
        if await member_tries(self._db, community_id, list(map(str, kept.event.hole_keys))):
            raise InputError(
                f"{kept.event.name} has been played under its name, so it keeps it; a copy may "
                "have another.",
                f"/event copy name:{next_name(kept.event.name)}",
                new,
            )
        now = self._db.now()

        def fn(connection: Connection) -> bool:
            if new.casefold() in map(str.casefold, event_names(connection, community_id)):
                return False
            every = [*drafts_of(event), *_gone(kept)]
            append_revisions(
                connection, community_id, every, author=author, reason="renamed", at=now
            )
            return True

        if not await self._db.write(fn):
            raise InputError("There is an event of this name already.", next_name(new), new)
        return event

    async def set_starts(
        self, community_id: int, name: str | None, starts: tuple[RoundStart, ...], *, author: Author
    ) -> Event:
        """Say when the rounds of an event begin; each then becomes the current one by itself."""
        kept = await self._events.kept(community_id, name)
        event = kept.event.model_copy(update={"starts": starts})
        now = self._db.now()

        def fn(connection: Connection) -> None:
            draft = draft_at(kept.key, Frame.of(event))
            append_revisions(
                connection, community_id, [draft], author=author, reason="dates", at=now
            )
            for start in starts:
                if start.at <= now:
                    continue
                key = f"{kept.key}/{event.rounds.index(start.round)}/{start.at.isoformat()}"
                payload: JsonObject = {
                    "event": event.name,
                    "round": start.round,
                    "at": start.at.isoformat(),
                }
                schedule_job(
                    connection, community_id, ROUND_JOB, key, due_at=start.at, payload=payload
                )

        await self._db.write(fn)
        return event

    async def played(self, community_id: int, *, but: EventKey) -> dict[str, PlayedHole]:
        """Holes with a name of all other events by their folded name, the latest of each."""

        def fn(connection: Connection) -> list[Kept]:
            names = event_names(connection, community_id)
            found = [kept_event(connection, community_id, EventKey.of(name)) for name in names]
            return [kept for kept in found if kept is not None and kept.key != but]

        found: dict[str, PlayedHole] = {}
        for kept in await self._db.read(fn):
            for hole in kept.event.holes:
                if hole.name:
                    found.setdefault(hole.name.casefold(), PlayedHole(kept.event, hole))
        return found

    async def _not_current(self, community_id: int, name: str, verb: str) -> Kept:
        kept = await self._events.kept(community_id, name)
        if await self._events.choices.event(community_id) == kept.key:
            others = await self._db.read(lambda connection: event_names(connection, community_id))
            other = next((each for each in others if EventKey.of(each) != kept.key), None)
            raise InputError(
                f"{kept.event.name} is the current event and can't be {verb}; make another one "
                "current first.",
                f"/event use event:{other}" if other else "/event new",
                name,
            )
        return kept


def begins_now(event: Event, round_: str, at: datetime) -> bool:
    """Whether a round of an event is still to begin at this time."""
    return any(start.round == round_ and start.at == at for start in event.starts)


def with_played(hole: Hole, before: PlayedHole, divisions: tuple[str, ...]) -> Hole:
    """A hole of a new event with the lines of when it was played before, and where to find tries.

    A line that was for divisions which the new event lacks is for all.
    """
    key = before.event.key.hole(before.hole.number)
    lines = tuple(_for(line, divisions) for line in before.hole.lines)
    tees = tuple(
        tee.model_copy(update={"division": found})
        for tee in hole.tees
        if (found := named(divisions, tee.division))
    )
    played = (*before.hole.played, str(key))
    return hole.model_copy(update={"lines": lines, "tees": tees, "played": played})


def _for(line: Line, divisions: tuple[str, ...]) -> Line:
    kept = tuple(found for name in line.divisions if (found := named(divisions, name)))
    return line.model_copy(update={"divisions": kept})


def _gone(kept: Kept) -> list[Draft]:
    return [
        Draft(kind, key, REMOVED)
        for (kind, key), revision in kept.revisions.items()
        if revision.body != REMOVED
    ]


def _before_deletion(connection: Connection, community_id: int, key: EventKey) -> list[Draft]:
    """What a deletion took out, as it was."""
    every = latest_of_kind(connection, community_id, EventKey.kind, str(key))
    for kind in (HoleKey.kind, LineKey.kind):
        every += latest_of_kind(connection, community_id, kind, key.prefix)
    drafts: list[Draft] = []
    for each in every:
        if each.body == REMOVED and each.reason in (DELETED, "renamed"):
            before = revision_at(connection, community_id, each.kind, each.key, each.number - 1)
            if before is not None:
                drafts.append(Draft(each.kind, each.key, before.body))
    return drafts
