"""A bag's wind sheets, and a round of the book as a guide: its lines, moved to their reader."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

from bot.drawing.guide.model import Guide, GuideHole, GuideShot, GuideVariant, GuideWind
from bot.drawing.pool import PicturePool
from bot.drawing.scene import ShotScene
from bot.drawing.sheet_scene import SheetScene, sheets_csv
from bot.services.book.book import Book
from bot.services.book.events import require_named
from bot.services.caddie.adapt import (
    AdaptedLine,
    AdaptedShot,
    Case,
    ReadLine,
    adapt,
    on_hole,
    read_line,
    read_wind,
)
from bot.services.caddie.believed import Spreads
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import line_ceilings
from bot.services.compare.bars import LIKE_THIS, OF_THE_GROUP, Tried, hole_bars, line_label
from bot.services.kits.names import ball_name, club_name
from bot.services.members import BagCache, Caddies, grades_to_set
from bot.services.notes.ceiling_words import ceiling_sentence
from bot.services.pictures.service import line_scenes
from bot.services.pictures.wind_sheets import make_sheets
from bot.services.results.outcome import tries_words
from bot.services.verdicts.results import EventResults, Reader, Verdicts
from bot.services.verdicts.words import row_of, verdict_line
from engine.reach import Verdict
from shared.bag import Bag
from shared.book import MOST_SHOTS, Event, Hole
from shared.errors import LeewardError
from shared.kit import Kit
from shared.picture import Picture
from shared.quantities import Wind
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import aim_words, length, wind_words


@dataclass(frozen=True)
class Sheet:
    """A wind sheet as pages of pictures for each family of clubs, as numbers, and as a PDF."""

    pages: tuple[tuple[Picture, ...], ...]
    csv: str
    pdf: bytes
    scenes: tuple[SheetScene, ...]


@dataclass(frozen=True)
class Chosen:
    """What a guide is made for beside its division: grades, a ball, a wind; empty as it is."""

    grade: str = ""
    ball: str = ""
    wind: str = ""

    def bag(self, kit: Kit, own: Bag, *, mine: bool) -> Bag | None:
        """The bag with the choices in it; None for those the lines were tested with."""
        if not (mine or self.grade or self.ball):
            return None
        changed: dict[str, object] = {}
        if self.grade:
            changed["grades"] = grades_to_set(kit=kit, club=None, grade=self.grade)
        if self.ball:
            changed["ball"] = ball_name(kit, self.ball)
        return own.model_copy(update=changed)

    def read_wind(self, kit: Kit, units: UnitSystem) -> Wind | None:
        """The wind; None for each hole's own."""
        return read_wind(text=self.wind, kit=kit, units=units) if self.wind else None

    def words(self, *, mine: bool) -> str:
        """'for your bag, oak, 12 mph from 3'."""
        chosen = [each for each in (self.grade, self.ball and f"{self.ball} ball") if each]
        wind = [f"in {self.wind}"] if self.wind else []
        if not (mine or chosen):
            return ", ".join(["with the bags as tested", *wind])
        return ", ".join(["for your bag", *(f"with {each}" for each in chosen), *wind])


NOTHING_CHOSEN = Chosen()


class GuideService:
    """Sheets and guides for members."""

    def __init__(
        self, *, pool: PicturePool, book: Book, kits: Caddies, bags: BagCache, verdicts: Verdicts
    ) -> None:
        self._pool = pool
        self._verdicts = verdicts
        # A thread of its own: guides must not take those that answers are computed in.
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="guide")
        self.book = book
        self.kits = kits
        self.bags = bags

    async def sheet(self, community_id: int, member_id: int, club: str | None) -> Sheet:
        """The wind sheets of a club, or of the whole bag by families of clubs.

        Errors: InputError for a club unknown.
        """
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        name = club_name(caddie.kit, club) if club else None
        work = partial(make_sheets, caddie, bag, club=name)
        scenes = await asyncio.get_running_loop().run_in_executor(self._thread, work)
        pages = [await self._pool.sheet_pages(scene) for scene in scenes]
        pdf = await self._pool.sheets_pdf(scenes)
        return Sheet(tuple(pages), sheets_csv(scenes), pdf, scenes)

    async def guide(
        self,
        community_id: int,
        member_id: int,
        *,
        mine: bool,
        division: str | None = None,
        chosen: Chosen = NOTHING_CHOSEN,
    ) -> Guide:
        """The current round as a guide: for the member, or for the bags the lines were tested with.

        ``division`` None is the member's own; a chosen grade or ball makes it the member's bag
        with these, a chosen wind blows on every hole. Errors: InputError without an event, for a
        division that it lacks or a choice that can't be read, DivisionUnknownError.
        """
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        event, round_ = await self.book.current(community_id)
        if division is None:
            division = await self.book.require_division(community_id, member_id)
        else:
            division = require_named(event.divisions, division, "division")
        results = await self._verdicts.of_event(community_id, event)
        work = partial(
            guide_of,
            caddie=caddie,
            event=event,
            round_=round_,
            division=division,
            bag=chosen.bag(caddie.kit, bag, mine=mine),
            units=bag.units,
            wind=chosen.read_wind(caddie.kit, bag.units),
            whose=chosen.words(mine=mine),
            results=results,
            spreads=caddie.believed.spreads,
        )
        return await asyncio.get_running_loop().run_in_executor(self._thread, work)


def guide_of(
    *,
    caddie: Caddie,
    event: Event,
    round_: str,
    division: str,
    bag: Bag | None,
    units: UnitSystem,
    results: EventResults,
    spreads: Spreads,
    wind: Wind | None = None,
    whose: str = "",
) -> Guide:
    """The guide of a round; ``bag`` None keeps the bags the lines were tested with.

    ``wind`` blows on every hole; without it each has its own.

    ``results`` are those so far, ``spreads`` how shots come down by grade.

    Takes about a second for nine holes: not for the event loop.
    """
    reader = Reader(division, round_, bag or Bag(), caddie)
    holes: list[GuideHole] = []
    for hole in sorted(event.holes, key=lambda each: each.number):
        blowing = _wind_on(caddie, hole, reader, division, wind, units)
        guided = _hole(caddie, hole, blowing, bag, units, spreads)
        holes.append(_with_results(guided, event, results, reader, own_wind=wind is None))
    title = f"{event.name}, {round_}, {division}"
    return Guide(title=title, holes=tuple(holes), whose=whose, units=units)


@dataclass(frozen=True)
class _Blowing:
    """The wind on a hole in words, and as it can be read."""

    division: str
    words: str
    wind: Wind | None


def _wind_on(
    caddie: Caddie, hole: Hole, reader: Reader, division: str, given: Wind | None, units: UnitSystem
) -> _Blowing:
    if given is not None:
        wind = on_hole(given, hole.bearing_deg)
        return _Blowing(division, wind_words(wind, units), wind)
    text = hole.wind(division=division, round_=reader.round)
    return _Blowing(division, text or "", _wind(caddie, text, hole))


def _hole(
    caddie: Caddie,
    hole: Hole,
    blowing: _Blowing,
    bag: Bag | None,
    units: UnitSystem,
    spreads: Spreads,
) -> GuideHole:
    wind, text = blowing.wind, blowing.words
    lines = _readable(caddie, hole, blowing.division)
    cases = [Case(read, bag or Bag(), wind, own_bag=bag is not None) for read in lines]
    adapted = adapt(caddie=caddie, cases=cases)
    ceilings = line_ceilings(caddie=caddie, cases=cases)
    variants: list[GuideVariant] = []
    for line, ceiling in zip(adapted, ceilings, strict=True):
        scenes = [] if variants else line_scenes(caddie, line, units, spreads, most=MOST_SHOTS)
        held = ceiling_sentence(ceiling, units)
        variants.append(_variant(caddie, line, scenes, held, units))
    tee = hole.from_tee(blowing.division)
    return GuideHole(
        number=hole.number,
        par=tee.par,
        length_m=tee.yards * METRES_PER_YARD,
        name=hole.name or "",
        bearing_deg=hole.bearing_deg,
        wind=GuideWind(wind.speed.mps, wind.relative_deg) if wind else None,
        facts=(f"Wind {text}",) if text else ("The wind is not known yet",),
        variants=tuple(variants),
    )


def _with_results(
    guided: GuideHole, event: Event, results: EventResults, reader: Reader, *, own_wind: bool
) -> GuideHole:
    """The hole with what went in, which line is best in its wind, and bars where two were tried."""
    hole, key = event.hole(guided.number), event.key.hole(guided.number)
    if hole is None:
        return guided
    shown = {each.letter for each in guided.variants}
    lines = [line for line in hole.lines if line.variant in shown]
    own = reader.known_wind(hole) if own_wind else None
    counted, judged = results.verdict(key, lines), results.verdict(key, lines, own)
    variants: list[GuideVariant] = []
    rows: list[Tried] = []
    for each in guided.variants:
        count, row = row_of(counted, each.letter), row_of(judged, each.letter)
        if count is not None and row is not None and count.tries:
            each = replace(each, results=f"{tries_words(count.tries)}, {count.holed:g} went in")
            rows.append(Tried(line_label(each.letter, each.title), row))
        variants.append(each)
    facts = guided.facts
    if judged is not None and judged.tries and len(lines) > 1:
        where = "in all winds" if own is None else "in this wind"
        said = verdict_line(judged)
        facts += (f"{said[0].upper()}{said[1:]} {where}",)
    bars = hole_bars(guided.number, rows, OF_THE_GROUP if own is None else LIKE_THIS)
    return replace(guided, variants=tuple(variants), facts=facts, bars=bars)


def _wind(caddie: Caddie, text: str | None, hole: Hole) -> Wind | None:
    if text is None:
        return None
    try:
        return read_wind(text=text, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return None


def _readable(caddie: Caddie, hole: Hole, division: str) -> list[ReadLine]:
    """The division's lines that this kit can read, best status first."""
    found: list[ReadLine] = []
    for line in hole.lines_for(division):
        try:
            found.append(read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg))
        except LeewardError:
            continue
    return found


def _variant(
    caddie: Caddie, adapted: AdaptedLine, scenes: list[ShotScene], ceiling: str, units: UnitSystem
) -> GuideVariant:
    line = adapted.line.line
    left = iter(scenes)
    shots = tuple(
        _shot(
            caddie,
            each,
            _named(next(left, None), line.variant, number) if each.fit == Verdict.FINE else None,
            units,
        )
        for number, each in enumerate(adapted.shots, start=1)
    )
    return GuideVariant(
        letter=line.variant,
        shots=shots,
        title=line.title or "",
        status=line.status,
        author=line.author,
        notes=line.notes,
        ceiling=ceiling,
    )


def _named(scene: ShotScene | None, letter: str, number: int) -> ShotScene | None:
    """The scene with its line and its place in it."""
    return scene and replace(scene, shot=f"Line {letter}, shot {number} · {scene.shot}")


def _within(yards: float, units: UnitSystem) -> str:
    """'± 1.4 yd'; what would show as nothing says so."""
    said = length(yards, units)
    return "next to nothing" if said.startswith("0.0") else f"± {said}"


def _shot(
    caddie: Caddie, each: AdaptedShot, scene: ShotScene | None, units: UnitSystem
) -> GuideShot:
    choice = each.choice
    text = f"{choice.club} ({choice.grade}), {length(each.distance_yd, units, 0)}"
    if not each.answered:
        return GuideShot(text=text, aim="No aim holds it in this wind", note=each.read.note)
    aim = aim_words(each.allowance, units=units, mark=caddie.kit.mark.name)
    across, along = _within(each.margin.right_yd, units), _within(each.margin.long_yd, units)
    details = [
        f"plays {length(each.plays_yd, units, 0)}, share {each.swing_share:.0%}",
        f"margin {across} across, {along} along (90%)",
    ]
    if each.fit != Verdict.FINE:
        details.insert(0, f"can't be played so: set-ups end at {length(each.most_yd, units, 0)}")
    return GuideShot(
        text=text,
        aim="Aim straight" if aim == "none" else f"Aim {aim}",
        details=tuple(details),
        note=each.read.note,
        scene=scene,
    )
