"""The computed chances of a hole's lines for one bag in one wind, kept while nothing changes."""

import asyncio
import weakref
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bot.services.caddie.caddie import Caddie
from bot.services.line_chances.played import Asked, LinePlayed, play_lines
from bot.services.members import Whole, wind_mmps
from shared.bag import Bag
from shared.book import Hole, Line
from shared.quantities import Wind

KEPT: Final = 1024
"""Lines, some 20 kB each."""

Key = tuple[Line, float | None, Whole, tuple[tuple[str, str], ...], str | None]


@dataclass(frozen=True)
class _Kept:
    """What was found, and the caddie that it was computed with: another belief has another."""

    caddie: "weakref.ref[Caddie]"
    found: LinePlayed | None


class LineChances:
    """Computes chances in a thread, one batch at a time, so that it holds no more than one."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Key, _Kept] = OrderedDict()
        self._one = asyncio.Lock()
        self._waiting = 0

    @property
    def waiting(self) -> int:
        """How many batches are under way or wait."""
        return self._waiting

    async def of_hole(
        self, caddie: Caddie, hole: Hole, lines: Sequence[Line], *, bag: Bag, wind: Wind
    ) -> list[LinePlayed | None]:
        """What becomes of each of a hole's lines in one wind at its tee; None as ``play_lines``."""
        return (await self.of_holes(caddie, [(hole, lines, wind)], bag=bag))[0]

    async def of_holes(
        self, caddie: Caddie, holes: Sequence[tuple[Hole, Sequence[Line], Wind]], *, bag: Bag
    ) -> list[list[LinePlayed | None]]:
        """The same of several holes, each with its lines and its wind."""
        asked = [
            Asked(line, hole.bearing_deg, wind) for hole, lines, wind in holes for line in lines
        ]
        self._waiting += 1
        try:
            async with self._one:
                found = iter(await self._found(caddie, asked, bag))
        finally:
            self._waiting -= 1
        return [[next(found) for _ in lines] for _, lines, _ in holes]

    def known(
        self, caddie: Caddie, hole: Hole, lines: Sequence[Line], *, bag: Bag, wind: Wind
    ) -> list[LinePlayed | None] | None:
        """The same from memory; None where a line has to be computed first."""
        asked = [Asked(line, hole.bearing_deg, wind) for line in lines]
        kept = [self._known(caddie, _key(each, bag)) for each in asked]
        there = [each for each in kept if each is not None]
        return [each.found for each in there] if len(there) == len(kept) else None

    def _known(self, caddie: Caddie, key: Key) -> _Kept | None:
        kept = self._kept.get(key)
        if kept is None or kept.caddie() is not caddie:
            return None
        self._kept.move_to_end(key)
        return kept

    async def _found(
        self, caddie: Caddie, asked: Sequence[Asked], bag: Bag
    ) -> list[LinePlayed | None]:
        keys = [_key(each, bag) for each in asked]
        kept = [self._known(caddie, key) for key in keys]
        fresh = [number for number, each in enumerate(kept) if each is None]
        if fresh:
            lines = [asked[number] for number in fresh]
            found = await asyncio.to_thread(play_lines, caddie=caddie, lines=lines, bag=bag)
            made = weakref.ref(caddie)
            for number, each in zip(fresh, found, strict=True):
                kept[number] = self._kept[keys[number]] = _Kept(made, each)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return [each.found for each in kept if each is not None]


def _key(asked: Asked, bag: Bag) -> Key:
    grades = tuple(sorted(bag.grades.items()))
    return asked.line, asked.bearing_deg, wind_mmps(asked.wind), grades, bag.ball
