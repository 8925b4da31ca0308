"""The book: the one door to a community's events, holes and lines. Knows no Discord.

Nothing is overwritten: every change is a new revision with its author and time. Whoever listens
is told after a change is on disk.
"""

from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from pydantic import ValidationError
from sqlalchemy import Connection

from bot.services.book.against import Against, against, renamed, with_standing
from bot.services.book.changes import EventDiff, difference
from bot.services.book.check import require_wind
from bot.services.book.choices import Choices, set_current
from bot.services.book.events import EventStore, Listener, hole_of, named, require_named
from bot.services.book.hole_history import HoleHistory
from bot.services.book.lines import Lines
from bot.services.book.made import Made
from bot.services.book.stored import (
    REMOVED,
    Kept,
    draft_at,
    drafts_of,
    event_names,
    kept_event,
)
from bot.services.book.whole_events import WholeEvents
from bot.services.members import Caddies
from shared.actor import Author
from shared.book import BookChange, Event, Hole, HoleWind
from shared.errors import DivisionUnknownError, InputError
from shared.keys import EventKey, HoleKey, LineKey
from storage.database import Database
from storage.divisions import Divisions
from storage.revisions import Draft, append_revisions
from storage.versions import Versions

COMMUNITIES_IN_MEMORY = 256
EVENTS_IN_MEMORY = 4  # of each community


ByRole = Callable[[int, int, Sequence[str]], Awaitable[str | None]]
"""A member's division among these by their role, None where no role says."""


async def _no_role(community_id: int, member_id: int, among: Sequence[str]) -> str | None:
    return None


@dataclass
class _Standing:
    """What was read of a community's book, and the versions it was read at."""

    read_at: tuple[int, int]
    events: OrderedDict[EventKey, Event] = field(default_factory=OrderedDict[EventKey, Event])
    revisions: dict[LineKey, int] = field(default_factory=dict[LineKey, int])
    current: tuple[Event, str] | None = None


class Book:
    """Events and holes of every community, and which are current; ``lines`` holds their lines.

    What stands is answered from memory while the versions of the book and of the choices are those
    it was read at, so that another process's change counts at once.
    """

    def __init__(self, *, db: Database, choices: Choices, kits: Caddies) -> None:
        self._db = db
        self._choices = choices
        self._divisions = Divisions(db)
        self._versions = Versions(db)
        self._standing: OrderedDict[int, _Standing] = OrderedDict()
        self._kits = kits
        self.by_role: ByRole = _no_role
        self._events = EventStore(db=db, choices=choices)
        self.whole = WholeEvents(self._events)
        self.hole_history = HoleHistory(self._events)
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

    def now(self) -> datetime:
        """The time by the database's clock."""
        return self._db.now()

    async def name_of(self, community_id: int, key: EventKey) -> str | None:
        """The name of the event under a key; None where there is none any more."""
        names = await self.names(community_id)
        return next((name for name in names if EventKey.of(name) == key), None)

    async def event(self, community_id: int, name: str | None = None) -> Event:
        """The event of that name, the current one without. Errors: InputError where none is."""
        standing = await self._stands(community_id)
        if name is None:
            return (await self._current(community_id, standing))[0]
        return await self._named(community_id, standing, name)

    async def current(self, community_id: int) -> tuple[Event, str]:
        """The current event and its current round. Errors: InputError without an event."""
        return await self._current(community_id, await self._stands(community_id))

    async def round_of(self, community_id: int, event: Event) -> str:
        """The round an event stands in: the one last chosen for it, else its first."""
        chosen = await self._choices.round(community_id, event.key)
        return named(event.rounds, chosen or "") or event.rounds[0]

    async def hole(self, community_id: int, number: int, event: str | None = None) -> Hole:
        """A hole. Errors: InputError for a number the event lacks."""
        found = await self.event(community_id, event)
        return found.hole(number) or hole_of(found, number)

    async def revision_of(self, community_id: int, event: str, number: int, variant: str) -> int:
        """The newest revision of a line; 0 for one that isn't there."""
        standing = await self._stands(community_id)
        await self._named(community_id, standing, event)
        return standing.revisions.get(EventKey.of(event).hole(number).line(variant), 0)

    async def _stands(self, community_id: int) -> _Standing:
        """What is known of a community's book, nothing where it has changed since."""
        now = await self._versions.of(community_id)
        versions = now.get("book", 0), now.get("settings", 0)
        found = self._standing.get(community_id)
        if found is None or found.read_at != versions:
            found = self._standing[community_id] = _Standing(versions)
        self._standing.move_to_end(community_id)
        while len(self._standing) > COMMUNITIES_IN_MEMORY:
            self._standing.popitem(last=False)
        return found

    async def _current(self, community_id: int, standing: _Standing) -> tuple[Event, str]:
        if standing.current is None:
            kept = await self._events.kept(community_id)
            chosen = await self._choices.round(community_id, kept.key)
            _note(standing, kept)
            round_ = named(kept.event.rounds, chosen or "") or kept.event.rounds[0]
            standing.current = kept.event, round_
        return standing.current

    async def _named(self, community_id: int, standing: _Standing, name: str) -> Event:
        key = EventKey.of(name)
        if key not in standing.events:
            _note(standing, await self._events.kept(community_id, name))
        return standing.events[key]

    # Whose and when ---------------------------------------------------------------------------

    async def division_of(
        self, community_id: int, member_id: int, event_name: str | None = None
    ) -> str | None:
        """A member's division in an event, the current one without; the only one of just one."""
        event = await self.event(community_id, event_name)
        if len(event.divisions) == 1:
            return event.divisions[0]
        said = await self._divisions.get(
            community_id, member_id, event=str(event.key), among=event.divisions
        )
        return said or await self.by_role(community_id, member_id, event.divisions)

    async def require_division(
        self, community_id: int, member_id: int, event_name: str | None = None
    ) -> str:
        """``division_of``. Errors: DivisionUnknownError where the member never said."""
        found = await self.division_of(community_id, member_id, event_name)
        if found is None:
            event = await self.event(community_id, event_name)
            raise DivisionUnknownError(event.name, event.divisions)
        return found

    async def set_division(
        self, community_id: int, member_id: int, division: str, event_name: str | None = None
    ) -> str:
        """Put a member into a division; returns its name as the event spells it."""
        event = await self.event(community_id, event_name)
        found = require_named(event.divisions, division, "division")
        await self._divisions.put(community_id, member_id, found, event=str(event.key))
        return found

    async def choose(self, community_id: int, name: str) -> Event:
        """Make an event the current one."""
        kept = await self._events.kept(community_id, name)
        await self._choices.set_event(community_id, kept.key)
        self._events.tell_of(community_id, kept.event)
        return kept.event

    async def set_round(self, community_id: int, round_: str) -> str:
        """Make a round the current one; returns its name as the event spells it."""
        kept = await self._events.kept(community_id)
        found = require_named(kept.event.rounds, round_, "round")
        await self._choices.set_round(community_id, kept.key, found)
        self._events.tell_of(community_id, kept.event)
        return found

    # Whole events -----------------------------------------------------------------------------

    async def load(
        self,
        community_id: int,
        event: Event,
        *,
        author: Author,
        reason: str = "loaded",
        made: Made | None = None,
        keep: bool = False,
    ) -> EventDiff:
        """Keep a checked event as a whole, all or nothing; a community's first is made current.

        What the event no longer has is marked as removed; its revisions stay. With ``keep`` what
        ``against`` names stands as it is. Errors: InputError where that can't be.
        """
        key, now = event.key, self._db.now()

        def fn(connection: Connection) -> EventDiff:
            old = kept_event(connection, community_id, key)
            whole, kept = renamed(old, event), Against()
            if keep and old is not None:
                kept = against(old, whole, (made or Made()).here(connection, community_id, key))
                whole = with_standing(old, whole, kept)
            drafts = drafts_of(whole)
            every = [*drafts, *_removals(old, drafts)]
            append_revisions(connection, community_id, every, author=author, reason=reason, at=now)
            if before is None:
                set_current(connection, community_id, key, now)
            return replace(difference(old, whole, drafts), kept=kept)

        before = await self._choices.event(community_id)
        diff = await self._db.write(fn)
        if before is None:
            diff = diff.as_current()
        if diff.touched:
            self._events.tell_of(community_id, event, sorted(diff.touched))
        return diff

    async def against(self, community_id: int, event: Event, made: Made) -> Against:
        """What stands against an event's file: newer than it, or missing from it."""

        def fn(connection: Connection) -> Against:
            old = kept_event(connection, community_id, event.key)
            return against(old, renamed(old, event), made.here(connection, community_id, event.key))

        return await self._db.read(fn)

    async def copy(
        self, community_id: int, *, name: str, source: str | None, winds: bool, author: Author
    ) -> EventDiff:
        """A new event from an old one, with its winds or without; a draft until it is chosen.

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
            copied = Event(
                name=name,
                divisions=event.divisions,
                rounds=event.rounds,
                units=event.units,
                holes=holes,
            )
        except ValidationError as error:
            raise InputError(
                "An event's name has 1 to 60 characters that can be seen.",
                "/event copy name:Second Cup",
                name,
            ) from error
        return await self.load(community_id, copied, author=author, reason=f"from {event.name}")

    async def set_facts(
        self, community_id: int, hole: Hole, *, event: str | None, author: Author
    ) -> Event:
        """Change a hole's number, par, length, bearing and name; its winds and lines stay.

        Errors: InputError for a hole the event lacks.
        """
        kept = await self._events.kept(community_id, event)
        hole_of(kept.event, hole.number)
        now = self._db.now()

        def fn(connection: Connection) -> None:
            fresh = kept_event(connection, community_id, kept.key) or kept
            its = hole_of(fresh.event, hole.number)
            stays = {"winds": its.winds, "played": its.played, "lines": ()}
            bare = hole.model_copy(update=stays)
            draft = draft_at(kept.key.hole(hole.number), bare)
            append_revisions(
                connection, community_id, [draft], author=author, reason="facts", at=now
            )

        await self._db.write(fn)
        self._events.tell_of(community_id, kept.event, [hole.number])
        return kept.event

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


def _note(standing: _Standing, kept: Kept) -> None:
    """Remember an event and the revisions of its lines."""
    standing.events[kept.key] = kept.event
    for hole_key, hole in zip(kept.event.hole_keys, kept.event.holes, strict=True):
        for line in hole.lines:
            at = hole_key.line(line.variant)
            revision = kept.revision(at)
            standing.revisions[at] = revision.number if revision else 0
    while len(standing.events) > EVENTS_IN_MEMORY:
        gone, _ = standing.events.popitem(last=False)
        standing.revisions = {
            at: number for at, number in standing.revisions.items() if at.hole.event != gone
        }


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
