"""The book: the one door to a community's events, holes and lines. Knows no Discord.

Nothing is overwritten: every change is a new revision with its author and time. Whoever listens
is told after a change is on disk.
"""

from collections.abc import Mapping

from pydantic import ValidationError
from sqlalchemy import Connection

from bot.services.book.changes import EventDiff, difference
from bot.services.book.check import require_wind
from bot.services.book.choices import Choices, set_current
from bot.services.book.events import EventStore, Listener, hole_of, named, require_named
from bot.services.book.lines import Lines
from bot.services.book.stored import (
    REMOVED,
    Kept,
    draft_at,
    drafts_of,
    event_names,
    kept_event,
)
from bot.services.members import Caddies
from shared.actor import Author
from shared.book import BookChange, Event, Hole, HoleWind
from shared.errors import InputError
from shared.keys import EventKey, HoleKey
from storage.database import Database
from storage.revisions import Draft, append_revisions


class Book:
    """Events and holes of every community, and which are current; ``lines`` holds their lines."""

    def __init__(self, *, db: Database, choices: Choices, kits: Caddies) -> None:
        self._db = db
        self._choices = choices
        self._kits = kits
        self._events = EventStore(db=db, choices=choices)
        self.lines = Lines(events=self._events, kits=kits)

    def on_change(self, listener: Listener) -> None:
        """Have ``listener`` called after every change, in order, while its author goes on.

        What it raises is logged and no more.
        """
        self._events.on_change(listener)

    def tell(self, change: BookChange) -> None:
        """Tell the listeners of what changed beside the book, such as a result."""
        self._events.tell(change)

    async def all_told(self) -> None:
        """Wait until the listeners have done with every change so far."""
        await self._events.all_told()

    # What stands ------------------------------------------------------------------------------

    async def names(self, community_id: int) -> list[str]:
        """The names of all events, the one changed last first."""
        return await self._db.read(lambda connection: event_names(connection, community_id))

    async def event(self, community_id: int, name: str | None = None) -> Event:
        """The event of that name, the current one without. Errors: InputError where none is."""
        return (await self._events.kept(community_id, name)).event

    async def current(self, community_id: int) -> tuple[Event, str]:
        """The current event and its current round. Errors: InputError without an event."""
        kept = await self._events.kept(community_id)
        chosen = await self._choices.round(community_id, kept.key)
        return kept.event, named(kept.event.rounds, chosen or "") or kept.event.rounds[0]

    async def hole(self, community_id: int, number: int, event: str | None = None) -> Hole:
        """A hole. Errors: InputError for a number the event lacks."""
        return hole_of(await self.event(community_id, event), number)

    # Whose and when ---------------------------------------------------------------------------

    async def division_of(self, community_id: int, member_id: int) -> str | None:
        """A member's division in the current event; the only one where there is just one."""
        event = await self.event(community_id)
        if len(event.divisions) == 1:
            return event.divisions[0]
        return named(event.divisions, await self._choices.division(community_id, member_id) or "")

    async def set_division(self, community_id: int, member_id: int, division: str) -> str:
        """Put a member into a division; returns its name as the event spells it."""
        event = await self.event(community_id)
        found = require_named(event.divisions, division, "division")
        await self._choices.set_division(community_id, member_id, found)
        return found

    async def choose(self, community_id: int, name: str) -> Event:
        """Make an event the current one."""
        kept = await self._events.kept(community_id, name)
        await self._choices.set_event(community_id, kept.key)
        self._events.tell_of(community_id, kept.event, _numbers(kept.event))
        return kept.event

    async def set_round(self, community_id: int, round_: str) -> str:
        """Make a round the current one; returns its name as the event spells it."""
        kept = await self._events.kept(community_id)
        found = require_named(kept.event.rounds, round_, "round")
        await self._choices.set_round(community_id, kept.key, found)
        self._events.tell_of(community_id, kept.event, _numbers(kept.event))
        return found

    # Whole events -----------------------------------------------------------------------------

    async def load(
        self, community_id: int, event: Event, *, author: Author, reason: str = "loaded"
    ) -> EventDiff:
        """Keep a checked event as a whole, all or nothing, and make it the current one.

        What the event no longer has is marked as removed; its revisions stay.
        """
        key, now = event.key, self._db.now()

        def fn(connection: Connection) -> EventDiff:
            old, drafts = kept_event(connection, community_id, key), drafts_of(event)
            every = [*drafts, *_removals(old, drafts)]
            append_revisions(connection, community_id, every, author=author, reason=reason, at=now)
            set_current(connection, community_id, key, now)
            return difference(old, event, drafts)

        before = await self._choices.event(community_id)
        diff = await self._db.write(fn)
        if before != key:
            diff = diff.as_current()
        if diff.touched:
            self._events.tell_of(community_id, event, sorted(diff.touched))
        return diff

    async def copy(
        self, community_id: int, *, name: str, source: str | None, winds: bool, author: Author
    ) -> EventDiff:
        """A new event from an old one, with its winds or without; it becomes the current one.

        Errors: InputError for a name that is taken or can't be shown.
        """
        event = await self.event(community_id, source)
        if EventKey.of(name) in map(EventKey.of, await self.names(community_id)):
            raise InputError(
                "There is an event of this name already; a copy needs a new one.",
                "/event copy name:Second Cup",
                name,
            )
        holes = event.holes
        if not winds:
            holes = tuple(hole.model_copy(update={"winds": ()}) for hole in holes)
        try:
            copied = Event(name=name, divisions=event.divisions, rounds=event.rounds, holes=holes)
        except ValidationError as error:
            raise InputError(
                "An event's name has 1 to 60 characters that can be seen.",
                "/event copy name:Second Cup",
                name,
            ) from error
        return await self.load(community_id, copied, author=author, reason=f"from {event.name}")

    async def set_winds(
        self,
        community_id: int,
        *,
        event: str,
        division: str,
        round_: str,
        winds: Mapping[int, str],
        author: Author,
    ) -> tuple[int, ...]:
        """Set the winds of a division and a round by hole; an empty text takes a wind away.

        Returns the holes that changed. Errors: InputError for a wind that can't be read.
        """
        kept = await self._events.kept(community_id, event)
        division = require_named(kept.event.divisions, division, "division")
        round_ = require_named(kept.event.rounds, round_, "round")
        kit = (await self._kits.caddie(community_id)).kit
        for number, text in winds.items():
            bearing = hole_of(kept.event, number).bearing_deg
            if text:
                require_wind(text, kit=kit, bearing_deg=bearing)
        now = self._db.now()

        def fn(connection: Connection) -> list[int]:
            fresh = kept_event(connection, community_id, kept.key) or kept
            drafts = [
                _with_wind(fresh, number, division=division, round_=round_, text=text)
                for number, text in winds.items()
            ]
            found = append_revisions(
                connection, community_id, drafts, author=author, reason="winds", at=now
            )
            return [HoleKey.parse(revision.key).number for revision in found]

        changed = await self._db.write(fn)
        if changed:
            self._events.tell_of(community_id, kept.event, changed)
        return tuple(changed)


def _numbers(event: Event) -> list[int]:
    return [hole.number for hole in event.holes]


def _removals(old: Kept | None, drafts: list[Draft]) -> list[Draft]:
    if old is None:
        return []
    wanted = {(draft.kind, draft.key) for draft in drafts}
    return [
        Draft(kind, key, REMOVED)
        for (kind, key), revision in old.revisions.items()
        if (kind, key) not in wanted and revision.body != REMOVED
    ]


def _with_wind(kept: Kept, number: int, *, division: str, round_: str, text: str) -> Draft:
    hole = hole_of(kept.event, number)
    winds = [wind for wind in hole.winds if (wind.division, wind.round) != (division, round_)]
    if text:
        winds.append(HoleWind(division=division, round=round_, wind=text))
    places = {name: place for place, name in enumerate(kept.event.divisions)}
    rounds = {name: place for place, name in enumerate(kept.event.rounds)}
    winds.sort(key=lambda wind: (rounds[wind.round], places[wind.division]))
    changed = hole.model_copy(update={"winds": tuple(winds), "lines": ()})
    return draft_at(kept.key.hole(number), changed)
