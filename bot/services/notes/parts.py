"""A hole's note by division: its wind, and every line moved to that wind. Knows no Discord.

All divisions and lines, of as many holes as are asked for, are moved in one batch.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from bot.services.caddie.adapt import AdaptedLine, Case, ReadLine, adapt, read_line, read_wind
from bot.services.caddie.caddie import Caddie
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import LeewardError
from shared.quantities import Wind
from shared.units import UnitSystem
from shared.wording import error_sentence

SAME_MPS, SAME_DEG = 0.01, 0.05  # two writings of one wind


@dataclass(frozen=True)
class PlayedLine:
    """A line in a division's wind; ``moved`` is None, and ``trouble`` says why, where it can't be.

    ``as_tested`` is whether the wind is the one it was tested in, ``noted`` whether an allowance
    that worked was noted for any of its shots.
    """

    line: Line
    moved: AdaptedLine | None
    tested_wind: Wind | None
    as_tested: bool
    noted: bool
    trouble: str = ""


@dataclass(frozen=True)
class Part:
    """What some divisions play: their wind (None: not known yet), and their lines, best first.

    Without a wind the lines stand in the winds they were tested in.
    """

    divisions: tuple[str, ...]
    wind: Wind | None
    lines: tuple[PlayedLine, ...]


@dataclass(frozen=True)
class _Wanted:
    """A part before anything is computed."""

    divisions: tuple[str, ...]
    wind: Wind | None
    lines: tuple[Line, ...]


def hole_parts(
    *,
    caddie: Caddie,
    event: Event,
    holes: Sequence[Hole],
    round_: str,
    units: UnitSystem = "yards",
) -> dict[int, tuple[Part, ...]]:
    """The parts of every hole by its number, all lines moved in one batch.

    Divisions with the same wind and the same lines share a part.
    """
    wanted = {hole.number: _wanted(caddie, event, hole, round_) for hole in holes}
    reads = {hole.number: _reads(caddie, hole, units) for hole in holes}
    cases: list[Case] = []
    places: dict[tuple[int, int, str], int] = {}
    for number, parts in wanted.items():
        for at, part in enumerate(parts):
            for line in part.lines:
                read = reads[number][line.variant]
                if isinstance(read, ReadLine):
                    places[number, at, line.variant] = len(cases)
                    cases.append(Case(read, Bag(), part.wind, own_bag=False))
    moved = adapt(caddie=caddie, cases=cases)

    def played(number: int, at: int, part: _Wanted, line: Line) -> PlayedLine:
        read = reads[number][line.variant]
        if not isinstance(read, ReadLine):
            return PlayedLine(line, None, None, False, False, read)
        noted = any(shot.worked is not None for shot in read.shots)
        as_tested = part.wind is None or same_wind(part.wind, read.wind)
        found = moved[places[number, at, line.variant]]
        return PlayedLine(line, found, read.wind, as_tested, noted)

    return {
        number: tuple(
            Part(
                part.divisions,
                part.wind,
                tuple(played(number, at, part, line) for line in part.lines),
            )
            for at, part in enumerate(parts)
        )
        for number, parts in wanted.items()
    }


def same_wind(one: Wind, other: Wind) -> bool:
    """Whether two winds blow alike on the line of play; of a calm the direction says nothing."""
    if abs(one.speed.mps - other.speed.mps) > SAME_MPS:
        return False
    apart = (one.relative_deg - other.relative_deg + 180.0) % 360.0 - 180.0
    return abs(apart) <= SAME_DEG or one.speed.mps <= SAME_MPS


def _wanted(caddie: Caddie, event: Event, hole: Hole, round_: str) -> list[_Wanted]:
    parts: list[_Wanted] = []
    for division in event.divisions:
        wind = _wind(caddie, hole, division, round_)
        lines = tuple(hole.lines_for(division))
        for at, part in enumerate(parts):
            if part.lines == lines and _alike(part.wind, wind):
                parts[at] = _Wanted((*part.divisions, division), wind, lines)
                break
        else:
            parts.append(_Wanted((division,), wind, lines))
    return parts


def _alike(one: Wind | None, other: Wind | None) -> bool:
    if one is None or other is None:
        return one is other
    return same_wind(one, other)


def _wind(caddie: Caddie, hole: Hole, division: str, round_: str) -> Wind | None:
    text = hole.wind(division=division, round_=round_)
    if not text:
        return None
    try:
        return read_wind(text=text, kit=caddie.kit, bearing_deg=hole.bearing_deg)
    except LeewardError:
        return None  # it could be read when it was kept; the kit has changed since


def _reads(caddie: Caddie, hole: Hole, units: UnitSystem) -> dict[str, ReadLine | str]:
    """Every line of a hole read, or why it can't be."""
    found: dict[str, ReadLine | str] = {}
    for line in hole.in_use:
        try:
            found[line.variant] = read_line(line=line, kit=caddie.kit, bearing_deg=hole.bearing_deg)
        except LeewardError as error:
            found[line.variant] = error_sentence(error, units)
    return found
