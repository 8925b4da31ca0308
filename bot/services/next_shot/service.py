"""The next shot for a member: their bag, their units, their community's kit. Knows no Discord."""

import asyncio
from dataclasses import dataclass

from bot.services.learning.chances import ChanceService, Earned
from bot.services.members import BagCache, Caddies
from bot.services.next_shot.reading import NextQuestion, read_next
from bot.services.next_shot.ways import NextWay, next_ways
from shared.kit import SurfaceKind
from shared.units import UnitSystem


@dataclass(frozen=True)
class NextReply:
    """The ways, best first, with what its reader needs to see them in their own units.

    ``source`` is where the first way's allowance comes from, ``earned`` whether a chance of going
    in may be given.
    """

    question: NextQuestion
    ways: tuple[NextWay, ...]
    source: str
    units: UnitSystem
    mark: str
    earned: Earned


class NextShotService:
    """What to play from where the ball lies."""

    def __init__(self, *, kits: Caddies, bags: BagCache, chances: ChanceService) -> None:
        self.kits = kits
        self.bags = bags
        self._chances = chances

    async def ask(
        self, community_id: int, member_id: int, *, text: str, onto: SurfaceKind
    ) -> NextReply:
        """Answer '171 left, rough, wind 6 from 4'. Errors as ``read_next`` and ``next_ways``."""
        caddie = await self.kits.caddie(community_id)
        bag = await self.bags.get(community_id, member_id)
        question = read_next(text, onto=onto, kit=caddie.kit, bag=bag)
        ways = await asyncio.to_thread(next_ways, caddie=caddie, question=question, bag=bag)
        source = caddie.source(ways[0].choice)
        earned = await self._chances.earned(community_id)
        mark = caddie.kit.mark.name
        return NextReply(question, tuple(ways), source, bag.units, mark, earned)
