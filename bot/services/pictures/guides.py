"""A bag's wind sheets, and a round of the book as a guide: its lines, moved to their reader."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

from bot.drawing.guide.model import Guide, GuideHole, GuideShot, GuideVariant, GuideWind
from bot.drawing.pool import PicturePool
from bot.drawing.scene import ShotScene
from bot.drawing.sheet_scene import SheetScene
from bot.services.book.book import Book
from bot.services.book.events import require_named
from bot.services.caddie.adapt import (
    AdaptedLine,
    AdaptedShot,
    Case,
    ReadLine,
    adapt,
    read_line,
    read_wind,
)
from bot.services.caddie.believed import Spreads
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.ceilings import line_ceilings
from bot.services.compare.bars import LIKE_THIS, OF_THE_GROUP, Tried, hole_bars, line_label
from bot.services.kits.names import club_name
from bot.services.members import BagCache, Caddies
from bot.services.notes.ceiling_words import ceiling_sentence
from bot.services.pictures.service import line_scenes
from bot.services.pictures.wind_sheets import make_sheet
from bot.services.results.outcome import tries_words
from bot.services.verdicts.results import EventResults, Reader, Verdicts
from bot.services.verdicts.words import row_of, verdict_line
from engine.reach import Verdict
from shared.bag import Bag
from shared.book import Event, Hole
from shared.errors import LeewardError
from shared.picture import Picture
from shared.quantities import Wind
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import aim_words, length


@dataclass(frozen=True)
class Sheet:
    """A wind sheet as a picture and as numbers."""

    picture: Picture
    csv: str
    scene: SheetScene


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
        """The wind sheet of a club or the whole bag. Errors: InputError for a club unknown."""
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        clubs = (club_name(caddie.kit, club),) if club else ()
        work = partial(make_sheet, caddie, bag, clubs=clubs)
        scene = await asyncio.get_running_loop().run_in_executor(self._thread, work)
        return Sheet(await self._pool.wind_sheet(scene), scene.csv(), scene)

    async def guide(
        self, community_id: int, member_id: int, *, mine: bool, division: str | None = None
    ) -> Guide:
        """The current round as a guide: for the member, or for the bags the lines were tested with.

        ``division`` None is the member's own. Errors: InputError without an event or for a division
        that it lacks, DivisionUnknownError.
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
            bag=bag if mine else None,
            units=bag.units,
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
) -> Guide:
    """The guide of a round; ``bag`` None keeps the bags the lines were tested with.

    ``results`` are those so far, ``spreads`` how shots come down by grade.

    Takes about a second for nine holes: not for the event loop.
    """
    reader = Reader(division, round_, bag or Bag(), caddie)
    holes = tuple(
        _with_results(
            _hole(caddie, hole, round_, division, bag, units, spreads),
            event,
            results,
            reader,
        )
        for hole in sorted(event.holes, key=lambda each: each.number)
    )
    whose = "for your bag" if bag is not None else "with the bags the lines were tested with"
    return Guide(title=f"{event.name}, {round_}, {division}", holes=holes, whose=whose)


def _hole(
    caddie: Caddie,
    hole: Hole,
    round_: str,
    division: str,
    bag: Bag | None,
    units: UnitSystem,
    spreads: Spreads,
) -> GuideHole:
    text = hole.wind(division=division, round_=round_)
    wind = _wind(caddie, text, hole)
    lines = _readable(caddie, hole, division)
    cases = [Case(read, bag or Bag(), wind, own_bag=bag is not None) for read in lines]
    adapted = adapt(caddie=caddie, cases=cases)
    ceilings = line_ceilings(caddie=caddie, cases=cases)
    variants: list[GuideVariant] = []
    for line, ceiling in zip(adapted, ceilings, strict=True):
        scenes = line_scenes(caddie, line, units, spreads) if not variants else []
        held = ceiling_sentence(ceiling, units)
        variants.append(_variant(caddie, line, scenes, held, units))
    return GuideHole(
        number=hole.number,
        par=hole.from_tee(division).par,
        length_m=hole.from_tee(division).yards * METRES_PER_YARD,
        name=hole.name or "",
        bearing_deg=hole.bearing_deg,
        wind=GuideWind(wind.speed.mps, wind.relative_deg) if wind else None,
        facts=(f"Wind {text}",) if text else ("The wind is not known yet",),
        variants=tuple(variants),
    )


def _with_results(
    guided: GuideHole, event: Event, results: EventResults, reader: Reader
) -> GuideHole:
    """The hole with what went in, which line is best in its wind, and bars where two were tried."""
    hole, key = event.hole(guided.number), event.key.hole(guided.number)
    if hole is None:
        return guided
    shown = {each.letter for each in guided.variants}
    lines = [line for line in hole.lines if line.variant in shown]
    own = reader.known_wind(hole)
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
        _shot(caddie, each, next(left, None) if each.fit == Verdict.FINE else None, units)
        for each in adapted.shots
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


def _shot(
    caddie: Caddie, each: AdaptedShot, scene: ShotScene | None, units: UnitSystem
) -> GuideShot:
    choice = each.choice
    text = f"{choice.club} ({choice.grade}), {length(each.distance_yd, units, 0)}"
    if not each.answered:
        return GuideShot(text=text, aim="No aim holds it in this wind", note=each.read.note)
    aim = aim_words(each.allowance, units=units, mark=caddie.kit.mark.name)
    across, along = length(each.margin.right_yd, units), length(each.margin.long_yd, units)
    details = [
        f"plays {length(each.plays_yd, units, 0)}, share {each.swing_share:.0%}",
        f"margin ± {across} across, ± {along} along (90%)",
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
