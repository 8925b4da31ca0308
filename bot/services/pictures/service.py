"""What is to be drawn, from the book and the caddie. Knows no Discord."""

import asyncio
from dataclasses import dataclass

from bot.drawing.guide.model import Guide
from bot.drawing.pool import PicturePool
from bot.drawing.scene import Spread
from bot.drawing.sheet_scene import SheetScene
from bot.services.bags import BagCache
from bot.services.book.book import Book
from bot.services.book.stored import event_key, hole_key
from bot.services.caddie.adapt import AdaptedLine
from bot.services.caddie.caddie import Caddie
from bot.services.kits.caddies import Caddies
from bot.services.kits.names import club_name
from bot.services.learning.learner import Learner
from bot.services.learning.spread import Spreads, spreads_of
from bot.services.pictures.guide_of import guide_of
from bot.services.pictures.line_scenes import MOST_PICTURES, line_scenes
from bot.services.pictures.shot_scenes import scene_of
from bot.services.pictures.stored import bars_in
from bot.services.pictures.wind_sheets import make_sheet
from shared.answer import Answer
from shared.book import Room
from shared.errors import EngineError
from shared.picture import Picture
from shared.shot_text import parse, require_question
from shared.units import UnitSystem
from storage.json import JsonObject
from storage.tallies import Tallies


@dataclass(frozen=True)
class Sheet:
    """A wind sheet as a picture and as numbers."""

    picture: Picture
    csv: str
    scene: SheetScene


async def answer_picture(
    pool: PicturePool,
    caddie: Caddie,
    answer: Answer,
    *,
    units: UnitSystem = "yards",
    room: Room | None = None,
    spread: Spread | None = None,
) -> Picture:
    """The picture of an answer: ``scene_of`` in a thread, then drawn by the pool."""
    scene = await asyncio.to_thread(scene_of, caddie, answer, units=units, room=room, spread=spread)
    return await pool.shot_picture(scene)


class PictureService:
    """Draws for members: their answers, lines, sheets and guides."""

    def __init__(
        self,
        *,
        pool: PicturePool,
        book: Book,
        kits: Caddies,
        bags: BagCache,
        tallies: Tallies,
        learner: Learner,
    ) -> None:
        self.pool = pool
        self._learner = learner
        self._tallies = tallies
        self.book = book
        self.kits = kits
        self.bags = bags

    async def question(self, community_id: int, member_id: int, text: str) -> Picture:
        """The picture of a wind question's answer. Errors: those of the question."""
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        shot = parse(text, kit=caddie.kit)
        require_question(shot, text, kit=caddie.kit)
        answer = await asyncio.to_thread(caddie.answer, shot=shot, bag=bag, given=text)
        spreads = await self._spreads(community_id, caddie)
        return await self._picture(caddie, answer, bag.units, spreads)

    async def line(
        self, community_id: int, caddie: Caddie, line: AdaptedLine, units: UnitSystem
    ) -> list[Picture]:
        """Pictures of a line's shots; none where drawing fails, for the words are enough."""
        try:
            spreads = await self._spreads(community_id, caddie)
            scenes = await asyncio.to_thread(line_scenes, caddie, line, units, spreads)
            return list(await asyncio.gather(*(self.pool.shot_picture(s) for s in scenes)))
        except EngineError:
            return []

    async def answers(
        self, community_id: int, answers: list[Answer], units: UnitSystem
    ) -> list[Picture]:
        """Pictures of some answers; none where drawing fails."""
        caddie = await self.kits.caddie(community_id)
        spreads = await self._spreads(community_id, caddie)
        drawn = (self._picture(caddie, each, units, spreads) for each in answers[:MOST_PICTURES])
        try:
            return list(await asyncio.gather(*drawn))
        except EngineError:
            return []

    async def sheet(self, community_id: int, member_id: int, club: str | None) -> Sheet:
        """The wind sheet of a club or the whole bag. Errors: InputError for a club unknown."""
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        clubs = (club_name(caddie.kit, club),) if club else ()
        scene = await asyncio.to_thread(make_sheet, caddie, bag, clubs=clubs)
        return Sheet(await self.pool.wind_sheet(scene), scene.csv(), scene)

    async def guide(self, community_id: int, member_id: int, *, mine: bool) -> Guide:
        """The current round as a guide: for the member, or for the bags the lines were tested with.

        Errors: InputError without an event.
        """
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        event, round_ = await self.book.current(community_id)
        division = await self.book.division_of(community_id, member_id)
        holes = [hole_key(event_key(event.name), hole.number) for hole in event.holes]
        tallies = await self._tallies.of_holes(community_id, holes)
        return await asyncio.to_thread(
            guide_of,
            caddie=caddie,
            event=event,
            round_=round_,
            division=division,
            bag=bag if mine else None,
            units=bag.units,
            tallies={each.line_key: each for each in tallies},
            spreads=await self._spreads(community_id, caddie),
        )

    async def of_body(self, body: JsonObject) -> list[Picture]:
        """The pictures of a stored message. Errors: EngineError where drawing failed."""
        return list(await asyncio.gather(*(self.pool.bars(scene) for scene in bars_in(body))))

    async def _picture(
        self, caddie: Caddie, answer: Answer, units: UnitSystem, spreads: Spreads
    ) -> Picture:
        spread = spreads.get((answer.club, answer.grade))
        return await answer_picture(self.pool, caddie, answer, units=units, spread=spread)

    async def _spreads(self, community_id: int, caddie: Caddie) -> Spreads:
        """How the community's shots come down, by club and grade."""
        return spreads_of(caddie.kit, await self._learner.posterior(community_id))
