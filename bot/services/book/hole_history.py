"""What became of a hole's facts and winds, and bringing an earlier state back. No Discord."""

from dataclasses import dataclass
from datetime import datetime

from pydantic import ValidationError
from sqlalchemy import Connection

from bot.services.book.events import EventStore, hole_of
from bot.services.book.hole_rows import hole_row
from bot.services.book.stored import REMOVED, kept_event
from shared.actor import Author
from shared.book import Event, Hole
from shared.errors import InputError
from storage.revisions import Draft, Revision, Revisions, append_revision, revision_at


@dataclass(frozen=True)
class HoleRevision:
    """One revision of a hole, and what it changed; ``hole`` is None where it had been removed."""

    number: int
    hole: Hole | None
    author_name: str | None
    at: datetime
    changed: tuple[str, ...]


class HoleHistory:
    """Earlier states of the holes of every community's events."""

    def __init__(self, events: EventStore) -> None:
        self._events = events
        self._revisions = Revisions(events.db)

    async def of(
        self, community_id: int, number: int, event: str | None = None
    ) -> tuple[Event, list[HoleRevision]]:
        """The last 50 revisions, newest first. Errors: InputError for a hole the event lacks."""
        kept = await self._events.kept(community_id, event)
        hole_of(kept.event, number)
        key = kept.key.hole(number)
        found = await self._revisions.history(community_id, key.kind, str(key))
        holes = [_hole(each) for each in found]
        before = [*holes[1:], None]
        return kept.event, [
            HoleRevision(
                each.number, hole, each.author_name, each.created_at, _changed(hole, was, each)
            )
            for each, hole, was in zip(found, holes, before, strict=True)
        ]

    async def bring_back(
        self, community_id: int, number: int, revision: int, *, event: str, author: Author
    ) -> Hole:
        """Keep an old state as the newest; lines stay as they are.

        Errors: InputError where there is none, or where the event has lost a division or round.
        """
        kept = await self._events.kept(community_id, event)
        key, now = kept.key.hole(number), self._events.db.now()

        def fn(connection: Connection) -> Hole | None:
            old = revision_at(connection, community_id, key.kind, str(key), revision)
            stands = kept_event(connection, community_id, kept.key)
            hole = None if old is None else _hole(old)
            if old is None or hole is None or stands is None:
                return None
            _require_fit(stands.event, hole)
            reason = f"brought back revision {revision}"
            draft = Draft(key.kind, str(key), old.body)
            append_revision(connection, community_id, draft, author=author, reason=reason, at=now)
            return hole

        hole = await self._events.db.write(fn)
        if hole is None:
            raise InputError(
                f"Hole {number} has no revision {revision}.", f"/cup history hole:{number}"
            )
        self._events.tell_of(community_id, kept.event, [number])
        return hole


def _require_fit(event: Event, hole: Hole) -> None:
    """Refuse a hole that names what its event lacks by now."""
    own = event.hole(hole.number)
    lines = own.lines if own else ()
    holes = [each for each in event.holes if each.number != hole.number]
    whole = event.model_copy(update={"holes": (*holes, hole.model_copy(update={"lines": lines}))})
    try:
        Event.model_validate(whole.model_dump())
    except ValidationError as error:
        said = error.errors()[0]["msg"].removeprefix("Value error, ")
        raise InputError(
            f"It can't come back: {said}.", f"/cup history hole:{hole.number}"
        ) from error


def _hole(revision: Revision) -> Hole | None:
    return None if revision.body == REMOVED else Hole.model_validate_json(revision.body)


def _changed(now: Hole | None, then: Hole | None, revision: Revision) -> tuple[str, ...]:
    """What a revision changed, a row each: the facts as a row, then each wind."""
    if now is None:
        return ("removed",)
    if then is None:
        return (revision.reason or "added",)
    said: list[str] = []
    if hole_row(now) != hole_row(then):
        said.append(f"{hole_row(then)} → {hole_row(now)}")
    was = {(wind.division, wind.round): wind.wind for wind in then.winds}
    is_ = {(wind.division, wind.round): wind.wind for wind in now.winds}
    for division, round_ in dict.fromkeys((*was, *is_)):
        old, new = was.get((division, round_)), is_.get((division, round_))
        if old != new:
            said.append(f"{division}, {round_}: {old or 'not known'} → {new or 'not known'}")
    return tuple(said) or (revision.reason or "as before",)
