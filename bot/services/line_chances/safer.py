"""The line that keeps the ball on the green in a strong wind, where that is beyond doubt.

A line is safer where its balls stay on the green in ten of a hundred tries more, and the difference
is beyond its standard error and beyond what is not known of hits, response and ground
(``engine.line_compare``). ``tests/unit/test_safer_line.py`` holds it against worlds of other hits,
turf, wind and air.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bot.services.caddie.adapt import AdaptedLine
from bot.services.caddie.caddie import Caddie
from bot.services.learning.chances import ChanceService
from bot.services.line_chances.played import LinePlayed, points
from bot.services.line_chances.service import LineChances
from engine.line_compare import difference
from shared.bag import Bag
from shared.book import Hole, Line
from shared.quantities import Wind
from shared.units import MPS_PER_MPH

STRONG_MPS: Final = 9.99 * MPS_PER_MPH  # a rounded ten counts
"""From which a wind is called strong; a judgement."""

NOTABLY_MORE: Final = 0.1  # of all tries; fewer are not worth another line: a judgement
LOWEST_RANK: Final = 1  # an idea that nobody tested is no safer line
MOST_WAITING: Final = 2  # batches; when so many are asked for, an answer does without


@dataclass(frozen=True)
class Safer:
    """The safer line ``letter`` beside ``own``; ``oftener`` is the one that clearly goes in more
    often, empty where neither does. ``stays`` and ``own_stays`` are shares of tries."""

    letter: str
    own: str
    oftener: str
    stays: float
    own_stays: float
    shown: bool

    @property
    def words(self) -> str:
        """What is safer and why, in one row."""
        more = f"{self.own} goes in more often, {self.letter} stays on the green"
        if self.oftener == self.letter:
            more = "it goes in and stays on the green more often"
        elif not self.oftener:
            more = "it stays on the green more often"
        tries = f": {self.stays:.0%} of tries, not {self.own_stays:.0%}" if self.shown else ""
        return f"**Line {self.letter} is safer in this wind:** {more} (computed{tries})."


def safer_line(
    own: LinePlayed | None, others: Sequence[LinePlayed | None], *, shown: bool
) -> Safer | None:
    """Of the others the one that is safer beyond doubt; None where none is."""
    if own is None:
        return None
    surest: tuple[float, LinePlayed] | None = None
    for other in others:
        if other is None or other is own:
            continue
        more = difference(other.on_green, own.on_green, points())
        least = more.value - more.half_width
        fine = more.value >= NOTABLY_MORE and more.clear
        if fine and (surest is None or least > surest[0]):
            surest = least, other
    if surest is None:
        return None
    safe = surest[1]
    holed = difference(safe.in_, own.in_, points())
    oftener = "" if not holed.clear else safe.variant if holed.value > 0 else own.variant
    return Safer(safe.variant, own.variant, oftener, safe.stays.value, own.stays.value, shown)


def may_be_safer(own: AdaptedLine, lines: Sequence[AdaptedLine]) -> tuple[Line, ...]:
    """The other lines that a reader may be told of; none where their own can't be played."""
    if not own.playable:
        return ()
    return tuple(
        each.line.line
        for each in lines
        if each is not own and each.playable and each.line.line.rank <= LOWEST_RANK
    )


class SaferLines:
    """Asks the computed chances for the safer line: of a hole's lines one beside the first."""

    def __init__(self, *, lines: LineChances, chances: ChanceService) -> None:
        self._lines = lines
        self._chances = chances

    @property
    def busy(self) -> bool:
        """Whether so much waits to be computed that an answer goes without."""
        return self._lines.waiting >= MOST_WAITING

    async def of(
        self,
        community_id: int,
        caddie: Caddie,
        hole: Hole,
        lines: Sequence[Line],
        bag: Bag,
        wind: Wind,
    ) -> Safer | None:
        """The safer line, computed where it is not known."""
        found = await self._lines.of_hole(caddie, hole, lines, bag=bag, wind=wind)
        return await self._judged(community_id, found)

    async def known(
        self,
        community_id: int,
        caddie: Caddie,
        hole: Hole,
        lines: Sequence[Line],
        bag: Bag,
        wind: Wind,
    ) -> tuple[bool, Safer | None]:
        """Whether it is known without computing, and the safer line."""
        found = self._lines.known(caddie, hole, lines, bag=bag, wind=wind)
        return (False, None) if found is None else (True, await self._judged(community_id, found))

    async def _judged(self, community_id: int, found: Sequence[LinePlayed | None]) -> Safer | None:
        earned = await self._chances.earned(community_id)
        return safer_line(found[0], found[1:], shown=earned.shown)
