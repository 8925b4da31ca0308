"""Events as files and as rows of winds: what the coaches' commands ask. Knows no Discord."""

import asyncio
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.drawing.event_winds import EventWindsScene
from bot.services.book.against import Against
from bot.services.book.book import Book
from bot.services.book.changes import EventDiff
from bot.services.book.check import require_wind
from bot.services.book.cup_words import CupWords, next_name
from bot.services.book.dates import read_starts
from bot.services.book.drafts import new_token
from bot.services.book.events import require_named
from bot.services.book.hole_rows import hole_row, read_hole_row
from bot.services.book.made import Made
from bot.services.book.new_event import new_event
from bot.services.book.shot_rows import RowError, RowsError
from bot.services.book.toml_in import read_event
from bot.services.book.toml_out import empty_event_toml, event_toml
from bot.services.book.wind_table import WindColumn, wind_columns, winds_scene
from bot.services.book_actions import WindsForm
from bot.services.members import BagCache, Caddies
from shared.actor import Actor, Author
from shared.book import Event, Hole
from shared.errors import InputError, ShotTextError
from shared.keys import EventKey
from shared.kit import Kit
from shared.shot_text.write import wind_text
from shared.toml_file import MAX_BYTES, decode
from shared.units import UnitSystem
from storage.drafts import Drafts as KeptDrafts
from storage.json import JsonObject

_ROW = re.compile(
    r"^\s*#?(?:hole\s*)?(\d{1,2})(?:\s*(?:[:)=,]|\.(?!\d)|\s[-–—]\s)\s*|\s+|$)(.*)$", re.IGNORECASE
)
ROW_EXAMPLE = "4: 8 from 2"


@dataclass(frozen=True)
class WindForm:
    """The winds of a division and a round as one row a hole, to be changed in a form."""

    event: str
    division: str
    round: str
    rows: str
    action: WindsForm


@dataclass(frozen=True)
class LoadQuestion:
    """A file over which something newer stands, or from which something is missing."""

    event: str
    against: Against
    token: str


class EventService:
    """Files and winds for the coaches' commands."""

    def __init__(self, *, book: Book, drafts: KeptDrafts, kits: Caddies, bags: BagCache) -> None:
        self.book = book
        self._drafts = drafts
        self._kits = kits
        self._bags = bags

    async def load(self, coach: Actor, data: bytes, *, file: str) -> EventDiff | LoadQuestion:
        """Take in an event's file, all or nothing; ask where it is older than what stands.

        Errors: FileProblemsError with every problem, its line and field.
        """
        kit = (await self._kits.caddie(coach.community_id)).kit
        words = await self.words(coach.community_id)
        event = await asyncio.to_thread(_read, data, file, kit, words)
        text = decode(data, file)
        made = Made.read(text)
        found = await self.book.against(coach.community_id, event, made)
        if not found:
            return await self.book.load(coach.community_id, event, author=coach.author, made=made)
        token = new_token()
        body: JsonObject = {"file": file, "text": text}
        await self._drafts.put(coach.community_id, coach.member_id, token, body)
        return LoadQuestion(event.name, found, token)

    async def load_asked(self, coach: Actor, token: str, *, keep: bool) -> EventDiff:
        """Take in a file that was asked about. Errors: InputError for one that waits no more."""
        text, file = await self._waiting(coach, token)
        kit = (await self._kits.caddie(coach.community_id)).kit
        words = await self.words(coach.community_id)
        event = await asyncio.to_thread(_read, text.encode(), file, kit, words)
        diff = await self.book.load(
            coach.community_id, event, author=coach.author, made=Made.read(text), keep=keep
        )
        await self._drafts.drop(coach.community_id, coach.member_id, token)
        return diff

    async def give_up_load(self, coach: Actor, token: str) -> str:
        """Forget a file that was asked about; its name."""
        _, file = await self._waiting(coach, token)
        await self._drafts.drop(coach.community_id, coach.member_id, token)
        return file

    async def _waiting(self, coach: Actor, token: str) -> tuple[str, str]:
        found = await self._drafts.get(coach.community_id, coach.member_id, token)
        match found:
            case {"file": str(file), "text": str(text)}:
                return text, file
            case _:
                raise InputError(
                    "This file waits no more: it was loaded or given up.", "/event load"
                )

    async def new(
        self, coach: Actor, fields: Mapping[str, str], published: Sequence[str] = ()
    ) -> EventDiff:
        """Keep a new event typed in a form: its name, divisions, rounds and holes.

        Errors: RowsError and InputError for what can't be read, and for a name that is taken.
        """
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        name = fields.get("name", "")
        event = new_event(
            name=name,
            divisions=fields.get("divisions", ""),
            rounds=fields.get("rounds", ""),
            holes=fields.get("holes", ""),
            units=units,
            played=await self.book.whole.played(coach.community_id, but=EventKey.of(name)),
            published="metric" if "metric" in published else "yards",
            words=await self.words(coach.community_id),
        )
        if event.key in map(EventKey.of, await self.book.names(coach.community_id)):
            raise InputError(
                "There is an event of this name already.", next_name(event.name), event.name
            )
        return await self.book.load(coach.community_id, event, author=coach.author, reason="new")

    async def set_hole(self, coach: Actor, row: str, *, event: str | None) -> tuple[Event, Hole]:
        """Change a hole's facts by its row. Errors: InputError for one that can't be read."""
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        divisions = (await self.book.event(coach.community_id, event)).divisions
        hole = read_hole_row(row, units, divisions)
        found = await self.book.set_facts(
            coach.community_id, hole, event=event, author=coach.author
        )
        return found, hole

    async def hole_rows(self, community_id: int, typed: str, event: str | None) -> list[str]:
        """The rows of an event's holes as they stand, those whose number is typed."""
        found = await self.book.event(community_id, event)
        number = re.match(r"\s*(?:hole\s*)?(\d*)", typed, re.IGNORECASE)
        wanted = number[1] if number else ""
        return [hole_row(each) for each in found.holes if str(each.number).startswith(wanted)]

    async def export(self, community_id: int, name: str | None) -> tuple[str, bytes]:
        """An event's file: its name and its bytes."""
        event, made = await self.book.whole.made_from(community_id, name)
        text = await asyncio.to_thread(event_toml, event)
        slug = event.key.slug or "event"
        return f"{slug}.toml", f"{made.stamp}{text}".encode()

    async def empty(self, coach: Actor) -> tuple[str, bytes]:
        """A file to fill in: divisions, rounds, nine holes and a line, with every field."""
        kit = (await self._kits.caddie(coach.community_id)).kit
        words = await self.words(coach.community_id)
        return "new-cup.toml", (await asyncio.to_thread(empty_event_toml, kit, words)).encode()

    async def words(self, community_id: int) -> CupWords:
        """What examples name: the current event's own, or common words."""
        try:
            event, _ = await self.book.current(community_id)
        except InputError:
            return CupWords()
        return CupWords.of(event)

    async def date_rows(self, community_id: int, name: str | None) -> tuple[Event, str]:
        """An event and when its rounds begin, a row a round."""
        event = await self.book.event(community_id, name)
        rows = [f"{each}: {_time(event.start(each))}".rstrip() for each in event.rounds]
        return event, "\n".join(rows)

    async def set_dates(self, coach: Actor, name: str, rows: str) -> Event:
        """Keep when rounds begin. Errors: RowsError with every row that can't be read."""
        event = await self.book.event(coach.community_id, name)
        starts = read_starts(rows, event)
        return await self.book.whole.set_starts(
            coach.community_id, event.name, starts, author=coach.author
        )

    async def wind_table(
        self, coach: Actor, name: str | None
    ) -> tuple[Event, str, UnitSystem, list[WindColumn], EventWindsScene]:
        """The winds of an event by round and division, hole by hole, in the reader's units; also
        as a picture."""
        event = await self.book.event(coach.community_id, name)
        kit = (await self._kits.caddie(coach.community_id)).kit
        units = (await self._bags.get(coach.community_id, coach.member_id)).units
        now = await self.book.round_of(coach.community_id, event)
        columns = await asyncio.to_thread(wind_columns, event, kit, units)
        scene = await asyncio.to_thread(winds_scene, event, kit, now, units)
        return event, now, units, columns, scene

    async def wind_form(
        self, community_id: int, *, division: str, round_: str | None, event_name: str | None = None
    ) -> WindForm:
        """The winds as they stand, the event's round's without one."""
        event = await self.book.event(community_id, event_name)
        now = await self.book.round_of(community_id, event)
        division = require_named(event.divisions, division, "division")
        round_ = require_named(event.rounds, round_ or now, "round")
        rows = "\n".join(
            f"{hole.number}: {hole.wind(division=division, round_=round_) or ''}".rstrip()
            for hole in event.holes
        )
        places = event.divisions.index(division), event.rounds.index(round_)
        return WindForm(event.name, division, round_, rows, WindsForm(*places, event.name))

    async def wind_form_of(self, community_id: int, asked: WindsForm) -> WindForm:
        """A form that was opened before. Errors: InputError where its event has changed."""
        event = await self.book.event(community_id, asked.event)
        if asked.division >= len(event.divisions) or asked.round >= len(event.rounds):
            raise InputError("The event's divisions or rounds have changed.", "/event winds")
        names = event.divisions[asked.division], event.rounds[asked.round]
        return WindForm(event.name, *names, "", asked)

    async def set_winds(
        self, community_id: int, member_id: int, form: WindForm, rows: str, *, author: Author
    ) -> tuple[int, ...]:
        """Keep the winds typed in a form; the holes that changed.

        Errors: RowsError with every row that can't be read; nothing is kept then.
        """
        event = await self.book.event(community_id, form.event)
        kit = (await self._kits.caddie(community_id)).kit
        units = (await self._bags.get(community_id, member_id)).units
        winds = await asyncio.to_thread(_winds, rows, event, kit, units)
        return await self.book.set_winds(
            community_id,
            event=form.event,
            division=form.division,
            round_=form.round,
            winds=winds,
            author=author,
        )


def _time(at: datetime | None) -> str:
    return "" if at is None else f"{at:%Y-%m-%d %H:%M}"


def require_size(size: int, file: str) -> None:
    """Refuse a file by its size alone, before a byte of it is fetched. Errors: InputError."""
    if size > MAX_BYTES:
        raise InputError(
            f"{file} has {size:,} bytes; an event's file has at most {MAX_BYTES:,}.",
            "/event load file:cup.toml",
        )


def _read(data: bytes, file: str, kit: Kit, words: CupWords) -> Event:
    return read_event(decode(data, file), file=file, kit=kit, words=words)


def _winds(rows: str, event: Event, kit: Kit, units: UnitSystem) -> dict[int, str]:
    found: dict[int, str] = {}
    errors: list[RowError] = []
    for place, row in enumerate(rows.splitlines(), start=1):
        if not row.strip():
            continue
        try:
            number, text = _wind_row(row, event, kit, units)
            if number in found:
                raise InputError(f"Hole {number} stands twice.", ROW_EXAMPLE, row)
            found[number] = text
        except InputError as error:
            errors.append(RowError(error.sentence, error.example, row.strip(), place))
    if errors:
        first = errors[0]
        raise RowsError(first.sentence, first.example, first.given, tuple(errors))
    return found


def _wind_row(row: str, event: Event, kit: Kit, units: UnitSystem) -> tuple[int, str]:
    match = _ROW.match(row)
    hole = event.hole(int(match[1])) if match else None
    if match is None or hole is None:
        raise InputError(
            f"A row is a hole and its wind; the event has {event.hole_words}.",
            ROW_EXAMPLE,
            row,
        )
    text = match[2].strip(" -–—")
    if not text:
        return hole.number, ""
    try:
        wind = require_wind(text, kit=kit, bearing_deg=hole.bearing_deg, units=units)
    except InputError as error:
        example = f"{hole.number}: {error.example}"
        found = error.suggestions if isinstance(error, ShotTextError) else ()
        rows = tuple(f"{hole.number}: {each}" for each in found)
        raise ShotTextError(error.sentence, example, row, 0, len(row), rows) from error
    return hole.number, wind_text(wind)
