"""The book in the database: an event is its frame, its holes and its lines, each with revisions.

All functions take a connection, so that a change reads what it builds on in its own transaction.
A body is JSON; an empty one says that what stood under the key has been removed.
"""

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from pydantic import ValidationError
from sqlalchemy import Connection, select

from shared.book import Event, Line, Title
from shared.errors import StorageError
from shared.model import Model
from storage.revisions import Draft, Revision, latest_of_kind, latest_revision
from storage.schema import revisions

EVENT, HOLE, LINE = "event", "hole", "line"
REMOVED = ""


class Frame(Model):
    """What an event says beside its holes."""

    name: Title
    divisions: tuple[Title, ...]
    rounds: tuple[Title, ...]


@dataclass(frozen=True)
class Kept:
    """An event as it stands, with the newest revision of each of its keys."""

    key: str
    event: Event
    revisions: dict[tuple[str, str], Revision]

    def revision(self, kind: str, key: str) -> Revision | None:
        """The newest revision of one of its keys."""
        return self.revisions.get((kind, key))


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


def event_key(name: str) -> str:
    """The key of an event: readable, and the same for a name in capitals."""
    folded = " ".join(name.casefold().split())
    slug = re.sub(r"[^a-z0-9]+", "-", folded).strip("-")[:40]
    return f"{slug}-{hashlib.sha256(folded.encode()).hexdigest()[:10]}"


def hole_key(event: str, number: int) -> str:
    """The key of a hole of the event with that key."""
    return f"{event}/{number:02d}"


def line_key(event: str, number: int, variant: str) -> str:
    """The key of a line."""
    return f"{hole_key(event, number)}/{variant}"


def body_of(model: Model) -> str:
    """A model as a body; defaults are left out so that a new one changes no old body."""
    return json.dumps(model.model_dump(mode="json", exclude_defaults=True), ensure_ascii=False)


def drafts_of(event: Event, key: str) -> list[Draft]:
    """Everything an event consists of, to go on top of whatever is there."""
    frame = Frame(name=event.name, divisions=event.divisions, rounds=event.rounds)
    drafts = [Draft(EVENT, key, body_of(frame))]
    for hole in event.holes:
        bare = hole.model_copy(update={"lines": ()})
        drafts.append(Draft(HOLE, hole_key(key, hole.number), body_of(bare)))
        drafts += [
            Draft(LINE, line_key(key, hole.number, line.variant), body_of(line))
            for line in hole.lines
        ]
    return drafts


def kept_event(connection: Connection, community_id: int, key: str) -> Kept | None:
    """The event of that key, or None. Raises StorageError for one that can't be understood."""
    frame = latest_revision(connection, community_id, EVENT, key)
    if frame is None:
        return None
    holes = latest_of_kind(connection, community_id, HOLE, f"{key}/")
    lines = latest_of_kind(connection, community_id, LINE, f"{key}/")
    every = [frame, *holes, *lines]
    try:
        event = _assembled(frame, _standing(holes), _standing(lines))
    except (ValidationError, ValueError) as error:
        raise StorageError(f"the event kept as {key} can't be understood") from error
    return Kept(key, event, {(each.kind, each.key): each for each in every})


def event_names(connection: Connection, community_id: int) -> list[str]:
    """The events of a community, the one changed last first."""
    found = latest_of_kind(connection, community_id, EVENT)
    found.sort(key=lambda revision: revision.created_at, reverse=True)
    return [Frame.model_validate_json(revision.body).name for revision in found]


def communities(connection: Connection) -> list[int]:
    """The communities that have an event."""
    c = revisions.c
    query = select(c.community_id).where(c.kind == EVENT).distinct().order_by(c.community_id)
    return list(connection.execute(query).scalars())


def kept_line(revision: Revision) -> KeptLine:
    """A revision of a line as what it says."""
    hole, variant = revision.key.split("/")[-2:]
    return KeptLine(
        hole=int(hole),
        variant=variant,
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
    by_hole: dict[str, list[Line]] = {}
    for revision in lines:
        hole = revision.key.rpartition("/")[0]
        by_hole.setdefault(hole, []).append(Line.model_validate_json(revision.body))
    full = [
        {**json.loads(revision.body), "lines": by_hole.get(revision.key, [])} for revision in holes
    ]
    return Event.model_validate({**json.loads(frame.body), "holes": full})
