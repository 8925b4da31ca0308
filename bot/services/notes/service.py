"""Hole notes as they stand in the notes channel, kept right by the outbox."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, replace

from bot.services.book.book import Book
from bot.services.book.events import hole_of
from bot.services.book.reading import LineReading, read_hole
from bot.services.caddie.adapt import Case, read_line
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import line_ceilings
from bot.services.members import Caddies
from bot.services.notes.ceiling_words import ceiling_sentence
from bot.services.notes.parts import Part, hole_parts
from bot.services.roles import Roles
from shared.bag import Bag
from shared.book import BookChange, Event, Hole
from shared.errors import InputError, LeewardError
from shared.keys import EventKey, HoleKey, note_key
from shared.units import UnitSystem
from storage.json import JsonObject
from storage.outbox import Message, Outbox

Extra = Callable[[int, Event, Hole], Awaitable[list[str]]]
"""What another feature has to say on a hole's note: lines, for a community's event and hole."""


@dataclass(frozen=True)
class Made:
    """What the engine makes of a hole: its parts, and by letter how much wind each line holds."""

    parts: tuple[Part, ...]
    held: dict[str, str]


@dataclass(frozen=True)
class Note:
    """A hole's note: what a message about it shows, for a division (None: all) and a round.

    ``parts`` are those of its divisions, ``said`` is what other features have to say, ``held`` how
    much wind each line holds, ``readings`` every line in full where that was asked for.
    """

    event: Event
    hole: Hole
    round: str
    division: str | None
    units: UnitSystem
    mark: str
    parts: tuple[Part, ...]
    said: list[str]
    held: list[str]
    readings: list[LineReading]


Render = Callable[[Note], JsonObject]
"""Makes a note's body."""

Place = tuple[int, HoleKey, UnitSystem]


class NoteService:
    """Makes notes, wants them in the channel, and wants them anew when the book changes."""

    def __init__(
        self, *, book: Book, kits: Caddies, roles: Roles, outbox: Outbox, render: Render
    ) -> None:
        self.book = book
        self.kits = kits
        self.roles = roles
        self.outbox = outbox
        self._render = render
        self.extras: list[Extra] = []
        self._made: dict[Place, tuple[str, Made]] = {}

    async def note(
        self,
        community_id: int,
        number: int,
        *,
        event: str | None = None,
        division: str | None = None,
        units: UnitSystem = "yards",
        computed_anew: bool = True,
        in_full: bool = False,
    ) -> Note:
        """A hole's note for a division (None: all) in the event's round.

        ``computed_anew`` False takes what was computed for the same lines and winds before: a
        result changes what is said of tries, and the allowances by next to nothing.
        Errors: InputError for an event or a hole that isn't there.
        """
        asked = await self.book.event(community_id, event)
        hole_of(asked, number)
        if computed_anew:
            self._made.pop((community_id, asked.key.hole(number), units), None)
        notes = await self._notes(community_id, asked, [number], units)
        note = notes[0]
        if division is not None:
            note = _for(note, division)
        if in_full:
            caddie = await self.kits.caddie(community_id)
            readings = await asyncio.to_thread(
                read_hole, caddie=caddie, hole=note.hole, units=units
            )
            shown = {line.variant for line in note.hole.lines_for(division)}
            readings = [each for each in readings if each.line.variant in shown]
            note = replace(note, readings=readings)
        return note

    async def _notes(
        self, community_id: int, event: Event, numbers: Sequence[int], units: UnitSystem
    ) -> list[Note]:
        """The notes of some holes for all divisions; what isn't known is computed in one batch."""
        caddie = await self.kits.caddie(community_id)
        round_ = await self.book.round_of(community_id, event)
        holes = [hole_of(event, number) for number in numbers]
        names = (*event.divisions, round_)
        said_of = {hole.number: f"{names}{hole.model_dump_json()}" for hole in holes}

        def place(hole: Hole) -> Place:
            return community_id, event.key.hole(hole.number), units

        def known(hole: Hole) -> Made | None:
            lines, made = self._made.get(place(hole), ("", None))
            return made if lines == said_of[hole.number] else None

        new = [hole for hole in holes if known(hole) is None]
        found = await asyncio.to_thread(made_of, caddie, event, new, round_, units)
        for hole in new:
            self._made[place(hole)] = said_of[hole.number], found[hole.number]
        notes: list[Note] = []
        for hole in holes:
            made = self._made[place(hole)][1]
            said = [row for extra in self.extras for row in await extra(community_id, event, hole)]
            held = [made.held[line.variant] for line in hole.in_use if line.variant in made.held]
            mark = caddie.kit.mark.name
            notes.append(Note(event, hole, round_, None, units, mark, made.parts, said, held, []))
        return notes

    async def prepare(self, community_id: int, numbers: Sequence[int]) -> None:
        """Compute the notes of some holes of the current event anew, in one batch."""
        event = await self.book.event(community_id)
        for number in numbers:
            self._made.pop((community_id, event.key.hole(number), "yards"), None)
        await self._notes(community_id, event, numbers, "yards")

    async def publish(self, community_id: int, number: int, *, member_id: int) -> bool:
        """Want a hole's note in the notes channel; False where it stands there just so.

        Errors: InputError without a notes channel, or for a hole that isn't there.
        """
        channel_id = await self.roles.notes_channel(community_id)
        if channel_id is None:
            raise InputError(
                "There is no notes channel yet; a coach names one.", "/setup notes:#hole-notes"
            )
        note = await self.note(community_id, number, computed_anew=False)
        return await self.outbox.want(
            community_id,
            note_key(note.event.key.hole(number)),
            channel_id,
            self._render(note),
            member_id=member_id,
        )

    async def message(self, community_id: int, event: str, number: int) -> Message | None:
        """The message of a hole's note as the outbox knows it."""
        return await self.outbox.get(community_id, note_key(EventKey.of(event).hole(number)))

    async def refresh(self, change: BookChange) -> bool:
        """Want the published notes of changed holes anew; True where one reads otherwise."""
        key = EventKey.of(change.event)
        channels: dict[int, int] = {}
        for number in sorted(change.holes):
            message = await self.outbox.get(change.community_id, note_key(key.hole(number)))
            if message is not None and message.state != "gone":
                channels[number] = message.channel_id
        if not channels:
            return False
        try:
            event = await self.book.event(change.community_id, change.event)
        except LeewardError:
            return False  # the event is gone from the book; its notes stay as the last word
        numbers = [number for number in channels if event.hole(number) is not None]
        wanted = False
        for note in await self._notes(change.community_id, event, numbers, "yards"):
            number = note.hole.number
            wanted |= await self.outbox.want(
                change.community_id,
                note_key(key.hole(number)),
                channels[number],
                self._render(note),
            )
        return wanted


def made_of(
    caddie: Caddie, event: Event, holes: Sequence[Hole], round_: str, units: UnitSystem
) -> dict[int, Made]:
    """What the engine makes of some holes by number: two batches, one of moves, one of ceilings."""
    parts = hole_parts(caddie=caddie, event=event, holes=holes, round_=round_, units=units)
    cases: list[Case] = []
    whose: list[int] = []
    for hole in holes:
        for line in hole.in_use:
            try:
                read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
            except LeewardError:
                continue  # its part already says what is wrong
            cases.append(Case(read, Bag(), own_bag=False))
            whose.append(hole.number)
    held: dict[int, dict[str, str]] = {hole.number: {} for hole in holes}
    for number, case, ceiling in zip(
        whose, cases, line_ceilings(caddie=caddie, cases=cases), strict=True
    ):
        letter = case.line.line.variant
        held[number][letter] = f"**{letter}** {ceiling_sentence(ceiling, units)}"
    return {number: Made(parts[number], held[number]) for number in parts}


def _for(note: Note, division: str) -> Note:
    """The note as a division plays it."""
    parts = tuple(
        Part((division,), part.wind, part.lines)
        for part in note.parts
        if division in part.divisions
    )
    letters = {line.variant for line in note.hole.lines_for(division)}
    held = [row for row in note.held if row.split("**")[1] in letters]
    return replace(note, division=division, parts=parts, held=held)
