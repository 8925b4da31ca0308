"""Lines of the book: adding, changing, their history, bringing one back. Knows no Discord."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from bot.services.book.check import require_line
from bot.services.book.events import EventStore, hole_of
from bot.services.book.stored import (
    REMOVED,
    Kept,
    KeptLine,
    body_of,
    draft_at,
    kept_line,
)
from bot.services.members import Caddies
from shared.actor import Author
from shared.book import MOST_LINES, Event, Line, Status
from shared.errors import InputError
from shared.keys import LineKey, is_variant
from storage.revisions import RevisionConflict, Revisions, append_revision, latest_of_kind

Also = Callable[[Connection, LineKey], None]
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass
class LineConflictError(InputError):
    """Somebody changed the line meanwhile: ``newest`` is theirs, ``unsaved`` was not kept."""

    newest: KeptLine | None = None
    unsaved: Line | None = None


class Lines:
    """The lines of every community's events; ``event`` is a name, None the current event."""

    def __init__(self, *, events: EventStore, kits: Caddies) -> None:
        self._events = events
        self._kits = kits
        self._revisions = Revisions(events.db)

    async def get(
        self, community_id: int, number: int, variant: str, event: str | None = None
    ) -> KeptLine:
        """A line with the revision it stands in. Errors: InputError where there is none."""
        kept = await self._events.kept(community_id, event)
        key = _key(kept, number, variant)
        revision = kept.revision(key)
        if revision is None or revision.body == REMOVED:
            raise _no_line(kept.event, number, key.variant)
        return kept_line(revision)

    async def history(
        self, community_id: int, number: int, variant: str, event: str | None = None
    ) -> list[KeptLine]:
        """The last 50 revisions of a line, newest first, also of one that has been removed."""
        kept = await self._events.kept(community_id, event)
        key = _key(kept, number, variant)
        found = await self._revisions.history(community_id, key.kind, str(key))
        if not found:
            raise _no_line(kept.event, number, key.variant)
        return [kept_line(revision) for revision in found]

    async def add(
        self,
        community_id: int,
        number: int,
        line: Line,
        *,
        author: Author,
        event: str | None = None,
        also: Also | None = None,
    ) -> KeptLine:
        """Keep a new line under the hole's next free letter, whatever letter ``line`` has.

        ``also`` happens in the same transaction, told the line's key.
        Errors: InputError for what the kit or the event lacks, and for a hole with 26 lines.
        """
        kept = await self._events.kept(community_id, event)
        await self._check(community_id, kept.event, number, line)
        key, now = kept.key.hole(number), self._events.db.now()

        def fn(connection: Connection) -> KeptLine:
            ever = latest_of_kind(connection, community_id, LineKey.kind, key.prefix)
            taken = {LineKey.parse(revision.key).variant for revision in ever}
            letter = next((each for each in LETTERS if each not in taken), None)
            if letter is None:
                raise InputError(
                    f"Hole {number} has had {MOST_LINES} lines; change or bring back one of them.",
                    f"/line edit hole:{number} line:A",
                )
            lettered = line.model_copy(update={"variant": letter})
            draft = replace(draft_at(key.line(letter), lettered), based_on=None)
            revision = append_revision(
                connection, community_id, draft, author=author, reason="added", at=now
            )
            if also is not None:
                also(connection, key.line(letter))
            return kept_line(revision)

        added = await self._events.db.write(fn)
        self._events.tell_of(community_id, kept.event, [number])
        return added

    async def save(
        self,
        community_id: int,
        number: int,
        line: Line,
        *,
        author: Author,
        based_on: int,
        reason: str = "edited",
        event: str | None = None,
    ) -> KeptLine:
        """Keep a changed line; ``based_on`` is the revision its author had before their eyes.

        Errors: LineConflictError with both texts when that is not the newest any more; InputError
        for what the kit or the event lacks.
        """
        kept = await self._events.kept(community_id, event)
        await self._check(community_id, kept.event, number, line)
        key = kept.key.hole(number).line(line.variant)
        try:
            revision = await self._revisions.append(
                community_id,
                key.kind,
                str(key),
                body_of(line),
                author=author,
                based_on=based_on,
                reason=reason,
            )
        except RevisionConflict as conflict:
            raise _conflict(conflict, number, line) from conflict
        self._events.tell_of(community_id, kept.event, [number])
        return kept_line(revision)

    async def set_status(
        self,
        community_id: int,
        number: int,
        variant: str,
        status: Status,
        *,
        author: Author,
        event: str | None = None,
    ) -> KeptLine:
        """Give a line another status, on top of whatever its text is by now."""
        while True:
            now = await self.get(community_id, number, variant, event)
            assert now.line is not None
            try:
                return await self.save(
                    community_id,
                    number,
                    now.line.model_copy(update={"status": status}),
                    author=author,
                    based_on=now.revision,
                    reason=f"status {status}",
                    event=event,
                )
            except LineConflictError:
                continue  # somebody was quicker: give their text the status

    async def bring_back(
        self,
        community_id: int,
        number: int,
        variant: str,
        revision: int,
        *,
        author: Author,
        event: str | None = None,
    ) -> KeptLine:
        """Keep an old revision as the newest. Errors: InputError where there is none of it."""
        for old in await self.history(community_id, number, variant, event):
            if old.revision == revision and old.line is not None:
                break
        else:
            raise InputError(
                f"Line {number}{variant} has no revision {revision} to bring back.",
                f"/line history hole:{number} line:{variant}",
            )
        kept = await self._events.kept(community_id, event)
        await self._check(community_id, kept.event, number, old.line)
        key = kept.key.hole(number).line(old.variant)
        back = await self._revisions.bring_back(
            community_id, key.kind, str(key), revision, author=author
        )
        self._events.tell_of(community_id, kept.event, [number])
        return kept_line(back)

    async def _check(self, community_id: int, event: Event, number: int, line: Line) -> None:
        hole = hole_of(event, number)
        for division in line.divisions:
            if division not in event.divisions:
                raise InputError(
                    f"The event has no division {division}: {', '.join(event.divisions)}.",
                    event.divisions[0],
                    division,
                )
        kit = (await self._kits.caddie(community_id)).kit
        require_line(line, kit=kit, bearing_deg=hole.bearing_deg)


def _key(kept: Kept, number: int, typed: str) -> LineKey:
    """The key of a line by what was typed. Errors: InputError for what can be no line."""
    hole_of(kept.event, number)
    letter = typed.strip().upper()
    if not is_variant(letter):
        raise _no_line(kept.event, number, letter)
    return kept.key.hole(number).line(letter)


def _no_line(event: Event, number: int, variant: str) -> InputError:
    hole = hole_of(event, number)
    letters = ", ".join(line.variant for line in hole.lines)
    has = f"it has {letters}" if letters else "it has none yet"
    example = f"/line add hole:{number}" if not letters else f"hole:{number} line:{letters[0]}"
    return InputError(f"Hole {number} has no such line; {has}.", example, variant)


def _conflict(conflict: RevisionConflict, number: int, line: Line) -> LineConflictError:
    newest = kept_line(conflict.newest) if conflict.newest else None
    who = (newest.author_name if newest else None) or "Somebody"
    return LineConflictError(
        f"{who} changed line {number}{line.variant} while you wrote; yours is not saved yet.",
        "press Save mine over it, or change it first",
        newest=newest,
        unsaved=line,
    )
