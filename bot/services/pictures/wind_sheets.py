"""The wind sheet of a bag: allowances by wind speed and hour, in one call of the engine."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bot.drawing.sheet_scene import HOURS, Block, SheetScene
from bot.services.caddie.caddie import Caddie, choose
from bot.services.caddie.rack import Choice
from engine.law import Shots, Verdict
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Club
from shared.shot import Shot
from shared.units import (
    DEGREES_PER_HOUR,
    LENGTH_UNIT_OF,
    METRES_PER,
    MPS_PER,
    SPEED_UNIT_OF,
    SpeedUnit,
    UnitSystem,
)

Grid = NDArray[np.float64]  # (hours, speeds)

CLUB_SPEEDS: dict[SpeedUnit, tuple[float, ...]] = {
    "mph": (4.0, 8.0, 12.0, 16.0),
    "m/s": (2.0, 4.0, 6.0, 8.0),
    "km/h": (7.0, 14.0, 21.0, 28.0),
    "kn": (4.0, 8.0, 12.0, 16.0),
}
BAG_SPEEDS: dict[SpeedUnit, tuple[float, ...]] = {
    "mph": (5.0, 10.0, 15.0),
    "m/s": (2.0, 4.0, 6.0),
    "km/h": (8.0, 16.0, 24.0),
    "kn": (4.0, 8.0, 12.0),
}
MOST_SPEEDS = 4  # what a phone's width holds
MOST_SETUPS = 16  # a bag and two more: what a picture of 150 KB holds
MOST_OF_FAMILY = 8
FAMILIES = {
    "wood": "Woods",
    "hybrid": "Hybrids",
    "long iron": "Long irons",
    "short iron": "Short irons",
    "wedge": "Wedges",
}
CARRIES = 4  # set-ups of a single club, from full down
STEP = 5.0  # carries are round in yards or metres


def make_sheets(caddie: Caddie, bag: Bag, *, club: str | None = None) -> tuple[SheetScene, ...]:
    """The sheet of a club; without one those of the bag, one for each family of clubs."""
    if club is not None:
        return (make_sheet(caddie, bag, clubs=(club,)),)
    families: dict[str, list[str]] = {}
    for each in caddie.kit.clubs:
        families.setdefault(each.family, []).append(each.name)
    return tuple(
        make_sheet(caddie, bag, clubs=tuple(names[start : start + MOST_OF_FAMILY]), family=family)
        for family, names in families.items()
        for start in range(0, len(names), MOST_OF_FAMILY)
    )


def make_sheet(
    caddie: Caddie,
    bag: Bag,
    *,
    clubs: tuple[str, ...] = (),
    carries_m: tuple[float, ...] = (),
    speeds_mps: tuple[float, ...] = (),
    title: str = "Wind sheet",
    family: str = "",
) -> SheetScene:
    """The sheet of a bag: no clubs named is all of them, each for its full carry.

    One club without carries gets several, from full carry down; carries given hold for every club
    that reaches them. One call of the engine. Errors: InputError for more set-ups or wind speeds
    than a page holds, for a carry that none of the clubs has. ``family`` names the clubs together;
    then also one club alone is shown at full carry.
    """
    kit = caddie.kit
    units = bag.units
    alone = len(clubs) == 1 and not family
    unit = SPEED_UNIT_OF[units]
    usual = (CLUB_SPEEDS if alone else BAG_SPEEDS)[unit]
    speeds = speeds_mps or tuple(each * MPS_PER[unit] for each in usual)
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
        raise InputError("None of these clubs can be set up for that carry.", "/sheet")
    if len(setups) > MOST_SETUPS:
        raise InputError(f"A sheet holds {MOST_SETUPS} set-ups.", "/sheet")
    ball = choices[0].ball
    which = FAMILIES.get(family) or ("Some clubs" if clubs else "The whole bag")
    if alone:
        which = f"{choices[0].club} ({choices[0].grade})"
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
