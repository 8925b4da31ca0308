"""*For me*: a hole's lines moved to one member's wind and bag. Knows no Discord."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.services.book.book import Book
from bot.services.book.words import lines_words
from bot.services.caddie.adapt import (
    AdaptedLine,
    Case,
    adapt,
    best_of,
    read_line,
    read_wind,
    said_for,
)
from bot.services.caddie.caddie import Caddie
from bot.services.line_chances.safer import STRONG_MPS, Safer, SaferLines, may_be_safer
from bot.services.members import BagCache, Caddies, ToldAim, ToldAims, wind_mmps
from bot.services.verdicts.results import OwnWind, Verdicts, grade_of
from engine.verdict import EQUAL_WITHIN, Outcome, Verdict
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import InputError, LeewardError
from shared.quantities import Wind
from shared.shot_text.write import example_wind_text, wind_text
from shared.units import UnitSystem


@dataclass(frozen=True)
class Opening:
    """What the form is prefilled with: the hole's wind and the line to begin with.

    ``example`` is a right wind in the member's units.
    """

    wind: str
    variant: str
    variants: tuple[str, ...]
    example: str


@dataclass(frozen=True)
class ForMe:
    """One line for one member; ``better`` fits better, ``others`` are the letters to see.

    ``verdict`` is that on the member's lines in this wind. ``safer`` is the line that is safer in
    it beyond doubt; ``rivals`` are those of which that is not computed yet.
    """

    caddie: Caddie
    event: Event
    hole: Hole
    wind: Wind
    line: AdaptedLine
    better: AdaptedLine | None
    verdict: Verdict | None
    others: tuple[str, ...]
    problems: tuple[str, ...]
    bag: Bag
    bag_is_set: bool
    units: UnitSystem
    mark: str
    usual: tuple[tuple[int, int], ...]
    safer: Safer | None = None
    rivals: tuple[Line, ...] = ()

    @property
    def letter(self) -> str:
        """Which variant it is."""
        return self.line.letter

    @property
    def first_of_others(self) -> str:
        """The letter of the line that is offered first, empty where none is to be."""
        if self.better is not None:
            return self.better.letter
        return self.safer.letter if self.safer is not None else ""


class ForMeService:
    """Answers the For me button."""

    def __init__(
        self,
        *,
        book: Book,
        kits: Caddies,
        bags: BagCache,
        told: ToldAims,
        verdicts: Verdicts,
        safer: SaferLines,
    ) -> None:
        self.book = book
        self.kits = kits
        self.bags = bags
        self._told = told
        self._verdicts = verdicts
        self._safer = safer

    async def divisions_to_ask(
        self, community_id: int, member_id: int, event: str
    ) -> tuple[str, ...]:
        """The divisions a member is to choose from; none where theirs is known."""
        if await self.book.division_of(community_id, member_id, event) is not None:
            return ()
        return (await self.book.event(community_id, event)).divisions

    async def opening(
        self, *, community_id: int, member_id: int, event: str, hole: int, variant: str = ""
    ) -> Opening:
        """What a member's form starts with; with a ``variant`` it is about that line alone.

        Errors: InputError for a hole without a line.
        """
        found, lines = await self._lines(community_id, member_id, event, hole, variant)
        if variant:
            division = await self.book.division_of(community_id, member_id, event)
            letter = _letter(found, lines, division, variant)
            lines = [line for line in lines if line.variant == letter]
        division, round_ = await self._when(community_id, member_id, event)
        known = found.wind(division=division, round_=round_) if division else None
        kit = (await self.kits.caddie(community_id)).kit
        if known:
            blows = read_wind(text=known, kit=kit, bearing_deg=found.bearing_deg)
            known = known if blows.compass_deg is None else wind_text(blows)
        first = min(lines, key=lambda line: line.order)
        units = (await self.bags.get(community_id, member_id)).units
        wind = said_for(known or first.wind, kit=kit, bearing_deg=found.bearing_deg, units=units)
        letters = tuple(line.variant for line in lines)
        return Opening(wind, first.variant, letters, example_wind_text(units))

    async def answer(
        self,
        *,
        community_id: int,
        member_id: int,
        event: str,
        hole: int,
        variant: str,
        wind: str | Wind,
        chosen: bool = False,
    ) -> ForMe:
        """A line for a member in the wind they have; ``chosen`` among those of their division.

        Errors: ShotTextError and InputError for a wind or a letter that can't be used.
        """
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        also = "" if chosen else variant
        found, lines = await self._lines(community_id, member_id, event, hole, also)
        division = await self.book.division_of(community_id, member_id, event)
        letter = _letter(found, lines, division, variant)
        if isinstance(wind, str):
            wind = read_wind(
                text=wind, kit=caddie.kit, bearing_deg=found.bearing_deg, units=bag.units
            )
        adapted, problems = await asyncio.to_thread(_adapted, caddie, found, lines, bag, wind)
        own = _own(adapted, letter, problems)
        self._told.note(community_id, member_id, _told(own))
        asked = await self.book.event(community_id, event)
        reader = OwnWind(wind, lambda line: grade_of(line, found, caddie, bag))
        verdict = await self._verdict(community_id, asked, hole, lines, reader)
        moved = ForMe(
            caddie=caddie,
            event=asked,
            hole=found,
            wind=wind,
            line=own,
            better=better_line(own, adapted, verdict),
            verdict=verdict,
            others=tuple(each.line.line.variant for each in adapted if each is not own),
            problems=tuple(problems),
            bag=bag,
            bag_is_set=bool(bag.grades or bag.ball),
            units=bag.units,
            mark=caddie.kit.mark.name,
            usual=tuple(await self._told.winds(community_id, member_id)),
        )
        return await self._with_rivals(community_id, adapted, moved)

    async def _with_rivals(
        self, community_id: int, lines: Sequence[AdaptedLine], found: ForMe
    ) -> ForMe:
        """In a strong wind with the safer line where it is known, or what may be."""
        if found.wind.speed.mps < STRONG_MPS or found.better is not None:
            return found
        rivals = may_be_safer(found.line, lines)
        known, safer = await self._safer.known(
            community_id,
            found.caddie,
            found.hole,
            (found.line.line.line, *rivals),
            found.bag,
            found.wind,
        )
        return replace(found, safer=safer, rivals=() if known else rivals)

    async def with_safer(self, community_id: int, found: ForMe, *, hurry: bool = False) -> ForMe:
        """The same with the safer line, computed where it was not yet; takes some tenths of a
        second. In a ``hurry`` it goes without where others wait for theirs."""
        if not found.rivals or (hurry and self._safer.busy):
            return found
        safer = await self._safer.of(
            community_id,
            found.caddie,
            found.hole,
            (found.line.line.line, *found.rivals),
            found.bag,
            found.wind,
        )
        return replace(found, safer=safer, rivals=())

    async def _verdict(
        self, community_id: int, event: Event, hole: int, lines: list[Line], own: OwnWind
    ) -> Verdict | None:
        results = await self._verdicts.of_event(community_id, event)
        return await asyncio.to_thread(results.verdict, event.key.hole(hole), lines, own)

    async def _when(self, community_id: int, member_id: int, event: str) -> tuple[str | None, str]:
        asked = await self.book.event(community_id, event)
        division = await self.book.division_of(community_id, member_id, event)
        return division, await self.book.round_of(community_id, asked)

    async def _lines(
        self, community_id: int, member_id: int, event: str, hole: int, variant: str = ""
    ) -> tuple[Hole, list[Line]]:
        """A hole and the lines of the member's division, with the asked one whosever it is."""
        found = await self.book.hole(community_id, hole, event)
        division = await self.book.division_of(community_id, member_id, event)
        named = found.line(variant.strip().upper())
        asked = "" if named is None else named.variant
        lines = [line for line in found.in_use if line.is_for(division) or line.variant == asked]
        if not lines:
            raise InputError(lines_words(found, division), "/line add")
        return found.from_tee(division), lines


def _letter(hole: Hole, lines: list[Line], division: str | None, typed: str) -> str:
    """A line's letter as it was typed. Errors: InputError where the division plays none of it."""
    letter = typed.strip().upper()
    named = hole.line(letter)
    letter = letter if named is None else named.variant
    if all(line.variant != letter for line in lines):
        raise InputError(lines_words(hole, division), lines[0].variant, typed)
    return letter


def _own(lines: list[AdaptedLine], letter: str, problems: list[str]) -> AdaptedLine:
    """The line of that letter. Errors: InputError where the kit can't read it."""
    own = next((line for line in lines if line.letter == letter), None)
    if own is None:
        raise InputError(
            f"Line {letter} can't be read with this kit: {'; '.join(problems)}",
            "a coach mends it with /line edit",
        )
    return own


def _told(line: AdaptedLine) -> ToldAim:
    """The aim of the shot that is to go in."""
    last = line.shots[-1]
    assert last.shot.wind is not None
    return ToldAim(
        choice=last.choice,
        wind_mmps=wind_mmps(last.shot.wind),
        carry_yd=last.distance_yd,
        aim_yd=(last.allowance.long_yd, last.allowance.right_yd),
        onto=last.shot.onto,
    )


def _adapted(
    caddie: Caddie, hole: Hole, lines: list[Line], bag: Bag, wind: Wind
) -> tuple[list[AdaptedLine], list[str]]:
    """Every line of the hole that can be read, moved in one batch; and what can't be, in words."""
    cases: list[Case] = []
    problems: list[str] = []
    for line in lines:
        try:
            read = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
            cases.append(Case(read, bag, wind))
        except LeewardError as error:
            problems.append(f"line {line.variant}: {error}")
    return adapt(caddie=caddie, cases=cases), problems


NOTABLY = 0.7  # a margin below this share of the other's is worth a change of line


def better_line(
    own: AdaptedLine, lines: list[AdaptedLine], verdict: Verdict | None
) -> AdaptedLine | None:
    """Another line that fits this member better: status and results weigh before margins.

    Where theirs can't be played, the best of the others. Else the line that the results call best,
    or that leads and stands no lower; else, of those that stand no lower and are expected to hole
    about as often, one that is notably surer.
    """
    others = [line for line in lines if line is not own and line.playable]
    named = verdict.lines if verdict is not None else ()
    if not own.playable:
        return best_of(others, named)
    if verdict is not None and verdict.outcome in (Outcome.BEST, Outcome.LEADS):
        if own.letter in named:
            return None
        sure = verdict.outcome is Outcome.BEST
        ahead = (each for each in others if each.letter in named)
        leader = next((each for each in ahead if sure or _stands(each, own)), None)
        if leader is not None:
            return leader
    rates = {row.name: row.rate for row in verdict.rows} if verdict is not None else {}
    least = rates.get(own.letter, 0.0) - EQUAL_WITHIN
    alike = [each for each in others if _stands(each, own) and rates.get(each.letter, 1.0) >= least]
    surest = min(alike, key=lambda each: each.margin_yd, default=None)
    notably = surest is not None and surest.margin_yd < NOTABLY * own.margin_yd
    return surest if notably else None


def _stands(line: AdaptedLine, own: AdaptedLine) -> bool:
    """Whether a line's status is no lower."""
    return line.line.line.rank <= own.line.line.rank
