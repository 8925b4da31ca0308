"""Lines played at the engine's points for one reader, in one batch. Plain computation, for a
thread.

A line's last shot is to go in: where it does not say what it ends on, that is a green of the usual
size with the hole in its middle, and the shots before it end on fairway. What else lies beside a
line (sand, water, trees) the book does not say, so nothing of it is in a chance.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np

from bot.services.caddie.adapt import AdaptedLine, AdaptedShot, Case, ReadLine, adapt, read_line
from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.chances import varying
from bot.services.caddie.ground import AROUND, GREEN_RADIUS_M, onto_of
from engine.execution import Execution
from engine.holing import MOST_SHOTS, Draws, Room, draws, unlimited
from engine.law import Shots, questions_of
from engine.line_chance import Leg, LineChances, lines_chances
from engine.line_compare import Estimate, LegDoubt, Outcomes, estimate
from engine.response import HALF_WIDTH_90
from shared.bag import Bag
from shared.book import Line
from shared.errors import EngineError, LeewardError
from shared.kit import SurfaceKind
from shared.quantities import Wind
from shared.units import METRES_PER_YARD

POINTS: Final = 1024
TOGETHER: Final = 32  # lines in one batch, to bound memory
GREEN: Final[SurfaceKind] = "green"


@dataclass(frozen=True)
class LinePlayed:
    """A line as it would be played: how often it goes in and stays on the green, metres left.

    ``assumed``: that its last shot ends on a green is not said of it. ``in_`` and ``on_green`` are
    what ``engine.line_compare`` compares.
    """

    variant: str
    assumed: bool
    in_: Outcomes
    on_green: Outcomes
    goes_in: Estimate
    stays: Estimate
    left_m: float


@dataclass(frozen=True)
class Asked:
    """A line, its hole's bearing, and the wind at the tee."""

    line: Line
    bearing_deg: float | None
    wind: Wind


def play_lines(
    *,
    caddie: Caddie,
    lines: Sequence[Asked],
    bag: Bag,
) -> list[LinePlayed | None]:
    """Every line for one bag, all in one batch.

    None of a line that can't be read, can't be played by its reader in this wind, or is not to end
    on a green. A hole of three lines takes some 80 ms.
    """
    read: dict[int, tuple[ReadLine, bool]] = {}
    for number, each in enumerate(lines):
        known = _read(each.line, caddie, each.bearing_deg)
        if known is not None:
            read[number] = known
    cases = [Case(line, bag, lines[number].wind) for number, (line, _) in read.items()]
    adapted = dict(zip(read, adapt(caddie=caddie, cases=cases), strict=True))
    fit = [number for number, line in adapted.items() if line.playable]
    found: dict[int, LinePlayed] = {}
    for start in range(0, len(fit), TOGETHER):
        some = fit[start : start + TOGETHER]
        found |= _played(caddie, {n: adapted[n] for n in some}, {n: read[n][1] for n in some})
    return [found.get(number) for number in range(len(lines))]


@cache
def points() -> Draws:
    """The points of all lines, whatever hole, wind and bag they are played with."""
    return draws(shots=MOST_SHOTS, count=POINTS)


def _read(line: Line, caddie: Caddie, bearing_deg: float | None) -> tuple[ReadLine, bool] | None:
    """The line with the ground that each shot is to end on, and whether its last was assumed."""
    try:
        read = read_line(line=line, kit=caddie.kit, bearing_deg=bearing_deg)
    except LeewardError:
        return None
    said = read.shots[-1].shot.onto
    if said not in (None, GREEN):
        return None
    ends = (AROUND,) * (len(read.shots) - 1) + (GREEN,)
    shots = tuple(
        replace(each, shot=each.shot.model_copy(update={"onto": each.shot.onto or end}))
        for each, end in zip(read.shots, ends, strict=True)
    )
    return replace(read, shots=shots), said is None


def _played(
    caddie: Caddie, lines: Mapping[int, AdaptedLine], assumed: Mapping[int, bool]
) -> dict[int, LinePlayed]:
    legs = {number: _legs(caddie, line) for number, line in lines.items()}
    try:
        ends = lines_chances(lines=[each[0] for each in legs.values()], draws=points())
    except EngineError:
        return {}
    return {
        number: _line_played(lines[number].letter, assumed[number], end, legs[number][1])
        for number, end in zip(legs, ends, strict=True)
        if end is not None
    }


def _line_played(
    variant: str, assumed: bool, end: LineChances, doubts: tuple[LegDoubt, ...]
) -> LinePlayed:
    goes_in = Outcomes(end.went_in.astype(np.float64), doubts)
    stays = Outcomes(end.stayed.astype(np.float64), doubts)
    return LinePlayed(
        variant=variant,
        assumed=assumed,
        in_=goes_in,
        on_green=stays,
        goes_in=estimate(goes_in, points()),
        stays=estimate(stays, points()),
        left_m=float(end.line.left_m[0]),
    )


def _legs(caddie: Caddie, line: AdaptedLine) -> tuple[tuple[Leg, ...], tuple[LegDoubt, ...]]:
    """The line's shots as the engine's, and what is not known of their hits."""
    shots = batch(
        shots=[each.shot for each in line.shots],
        choices=[each.choice for each in line.shots],
        kit=caddie.kit,
        kit_rack=caddie.kit_rack,
    )
    execution = _execution(caddie, line.shots, shots)
    carry_m = _carry_m(line.shots)
    common, own = caddie.doubt_of_hits(shots, carry_m=carry_m)
    rows = caddie.kit_rack.rack.take(shots.row)
    asked = questions_of(rows, shots)
    legs: list[Leg] = []
    for number, each in enumerate(line.shots):
        last = number == len(line.shots) - 1
        at = np.array([number])
        legs.append(
            Leg(
                full=asked.full.take(at),
                distance_m=float(asked.distance_m[number]),
                height_m=float(asked.height_m[number]),
                wind_mps=float(asked.wind_mps[number]),
                wind_from_deg=float(asked.wind_from_deg[number]),
                spin_factor=float(asked.spin_factor[number]),
                tilt_rad=float(asked.tilt_rad[number]),
                ground=caddie.grounds.take(np.array([onto_of(each.shot.onto)])),
                execution=execution.take(at),
                least_m=float(rows.short_m[number]),
                most_m=float(rows.full_m[number]) * (1 + caddie.kit.limits.over_full),
                last=last,
                room=_green() if last else None,
            )
        )
    doubts = tuple(
        LegDoubt((each.choice.club, each.choice.grade), float(common[n]), float(own[n]))
        for n, each in enumerate(line.shots)
    )
    return tuple(legs), doubts


def _execution(caddie: Caddie, line: Sequence[AdaptedShot], shots: Shots) -> Execution:
    """What varies of the shots; of the response what their margins say, from what was tested."""
    per_yd = METRES_PER_YARD / HALF_WIDTH_90
    return varying(
        caddie,
        shots,
        carry_m=_carry_m(line),
        response_long_m=np.array([each.margin.long_yd for each in line]) * per_yd,
        response_right_m=np.array([each.margin.right_yd for each in line]) * per_yd,
    )


def _carry_m(line: Sequence[AdaptedShot]) -> np.ndarray:
    """How far each ball comes down."""
    yards = [each.ground.carry_yd if each.ground else each.distance_yd for each in line]
    return np.array(yards, dtype=np.float64) * METRES_PER_YARD


def _green() -> Room:
    """A green of the usual size about the hole."""
    return replace(unlimited(1), radius_m=np.array([GREEN_RADIUS_M]))
