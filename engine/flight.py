"""Flight of a batch of shots: drag and lift on a spinning ball, RK4 with a fixed step.

Axes from the ball: x downrange, y up, z right. Arrays of vectors have shape (3, n), one column a
shot. Equation, with u = v - wind, U = |u|, s the unit spin axis and k = rho A / (2 m):

    dv/dt = -k CD U u + k CL U (s x u) - g,    d(omega)/dt = -c U omega / r

Forces depend on u alone, so a uniform wind is exactly a change of frame, for the integrator too.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import (
    BALL_AREA_M2,
    BALL_MASS_KG,
    BALL_RADIUS_M,
    FITTED,
    GRAVITY_MPS2,
    Aerodynamics,
    coefficients,
)
from engine.air import ISO_DENSITY_KGPM3, power_profile
from shared.errors import EngineError

Array = NDArray[np.float64]

STEP_S = 0.2  # landing within 1 mm of DOP853 at rtol 1e-10, see tests/unit/test_flight.py
LONGEST_FLIGHT_S = 30.0  # no golf shot flies half as long
HERMITE_ROUNDS = 5  # Newton on a cubic over one step: quadratic, far below 1e-9 s by then
STILL_SPEED_MPS = 1e-9  # avoids 0 / 0 in the spin ratio of a ball at rest in the air


@dataclass(frozen=True)
class Air:
    """The air of a batch: density in kg/m3, law of the ball, exponent of the wind's profile.

    ``profile_exponent`` None is a uniform wind; else the wind given holds at 10 m and varies as
    (y / 10 m)^exponent.
    """

    density_kgpm3: float = ISO_DENSITY_KGPM3
    law: Aerodynamics = FITTED
    profile_exponent: float | None = None


STANDARD_AIR = Air()


@dataclass(frozen=True)
class Launch:
    """How a batch leaves the ball: velocity (3, n) m/s, unit spin axis (3, n), spin (n,) rad/s."""

    velocity_mps: Array
    spin_axis: Array
    spin_radps: Array


@dataclass(frozen=True)
class Landing:
    """Where a batch comes down through its target's height; arrays (n,).

    ``reached`` is False for a shot whose apex stayed below the target's height: its other values
    are those at the apex's step and mean nothing.
    """

    long_m: Array
    right_m: Array
    time_s: Array
    apex_m: Array
    descent_deg: Array
    reached: NDArray[np.bool_]


def launch_from(
    *,
    speed_mps: Array,
    elevation_rad: Array,
    azimuth_rad: Array,
    spin_radps: Array,
    tilt_rad: Array,
) -> Launch:
    """Velocity and spin axis from a launch's angles, each (n,).

    Azimuth is positive to the right; tilt turns the backspin axis about the line of flight,
    positive curving right. The axis stays square to the launch velocity.
    """
    cos_e, sin_e = np.cos(elevation_rad), np.sin(elevation_rad)
    cos_a, sin_a = np.cos(azimuth_rad), np.sin(azimuth_rad)
    cos_t, sin_t = np.cos(tilt_rad), np.sin(tilt_rad)
    velocity = np.stack((cos_e * cos_a, sin_e, cos_e * sin_a)) * speed_mps
    axis = np.stack(
        (
            -sin_a * cos_t + sin_e * cos_a * sin_t,
            -cos_e * sin_t,
            cos_a * cos_t + sin_e * sin_a * sin_t,
        )
    )
    return Launch(velocity, axis, np.broadcast_to(spin_radps, velocity.shape[1:]))


def wind_vector(*, speed_mps: Array, from_deg: Array) -> Array:
    """The air's velocity (3, n) for winds that come from ``from_deg`` clockwise of the line."""
    angle = np.radians(from_deg)
    return np.stack((-speed_mps * np.cos(angle), np.zeros_like(angle), -speed_mps * np.sin(angle)))


def fly(
    *,
    launch: Launch,
    wind_mps: Array,
    height_m: Array,
    air: Air = STANDARD_AIR,
    step_s: float = STEP_S,
) -> Landing:
    """Fly a batch until each shot has come down through its target's height ``height_m`` (n,).

    ``wind_mps`` is the air's velocity, (3, n) or (3, 1). Errors: EngineError when an input is not
    finite or a shot is still up after 30 s.
    """
    _require_finite(launch, wind_mps, height_m)
    motion = _Motion(launch, wind_mps, air)
    state = motion.start(launch)
    catch = _Catch(height_m)
    for count in range(int(LONGEST_FLIGHT_S / step_s)):
        slope = motion.slope(state)
        later = motion.step(state, slope, step_s)
        catch.look(count * step_s, step_s, state, later)
        state = later
        if catch.all_down:
            return catch.landing()
    raise EngineError(f"a shot was still in the air after {LONGEST_FLIGHT_S:g} s")


def _require_finite(launch: Launch, wind_mps: Array, height_m: Array) -> None:
    given = (launch.velocity_mps, launch.spin_axis, launch.spin_radps, wind_mps, height_m)
    if not all(np.isfinite(array).all() for array in given):
        raise EngineError("a flight needs finite numbers")


class _Motion:
    """The equation of motion of one batch. State rows: position 0-2, velocity 3-5, spin 6."""

    def __init__(self, launch: Launch, wind_mps: Array, air: Air) -> None:
        self.wind = wind_mps
        self.law = air.law
        self.exponent = air.profile_exponent
        self.pull = air.density_kgpm3 * BALL_AREA_M2 / (2 * BALL_MASS_KG)
        axis = launch.spin_axis
        self.axis_a = axis[[1, 2, 0]]
        self.axis_b = axis[[2, 0, 1]]

    def start(self, launch: Launch) -> Array:
        zero = np.zeros_like(launch.velocity_mps)
        return np.concatenate((zero, launch.velocity_mps, launch.spin_radps[None]))

    def slope(self, state: Array) -> Array:
        wind = self.wind
        if self.exponent is not None:
            wind = wind * power_profile(height_m=state[1], exponent=self.exponent)
        through = state[3:6] - wind
        speed = np.sqrt((through * through).sum(axis=0)) + STILL_SPEED_MPS
        spin = state[6]
        drag, lift = coefficients(spin_ratio=BALL_RADIUS_M * spin / speed, law=self.law)
        pull = self.pull * speed
        turned = self.axis_a * through[[2, 0, 1]] - self.axis_b * through[[1, 2, 0]]
        change = np.empty_like(state)
        change[:3] = state[3:6]
        change[3:6] = pull * (lift * turned - drag * through)
        change[4] -= GRAVITY_MPS2
        change[6] = spin * speed * (-self.law.spin_decay / BALL_RADIUS_M)
        return change

    def step(self, state: Array, first: Array, step_s: float) -> Array:
        half = step_s / 2
        second = self.slope(state + half * first)
        third = self.slope(state + half * second)
        fourth = self.slope(state + step_s * third)
        return state + (step_s / 6) * (first + 2 * (second + third) + fourth)


class _Catch:
    """Watches each step for shots that come down through their height."""

    def __init__(self, height_m: Array) -> None:
        count = height_m.shape[0]
        self.height = height_m
        self.down = np.zeros(count, dtype=np.bool_)
        self.reached = np.zeros(count, dtype=np.bool_)
        self.apex = np.zeros(count)
        self.time = np.zeros(count)
        self.state = np.zeros((7, count))

    @property
    def all_down(self) -> bool:
        return bool(self.down.all())

    def look(self, time_s: float, step_s: float, before: Array, after: Array) -> None:
        np.maximum(self.apex, np.where(self.down, self.apex, after[1]), out=self.apex)
        falling = after[4] < 0
        if not falling.any():
            return
        turning = falling & (before[4] >= 0) & ~self.down
        if turning.any():
            self._top(step_s, before, after, turning)
        below = ~self.down & falling & (after[1] <= self.height)
        if not below.any():
            return
        crossing = below & (before[1] >= self.height)
        self.down |= below
        self.reached |= crossing
        columns = np.flatnonzero(below)
        part, state = _hermite(self.height[columns], step_s, before[:, columns], after[:, columns])
        self.time[columns] = time_s + part
        self.state[:, columns] = state

    def _top(self, step_s: float, before: Array, after: Array, turning: NDArray[np.bool_]) -> None:
        rise, fall = before[4, turning], after[4, turning]
        share = rise / (rise - fall)  # vertical speed taken as linear over the step
        top = before[1, turning] + step_s * share * (rise + 0.0) / 2
        self.apex[turning] = np.maximum(self.apex[turning], top)

    def landing(self) -> Landing:
        level = np.hypot(self.state[3], self.state[5])
        return Landing(
            long_m=self.state[0],
            right_m=self.state[2],
            time_s=self.time,
            apex_m=self.apex,
            descent_deg=np.degrees(np.arctan2(-self.state[4], level)),
            reached=self.reached,
        )


def _hermite(height: Array, step_s: float, before: Array, after: Array) -> tuple[Array, Array]:
    """Time into the step and state at which the Hermite cubic of y passes ``height``."""
    drop = before[1] - after[1]
    t = np.clip((before[1] - height) / np.where(drop > 0, drop, 1.0), 0.0, 1.0)
    y0, y1 = before[1], after[1]
    v0, v1 = before[4] * step_s, after[4] * step_s
    cubic, square = 2 * (y0 - y1) + v0 + v1, 3 * (y1 - y0) - 2 * v0 - v1
    for _ in range(HERMITE_ROUNDS):
        value = ((cubic * t + square) * t + v0) * t + y0 - height
        rate = (3 * cubic * t + 2 * square) * t + v0
        t = np.clip(t - value / np.where(rate < 0, rate, -np.inf), 0.0, 1.0)
    p0, p1 = before[:3], after[:3]
    d0, d1 = before[3:6] * step_s, after[3:6] * step_s
    a, b = 2 * (p0 - p1) + d0 + d1, 3 * (p1 - p0) - 2 * d0 - d1
    state = np.empty_like(before)
    state[:3] = ((a * t + b) * t + d0) * t + p0
    state[3:6] = ((3 * a * t + 2 * b) * t + d0) / step_s
    state[6] = before[6] + (after[6] - before[6]) * t
    return t * step_s, state
