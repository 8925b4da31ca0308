"""The book in the database: an event is its frame, its holes and its lines, each with revisions.

All functions take a connection, so that a change reads what it builds on in its own transaction.
A body is JSON; an empty one says that what stood under the key has been removed.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from pydantic import ValidationError
from sqlalchemy import Connection, select

from shared.book import Event, Line, RoundStart, Title
from shared.errors import StorageError
from shared.keys import BookKey, EventKey, HoleKey, LineKey
from shared.model import Model
from shared.units import UnitSystem
from storage.revisions import Draft, Revision, latest_of_kind, latest_revision
from storage.schema import revisions

REMOVED = ""


class Frame(Model):
    """What an event says beside its holes."""

    name: Title
    divisions: tuple[Title, ...]
    rounds: tuple[Title, ...]
    units: UnitSystem = "yards"
    starts: tuple[RoundStart, ...] = ()

    @classmethod
    def of(cls, event: Event) -> "Frame":
        """The frame of an event."""
        return cls.model_validate({name: getattr(event, name) for name in cls.model_fields})


@dataclass(frozen=True)
class Kept:
    """An event as it stands, with the newest revision of each of its keys."""

    key: EventKey
    event: Event
    revisions: dict[tuple[str, str], Revision]

    def revision(self, key: BookKey) -> Revision | None:
        """The newest revision of one of its keys."""
        return self.revisions.get((key.kind, str(key)))


@dataclass(frozen=True)
class KeptLine:
    """One revision of a line; ``line`` is None where it had been removed."""

    hole: int
    variant: str
    line: Line | None
    revision: int
    author_id: int | None
    author_name: str | None
    reason: str
    at: datetime


def body_of(model: Model) -> str:
    """A model as a body; defaults are left out so that a new one changes no old body."""
    return json.dumps(model.model_dump(mode="json", exclude_defaults=True), ensure_ascii=False)


def draft_at(key: BookKey, model: Model) -> Draft:
    """A model to be kept under a key, on top of whatever is there."""
    return Draft(key.kind, str(key), body_of(model))


def drafts_of(event: Event) -> list[Draft]:
    """Everything an event consists of, to go on top of whatever is there."""
    drafts = [draft_at(event.key, Frame.of(event))]
    for key, hole in zip(event.hole_keys, event.holes, strict=True):
        drafts.append(draft_at(key, hole.model_copy(update={"lines": ()})))
        drafts += [draft_at(key.line(line.variant), line) for line in hole.lines]
    return drafts


def kept_event(connection: Connection, community_id: int, key: EventKey) -> Kept | None:
    """The event of that key, or None. Raises StorageError for one that can't be understood."""
    frame = latest_revision(connection, community_id, key.kind, str(key))
    if frame is None or frame.body == REMOVED:
        return None
    holes = latest_of_kind(connection, community_id, HoleKey.kind, key.prefix)
    lines = latest_of_kind(connection, community_id, LineKey.kind, key.prefix)
    every = [frame, *holes, *lines]
    try:
        event = _assembled(frame, _standing(holes), _standing(lines))
    except (ValidationError, ValueError) as error:
        raise StorageError(f"the event kept as {key} can't be understood") from error
    return Kept(key, event, {(each.kind, each.key): each for each in every})


def event_names(connection: Connection, community_id: int) -> list[str]:
    """The events of a community, the one changed last first."""
    found = latest_of_kind(connection, community_id, EventKey.kind)
    found = _standing(found)
    found.sort(key=lambda revision: revision.created_at, reverse=True)
    return [Frame.model_validate_json(revision.body).name for revision in found]


def communities(connection: Connection) -> list[int]:
    """The communities that have an event."""
    c = revisions.c
    query = (
        select(c.community_id).where(c.kind == EventKey.kind).distinct().order_by(c.community_id)
    )
    return list(connection.execute(query).scalars())


def kept_line(revision: Revision) -> KeptLine:
    """A revision of a line as what it says."""
    key = LineKey.parse(revision.key)
    return KeptLine(
        hole=key.hole.number,
        variant=key.variant,
        line=Line.model_validate_json(revision.body) if revision.body != REMOVED else None,
        revision=revision.number,
        author_id=revision.author_id,
        author_name=revision.author_name,
        reason=revision.reason,
        at=revision.created_at,
    )


def _standing(revisions: Iterable[Revision]) -> list[Revision]:
    return [revision for revision in revisions if revision.body != REMOVED]


def _assembled(frame: Revision, holes: list[Revision], lines: list[Revision]) -> Event:
    by_hole: dict[HoleKey, list[Line]] = {}
    for revision in lines:
        line = Line.model_validate_json(revision.body)
        by_hole.setdefault(LineKey.parse(revision.key).hole, []).append(line)
    full = [
        {**json.loads(revision.body), "lines": by_hole.get(HoleKey.parse(revision.key), [])}
        for revision in holes
    ]
    return Event.model_validate({**json.loads(frame.body), "holes": full})
