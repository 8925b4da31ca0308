"""Lines of the book: adding, changing, their history, bringing one back. Knows no Discord."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from bot.services.book.check import require_line
from bot.services.book.events import EventStore, hole_of
from bot.services.book.pasted import NewLine
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
from shared.book import MOST_LETTERS, Event, Hole, Line, Status
from shared.errors import InputError
from shared.keys import MOST_SHARED, HoleKey, LineKey, is_shared, is_variant
from storage.moved_line import move_line
from storage.revisions import (
    Draft,
    RevisionConflict,
    Revisions,
    append_revision,
    append_revisions,
    latest_of_kind,
    latest_revision,
)

Also = Callable[[Connection, LineKey], None]
TAKEN_IN: Collection[Status] = ("tested", "recommended")  # what a shared line gets a letter for
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
        shared: bool = False,
        also: Also | None = None,
    ) -> KeptLine:
        """Keep a new line under the hole's next free letter, whatever letter ``line`` has.

        A ``shared`` one takes a number instead: letters are the coach's. ``also`` happens in the
        same transaction, told the line's key.
        Errors: InputError for what the kit or the event lacks, and for a hole with 26 lines.
        """
        kept = await self._events.kept(community_id, event)
        await self._check(community_id, kept.event, number, line)
        key, now = kept.key.hole(number), self._events.db.now()

        def fn(connection: Connection) -> KeptLine:
            taken = _taken(connection, community_id, key)
            letter = next_shared(number, taken) if shared else next_letter(number, taken)
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

    async def add_many(
        self,
        community_id: int,
        new: Sequence[NewLine],
        *,
        author: Author,
        event: str | None = None,
    ) -> list[KeptLine]:
        """Keep many new lines, all or nothing, each under its wanted letter where that is free.

        Errors: those of ``add``.
        """
        kept = await self._events.kept(community_id, event)
        for each in new:
            await self._check(community_id, kept.event, each.hole, each.line)
        now = self._events.db.now()

        def fn(connection: Connection) -> list[KeptLine]:
            holes = {each.hole: kept.key.hole(each.hole) for each in new}
            taken = {n: _taken(connection, community_id, key) for n, key in holes.items()}
            drafts: list[Draft] = []
            for each in new:
                letter = next_letter(each.hole, taken[each.hole], each.wanted)
                taken[each.hole].add(letter)
                lettered = each.line.model_copy(update={"variant": letter})
                draft = draft_at(holes[each.hole].line(letter), lettered)
                drafts.append(replace(draft, based_on=None))
            found = append_revisions(
                connection, community_id, drafts, author=author, reason="added", at=now
            )
            return [kept_line(revision) for revision in found]

        added = await self._events.db.write(fn)
        self._events.tell_of(community_id, kept.event, sorted({each.hole for each in new}))
        return added

    async def letters(self, community_id: int, event: str | None = None) -> dict[int, set[str]]:
        """The letters that a line ever had, by hole."""
        kept = await self._events.kept(community_id, event)

        def fn(connection: Connection) -> dict[int, set[str]]:
            return {
                hole.number: _taken(connection, community_id, kept.key.hole(hole.number))
                for hole in kept.event.holes
            }

        return await self._events.db.read(fn)

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
        if is_shared(line.variant) and line.status in TAKEN_IN:
            return await self.take_in(community_id, number, line, author=author, event=event)
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
        tested: dict[str, object] = {"copied": None} if status == "tested" else {}
        if status in TAKEN_IN:
            tested["waiting"] = False
        while True:
            now = await self.get(community_id, number, variant, event)
            assert now.line is not None
            try:
                return await self.save(
                    community_id,
                    number,
                    now.line.model_copy(update={"status": status, **tested}),
                    author=author,
                    based_on=now.revision,
                    reason=f"status {status}",
                    event=event,
                )
            except LineConflictError:
                continue  # somebody was quicker: give their text the status

    async def take_in(
        self,
        community_id: int,
        number: int,
        line: Line,
        *,
        author: Author,
        event: str | None = None,
    ) -> KeptLine:
        """Give a shared line the hole's next free letter; its results and message come along.

        Errors: InputError where it was taken in already, and for a hole with 26 lines.
        """
        kept = await self._events.kept(community_id, event)
        key, now = kept.key.hole(number), self._events.db.now()
        old = key.line(line.variant)

        def fn(connection: Connection) -> KeptLine | None:
            before = latest_revision(connection, community_id, old.kind, str(old))
            if before is None or before.body == REMOVED:
                return None
            letter = next_letter(number, _taken(connection, community_id, key))
            update = {"variant": letter, "shared_as": line.variant, "waiting": False}
            new = draft_at(key.line(letter), line.model_copy(update=update))
            found = append_revisions(
                connection,
                community_id,
                [replace(new, based_on=None), Draft(old.kind, str(old), REMOVED)],
                author=author,
                reason=f"taken in from {line.variant}",
                at=now,
            )
            move_line(connection, community_id, old, key.line(letter))
            return kept_line(found[0])

        taken = await self._events.db.write(fn)
        if taken is None:
            raise InputError("This line was taken in already.", f"hole:{number}", line.variant)
        self._events.tell_of(community_id, kept.event, [number])
        return taken

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
                f"/cup history hole:{number} line:{variant}",
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


def next_letter(number: int, taken: Collection[str], wanted: str = "") -> str:
    """The letter of a hole's next line: the wanted one where it is free.

    Errors: InputError for a hole that has had 26 lines.
    """
    free = [each for each in LETTERS if each not in taken]
    if not free:
        raise InputError(
            f"Hole {number} has had {MOST_LETTERS} lines; change or bring back one of them.",
            f"/line edit hole:{number} line:A",
        )
    return wanted if wanted in free else free[0]


def next_shared(number: int, taken: Collection[str]) -> str:
    """The name of a hole's next shared line. Errors: InputError for a hole that has had 99."""
    free = [name for name in map("S{}".format, range(1, MOST_SHARED + 1)) if name not in taken]
    if not free:
        raise InputError(
            f"Hole {number} has had {MOST_SHARED} shared lines; no more can be shared.",
            f"/share hole:{number + 1}",
        )
    return free[0]


def _taken(connection: Connection, community_id: int, hole: HoleKey) -> set[str]:
    """The letters that a line of a hole ever had."""
    ever = latest_of_kind(connection, community_id, LineKey.kind, hole.prefix)
    return {LineKey.parse(revision.key).variant for revision in ever}


def _key(kept: Kept, number: int, typed: str) -> LineKey:
    """The key of a line by what was typed. Errors: InputError for what can be no line."""
    hole = hole_of(kept.event, number)
    letter = typed.strip().upper()
    if not is_variant(letter):
        raise _no_line(kept.event, number, letter)
    return kept.key.hole(number).line(_now(hole, letter))


def _now(hole: Hole, letter: str) -> str:
    """What a line is named now: one that was taken in had another name before."""
    found = hole.line(letter)
    return letter if found is None else found.variant


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
