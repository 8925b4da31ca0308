"""Many lines at once: typed one a row, or copied. Read, doubted, then kept together. No Discord."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass

from bot.services.book.book import Book
from bot.services.book.doubts import line_doubts
from bot.services.book.drafts import DraftReader, new_token
from bot.services.book.events import hole_of, require_named
from bot.services.book.lines import next_letter
from bot.services.book.pasted import NewLine, PastedReader
from bot.services.book.reading import read_through
from bot.services.book.stored import KeptLine
from bot.services.caddie.adapt import AdaptedLine, Case, adapt, read_line, read_wind
from bot.services.caddie.caddie import Caddie
from bot.services.members import BagCache, Caddies
from shared.actor import Actor
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import InputError, LeewardError
from shared.kit import Kit
from shared.model import Model
from shared.quantities import Wind
from shared.shot_text import format_shot, parse
from shared.shot_text.write import wind_text
from shared.units import UnitSystem
from storage.drafts import Drafts as KeptDrafts


class _Entry(Model):
    hole: int
    wanted: str
    line: Line


class BatchDraft(Model):
    """Lines that wait to be kept; ``rows`` is what was typed, empty for copies."""

    token: str
    event: str
    rows: str
    entries: tuple[_Entry, ...]


@dataclass(frozen=True)
class Previewed:
    """A line as it will stand: its letter, what it is where it is to be played, what looks wrong.

    ``wind`` and ``moved`` are those of its first division in the round; None where not known.
    """

    hole: int
    letter: str
    line: Line
    wind: Wind | None
    moved: AdaptedLine | None
    doubts: tuple[str, ...]


@dataclass(frozen=True)
class BatchPreview:
    """A waiting batch, read back."""

    draft: BatchDraft
    lines: tuple[Previewed, ...]
    units: UnitSystem


class LineBatches:
    """Pasting and copying lines for coaches; ``event`` is a name, None the current event."""

    def __init__(self, *, book: Book, drafts: KeptDrafts, kits: Caddies, bags: BagCache) -> None:
        self.book = book
        self._drafts = drafts
        self._kits = kits
        self._bags = bags
        self._saving = asyncio.Lock()  # a button pressed twice saves once

    async def example_row(self, coach: Actor, event: str | None) -> str:
        """A right row, with the community's own names."""
        caddie = await self._kits.caddie(coach.community_id)
        bag = await self._bags.get(coach.community_id, coach.member_id)
        asked = await self.book.event(coach.community_id, event)
        return _example(caddie.kit, bag, asked)

    async def paste(self, coach: Actor, rows: str, event: str | None) -> BatchPreview:
        """Lines typed one a row. Errors: RowsError with every row that can't be read."""
        caddie = await self._kits.caddie(coach.community_id)
        bag = await self._bags.get(coach.community_id, coach.member_id)
        asked = await self.book.event(coach.community_id, event)
        reader = PastedReader(
            event=asked,
            round=await self.book.round_of(coach.community_id, asked),
            author=coach.name,
            example=_example(caddie.kit, bag, asked),
            reader=lambda number: (
                DraftReader(
                    kit=caddie.kit, bearing_deg=hole_of(asked, number).bearing_deg, bag=bag
                ).line
            ),
        )
        found = await asyncio.to_thread(reader.read, rows)
        return await self._preview(coach, asked, rows, found)

    async def copy(
        self,
        coach: Actor,
        *,
        division: str | None,
        source: str | None,
        hole: int | None,
        variant: str | None,
        to_hole: int | None,
        event: str | None,
    ) -> BatchPreview:
        """Lines for another division or hole; without a hole, those of the whole event.

        A copy keeps the wind and aims that were tested, from which every note is moved. Errors:
        InputError where there is nothing to copy.
        """
        asked = await self.book.event(coach.community_id, event)
        target = require_named(asked.divisions, division, "division") if division else None
        origin = require_named(asked.divisions, source, "division") if source else None
        kit = (await self._kits.caddie(coach.community_id)).kit
        if target is None and to_hole is None:
            raise InputError(
                "Say for which division or to which hole.",
                f"/line copy division:{asked.divisions[-1]}",
            )
        holes = [hole_of(asked, hole)] if hole is not None else list(asked.holes)
        chosen = [
            (each, line)
            for each in holes
            for line in (each.lines if variant else each.lines_for(origin))
            if (variant is not None and line.variant == variant.strip().upper())
            or (variant is None and not (to_hole is None and line.is_for(target)))
        ]
        if not chosen:
            raise InputError(
                "There is no such line to copy.",
                f"/line copy division:{asked.divisions[-1]} hole:{asked.holes[0].number}",
            )
        found = [
            NewLine(to.number, "", _copied(line, each, to, target, kit))
            for each, line in chosen
            for to in [hole_of(asked, to_hole) if to_hole is not None else each]
        ]
        return await self._preview(coach, asked, "", found)

    async def waiting(self, coach: Actor, token: str) -> BatchDraft:
        """A waiting batch. Errors: InputError where it waits no more."""
        found = await self._drafts.get(coach.community_id, coach.member_id, token)
        if found is None:
            raise InputError(
                "These lines are not waiting any more: they were saved or given up.", "/line many"
            )
        return BatchDraft.model_validate(found)

    async def save(self, coach: Actor, token: str) -> list[KeptLine]:
        """Put a waiting batch into the book, all or nothing; it waits no more."""
        async with self._saving:
            draft = await self.waiting(coach, token)
            new = [NewLine(each.hole, each.wanted, each.line) for each in draft.entries]
            kept = await self.book.lines.add_many(
                coach.community_id, new, author=coach.author, event=draft.event
            )
            await self._drafts.drop(coach.community_id, coach.member_id, token)
            return kept

    async def give_up(self, coach: Actor, token: str) -> BatchDraft:
        """Forget a waiting batch; it comes back so that its text can be shown once more."""
        draft = await self.waiting(coach, token)
        await self._drafts.drop(coach.community_id, coach.member_id, token)
        return draft

    async def _preview(
        self, coach: Actor, event: Event, rows: str, found: Sequence[NewLine]
    ) -> BatchPreview:
        entries = tuple(_Entry(hole=x.hole, wanted=x.wanted, line=x.line) for x in found)
        draft = BatchDraft(token=new_token(), event=event.name, rows=rows, entries=entries)
        body = draft.model_dump(mode="json")
        await self._drafts.put(coach.community_id, coach.member_id, draft.token, body)
        caddie = await self._kits.caddie(coach.community_id)
        taken = await self.book.lines.letters(coach.community_id, event.name)
        round_ = await self.book.round_of(coach.community_id, event)
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        lines = await asyncio.to_thread(_previewed, caddie, event, round_, taken, found, units)
        return BatchPreview(draft, tuple(lines), units)


def _example(kit: Kit, bag: Bag, event: Event) -> str:
    shot = DraftReader(kit=kit, bearing_deg=None, bag=bag).rows.example
    start = f"{event.holes[0].number}, {event.divisions[0]}, idea, low"
    return f"{start} | 8 from 2 | {shot} aim 5 right | {shot}"


def _copied(line: Line, source: Hole, to: Hole, division: str | None, kit: Kit) -> Line:
    """A line for another division or hole: what was tested stays, also where it points elsewhere.

    A wind by the compass is kept as it blew on the hole where it was tested.
    """
    changed: dict[str, object] = {
        "copied": f"{source.number}{line.variant}",
        "status": "idea" if line.status == "tested" else line.status,
        "shared_as": None,
    }
    if division is not None:
        changed["divisions"] = (division,)
    if to.number != source.number:
        changed["wind"] = _relative(line.wind, source, kit)
        changed["shots"] = tuple(
            shot.model_copy(update={"shot": _shot_relative(shot.shot, source, kit)})
            for shot in line.shots
        )
    return line.model_copy(update=changed)


def _relative(text: str, hole: Hole, kit: Kit) -> str:
    wind = read_wind(text=text, kit=kit, bearing_deg=hole.bearing_deg)
    if wind.compass_deg is None:
        return text
    return wind_text(Wind(speed=wind.speed, from_deg=wind.relative_deg))


def _shot_relative(text: str, hole: Hole, kit: Kit) -> str:
    shot = parse(text, kit=kit, bearing_deg=hole.bearing_deg)
    if shot.wind is None or shot.wind.compass_deg is None:
        return text
    wind = Wind(speed=shot.wind.speed, from_deg=shot.wind.relative_deg)
    return format_shot(shot.model_copy(update={"wind": wind}))


def _previewed(
    caddie: Caddie,
    event: Event,
    round_: str,
    taken: dict[int, set[str]],
    found: Sequence[NewLine],
    units: UnitSystem,
) -> list[Previewed]:
    shown: list[Previewed] = []
    standing = {hole.number: list(hole.in_use) for hole in event.holes}
    for new in found:
        hole = hole_of(event, new.hole)
        letter = next_letter(new.hole, taken[new.hole], new.wanted)
        taken[new.hole].add(letter)
        line = new.line.model_copy(update={"variant": letter})
        reading = read_through(caddie=caddie, line=line, bearing_deg=hole.bearing_deg, units=units)
        doubts = line_doubts(reading, hole, standing[new.hole])
        if new.wanted and new.wanted != letter:
            doubts.insert(0, f"The letter {new.wanted} is taken; this becomes {letter}.")
        division = line.divisions[0] if line.divisions else event.divisions[0]
        text = hole.wind(division=division, round_=round_)
        wind, moved = _moved(caddie, hole, line, text)
        shown.append(Previewed(new.hole, letter, line, wind, moved, tuple(doubts)))
        standing[new.hole].append(line)
    return shown


def _moved(
    caddie: Caddie, hole: Hole, line: Line, text: str | None
) -> tuple[Wind | None, AdaptedLine | None]:
    try:
        read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
        wind = read_wind(text=text, kit=caddie.kit, bearing_deg=hole.bearing_deg) if text else None
    except LeewardError:
        return None, None
    return wind, adapt(caddie=caddie, cases=[Case(read, Bag(), wind, own_bag=False)])[0]
