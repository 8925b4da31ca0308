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
    AIR_VISCOSITY_PAS,
    BALL_AREA_M2,
    BALL_DIAMETER_M,
    BALL_MASS_KG,
    BALL_RADIUS_M,
    FITTED,
    GRAVITY_MPS2,
    Aerodynamics,
    coefficients,
)
from engine.air import ISO_DENSITY_KGPM3, power_profile
from engine.batch import Batch, Rows
from shared.errors import EngineError

Array = NDArray[np.float64]
Step = tuple[Array, Array]  # place and pace

STEP_S = 0.2  # landing within 1 mm of DOP853 at rtol 1e-10, see tests/unit/test_flight.py
PROFILE_STEPS = 4  # a wind that changes fast near the ground needs shorter steps: 3 mm with these
LONGEST_FLIGHT_S = 30.0  # no golf shot flies half as long
# Up to these a step of .6 s, the longest in use, stays stable; measured with random shots.
FASTEST_MPS, STRONGEST_WIND_MPS, MOST_SPIN_RADPS = 300.0, 100.0, 10_000.0
HERMITE_ROUNDS = 4  # Newton on a cubic over one step: quadratic, about 1e-9 s by then
LEAST_FALL_M = 1e-9  # per step: a path more level than that has no crossing to be found
WEIGHT_MPS2 = np.array([[0.0], [GRAVITY_MPS2], [0.0]])
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
class Landing(Batch):
    """Where a batch comes down through its target's height; arrays (n,).

    ``reached`` is False for a shot whose apex stayed below the target's height, or that was not
    down after 30 s: its other values are finite and mean nothing.
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

    ``wind_mps`` is the air's velocity, (3, n) or (3, 1), level. A shot that never comes down there,
    or not within 30 s, is not ``reached``; the others do not suffer from it. Errors: EngineError
    when an input is not finite or out of all proportion, a spin is negative or a wind not level.
    """
    _require_sane(launch, wind_mps, height_m)
    if air.profile_exponent is not None:
        step_s /= PROFILE_STEPS
    motion = Motion(launch, wind_mps, air)
    place, pace = motion.start(launch)
    catch = _Catch(height_m)
    for count in range(int(LONGEST_FLIGHT_S / step_s)):
        later_place, later_pace = motion.step(place, pace, step_s)
        catch.look(count * step_s, step_s, (place, pace), (later_place, later_pace))
        place, pace = later_place, later_pace
        if catch.all_down:
            break
    return catch.landing(step_s, motion.frame)


def _require_sane(launch: Launch, wind_mps: Array, height_m: Array) -> None:
    given = (launch.velocity_mps, launch.spin_axis, launch.spin_radps, wind_mps, height_m)
    if not all(np.isfinite(array).all() for array in given):
        raise EngineError("a flight needs finite numbers")
    if (launch.spin_radps < 0).any():
        raise EngineError("a spin is never negative; its axis says which way it turns")
    for array, most, unit in (
        (launch.velocity_mps, FASTEST_MPS, "m/s"),
        (wind_mps, STRONGEST_WIND_MPS, "m/s of wind"),
        (launch.spin_radps, MOST_SPIN_RADPS, "rad/s of spin"),
    ):
        if np.abs(array).max(initial=0.0) > most:
            raise EngineError(f"no flight is computed beyond {most:g} {unit}")
    if wind_mps[1].any():
        raise EngineError("a wind is level")


class Motion:
    """The equation of motion of one batch, seen from air that moves with a uniform wind.

    ``place`` is the position (3, n) in that frame, ``pace`` the velocity in rows 0-2 and, where it
    decays, the spin in row 3. Under a profile the frame stands still and the wind is ``shear``.
    """

    def __init__(self, launch: Launch, wind_mps: Array, air: Air) -> None:
        uniform = air.profile_exponent is None
        self.frame = wind_mps if uniform else np.zeros((3, 1))
        self.shear = None if uniform else wind_mps
        self.exponent = air.profile_exponent or 0.0
        self.law = air.law
        self.pull = air.density_kgpm3 * BALL_AREA_M2 / (2 * BALL_MASS_KG)
        self.reynolds = air.density_kgpm3 * BALL_DIAMETER_M / AIR_VISCOSITY_PAS
        self.rim = BALL_RADIUS_M * launch.spin_radps  # speed of the ball's equator, m/s
        x, y, z = launch.spin_axis
        none = np.zeros_like(x)
        self.turn = np.array(((none, -z, y), (z, none, -x), (-y, x, none)))  # s x u = turn u

    def start(self, launch: Launch) -> tuple[Array, Array]:
        pace = launch.velocity_mps - self.frame
        if self.law.spin_decay:
            pace = np.concatenate((pace, self.rim[None]))
        return np.zeros_like(launch.velocity_mps), pace

    def slope(self, pace: Array, place: Array, ahead_s: float | Array, earlier: Array) -> Array:
        """Change with time of ``pace``, reached from ``place`` after ``ahead_s`` at ``earlier``."""
        through = pace[:3]
        if self.shear is not None:
            height = place[1] + ahead_s * earlier[1]
            through = through - self.shear * power_profile(height_m=height, exponent=self.exponent)
        speed = np.sqrt(np.add.reduce(through * through)) + STILL_SPEED_MPS
        rim = pace[3] if self.law.spin_decay else self.rim
        reynolds = self.reynolds * speed if self.law.drag_wave else None
        drag, lift = coefficients(spin_ratio=rim / speed, reynolds=reynolds, law=self.law)
        pull = self.pull * speed
        turned = np.einsum("ijn,jn->in", self.turn, through)
        change = (pull * lift) * turned - (pull * drag) * through - WEIGHT_MPS2
        if not self.law.spin_decay:
            return change
        slowing = rim * speed * (-self.law.spin_decay / BALL_RADIUS_M)
        return np.concatenate((change, slowing[None]))

    def step(self, place: Array, pace: Array, step_s: float | Array) -> tuple[Array, Array]:
        """One classical Runge-Kutta step."""
        half, sixth = step_s / 2, step_s / 6
        first = self.slope(pace, place, 0.0, pace)
        pace_2 = pace + half * first
        second = self.slope(pace_2, place, half, pace)
        pace_3 = pace + half * second
        third = self.slope(pace_3, place, half, pace_2)
        pace_4 = pace + step_s * third
        fourth = self.slope(pace_4, place, step_s, pace_3)
        moved = sixth * (pace + 2 * (pace_2 + pace_3) + pace_4)
        return place + moved[:3], pace + sixth * (first + 2 * (second + third) + fourth)


class _Catch:
    """Watches each step for shots that come down through their height."""

    def __init__(self, height_m: Array) -> None:
        count = height_m.shape[0]
        self.height = height_m
        self.down = np.zeros(count, dtype=np.bool_)
        self.reached = np.zeros(count, dtype=np.bool_)
        self.falling = np.zeros(count, dtype=np.bool_)
        self.apex = np.zeros(count)
        self.time = np.zeros(count)
        self.ends = np.zeros((4, 3, count))  # place and pace at both ends of the step that crosses

    @property
    def all_down(self) -> bool:
        return bool(self.down.all())

    def look(
        self,
        time_s: float,
        step_s: float,
        before: Step,
        after: Step,
    ) -> None:
        falling = after[1][1] < 0
        if not np.count_nonzero(falling):
            return
        turning = falling > self.falling
        self.falling = falling
        if np.count_nonzero(turning):
            self._top(step_s, np.flatnonzero(turning & ~self.down), before, after)
        below = falling & (after[0][1] <= self.height) & ~self.down
        if np.count_nonzero(below):
            self._cross(time_s, np.flatnonzero(below), before, after)

    def _top(self, step_s: float, rows: Rows, before: Step, after: Step) -> None:
        """The top of shots that turn over, their vertical speed taken as linear over the step."""
        height, rise, fall = before[0][1, rows], before[1][1, rows], after[1][1, rows]
        top = height + step_s * rise**2 / (2 * (rise - fall))
        self.apex[rows] = np.maximum(self.apex[rows], top)

    def _cross(self, time_s: float, rows: Rows, before: Step, after: Step) -> None:
        self.down[rows] = True
        highest = np.maximum(before[0][1, rows], self.apex[rows])
        self.reached[rows] = highest >= self.height[rows]
        self.time[rows] = time_s
        for end, whole in zip(self.ends, (*before, *after), strict=True):
            end[:, rows] = whole[:3, rows]

    def landing(self, step_s: float, frame: Array) -> Landing:
        """Where the shots crossed, seen from the ground instead of the moving ``frame``."""
        part, place, velocity = _hermite(self.height, step_s, self.ends)
        time = self.time + part
        place = place + frame * time
        velocity = velocity + frame
        level = np.hypot(velocity[0], velocity[2])
        return Landing(
            long_m=place[0],
            right_m=place[2],
            time_s=time,
            apex_m=self.apex,
            descent_deg=np.degrees(np.arctan2(-velocity[1], level)),
            reached=self.reached,
        )


def _hermite(height: Array, step_s: float, ends: Array) -> tuple[Array, Array, Array]:
    """Time into the step, place and velocity at which the Hermite cubic falls through ``height``.

    ``ends`` (4, 3, n): place and velocity before, place and velocity after the step. Newton from
    the end of the step: a path that bends down has its later crossing on that side.
    """
    before, start, after, end = ends[0], step_s * ends[1], ends[2], step_s * ends[3]
    cubic, square = 2 * (before - after) + start + end, 3 * (after - before) - 2 * start - end
    a, b, c, d = cubic[1], square[1], start[1], before[1] - height
    t = np.ones_like(height)
    for _ in range(HERMITE_ROUNDS):
        value = ((a * t + b) * t + c) * t + d
        rate = (3 * a * t + 2 * b) * t + c
        falls = np.where(rate < -LEAST_FALL_M, rate, -np.inf)
        t = np.maximum(np.minimum(t - value / falls, 1.0), 0.0)
    place = ((cubic * t + square) * t + start) * t + before
    velocity = ((3 * cubic * t + 2 * square) * t + start) / step_s
    return t * step_s, place, velocity
