"""Grounds, executions and ways of the demo's kit for the tests and benches of the finish."""

import numpy as np

from engine.aim import Questions
from engine.batch import Rows
from engine.bounce import Surface
from engine.execution import Execution
from engine.ground import Ground
from engine.plan import Ways
from tests.kits import demo_caddie


def ground_of(
    count: int,
    *,
    slowing_mps2: float = 0.549,
    firmness: float = 1.0,
    rises_long: float = 0.0,
    rises_right: float = 0.0,
    green_radius_m: float = 0.0,
    around_mps2: float = 1.285,
) -> Ground:
    """One ground for every shot; where the green has a radius, slower ground lies around it."""
    green = Surface(*(np.full(count, v) for v in (firmness, 0.40, slowing_mps2)))
    around = Surface(*(np.full(count, v) for v in (firmness, 0.40, around_mps2)))
    return Ground(
        around if green_radius_m else green,
        green,
        *(np.full(count, v) for v in (green_radius_m, rises_long, rises_right)),
    )


def execution_of(count: int, **sd: float) -> Execution:
    """The same execution for every shot; what is not named does not vary."""
    names = Execution.__dataclass_fields__
    assert set(sd) <= set(names)
    return Execution(**{name: np.full(count, sd.get(name, 0.0)) for name in names})


def rows_of(*clubs: str) -> Rows:
    """The demo rack's rows of each club's first grade, with the first ball."""
    rack = demo_caddie().kit_rack
    kit = demo_caddie().kit
    keys = [(club, kit.club(club).grades[0].name, kit.balls[0].name) for club in clubs]
    return np.array([rack.row_of[key] for key in keys], dtype=np.intp)


def questions_of(*clubs: str, share: float = 0.95, **same: float) -> Questions:
    """A target at ``share`` of each club's full carry; wind, height and spin as named."""
    rows = demo_caddie().kit_rack.rack.take(rows_of(*clubs))
    count = len(clubs)
    return Questions(
        full=rows.full,
        distance_m=rows.full_m * share,
        height_m=np.full(count, same.get("height_m", 0.0)),
        wind_mps=np.full(count, same.get("wind_mps", 0.0)),
        wind_from_deg=np.full(count, same.get("wind_from_deg", 0.0)),
        spin_factor=np.full(count, same.get("spin_factor", 1.0)),
        tilt_rad=np.full(count, same.get("tilt_rad", 0.0)),
    )


def ways_of(*clubs: str, over_full: float = 0.12, **sd: float) -> Ways:
    """The clubs' plain shots with one execution."""
    rows = demo_caddie().kit_rack.rack.take(rows_of(*clubs))
    count = len(clubs)
    return Ways(
        full=rows.full,
        least_m=rows.short_m,
        most_m=rows.full_m * (1 + over_full),
        wind_share=rows.wind_share,
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
        execution=execution_of(count, **sd),
    )
