"""From items to fragments: which number belongs to which word.

Every way to cut the run of items into the fragments of ``RULES`` is a reading. Each fragment has a
cost, larger where its number is an unlikely one for what it says; the cheapest reading is taken.
So "5 up 165" and "165 up 5" are both 165 away and 5 up.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shared.shot_text.cursor import Item
from shared.shot_text.words import LENGTH_UNITS, SPEED_UNITS
from shared.units import (
    LENGTH_UNIT_OF,
    METRES_PER,
    METRES_PER_YARD,
    MPS_PER,
    SPEED_UNIT_OF,
    UnitSystem,
)

# Kinds of items are explained in ``words`` and ``cursor``.
_ACROSS = "[fo][LR]"
_FROM = rf"(?:f?[ng]oz|[fo][ntgk]|[tkX]|[ih](?:{_ACROSS})?|{_ACROSS}[ih]?|[Id]{_ACROSS})"
RULES: Final[tuple[tuple[str, re.Pattern[str]], ...]] = tuple(
    (name, re.compile(pattern))
    for name, pattern in (
        ("wind", rf"w?(?P<speed>[nv])w?(?P<way>{_FROM})w?"),
        ("wind", rf"w?(?P<way>{_FROM})w?(?P<speed>[nv])w?"),
        ("wind", r"w?(?P<speed>v)w?|w(?P<speed2>n)|(?P<speed3>n)w"),
        ("wind", rf"w?(?P<way>{_FROM})w?"),
        ("calm", r"w?cw?"),
        ("bearing", r"b[ngk]"),
        ("height", r"[ude][nlpq]|q"),
        ("height", r"[nlpq][ude]"),
        ("backspin", r"[BT]n"),
        ("backspin", r"n[BT]"),
        ("sidespin", r"Sn[LR]|S[LR]n"),
        ("sidespin", r"nS[LR]|[LR]Sn|n[LR]S|[LR]nS"),
        ("spin", r"Pn|nP"),
        ("shape", r"[AF][ng]"),
        ("shape", r"[ng][AF]"),
        ("shape", r"[AF]"),
        ("distance", r"f?l"),
        ("bare", r"n"),
        ("club", r"C"),
        ("grade", r"G"),
        ("ball", r"Q"),
        ("nothing", r"[,wbzP]"),
    )
)
UNREAD: Final = "unread"
_UNREAD_COST: Final = 100.0
_NO_SPEED_COST: Final = 3.0  # a direction that no number is near

# The amounts at which a number costs 1; a distance costs less the longer it is.
_LIKELY_WIND_MPS: Final = 20.0
_LIKELY_HEIGHT_YD: Final = 100.0
_LIKELY_STEPS: Final = 10.0
_LIKELY_TILT_DEG: Final = 40.0
_SHORT_DISTANCE_YD: Final = 10.0


@dataclass(frozen=True, slots=True)
class Fragment:
    """Items that together say one thing; for a wind, which of them are its speed and direction."""

    rule: str
    items: tuple[Item, ...]
    speed: Item | None = None
    way: tuple[Item, ...] = ()

    @property
    def start(self) -> int:
        """Where it begins in the text."""
        return self.items[0].start

    @property
    def end(self) -> int:
        """Where it ends in the text."""
        return self.items[-1].end


def fragments_of(items: Sequence[Item], *, units: UnitSystem) -> list[Fragment]:
    """The cheapest reading of ``items``; what no rule reads comes as an ``unread`` fragment."""
    kinds = "".join(item.kind for item in items)
    count = len(items)
    # best[count - at] is the best reading from ``at`` on: its cost, first fragment and next place.
    best: list[tuple[float, Fragment | None, int]] = [(0.0, None, count)]
    for at in range(count - 1, -1, -1):
        unread = Fragment(UNREAD, (items[at],))
        choice = (_UNREAD_COST + best[-1][0], unread, at + 1)
        for rule, pattern in RULES:
            match = pattern.match(kinds, at)
            if match is None:
                continue
            fragment = _fragment(rule, items, match)
            cost = _cost(fragment, units) + best[count - match.end()][0]
            if cost < choice[0]:
                choice = (cost, fragment, match.end())
        best.append(choice)
    best.reverse()
    return _path(best)


def _path(best: Sequence[tuple[float, Fragment | None, int]]) -> list[Fragment]:
    found: list[Fragment] = []
    at = 0
    while (fragment := best[at][1]) is not None:
        found.append(fragment)
        at = best[at][2]
    return found


def _fragment(rule: str, items: Sequence[Item], match: re.Match[str]) -> Fragment:
    own = tuple(items[match.start() : match.end()])
    if rule != "wind":
        return Fragment(rule, own)
    groups = match.re.groupindex
    speed = next(
        (
            items[match.start(group)]
            for group in groups
            if group.startswith("speed") and match.group(group)
        ),
        None,
    )
    way = tuple(items[slice(*match.span("way"))]) if "way" in groups else ()
    return Fragment(rule, own, speed, way)


def _cost(fragment: Fragment, units: UnitSystem) -> float:
    if fragment.rule == "wind":
        return _speed_cost(fragment.speed, units) if fragment.speed else _NO_SPEED_COST
    measure = next((item for item in fragment.items if item.kind in "nlgpq"), None)
    if measure is None:
        return 0.0
    amount = abs(measure.number)
    match fragment.rule:
        case "height":
            return amount / _LIKELY_HEIGHT_YD
        case "backspin" | "sidespin" | "spin":
            return amount / _LIKELY_STEPS
        case "shape":
            return amount / _LIKELY_TILT_DEG
        case "distance" | "bare":
            unit = LENGTH_UNITS.get(measure.unit, LENGTH_UNIT_OF[units])
            length = amount * METRES_PER[unit] / METRES_PER_YARD
            return _SHORT_DISTANCE_YD / (_SHORT_DISTANCE_YD + length)
        case _:
            return 0.0


def _speed_cost(speed: Item, units: UnitSystem) -> float:
    unit = SPEED_UNITS.get(speed.unit, SPEED_UNIT_OF[units])
    return abs(speed.number) * MPS_PER[unit] / _LIKELY_WIND_MPS
