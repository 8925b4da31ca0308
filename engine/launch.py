"""A club's launch: angle and spin from the published tables, ball speed from the carry it needs.

The older men's table gives a club's launch at one ball speed, the women's of the same edition at a
lower one. Between them, and on beyond, angle and spin go straight with ball speed: a shorter grade
and a part shot start higher, with less spin. (At an unchanged angle a slow ball flies so low that a
helping wind, which takes its lift, would leave it short and a wind into it would carry it on.)
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch
from engine.flight import fly
from engine.launch_tables import MEN, WOMEN
from engine.motion import STANDARD_AIR, Air, Launch, launch_from
from shared.errors import EngineError, NotConvergedError
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM

Array = NDArray[np.float64]

SOLVED_M = 1e-4  # how near the still-air carry must come
MOST_ROUNDS = 30
LEAST_SPEED_MPS, MOST_SPEED_MPS = 5.0, 120.0
LEAST_RISE_RAD = 0.02  # far below every launch a kit asks for; keeps a search off the ground
# Whose step between the tables a club takes where the women's lacks it. Their 3-wood is left out
# too: it spins like their driver, so that its step says less about speed than about the club.
TREND_OF = {
    "3-wood": "5-wood",
    "hybrid": "4-iron",
    "3-iron": "4-iron",
    "gap wedge": "pitching wedge",
    "sand wedge": "pitching wedge",
}


@dataclass(frozen=True)
class FullShot(Batch):
    """The full shots of n clubs: ball speed m/s, launch angle rad, backspin rad/s; each (n,).

    ``rise_per_mps`` (rad) and ``spin_per_mps`` (rad/s) are what a m/s of ball speed adds to them.
    """

    speed_mps: Array
    elevation_rad: Array
    spin_radps: Array
    rise_per_mps: Array
    spin_per_mps: Array

    def at(self, speed_mps: Array) -> tuple[Array, Array]:
        """Launch angle rad and spin rad/s at another ball speed (n,)."""
        faster = speed_mps - self.speed_mps
        elevation = np.maximum(self.elevation_rad + self.rise_per_mps * faster, LEAST_RISE_RAD)
        return elevation, np.maximum(self.spin_radps + self.spin_per_mps * faster, 0.0)


def launch_rows() -> tuple[str, ...]:
    """Names of the rows a club can launch like."""
    return (*MEN, "gap wedge", "sand wedge")


def launch_row(name: str) -> tuple[float, float, float]:
    """Ball speed m/s, launch angle rad and spin rad/s of a row; KeyError for another name.

    The table ends with the pitching wedge. The gap and the sand wedge go on by the step from the
    9-iron to the pitching wedge, once and twice: an extrapolation, no published value.
    """
    steps = {"gap wedge": 1, "sand wedge": 2}.get(name, 0)
    last, before = MEN["pitching wedge"], MEN["9-iron"]
    row = MEN[name] if not steps else last
    speed, angle, spin = (
        row[i] + steps * (last[i] - before[i]) if steps else row[i] for i in range(3)
    )
    return speed * MPS_PER_MPH, float(np.radians(angle)), spin * RADPS_PER_RPM


def full_shots(*, rows: list[str], carry_m: Array, air: Air = STANDARD_AIR) -> FullShot:
    """Full shots that carry ``carry_m`` (n,), level and in still air, launched as ``rows``.

    Secant on the batch. Errors: EngineError for a carry that is not positive and finite;
    NotConvergedError where no ball speed from 5 to 120 m/s carries that far.
    """
    if not (np.isfinite(carry_m).all() and (carry_m > 0).all()):
        raise EngineError("a full carry must be a positive number")
    model = _as_printed(rows)
    speed = np.clip(
        model.speed_mps * np.sqrt(carry_m / _table_carry_m(rows)), LEAST_SPEED_MPS, MOST_SPEED_MPS
    )
    carry = _still_carry_m(model, speed, air)
    slope = carry / speed * 1.6  # carry grows somewhat faster than speed
    for _ in range(MOST_ROUNDS):
        gap = carry_m - carry
        if np.abs(gap).max() < SOLVED_M:
            elevation, spin = model.at(speed)
            return FullShot(speed, elevation, spin, model.rise_per_mps, model.spin_per_mps)
        later = np.clip(speed + gap / slope, LEAST_SPEED_MPS, MOST_SPEED_MPS)
        later_carry = _still_carry_m(model, later, air)
        moved = np.abs(later - speed) > 1e-9
        rise = (later_carry - carry) / np.where(moved, later - speed, 1.0)
        slope = np.where(moved & (rise > 0), rise, slope)
        speed, carry = later, later_carry
    worst = float(np.abs(carry_m - carry).max())
    raise NotConvergedError("no ball speed carries that far", MOST_ROUNDS, worst)


def part_shot(
    *, full: FullShot, speed_factor: Array, azimuth_rad: Array, spin_factor: Array, tilt_rad: Array
) -> Launch:
    """Launch of shots hit at ``speed_factor`` of full speed, with ``spin_factor`` of the spin."""
    speed = full.speed_mps * speed_factor
    elevation, spin = full.at(speed)
    return launch_from(
        speed_mps=speed,
        elevation_rad=elevation,
        azimuth_rad=azimuth_rad,
        spin_radps=spin * spin_factor,
        tilt_rad=tilt_rad,
    )


def _as_printed(rows: list[str]) -> FullShot:
    """The rows' own launches, with the steps from the men's to the women's table."""
    table = np.array([launch_row(name) for name in rows]).T
    trends = [TREND_OF.get(name, name) for name in rows]
    men, women = (np.array([each[name][:3] for name in trends]).T for each in (MEN, WOMEN))
    speed, angle, spin = women - men
    per_mps = 1 / (speed * MPS_PER_MPH)
    return FullShot(
        table[0], table[1], table[2], np.radians(angle) * per_mps, spin * RADPS_PER_RPM * per_mps
    )


def _table_carry_m(rows: list[str]) -> Array:
    printed = [MEN.get(name, MEN["pitching wedge"])[5] for name in rows]
    return np.array(printed, dtype=np.float64) * METRES_PER_YARD


def _still_carry_m(model: FullShot, speed_mps: Array, air: Air) -> Array:
    zero = np.zeros_like(speed_mps)
    launch = part_shot(
        full=model,
        speed_factor=speed_mps / model.speed_mps,
        azimuth_rad=zero,
        spin_factor=np.ones_like(zero),
        tilt_rad=zero,
    )
    return fly(launch=launch, wind_mps=np.zeros((3, 1)), height_m=zero, air=air).long_m
