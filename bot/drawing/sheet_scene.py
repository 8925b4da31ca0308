"""A wind sheet: allowances of a bag's set-ups by wind speed and hour, in one call of the engine."""

import csv
from dataclasses import dataclass
from io import StringIO

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bot.drawing.said import clock, metres
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.shots import Choice, choose
from engine.law import Shots, Verdict
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Club
from shared.shot import Shot
from shared.units import (
    DEGREES_PER_HOUR,
    LENGTH_UNIT_OF,
    METRES_PER,
    METRES_PER_YARD,
    MPS_PER_MPH,
    UnitSystem,
)
from shared.wording import speed

Grid = NDArray[np.float64]  # (hours, speeds)

HOURS = 12
HALF_CLOCK = 7  # hours from 12 to 6: the others mirror them
CLUB_SPEEDS_MPS: dict[UnitSystem, tuple[float, ...]] = {
    "yards": tuple(each * MPS_PER_MPH for each in (4.0, 8.0, 12.0, 16.0)),
    "metric": (2.0, 4.0, 6.0, 8.0),
}
BAG_SPEEDS_MPS: dict[UnitSystem, tuple[float, ...]] = {
    "yards": tuple(each * MPS_PER_MPH for each in (5.0, 10.0, 15.0)),
    "metric": (2.0, 4.0, 6.0),
}
MOST_SPEEDS = 4  # what a phone's width holds
MOST_SETUPS = 16  # a bag and two more: what a picture of 150 KB holds
CARRIES = 4  # set-ups of a single club, from full down
STEP = 5.0  # carries are round in yards or metres
COLUMNS = (
    *("club", "grade", "ball", "carry_yd", "wind_mph", "from_clock", "from_deg", "playable"),
    *("right_marks", "long_marks", "right_yd", "long_yd", "plays_yd"),
)
MIRRORED_MARKS = 0.05  # left and right show the same below this


@dataclass(frozen=True)
class Block:
    """One set-up: rows of 12 hours (12, 1, ... 11), a tuple per wind speed in each.

    Marks are None where the shot can't be set up in that wind.
    """

    club: str
    grade: str
    carry_m: float
    mark_m: float
    right_marks: tuple[tuple[float | None, ...], ...]
    long_marks: tuple[tuple[float | None, ...], ...]
    plays_m: tuple[tuple[float | None, ...], ...]

    @property
    def mirrored(self) -> bool:
        """Whether the left hours are the right ones with left for right, as shown."""
        pairs = [
            (first, second)
            for hour in range(1, HALF_CLOCK - 1)
            for first, second in zip(
                (*self.right_marks[hour], *self.long_marks[hour]),
                (*_negated(self.right_marks[HOURS - hour]), *self.long_marks[HOURS - hour]),
                strict=True,
            )
        ]
        return all(
            a is None and b is None if a is None or b is None else abs(a - b) < MIRRORED_MARKS
            for a, b in pairs
        )


@dataclass(frozen=True)
class SheetScene:
    """The sheet of one bag, all in one ball."""

    title: str
    subtitle: str
    mark: str
    ball: str
    speeds_mps: tuple[float, ...]
    blocks: tuple[Block, ...]
    units: UnitSystem = "yards"

    def read_out(self) -> str:
        """The first cell off the right that can be played, as a sentence; else nothing."""
        for block in self.blocks:
            for hour in (2, 3, 1, 4, 5):
                for count, wind_mps in enumerate(self.speeds_mps):
                    right, long = block.right_marks[hour][count], block.long_marks[hour][count]
                    if right is not None and long is not None:
                        way = "long" if long > 0 else "short"
                        return (
                            f"For example the {block.club} for "
                            f"{metres(block.carry_m, self.units, 0)} in "
                            f"{speed(wind_mps, self.units)} from {clock(hour * DEGREES_PER_HOUR)}: "
                            f"{abs(right):.1f} right, {abs(long):.1f} {way}."
                        )
        return ""

    def csv(self) -> str:
        """Every number as comma-separated values, one wind a row."""
        stream = StringIO()
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(COLUMNS)
        for block in self.blocks:
            for hour in range(HOURS):
                for count, wind_mps in enumerate(self.speeds_mps):
                    writer.writerow(self._row(block, hour, count, wind_mps))
        return stream.getvalue()

    def _row(self, block: Block, hour: int, count: int, wind_mps: float) -> list[str]:
        right, long = block.right_marks[hour][count], block.long_marks[hour][count]
        plays = block.plays_m[hour][count]
        mark_yd = block.mark_m / METRES_PER_YARD
        values = (
            *(right, long),
            *(None if each is None else each * mark_yd for each in (right, long)),
            None if plays is None else plays / METRES_PER_YARD,
        )
        digits = (2, 2, 2, 2, 1)
        return [
            *(_safe(block.club), _safe(block.grade), _safe(self.ball)),
            f"{block.carry_m / METRES_PER_YARD:.1f}",
            f"{wind_mps / MPS_PER_MPH:.2f}",
            f"{hour or HOURS}",
            f"{hour * DEGREES_PER_HOUR:.0f}",
            "no" if right is None else "yes",
            *(
                "" if value is None else f"{value + 0.0:.{places}f}"
                for value, places in zip(values, digits, strict=True)
            ),
        ]


def make_sheet(
    caddie: Caddie,
    bag: Bag,
    *,
    clubs: tuple[str, ...] = (),
    carries_m: tuple[float, ...] = (),
    speeds_mps: tuple[float, ...] = (),
    title: str = "Wind sheet",
) -> SheetScene:
    """The sheet of a bag: no clubs named is all of them, each for its full carry.

    One club without carries gets several, from full carry down; carries given hold for every club
    that reaches them. One call of the engine. Errors: InputError for more set-ups or wind speeds
    than a page holds, for a carry that none of the clubs has.
    """
    kit = caddie.kit
    units = bag.units
    alone = len(clubs) == 1
    speeds = speeds_mps or (CLUB_SPEEDS_MPS if alone else BAG_SPEEDS_MPS)[units]
    if len(speeds) > MOST_SPEEDS:
        raise InputError(f"A sheet holds {MOST_SPEEDS} wind speeds.", "4 8 12 16 mph")
    wanted = [kit.club(name) for name in clubs] or list(kit.clubs)
    choices = [choose(shot=Shot(club=club.name), bag=bag, kit=kit) for club in wanted]
    setups = [
        (choice, carry_m)
        for club, choice in zip(wanted, choices, strict=True)
        for carry_m in _carries(caddie, club, choice, carries_m, units, alone=alone)
    ]
    if not setups:
        raise InputError("None of these clubs can be set up for that carry.", "5-iron 160 150 140")
    if len(setups) > MOST_SETUPS:
        raise InputError(f"A sheet holds {MOST_SETUPS} set-ups.", "5-iron 160 150 140")
    ball = choices[0].ball
    which = (
        f"{choices[0].club} ({choices[0].grade})"
        if alone
        else ("Some clubs" if clubs else "The whole bag")
    )
    return SheetScene(
        title=title,
        subtitle=f"{which}, {ball} ball: {kit.mark.name}s to aim off",
        mark=kit.mark.name,
        ball=ball,
        speeds_mps=speeds,
        blocks=_blocks(caddie, setups, speeds),
        units=units,
    )


def _carries(
    caddie: Caddie,
    club: Club,
    choice: Choice,
    given_m: tuple[float, ...],
    units: UnitSystem,
    *,
    alone: bool,
) -> list[float]:
    row = caddie.kit_rack.row_of[club.name, choice.grade, choice.ball]
    rack = caddie.kit_rack.rack
    full_m, short_m = float(rack.full_m[row]), float(rack.short_m[row])
    if given_m:
        return [each for each in given_m if short_m <= each <= full_m]
    if not alone:
        return [full_m]
    step_m = STEP * METRES_PER[LENGTH_UNIT_OF[units]]
    lower = np.linspace(full_m, short_m, CARRIES)[1:]
    return [full_m, *sorted({float(np.ceil(each / step_m) * step_m) for each in lower})[::-1]]


def _blocks(
    caddie: Caddie, setups: list[tuple[Choice, float]], speeds: tuple[float, ...]
) -> tuple[Block, ...]:
    shape = (len(setups), HOURS, len(speeds))
    rows = [caddie.kit_rack.row_of[each.club, each.grade, each.ball] for each, _ in setups]

    def spread(values: ArrayLike, axis: int) -> Grid:
        lengths = [1, 1, 1]
        lengths[axis] = -1
        column = np.asarray(values, dtype=np.float64).reshape(lengths)
        return np.broadcast_to(column, shape).ravel()

    setup = spread(range(len(setups)), 0).astype(np.intp)
    none = np.zeros(len(setup), dtype=np.float64)
    shots = Shots(
        row=np.array(rows, dtype=np.intp)[setup],
        distance_m=np.array([carry_m for _, carry_m in setups])[setup],
        height_m=none,
        wind_mps=spread(speeds, 2),
        wind_from_deg=spread(np.arange(HOURS) * DEGREES_PER_HOUR, 1),
        spin_factor=none + 1,
        tilt_rad=none,
    )
    found = caddie.allow(shots)
    fine = found.verdict == Verdict.FINE
    values = [
        np.where(fine, each, np.nan).reshape(shape)
        for each in (found.right_m / found.mark_m, found.long_m / found.mark_m, found.plays_m)
    ]
    marks_m = found.mark_m.reshape(shape)[:, 0, 0]
    return tuple(
        Block(
            club=choice.club,
            grade=choice.grade,
            carry_m=carry_m,
            mark_m=float(marks_m[index]),
            right_marks=_rows(values[0][index]),
            long_marks=_rows(values[1][index]),
            plays_m=_rows(values[2][index]),
        )
        for index, (choice, carry_m) in enumerate(setups)
    )


def _rows(grid: Grid) -> tuple[tuple[float | None, ...], ...]:
    return tuple(
        tuple(None if np.isnan(v) else round(float(v), 4) + 0.0 for v in row) for row in grid
    )


def _negated(row: tuple[float | None, ...]) -> tuple[float | None, ...]:
    return tuple(None if value is None else -value for value in row)


def _safe(name: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{name}" if name[:1] in "=+-@" else name
