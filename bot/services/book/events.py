"""Where the book finds events, and whom it tells of changes."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence

from sqlalchemy import Connection

from bot.services.book.choices import Choices
from bot.services.book.stored import Kept, event_names, kept_event
from shared.book import BookChange, Event, Hole
from shared.errors import InputError, StorageError
from shared.keys import EventKey
from storage.database import Database

log = logging.getLogger(__name__)

Listener = Callable[[BookChange], Awaitable[None]]


class EventStore:
    """Events by name, the current one without; and the listeners."""

    def __init__(self, *, db: Database, choices: Choices) -> None:
        self.db = db
        self.choices = choices
        self._listeners: list[Listener] = []
        self._telling: set[asyncio.Task[None]] = set()
        self._in_order = asyncio.Lock()

    def on_change(self, listener: Listener) -> None:
        """Have ``listener`` called after every change."""
        self._listeners.append(listener)

    def tell(self, change: BookChange) -> None:
        """Tell the listeners, in the order of the changes, while the caller goes on.

        What a listener does may take long (a message to many channels), and whoever made the
        change waits for an answer.
        """
        if not self._listeners:
            return
        task = asyncio.create_task(self._told(change))
        self._telling.add(task)
        task.add_done_callback(self._telling.discard)

    def tell_of(self, community_id: int, event: Event, holes: Sequence[int] | None = None) -> None:
        """``tell`` that these holes of an event have changed; None is all."""
        found = [hole.number for hole in event.holes] if holes is None else holes
        self.tell(BookChange(community_id, event.name, frozenset(found)))

    async def all_told(self) -> None:
        """Wait until the listeners have done with every change so far."""
        while self._telling:
            await asyncio.wait(self._telling)

    async def _told(self, change: BookChange) -> None:
        async with self._in_order:
            for listener in self._listeners:
                try:
                    await listener(change)
                except StorageError as error:
                    detail = getattr(error, "detail", error)
                    log.error("a listener failed on %s: %s", change, detail)
                except Exception:
                    log.exception("a listener failed on %s", change)

    async def key(self, community_id: int, name: str | None = None) -> EventKey:
        """The key of an event. Errors: InputError without a current event."""
        key = EventKey.of(name) if name else await self.choices.event(community_id)
        if key is None:
            raise no_event()
        return key

    async def kept(self, community_id: int, name: str | None = None) -> Kept:
        """An event as it stands. Errors: InputError where there is none of that name."""
        key = await self.key(community_id, name)
        found = await self.db.read(lambda connection: kept_event(connection, community_id, key))
        return found or await self.db.read(lambda connection: _absent(connection, community_id))


def _absent(connection: Connection, community_id: int) -> Kept:
    names = event_names(connection, community_id)
    if not names:
        raise no_event()
    raise InputError(
        f"There is no event of this name; the book has {'; '.join(names[:5])}.",
        f"/event use event:{names[0]}",
    )


def no_event() -> InputError:
    """What is said where no event was ever loaded."""
    return InputError(
        "There is no cup here yet; a coach begins one in a form, or loads its file.", "/event new"
    )


def hole_of(event: Event, number: int) -> Hole:
    """A hole of an event. Errors: InputError for a number it lacks."""
    hole = event.hole(number)
    if hole is None:
        raise InputError(
            f"The event has {event.hole_words}.", f"hole {event.holes[-1].number}", str(number)
        )
    return hole


def named(names: Sequence[str], typed: str) -> str | None:
    """The name meant by what was typed, whatever its case and blanks; None where it is none."""
    folded = " ".join(typed.casefold().split())
    return next((name for name in names if name.casefold() == folded), None)


def require_named(names: Sequence[str], typed: str, noun: str) -> str:
    """``named``, or an InputError that lists the names."""
    found = named(names, typed)
    if found is None:
        has = ", ".join(names)
        raise InputError(f"The event has no {noun} of this name; it has {has}.", names[0], typed)
    return found
