"""Hole notes as they stand in the notes channel, kept right by the outbox."""

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from bot.services.book.book import Book
from bot.services.book.events import hole_of
from bot.services.book.reading import LineReading, read_hole
from bot.services.caddie.adapt import Case, read_line
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import Ceiling, line_ceilings
from bot.services.members import Caddies
from bot.services.notes.ceiling_words import ceiling_sentence
from bot.services.notes.parts import Part, parts_of
from bot.services.roles import Roles
from shared.bag import Bag
from shared.book import BookChange, Event, Hole
from shared.errors import InputError, LeewardError, StorageError
from shared.keys import EventKey, HoleKey, note_key
from shared.units import UnitSystem
from storage.json import JsonObject
from storage.outbox import Message, Outbox

Extra = Callable[[int, Event, Hole], Awaitable[list[str]]]
"""What another feature has to say on a hole's note: lines, for a community's event and hole."""


@dataclass(frozen=True)
class Note:
    """A hole's note: what a message about it shows, for a division (None: all) and a round.

    ``hole`` has the lines it shows, ``parts`` are what each division plays, ``said`` is what other
    features have to say, ``held`` how much wind each line holds.
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


Render = Callable[[Note], JsonObject]
"""Makes a note's body."""

Place = tuple[int, HoleKey, UnitSystem]
Key = TypeVar("Key")
Found = TypeVar("Found")
HOLES_IN_MEMORY = 1024


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
        self._parts = _Computed[Place, tuple[Part, ...]](HOLES_IN_MEMORY)
        self._ceilings = _Computed[tuple[int, HoleKey], dict[str, Ceiling]](HOLES_IN_MEMORY)

    async def note(
        self,
        community_id: int,
        number: int,
        *,
        event: str | None = None,
        division: str | None = None,
        units: UnitSystem | None = None,
        computed_anew: bool = True,
    ) -> Note:
        """A hole's note for a division (None: all) in the event's round.

        ``units`` None are those of the event. ``computed_anew`` False takes what was computed for
        the same lines and winds before: a result changes what is said of tries, and the allowances
        by next to nothing. Ceilings are taken so in either case.
        Errors: InputError for an event or a hole that isn't there.
        """
        asked = await self.book.event(community_id, event)
        notes = await self._notes(
            community_id,
            asked,
            [hole_of(asked, number)],
            division,
            units or asked.units,
            parts_anew=computed_anew,
        )
        return notes[0]

    async def details(self, community_id: int, note: Note) -> list[LineReading]:
        """What the engine makes of a note's lines as they were tested, shot by shot."""
        caddie = await self.kits.caddie(community_id)
        return await asyncio.to_thread(read_hole, caddie=caddie, hole=note.hole, units=note.units)

    async def prepare(self, community_id: int, numbers: Sequence[int]) -> None:
        """Compute the notes of some holes of the current event anew, in one batch."""
        event = await self.book.event(community_id)
        holes = [hole_of(event, number) for number in numbers]
        await self._notes(
            community_id, event, holes, None, event.units, parts_anew=True, held_anew=True
        )

    async def _notes(
        self,
        community_id: int,
        event: Event,
        holes: Sequence[Hole],
        division: str | None,
        units: UnitSystem,
        *,
        parts_anew: bool = False,
        held_anew: bool = False,
    ) -> list[Note]:
        """The notes of some holes; what isn't known of them is computed in one batch."""
        caddie = await self.kits.caddie(community_id)
        round_ = await self.book.round_of(community_id, event)
        parts = await self._parts_of(community_id, event, holes, round_, units, caddie, parts_anew)
        ceilings = await self._ceilings_of(community_id, event, holes, caddie, held_anew)
        notes: list[Note] = []
        for hole, its, held in zip(holes, parts, ceilings, strict=True):
            shown = _for(hole, division)
            said = [row for extra in self.extras for row in await extra(community_id, event, shown)]
            letters = [line.variant for line in shown.lines if line.variant in held]
            rows = [f"**{each}** {ceiling_sentence(held[each], units)}" for each in letters]
            its = its if division is None else _part_of(its, division)
            mark = caddie.kit.mark.name
            notes.append(Note(event, shown, round_, division, units, mark, its, said, rows))
        return notes

    async def _parts_of(
        self,
        community_id: int,
        event: Event,
        holes: Sequence[Hole],
        round_: str,
        units: UnitSystem,
        caddie: Caddie,
        anew: bool,
    ) -> list[tuple[Part, ...]]:
        def compute(wanted: Sequence[Hole]) -> list[tuple[Part, ...]]:
            return parts_of(
                caddie=caddie, holes=wanted, divisions=event.divisions, round_=round_, units=units
            )

        asked: list[tuple[Place, str, Hole]] = [
            (
                (community_id, event.key.hole(hole.number), units),
                repr((hole.model_copy(update={"name": None}), round_, event.divisions)),
                hole,
            )
            for hole in holes
        ]
        return await self._parts.of(asked, compute, anew=anew)

    async def _ceilings_of(
        self, community_id: int, event: Event, holes: Sequence[Hole], caddie: Caddie, anew: bool
    ) -> list[dict[str, Ceiling]]:
        asked = [
            (
                (community_id, event.key.hole(hole.number)),
                repr((hole.bearing_deg, hole.lines)),
                hole,
            )
            for hole in holes
        ]
        return await self._ceilings.of(asked, lambda wanted: ceilings_of(caddie, wanted), anew=anew)

    async def computes_otherwise(self, community_id: int) -> None:
        """Forget what was computed, and have the current event's published notes made anew.

        They are computed in one batch, while whoever changed the answers goes on.
        """
        self._parts.drop(lambda place: place[0] == community_id)
        self._ceilings.drop(lambda place: place[0] == community_id)
        try:
            event, _ = await self.book.current(community_id)
        except LeewardError:
            return
        numbers = frozenset(hole.number for hole in event.holes)
        self.book.tell(BookChange(community_id, event.name, numbers))

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
            insists=True,
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
        except StorageError:
            raise  # they stay marked, and are looked at again
        except LeewardError:
            return False  # the event is gone from the book; its notes stay as the last word
        holes = [hole for hole in event.holes if hole.number in channels]
        wanted = False
        for note in await self._notes(change.community_id, event, holes, None, event.units):
            wanted |= await self.outbox.want(
                change.community_id,
                note_key(key.hole(note.hole.number)),
                channels[note.hole.number],
                self._render(note),
            )
        return wanted


class _Computed(Generic[Key, Found]):
    """What was last computed of each place, and of what: the latest ``most`` are kept."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Key, tuple[str, Found]] = OrderedDict()

    async def of(
        self,
        asked: Sequence[tuple[Key, str, Hole]],
        compute: Callable[[Sequence[Hole]], list[Found]],
        *,
        anew: bool,
    ) -> list[Found]:
        """Of every place, by what it is computed of; what isn't known is computed in a thread."""
        known = {place: self._kept.get(place) for place, _, _ in asked}
        new = [
            each for each in asked if anew or (had := known[each[0]]) is None or had[0] != each[1]
        ]
        if new:
            computed = await asyncio.to_thread(compute, [hole for _, _, hole in new])
            for (place, said, _), found in zip(new, computed, strict=True):
                known[place] = self._kept[place] = said, found
                self._kept.move_to_end(place)
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return [found[1] for place, _, _ in asked if (found := known[place]) is not None]

    def drop(self, gone: Callable[[Key], bool]) -> None:
        """Forget what was computed of some places."""
        for place in [place for place in self._kept if gone(place)]:
            del self._kept[place]


def ceilings_of(caddie: Caddie, holes: Sequence[Hole]) -> list[dict[str, Ceiling]]:
    """How much wind each line of some holes holds, by letter; one that can't be read has none."""
    cases: list[Case] = []
    whose: list[int] = []
    for place, hole in enumerate(holes):
        for line in hole.in_use:
            try:
                read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
            except LeewardError:
                continue  # its part already says what is wrong
            cases.append(Case(read, Bag(), own_bag=False))
            whose.append(place)
    held: list[dict[str, Ceiling]] = [{} for _ in holes]
    ceilings = line_ceilings(caddie=caddie, cases=cases)
    for place, case, ceiling in zip(whose, cases, ceilings, strict=True):
        held[place][case.line.line.variant] = ceiling
    return held


def _for(hole: Hole, division: str | None) -> Hole:
    """A hole from a division's tee, with the lines it plays."""
    hole = hole.from_tee(division)
    lines = tuple(line for line in hole.in_use if line.is_for(division))
    return hole.model_copy(update={"lines": lines})


def _part_of(parts: Sequence[Part], division: str) -> tuple[Part, ...]:
    """What a division plays, as its own."""
    return tuple(
        replace(part, divisions=(division,)) for part in parts if division in part.divisions
    )
