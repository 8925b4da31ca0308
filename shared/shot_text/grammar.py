"""From items to fragments: which number belongs to which word.

Every way to cut the run of items into the fragments of ``RULES`` is a reading. Each fragment has a
cost, larger where its number is an unlikely one for what it says; the cheapest reading is taken.
So "5 up 165" and "165 up 5" are both 165 away and 5 up. Readings that cost about as much are given
too, so that whoever asked can be asked back where they differ.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final

from shared.shot_text.cursor import Item
from shared.shot_text.kinds import pattern_of, run_of
from shared.shot_text.lexicon import LENGTH_UNITS, SPEED_UNITS
from shared.units import (
    LENGTH_UNIT_OF,
    METRES_PER,
    METRES_PER_YARD,
    MPS_PER,
    SPEED_UNIT_OF,
    UnitSystem,
)

NUMERIC: Final = ("number", "speed", "length", "percent", "signed_percent", "degrees", "clock")

_SIDE: Final = "(?:(?:from|off) (?:left|right) | from? sideways)"
_DIRECTION: Final = rf"""(?:
    from? (?:number|degrees) off line
    | (?:from|off) (?:number|clock|degrees|compass)
    | at (?:number|clock|degrees|compass)
    | clock | compass
    | quartering? (?:into|helping|in|down) {_SIDE}
    | quartering? {_SIDE} (?:into|helping)
    | into | helping
    | crosswind? {_SIDE} crosswind?
)"""
_SPEED: Final = "(?P<speed>number|speed)"
_WAY: Final = f"(?P<direction>{_DIRECTION})"
RULES: Final[tuple[tuple[str, re.Pattern[str]], ...]] = tuple(
    (rule, pattern_of(names))
    for rule, names in (
        ("wind", f"(?:in|at)? wind? {_SPEED} wind? {_WAY} wind?"),
        ("wind", f"wind? {_WAY} wind? (?:at)? {_SPEED} wind?"),
        ("wind", "(?:in|at)? wind? (?P<speed>speed) wind?"),
        ("wind", "wind (?:at)? (?P<speed>number)"),
        ("wind", "(?P<speed>number) wind"),
        ("wind", f"wind? {_WAY} wind?"),
        ("wind", f"crosswind wind? {_SPEED} wind? (?P<direction>{_SIDE})"),
        ("crosswind", "(?:number|speed) crosswind | crosswind (?:number|speed) | crosswind"),
        ("calm", "wind? calm wind?"),
        ("bearing", "bearing (?:number|degrees|compass)"),
        ("height", "(?:up|down|height) (?:number|length|percent|signed_percent) | signed_percent"),
        ("height", "(?:number|length|percent|signed_percent) (?:up|down|height)"),
        ("backspin", "(?:back|top) number"),
        ("backspin", "number (?:back|top)"),
        ("sidespin", "side (?:number (?:left|right) | (?:left|right) number)"),
        ("sidespin", "number side (?:left|right) | (?:left|right) side number"),
        ("sidespin", "number (?:left|right) side | (?:left|right) number side"),
        ("spin", "spin number | number spin"),
        ("shape", "(?:draw|fade) (?:number|degrees)"),
        ("shape", "(?:number|degrees) (?:draw|fade)"),
        ("shape", "draw|fade"),
        ("share", "(?:at)? percent full? | full percent | full"),
        ("onto", "surface"),
        ("distance", "(?:from|at)? length"),
        ("number", "(?:at)? number"),
        ("club", "(?:at)? club"),
        ("grade", "grade"),
        ("ball", "ball"),
        ("nothing", "separator|wind"),
        ("left over", "bearing|line|spin"),
    )
)
UNREAD: Final = "unread"
_UNREAD_COST: Final = 100.0
_LEFT_OVER_COST: Final = 2.0  # a word that says nothing without the number it wants
_NO_SPEED_COST: Final = 3.0  # a direction that no number is near
_LONGEST_HOUR: Final = 12.5  # above it a number behind "at" is no hour of the clock

# The amounts at which a number costs 1; a distance costs less the longer it is, and 1 more where
# it could be the hour behind an "at".
_LIKELY_WIND_MPS: Final = 20.0
_LIKELY_HEIGHT_YD: Final = 100.0
_LIKELY_STEPS: Final = 10.0
_LIKELY_TILT_DEG: Final = 100.0
_SHORT_DISTANCE_YD: Final = 10.0
LIKELY_TILT_DEG: Final = 20.0  # above it a number at a shape may be a distance
MAX_TILT_DEG: Final = 45.0  # as in ``Curve``
CLOSE_COST: Final = 0.3  # readings that cost at most this much more are looked at too
MOST_READINGS: Final = 8


@dataclass(frozen=True, slots=True)
class Fragment:
    """Items that together say one thing; of a wind, which of them are its speed and direction."""

    rule: str
    items: tuple[Item, ...]
    speed: Item | None = None
    direction: tuple[Item, ...] = ()

    @property
    def start(self) -> int:
        """Where it begins in the text."""
        return self.items[0].start

    @property
    def end(self) -> int:
        """Where it ends in the text."""
        return self.items[-1].end

    @property
    def number(self) -> Item:
        """The first item that is a number. Errors: StopIteration where there is none."""
        return next(item for item in self.items if item.kind in NUMERIC)


@dataclass(frozen=True, slots=True)
class _Step:
    """A fragment that a reading may go on with: what it costs, and the place behind it."""

    cost: float
    fragment: Fragment
    end: int


def cost_of(fragments: Sequence[Fragment], *, units: UnitSystem) -> float:
    """What a reading costs; the more, the less likely it is."""
    return sum(
        _UNREAD_COST if fragment.rule == UNREAD else _cost(fragment, units)
        for fragment in fragments
    )


def fragments_of(items: Sequence[Item], *, units: UnitSystem) -> list[Fragment]:
    """The cheapest reading of ``items``; what no rule reads comes as an ``unread`` fragment."""
    return readings_of(items, units=units)[0]


def readings_of(items: Sequence[Item], *, units: UnitSystem) -> list[list[Fragment]]:
    """The cheapest reading of ``items`` and those that cost at most ``CLOSE_COST`` more."""
    run = run_of([item.kind for item in items])
    steps = [list(_steps(items, run, at, units)) for at in range(len(items))]
    least = [0.0] * (len(items) + 1)
    for at in range(len(items) - 1, -1, -1):
        least[at] = min(step.cost + least[step.end] for step in steps[at])
    found = sorted(
        islice(_walk(steps, least, 0.0, [], 0), MOST_READINGS), key=lambda reading: reading[0]
    )
    return [fragments for _, fragments in found]


def _walk(
    steps: Sequence[Sequence[_Step]],
    least: Sequence[float],
    spent: float,
    path: list[Fragment],
    at: int,
) -> Iterator[tuple[float, list[Fragment]]]:
    """The readings that begin with ``path`` and are cheap enough, cheaper steps first."""
    if at == len(steps):
        yield spent, list(path)
        return
    for step in sorted(steps[at], key=lambda step: step.cost + least[step.end]):
        cost = spent + step.cost
        if cost + least[step.end] > least[0] + CLOSE_COST:
            return
        path.append(step.fragment)
        yield from _walk(steps, least, cost, path, step.end)
        path.pop()


def _steps(items: Sequence[Item], run: str, at: int, units: UnitSystem) -> Iterator[_Step]:
    for rule, pattern in RULES:
        match = pattern.match(run, at)
        if match is None:
            continue
        fragment = _fragment(rule, items, match)
        if not _is_excluded(fragment):
            yield _Step(_cost(fragment, units), fragment, match.end())
    yield _Step(_UNREAD_COST, Fragment(UNREAD, (items[at],)), at + 1)


def _fragment(rule: str, items: Sequence[Item], match: re.Match[str]) -> Fragment:
    own = tuple(items[match.start() : match.end()])
    if rule != "wind":
        return Fragment(rule, own)
    groups = match.re.groupindex
    speed = items[match.start("speed")] if "speed" in groups else None
    direction = tuple(items[slice(*match.span("direction"))]) if "direction" in groups else ()
    return Fragment(rule, own, speed, direction)


def _is_excluded(fragment: Fragment) -> bool:
    """Whether a number is none that the fragment can have."""
    if fragment.direction and fragment.direction[0].kind == "at":
        hour = fragment.direction[1]
        return hour.kind == "number" and not 0 < hour.number <= _LONGEST_HOUR
    if fragment.rule == "shape" and len(fragment.items) > 1:
        tilt = fragment.number
        return tilt.kind == "number" and tilt.number > MAX_TILT_DEG
    return False


def _cost(fragment: Fragment, units: UnitSystem) -> float:
    if fragment.rule == "wind":
        return _speed_cost(fragment.speed, units) if fragment.speed else _NO_SPEED_COST
    if fragment.rule == "left over":
        return _LEFT_OVER_COST
    measure = next((item for item in fragment.items if item.kind in NUMERIC), None)
    if measure is None:
        return 0.0
    amount = abs(measure.number)
    match fragment.rule:
        case "crosswind":
            return _speed_cost(measure, units)
        case "height":
            return amount / _LIKELY_HEIGHT_YD
        case "backspin" | "sidespin" | "spin":
            return amount / _LIKELY_STEPS
        case "shape":
            return amount / _LIKELY_TILT_DEG
        case "distance" | "number":
            unit = LENGTH_UNITS.get(measure.unit, LENGTH_UNIT_OF[units])
            length = amount * METRES_PER[unit] / METRES_PER_YARD
            is_hour = fragment.items[0].kind == "at" and measure.number <= _LONGEST_HOUR
            return _SHORT_DISTANCE_YD / (_SHORT_DISTANCE_YD + length) + is_hour
        case _:
            return 0.0


def _speed_cost(speed: Item, units: UnitSystem) -> float:
    unit = SPEED_UNITS.get(speed.unit, SPEED_UNIT_OF[units])
    return abs(speed.number) * MPS_PER[unit] / _LIKELY_WIND_MPS
