"""Hole notes as they stand in the notes channel, kept right by the outbox."""

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from bot.services.book.book import Book
from bot.services.book.reading import LineReading, read_hole
from bot.services.caddie.adapt import Case, read_line, said_for
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import line_ceilings
from bot.services.members import Caddies
from bot.services.notes.ceiling_words import ceiling_sentence
from bot.services.roles import Roles
from shared.bag import Bag
from shared.book import BookChange, Event, Hole
from shared.errors import InputError, LeewardError, StorageError
from shared.keys import EventKey, HoleKey, note_key
from shared.kit import Kit
from shared.units import UnitSystem
from storage.json import JsonObject
from storage.outbox import Message, Outbox

Extra = Callable[[int, Event, Hole], Awaitable[list[str]]]
"""What another feature has to say on a hole's note: lines, for a community's event and hole."""

NOTES_IN_MEMORY = 500
Made = tuple[list[LineReading], list[str]]


@dataclass(frozen=True)
class Note:
    """A hole's note: what a message about it shows, for a division (None: all) and a round.

    ``said`` is what other features have to say, ``held`` how much wind each line holds.
    """

    event: Event
    hole: Hole
    round: str
    division: str | None
    units: UnitSystem
    mark: str
    readings: list[LineReading]
    said: list[str]
    held: list[str]


Render = Callable[[Note], JsonObject]
"""Makes a note's body."""


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
        self._made: OrderedDict[tuple[int, HoleKey, UnitSystem], tuple[str, Made]] = OrderedDict()

    async def note(
        self,
        community_id: int,
        number: int,
        *,
        event: str | None = None,
        division: str | None = None,
        units: UnitSystem = "yards",
        computed_anew: bool = True,
    ) -> Note:
        """A hole's note for a division (None: all) in the current round.

        ``computed_anew`` False takes what was computed for the same lines before: a result changes
        what is said of tries, and the allowances by next to nothing.
        Errors: InputError for an event or a hole that isn't there.
        """
        caddie = await self.kits.caddie(community_id)
        current, round_ = await self.book.current(community_id)
        asked = current if event is None else await self.book.event(community_id, event)
        if asked.name != current.name:
            round_ = asked.rounds[0]
        hole = await self.book.hole(community_id, number, asked.name)
        place = (community_id, asked.key.hole(number), units)
        lines = hole.model_dump_json()
        known = self._made.get(place)
        if known is None or known[0] != lines or computed_anew:
            known = lines, await asyncio.to_thread(_made_of, caddie, hole, units)
            self._made[place] = known
            while len(self._made) > NOTES_IN_MEMORY:
                self._made.popitem(last=False)
        self._made.move_to_end(place)
        readings, held = known[1]
        said = [row for extra in self.extras for row in await extra(community_id, asked, hole)]
        shown = _hole_for(hole, kit=caddie.kit, units=units)
        return Note(
            asked, shown, round_, division, units, caddie.kit.mark.name, readings, said, held
        )

    async def publish(self, community_id: int, number: int, *, member_id: int) -> bool:
        """Want a hole's note in the notes channel; False where it stands there just so.

        Errors: InputError without a notes channel, or for a hole that isn't there.
        """
        channel_id = await self.roles.notes_channel(community_id)
        if channel_id is None:
            raise InputError(
                "There is no notes channel yet; a coach names one.", "/setup notes:#hole-notes"
            )
        note = await self.note(community_id, number)
        return await self.outbox.want(
            community_id,
            note_key(note.event.key.hole(number)),
            channel_id,
            self._render(note),
            member_id=member_id,
            insists=True,
        )

    async def message(self, community_id: int, event: str, number: int) -> Message | None:
        """The message of a hole's note as the outbox knows it."""
        return await self.outbox.get(community_id, note_key(EventKey.of(event).hole(number)))

    async def refresh(self, change: BookChange) -> bool:
        """Want the published notes of changed holes anew; True where one reads otherwise."""
        event = EventKey.of(change.event)
        wanted = False
        for number in sorted(change.holes):
            known = await self.outbox.get(change.community_id, note_key(event.hole(number)))
            if known is None or known.state == "gone":
                continue
            try:
                note = await self.note(
                    change.community_id, number, event=change.event, computed_anew=False
                )
            except StorageError:
                raise  # it stays marked, and is looked at again
            except LeewardError:
                continue  # the hole is gone from the book; its note stays as the last word
            wanted |= await self.outbox.want(
                change.community_id,
                note_key(event.hole(number)),
                known.channel_id,
                self._render(note),
            )
        return wanted


def _made_of(caddie: Caddie, hole: Hole, units: UnitSystem) -> Made:
    """What the engine makes of a hole's lines, and how much wind each holds."""
    readings = read_hole(caddie=caddie, hole=hole, units=units)
    cases: list[Case] = []
    for line in hole.in_use:
        try:
            read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
        except LeewardError:
            continue  # its reading already says what is wrong
        cases.append(Case(read, Bag(), own_bag=False))
    ceilings = line_ceilings(caddie=caddie, cases=cases)
    held = [
        f"**{case.line.line.variant}** {ceiling_sentence(ceiling, units)}"
        for case, ceiling in zip(cases, ceilings, strict=True)
    ]
    return readings, held


def _hole_for(hole: Hole, *, kit: Kit, units: UnitSystem) -> Hole:
    """The hole with its winds said in the reader's units."""
    winds = tuple(
        each.model_copy(
            update={"wind": said_for(each.wind, kit=kit, bearing_deg=hole.bearing_deg, units=units)}
        )
        for each in hole.winds
    )
    return hole.model_copy(update={"winds": winds})
