"""From what a file of an event was made: its time and the last revision it knew, as its stamp."""

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Self

from sqlalchemy import Connection

from bot.services.book.stored import Kept
from shared.keys import EventKey
from storage.revisions import Revision, revision_by_id

_EXPORTED = re.compile(r"^\s*# exported (\S+)\s*$", re.MULTILINE)
_REVISION = re.compile(r"^\s*# revision (\d{1,18}) of (\S+)\s*$", re.MULTILINE)
LONGEST_STAMP = 400  # characters from the start of a file


@dataclass(frozen=True)
class Made:
    """When a file was made and, where it says so, the last revision it knew with its time.

    A revision that this book doesn't have says nothing here: the file comes from another server,
    and its time alone counts. Files exported before revisions were named have a time alone.
    """

    at: datetime | None = None
    revision: int | None = None
    revised: datetime | None = None

    @classmethod
    def read(cls, text: str) -> Self:
        """What a file says of itself; nothing where it says nothing."""
        start = text[:LONGEST_STAMP]
        exported, revision = _EXPORTED.search(start), _REVISION.search(start)
        revised = _time(revision[2]) if revision else None
        number = int(revision[1]) if revision and revised is not None else None
        return cls(_time(exported[1]) if exported else None, number, revised)

    @classmethod
    def of(cls, kept: Kept, at: datetime) -> Self:
        """What is to be said of a file made from ``kept`` at a time."""
        last = max(kept.revisions.values(), key=lambda revision: revision.id)
        return cls(at, last.id, last.created_at)

    @property
    def stamp(self) -> str:
        """As the first lines of a file."""
        said = f"# exported {self.at.isoformat()}\n" if self.at is not None else ""
        if self.revision is not None and self.revised is not None:
            said += f"# revision {self.revision} of {self.revised.isoformat()}\n"
        return said

    def here(self, connection: Connection, community_id: int, event: EventKey) -> "Made":
        """The same, without a revision that is not this event's in this book."""
        if self.revision is None:
            return self
        known = revision_by_id(connection, community_id, self.revision)
        ours = known is not None and (known.key == str(event) or known.key.startswith(event.prefix))
        same = known is not None and known.created_at == self.revised
        return self if ours and same else Made(self.at)

    def before(self, revision: Revision) -> bool:
        """Whether a revision came after the file was made; False where the file doesn't say."""
        if self.revision is not None:
            return revision.id > self.revision
        return self.at is not None and revision.created_at > self.at


def _time(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return at if at.tzinfo is not None else None
