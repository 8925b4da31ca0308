"""Writing a line: from what a coach typed to a card, and from the card into the book.

Knows no Discord.
"""

import asyncio
from dataclasses import dataclass

from pydantic import TypeAdapter, ValidationError

from bot.services.book.book import Book
from bot.services.book.doubts import line_doubts
from bot.services.book.drafts import DraftReader, Drafts, LineDraft, draft_from, new_token
from bot.services.book.lines import LineConflictError
from bot.services.book.reading import LineReading, read_through
from bot.services.book.stored import KeptLine
from bot.services.members import BagCache, Caddies
from shared.actor import Actor
from shared.book import Event, Hole, Line, Status, Title
from shared.errors import InputError
from shared.units import UnitSystem

_TITLE: TypeAdapter[str] = TypeAdapter(Title)


@dataclass(frozen=True)
class Shown:
    """A line to be shown: with what the engine makes of it, in its reader's units."""

    hole: Hole
    reading: LineReading
    units: UnitSystem
    mark: str


@dataclass(frozen=True)
class Preview:
    """A draft that can be saved, read back."""

    draft: LineDraft
    shown: Shown
    doubts: tuple[str, ...] = ()


class LineService:
    """Lines for the coaches' commands."""

    def __init__(self, *, book: Book, drafts: Drafts, kits: Caddies, bags: BagCache) -> None:
        self.book = book
        self._drafts = drafts
        self._kits = kits
        self._bags = bags
        self._saving = asyncio.Lock()  # a button pressed twice saves once

    async def begin(self, coach: Actor, *, hole: int, title: str) -> tuple[LineDraft, Event]:
        """A new line's draft, its wind that of the hole for the coach's division now."""
        title = _checked_title(title)
        event, round_ = await self.book.current(coach.community_id)
        found = await self.book.hole(coach.community_id, hole, event.name)
        division = await self.book.division_of(coach.community_id, coach.member_id)
        wind = found.wind(division=division or event.divisions[0], round_=round_)
        draft = LineDraft(
            token=new_token(),
            event=event.name,
            hole=hole,
            author=coach.name,
            title=title,
            wind=wind or "",
        )
        return draft, event

    async def change(
        self, coach: Actor, *, hole: int, variant: str, title: str | None
    ) -> tuple[LineDraft, Event]:
        """A draft of a line that stands; ``title`` None keeps its title."""
        title = None if title is None else _checked_title(title)
        event = await self.book.event(coach.community_id)
        kept = await self.book.lines.get(coach.community_id, hole, variant, event.name)
        draft = draft_from(kept, event=event.name, mark=await self.mark(coach))
        return (draft if title is None else draft.model_copy(update={"title": title})), event

    async def example_row(self, coach: Actor) -> str:
        """A right row of a form, for the coach's kit and units."""
        caddie = await self._kits.caddie(coach.community_id)
        bag = await self._bags.get(coach.community_id, coach.member_id)
        return DraftReader(kit=caddie.kit, bearing_deg=None, bag=bag).rows.example_row

    async def mark(self, coach: Actor) -> str:
        """What the community's kit calls a mark."""
        return (await self._kits.caddie(coach.community_id)).kit.mark.name

    async def again(self, coach: Actor, token: str) -> tuple[LineDraft, Event]:
        """A waiting draft, to be changed. Errors: InputError where it waits no more."""
        draft = await self._drafts.get(coach.community_id, coach.member_id, token)
        return draft, await self.book.event(coach.community_id, draft.event)

    async def wait(self, coach: Actor, draft: LineDraft) -> None:
        """Keep a draft waiting, so that its form is understood after a restart too."""
        await self._drafts.put(coach.community_id, coach.member_id, draft)

    async def preview(self, coach: Actor, draft: LineDraft) -> Preview:
        """Keep the draft waiting and read it back.

        Errors: RowsError and InputError for what can't be read; the draft waits all the same.
        """
        await self._drafts.put(coach.community_id, coach.member_id, draft)
        hole = await self.book.hole(coach.community_id, draft.hole, draft.event)
        reader = await self._reader(coach, hole)
        line = await asyncio.to_thread(reader.line, draft)
        shown = await self._shown(coach, hole, line)
        others = [each for each in hole.in_use if each.variant != draft.variant]
        return Preview(draft, shown, tuple(line_doubts(shown.reading, hole, others)))

    async def save(self, coach: Actor, token: str) -> tuple[KeptLine, Shown]:
        """Put a waiting draft into the book; it waits no more.

        Errors: LineConflictError where somebody was quicker, and then the draft is set to go on
        top of theirs when it is saved once more; those of ``preview``.
        """
        async with self._saving:
            return await self._save(coach, token)

    async def _save(self, coach: Actor, token: str) -> tuple[KeptLine, Shown]:
        draft = await self._drafts.get(coach.community_id, coach.member_id, token)
        hole = await self.book.hole(coach.community_id, draft.hole, draft.event)
        reader = await self._reader(coach, hole)
        line = await asyncio.to_thread(reader.line, draft)
        lines = self.book.lines
        try:
            if draft.variant is None:
                kept = await lines.add(
                    coach.community_id, draft.hole, line, author=coach.author, event=draft.event
                )
            else:
                kept = await lines.save(
                    coach.community_id,
                    draft.hole,
                    line,
                    author=coach.author,
                    based_on=draft.based_on or 0,
                    event=draft.event,
                )
        except LineConflictError as conflict:
            newest = conflict.newest.revision if conflict.newest else None
            await self._drafts.put(
                coach.community_id,
                coach.member_id,
                draft.model_copy(update={"based_on": newest}),
            )
            raise
        await self._drafts.drop(coach.community_id, coach.member_id, token)
        assert kept.line is not None
        return kept, await self._shown(coach, hole, kept.line)

    async def give_up(self, coach: Actor, token: str) -> LineDraft:
        """Forget a waiting draft; it comes back so that its text can be shown once more."""
        draft = await self._drafts.get(coach.community_id, coach.member_id, token)
        await self._drafts.drop(coach.community_id, coach.member_id, token)
        return draft

    async def show(self, coach: Actor, *, hole: int, variant: str) -> tuple[KeptLine, Shown]:
        """A line of the current event as it stands."""
        kept = await self.book.lines.get(coach.community_id, hole, variant)
        assert kept.line is not None
        found = await self.book.hole(coach.community_id, hole)
        return kept, await self._shown(coach, found, kept.line)

    async def set_status(
        self, coach: Actor, *, hole: int, variant: str, status: Status
    ) -> KeptLine:
        """Give a line of the current event another status."""
        return await self.book.lines.set_status(
            coach.community_id, hole, variant, status, author=coach.author
        )

    async def _reader(self, coach: Actor, hole: Hole) -> DraftReader:
        caddie = await self._kits.caddie(coach.community_id)
        bag = await self._bags.get(coach.community_id, coach.member_id)
        return DraftReader(kit=caddie.kit, bearing_deg=hole.bearing_deg, bag=bag)

    async def _shown(self, coach: Actor, hole: Hole, line: Line) -> Shown:
        caddie = await self._kits.caddie(coach.community_id)
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        reading = await asyncio.to_thread(
            read_through, caddie=caddie, line=line, bearing_deg=hole.bearing_deg, units=units
        )
        return Shown(hole, reading, units, caddie.kit.mark.name)


def _checked_title(title: str) -> str:
    """A line's title, or an InputError that says what one is; nothing stays nothing."""
    if not title.strip():
        return ""
    try:
        return _TITLE.validate_python(title)
    except ValidationError as error:
        raise InputError(
            "A title has at most 60 characters that can be seen.", "over the bunker", title
        ) from error
