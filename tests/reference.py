"""The reference flight: the same physics written a second time, integrated by scipy.

Nothing here is shared with the engine but the numbers of a law and the ball's own (R&A/USGA
Equipment Rules, CGPM 1901): the equations are scalar, in the ground's frame, the spin axis comes
from the direction the lift must have. scipy's DOP853 steps as its tolerance asks and finds the
landing as an event, so that a common mistake of both flights would have to be made twice.
"""

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import root

from engine.aerodynamics import FITTED, Aerodynamics

MASS_KG, DIAMETER_M = 0.04593, 0.04267
RADIUS_M = DIAMETER_M / 2
GRAVITY_MPS2 = 9.80665
VISCOSITY_PAS = 1.7894e-5  # ISO 2533:1975 at 0 m
CRISIS_WIDTH = 0.1  # part of the law's own formula
PROFILE_FLOOR_M = 1.0  # the engine's own choice, so that both fly in the same wind
REFERENCE_RTOL = 1e-10
LONGEST_S = 40.0
LONGEST_STEP_S = 0.05  # an event is looked for between steps: a longer one may leap a grazing top


@dataclass(frozen=True)
class Shot:
    """One shot; the wind comes from ``from_deg`` and holds at 10 m where a profile is given."""

    speed_mps: float
    elevation_rad: float
    spin_radps: float
    azimuth_rad: float = 0.0
    tilt_rad: float = 0.0
    wind_mps: float = 0.0
    from_deg: float = 0.0
    height_m: float = 0.0
    density_kgpm3: float = 1.225
    profile_exponent: float | None = None
    law: Aerodynamics = field(default=FITTED)


@dataclass(frozen=True)
class Touch:
    """Where a shot comes down through its target's height."""

    long_m: float
    right_m: float
    time_s: float
    apex_m: float
    descent_deg: float
    velocity_mps: tuple[float, float, float]
    spin_radps: tuple[float, float, float]


def touch(shot: Shot, *, rtol: float = REFERENCE_RTOL) -> Touch | None:
    """Fly one shot with DOP853; ``None`` where it does not come down at its target's height."""
    direction, axis = _launch(shot)
    start = [0.0, 0.0, 0.0, *(shot.speed_mps * part for part in direction), shot.spin_radps]
    found: Any = solve_ivp(
        _equations(shot, axis),
        (0.0, LONGEST_S),
        start,
        method="DOP853",
        rtol=rtol,
        atol=rtol,
        max_step=LONGEST_STEP_S,
        events=(_event(shot.height_m, 1, terminal=True), _event(0.0, 4, terminal=False)),
    )
    if not len(found.t_events[0]):
        return None
    x, _, z, vx, vy, vz, spin = (float(value) for value in found.y_events[0][0])
    tops = [float(state[1]) for state in found.y_events[1]]
    return Touch(
        long_m=float(x),
        right_m=float(z),
        time_s=float(found.t_events[0][0]),
        apex_m=max([0.0, *tops]),
        descent_deg=math.degrees(math.atan2(-vy, math.hypot(vx, vz))),
        velocity_mps=(vx, vy, vz),
        spin_radps=(spin * axis[0], spin * axis[1], spin * axis[2]),
    )


@dataclass(frozen=True)
class Swing:
    """A full shot and what a m/s of ball speed adds to its angle (rad) and its spin (rad/s)."""

    full: Shot
    rise_per_mps: float
    spin_per_mps: float
    spin_factor: float = 1.0

    def struck(self, *, factor: float, azimuth_rad: float) -> Shot:
        """The shot at ``factor`` of full speed; its spin is then multiplied by ``spin_factor``."""
        faster = self.full.speed_mps * (factor - 1)
        return replace(
            self.full,
            speed_mps=self.full.speed_mps + faster,
            elevation_rad=max(self.full.elevation_rad + self.rise_per_mps * faster, 0.02),
            spin_radps=self.spin_factor
            * max(self.full.spin_radps + self.spin_per_mps * faster, 0.0),
            azimuth_rad=azimuth_rad,
        )


@dataclass(frozen=True)
class Aim:
    """A solved aim: allowance along and across, speed factor and azimuth, landings it took."""

    long_m: float
    right_m: float
    speed_factor: float
    azimuth_rad: float
    flights: int


def aim(swing: Swing, *, distance_m: float, rtol: float) -> Aim | None:
    """Factor of full speed and azimuth that land ``swing`` on the target in its wind.

    scipy.optimize.root (hybr) on one flight at a time. ``None`` where it does not succeed.
    """
    flights = 0

    def struck(guess: np.ndarray) -> Shot:
        return swing.struck(factor=math.exp(guess[0]), azimuth_rad=float(guess[1]))

    def gap(guess: np.ndarray) -> list[float]:
        nonlocal flights
        flights += 1
        landed = touch(struck(guess), rtol=rtol)
        if landed is None:
            return [-distance_m, 0.0]
        return [landed.long_m - distance_m, landed.right_m]

    found: Any = root(gap, [0.0, 0.0], method="hybr", tol=1e-8)
    calm = touch(replace(struck(found.x), wind_mps=0.0), rtol=rtol)
    if not found.success or calm is None:
        return None
    return Aim(
        calm.long_m - distance_m,
        calm.right_m,
        math.exp(found.x[0]),
        float(found.x[1]),
        flights + 1,
    )


def _launch(shot: Shot) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Direction of the ball and axis of its spin.

    Lift without tilt is square to the path in its vertical plane; tilt leans it to the right. The
    axis is what turns the direction into that lift: axis = direction x lift.
    """
    ce, se = math.cos(shot.elevation_rad), math.sin(shot.elevation_rad)
    ca, sa = math.cos(shot.azimuth_rad), math.sin(shot.azimuth_rad)
    ct, st = math.cos(shot.tilt_rad), math.sin(shot.tilt_rad)
    dx, dy, dz = ce * ca, se, ce * sa
    lx, ly, lz = -se * ca * ct - sa * st, ce * ct, -se * sa * ct + ca * st
    axis = (dy * lz - dz * ly, dz * lx - dx * lz, dx * ly - dy * lx)
    return (dx, dy, dz), axis


def _equations(shot: Shot, axis: tuple[float, float, float]) -> Any:
    law = shot.law
    half_rho_area = shot.density_kgpm3 * math.pi * RADIUS_M**2 / 2
    angle = math.radians(shot.from_deg)
    air_x, air_z = -shot.wind_mps * math.cos(angle), -shot.wind_mps * math.sin(angle)
    ax, ay, az = axis
    top = -law.drag1 / (2 * law.drag2) if law.drag2 < 0 else math.inf

    def change(_time: float, state: Any) -> tuple[float, ...]:
        _, y, _, vx, vy, vz, spin = state.tolist()
        share = 1.0
        if shot.profile_exponent is not None:
            share = (max(y, PROFILE_FLOOR_M) / 10.0) ** shot.profile_exponent
        ux, uy, uz = vx - share * air_x, vy, vz - share * air_z
        speed = math.sqrt(ux * ux + uy * uy + uz * uz)
        ratio = RADIUS_M * spin / speed
        reynolds = shot.density_kgpm3 * speed * DIAMETER_M / VISCOSITY_PAS
        held = min(ratio, top)
        drag_c = law.drag0 + law.drag1 * held + law.drag2 * held**2
        if law.drag_wave:
            drag_c += law.drag_wave * math.sin(math.pi * (reynolds - 9e4) / 2e5)
        if law.drag_rise:
            below = 1 - reynolds / law.critical_reynolds
            drag_c += law.drag_rise * (below + math.hypot(below, CRISIS_WIDTH)) / 2
        lift_c = law.lift * ratio**law.lift_power if ratio > 0 else 0.0
        drag = half_rho_area * drag_c * speed / MASS_KG
        lift = half_rho_area * lift_c * speed / MASS_KG
        return (
            vx,
            vy,
            vz,
            lift * (ay * uz - az * uy) - drag * ux,
            lift * (az * ux - ax * uz) - drag * uy - GRAVITY_MPS2,
            lift * (ax * uy - ay * ux) - drag * uz,
            -law.spin_decay * speed * spin / RADIUS_M,
        )

    return change


def _event(level: float, row: int, *, terminal: bool) -> Any:
    def crossing(_time: float, state: Any) -> float:
        return state[row] - level

    crossing.terminal = terminal  # type: ignore[attr-defined]
    crossing.direction = -1  # type: ignore[attr-defined]
    return crossing
