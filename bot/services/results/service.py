"""Logging results: from a press and what was typed to a row that is kept. Knows no Discord."""

import asyncio
from dataclasses import dataclass, replace
from datetime import datetime
from math import atan2, degrees, hypot

from bot.services.book.book import Book
from bot.services.book.choices import Choices
from bot.services.caddie.adapt import read_line, read_wind, said_for
from bot.services.learning.kept import side_row
from bot.services.learning.learner import Learner, Seen
from bot.services.measure.results import MeasuredResults
from bot.services.members import BagCache, Caddies, ToldAim, ToldAims
from bot.services.results.outcome import note_rows, read_outcome
from bot.services.results.shot import CM, ShotFacts, aimed_by, of_hits, shot_facts
from engine.response_features import Situations
from engine.response_mistake import Mistake
from shared.actor import Actor
from shared.book import BookChange, Event, Hole, Line
from shared.errors import EngineError, InputError
from shared.keys import EventKey, HoleKey, hole_played
from shared.quantities import Speed, Wind
from shared.units import MPS_PER, SPEED_UNIT_OF, UnitSystem
from shared.wording import wind_words
from storage.database import Database
from storage.played import Played, Result
from storage.results import Logged, Results
from storage.tallies import LineTally, Tallies

LONGEST_WIND = 200  # characters of a wind as it was shown


@dataclass(frozen=True)
class LogOpening:
    """What is known when a result is to be logged; ``wind`` is empty where nobody knows it.

    ``past``: the event is not the current one.
    """

    variants: tuple[str, ...]
    variant: str
    wind: str
    attempt: int
    past: bool = False


@dataclass(frozen=True)
class Try:
    """A line that somebody played. ``wind`` None or empty: not known."""

    event: str
    hole: int
    variant: str
    wind: str | Wind | None = None


@dataclass(frozen=True)
class Told:
    """A kept result with what a card says of it; ``counted`` False: it had been counted before.

    A measured shot is of no event (empty) and no hole (0).
    """

    result: Result
    counted: bool
    event: str
    hole: int
    tally: LineTally | None
    units: UnitSystem
    mistake: Mistake = Mistake.NONE


class ResultService:
    """Logs, corrects and removes results; everything kept is learned from at once."""

    def __init__(
        self,
        *,
        db: Database,
        book: Book,
        kits: Caddies,
        bags: BagCache,
        choices: Choices,
        learner: Learner,
        told: ToldAims,
        measured: MeasuredResults,
    ) -> None:
        self.book = book
        self.kits = kits
        self.bags = bags
        self.results = Results(db)
        self.tallies = Tallies(db)
        self._choices = choices
        self._learner = learner
        self._aims = told
        self._measured = measured

    async def opening(self, who: Actor, *, event: str, hole: int, variant: str = "") -> LogOpening:
        """What a form starts with. Errors: InputError for a hole without a line."""
        found = await self.book.hole(who.community_id, hole, event)
        division = await self.division(who, event)
        lines = found.in_use or found.lines
        if not lines:
            raise InputError(f"Hole {hole} has no line yet.", f"/share hole:{hole}")
        own = [line for line in lines if line.is_for(division)] or lines
        first = min(own, key=lambda line: line.order).variant
        named = line_of(found, variant).variant if variant else ""
        chosen = named or (first if len(lines) == 1 else "")
        key = str(EventKey.of(event).hole(hole).line(chosen or first))
        attempt = await self.results.next_attempt(who.community_id, key, who.member_id)
        return LogOpening(
            variants=tuple(line.variant for line in lines),
            variant=chosen or first,
            wind=await self.wind(who, event, found),
            attempt=attempt if chosen else 0,
            past=(await self.book.event(who.community_id)).key != EventKey.of(event),
        )

    async def log(
        self,
        who: Actor,
        played: Try,
        outcome: str,
        *,
        interaction_id: int,
        attempt: int = 0,
        at: datetime | None = None,
    ) -> Told:
        """Keep a result; the same interaction, and the same ``attempt`` of a form, count once.

        ``at`` is when it was played, None for now. Errors: InputError and ShotTextError for what
        can't be read.
        """
        row, facts = await self._played(who, played, outcome)
        # Judged by what was known before this shot.
        mistake = await self._mistake(who.community_id, row, facts)
        logged = await self.results.add(
            who.community_id,
            row,
            member_id=who.member_id,
            author_name=who.name,
            interaction_id=interaction_id,
            attempt=attempt or None,
            at=at,
        )
        told = await self._told(who, logged.result, logged.counted, played.event)
        return replace(told, mistake=mistake)

    async def correct(
        self, who: Actor, result_id: int, *, outcome: str, wind: str, interaction_id: int
    ) -> Told:
        """Put something else in place of an own result while its round runs; all is kept."""
        old = await self.own(who, result_id)
        if old.played.measured:
            shot = await self._measured.correct(
                who, old, outcome=outcome, wind=wind, interaction_id=interaction_id
            )
            return await self._told_measured(who, shot)
        event, hole = await self._place(who, old)
        played = Try(event, hole, old.played.variant, wind)
        row, _ = await self._played(who, played, outcome, before=aimed_by(old.played))
        row = replace(
            row,
            remark=old.played.remark,
            line_revision=old.played.line_revision,
            round=old.played.round,
            chance=old.played.chance,  # given before anybody knew what became of it
        )
        logged = await self.results.correct(result_id, row, interaction_id=interaction_id)
        if logged is None:
            raise _gone()
        return await self._told(who, logged.result, logged.counted, event)

    async def remove(self, who: Actor, result_id: int) -> Told:
        """Take an own result out of all sums while its round runs; its row is kept."""
        old = await self.own(who, result_id)
        if old.played.measured:
            gone = await self._measured.take_back(old)
            return await self._told_measured(who, Logged(old, counted=True) if gone else None)
        event, _ = await self._place(who, old)
        if not await self.results.remove(result_id):
            raise _gone()
        return await self._told(who, old, True, event)

    async def own(self, who: Actor, result_id: int) -> Result:
        """An own result that stands and may be changed. Errors: InputError."""
        found = await self.results.standing(result_id)
        if found is None or found.community_id != who.community_id:
            raise _gone()
        if found.member_id != who.member_id:
            raise InputError("Only who logged a result can change it.", "/results")
        if found.played.measured:
            return found
        event, _ = await self.book.current(who.community_id)
        since = await self._choices.round_since(who.community_id, event.key)
        first = (await self.results.editions(result_id))[0].created_at
        hole = hole_played(found.played.hole_key)
        if hole is None or hole.event != event.key or (since and first < since):
            raise InputError("The round this was played in is over; its results stand.", "/results")
        return found

    async def mine(self, who: Actor, *, limit: int = 10) -> list[Result]:
        """The member's last results, newest first."""
        return await self.results.of_member(who.community_id, who.member_id, limit=limit)

    async def note_lines(self, community_id: int, event: Event, hole: Hole) -> list[str]:
        """What the results say on a hole's note, a line a variant."""
        key = event.key.hole(hole.number)
        tallies = await self.tallies.of_holes(community_id, [str(key)])
        return note_rows([each for each in tallies if hole.line(each.variant) is not None])

    async def learn(self, community_id: int) -> None:
        """Have the next answers know of what was kept."""
        await self._learner.learn(community_id)

    async def spread(self, told: Told) -> None:
        """Learn from what was kept, and have who shows it hear of it."""
        community_id = told.result.community_id
        await self.learn(community_id)
        if told.result.played.measured:
            return
        self.book.tell(BookChange(community_id, told.event, frozenset({told.hole})))

    async def units(self, who: Actor) -> UnitSystem:
        """In which units a member reads."""
        return (await self.bags.get(who.community_id, who.member_id)).units

    async def division(self, who: Actor, event: str) -> str | None:
        """The member's division, where the event has it."""
        division = await self.book.division_of(who.community_id, who.member_id)
        found = await self.book.event(who.community_id, event)
        return division if division in found.divisions else None

    async def wind(self, who: Actor, event: str, hole: Hole) -> str:
        """The hole's wind for the member's division now, or an empty text."""
        division = await self.division(who, event)
        found = await self.book.event(who.community_id, event)
        round_ = await self.book.round_of(who.community_id, found)
        text = hole.wind(division=division, round_=round_) if division else None
        if not text:
            return ""
        kit = (await self.kits.caddie(who.community_id)).kit
        units = await self.units(who)
        return said_for(text, kit=kit, bearing_deg=hole.bearing_deg, units=units)

    async def _played(
        self, who: Actor, played: Try, outcome: str, *, before: tuple[ToldAim, ...] = ()
    ) -> tuple[Played, ShotFacts]:
        """The row to keep and its facts; ``before`` is what an earlier edition was aimed by."""
        caddie = await self.kits.caddie(who.community_id)
        bag = await self.bags.get(who.community_id, who.member_id)
        hole = await self.book.hole(who.community_id, played.hole, played.event)
        line = line_of(hole, played.variant)
        read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
        wind = played.wind or None
        shown = wind_words(wind, bag.units) if isinstance(wind, Wind) else wind or ""
        if isinstance(wind, str):
            wind = read_wind(
                text=wind, kit=caddie.kit, bearing_deg=hole.bearing_deg, units=bag.units
            )
        came = read_outcome(outcome, units=bag.units, mark=caddie.kit.mark.name)
        told = (*before, *await self._aims.of(who.community_id, who.member_id))
        facts = await asyncio.to_thread(
            shot_facts, caddie=caddie, line=read, bag=bag, wind=wind, outcome=came, told=told
        )
        key = EventKey.of(played.event).hole(hole.number)
        row = Played(
            hole_key=str(key),
            line_key=str(key.line(line.variant)),
            variant=line.variant,
            holed=came.holed,
            miss_cm=facts.miss_cm,
            wind_mmps=facts.wind_mmps,
            club=facts.club,
            grade=facts.grade,
            ball=facts.ball,
            share=facts.share,
            effect_cm=facts.effect_cm,
            observed_cm=facts.observed_cm,
            carry_cm=facts.carry_cm,
            height_cm=facts.height_cm,
            aim_cm=facts.aim_cm,
            backspin=facts.backspin,
            tilt_deg=facts.tilt_deg,
            missed_side=came.side,
            several=came.several,
            ended_cm=facts.ended_cm,
            onto=facts.onto,
            chance=facts.chance,
            wind_shown=shown[:LONGEST_WIND],
        )
        row = await self._with_place(who.community_id, row, played.event, key)
        taught = await self._with_lesson(who.community_id, row, facts)
        return replace(taught, parts=(*taught.parts, *of_hits(taught, facts))), facts

    async def _with_place(self, community_id: int, row: Played, event: str, key: HoleKey) -> Played:
        """The row with the line's revision as it stands, and the round."""
        revision = await self.book.revision_of(community_id, event, key.number, row.variant)
        round_ = await self._round(community_id, key.event)
        return replace(row, line_revision=revision or None, round=round_)

    async def _round(self, community_id: int, event: EventKey) -> str:
        """The round an event is in now; empty for an event that is not the current one."""
        current, round_ = await self.book.current(community_id)
        return round_ if current.key == event else ""

    async def _with_lesson(self, community_id: int, row: Played, facts: ShotFacts) -> Played:
        """The row with what the learning keeps of it.

        A ball of which only the end is known, or that was to finish, says nothing of the wind
        until it is known where it came down.
        """
        if facts.situations is None or row.several is not None:
            return row
        if row.observed_cm is None and (row.onto or row.ended_cm is not None):
            return row
        try:
            if row.observed_cm is None:
                lesson = await self._learner.missed(
                    community_id, club=row.club, grade=row.grade, row=side_row(row)
                )
            else:
                lesson = await self._learner.lesson(
                    community_id, _seen(row, facts.situations, row.observed_cm)
                )
        except EngineError:
            return row  # an effect no wind can have: the result counts, and teaches nothing
        if lesson is None:
            return row
        return replace(row, parts=(lesson.part,), weight=lesson.weight)

    async def _mistake(self, community_id: int, row: Played, facts: ShotFacts) -> Mistake:
        """What may have been typed wrong, to be asked of whoever typed it."""
        if facts.situations is None or row.observed_cm is None:
            return Mistake.NONE
        try:
            return await self._learner.mistake(
                community_id, _seen(row, facts.situations, row.observed_cm)
            )
        except EngineError:
            return Mistake.NONE

    async def _told(self, who: Actor, result: Result, counted: bool, event: str) -> Told:
        played = result.played
        tallies = await self.tallies.of_holes(who.community_id, [played.hole_key])
        tally = next((each for each in tallies if each.line_key == played.line_key), None)
        hole = HoleKey.parse(played.hole_key).number
        return Told(result, counted, event, hole, tally, await self.units(who))

    async def _told_measured(self, who: Actor, logged: Logged | None) -> Told:
        if logged is None:
            raise _gone()
        return Told(logged.result, logged.counted, "", 0, None, await self.units(who))

    async def _place(self, who: Actor, result: Result) -> tuple[str, int]:
        """Event and hole of a result of the current event."""
        event, _ = await self.book.current(who.community_id)
        return event.name, HoleKey.parse(result.played.hole_key).number


def line_of(hole: Hole, letter: str) -> Line:
    """A line of a hole by what was typed. Errors: InputError."""
    found = hole.line(letter.strip().upper())
    if found is None:
        letters = ", ".join(line.variant for line in hole.lines) or "no line yet"
        first = hole.lines[0].variant if hole.lines else f"/share hole:{hole.number}"
        raise InputError(f"Hole {hole.number} has {letters}.", first, letter)
    return found


def wind_of(wind_mmps: tuple[int, int] | None, units: UnitSystem) -> Wind | None:
    """The wind a result was played in, in the reader's unit."""
    if wind_mmps is None:
        return None
    along, right = wind_mmps
    unit = SPEED_UNIT_OF[units]
    speed = Speed(value=round(hypot(along, right) / 1000 / MPS_PER[unit], 1), unit=unit)
    return Wind(speed=speed, from_deg=round(degrees(atan2(-right, -along)) % 360, 1) % 360)


def _seen(row: Played, situations: Situations, observed_cm: tuple[int, int]) -> Seen:
    observed_m = (observed_cm[0] / CM, observed_cm[1] / CM)
    return Seen(row.club, row.grade, situations, observed_m, row.holed)


def _gone() -> InputError:
    return InputError("This result was taken back already.", "/results")
