"""Flight of a batch of shots: drag and lift on a spinning ball, RK4 with a fixed step.

Axes from the ball: x downrange, y up, z right. Arrays of vectors have shape (3, n), one column a
shot. Equation, with u = v - wind, U = |u|, s the unit spin axis and k = rho A / (2 m):

    dv/dt = -k CD U u + k CL U (s x u) - g,    d(omega)/dt = -c U omega / r

Forces depend on u alone, so a uniform wind is exactly a change of frame, for the integrator too.
"""

from copy import copy
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
State = tuple[Array, Array]  # position and velocity of a batch, as Motion has them

STEP_S = 0.2  # tests/unit/test_flight.py holds its landings against DOP853 at rtol 1e-10
PROFILE_STEPS = 4  # steps for one of STEP_S: a wind that changes fast near the ground needs more
LONGEST_FLIGHT_S = 30.0  # no golf shot flies half as long
# Up to these a step of .6 s, the longest in use, stays stable; measured with random shots.
FASTEST_MPS, STRONGEST_WIND_MPS, MOST_SPIN_RADPS = 300.0, 100.0, 10_000.0
BLOCK = 2048  # shots flown together, whose arrays stay in the processor's cache
STAYS = 0.8  # share still in the air below which those that are down are taken out
HERMITE_ROUNDS = 4  # Newton on a cubic over one step: quadratic, about 1e-9 s by then
LEAST_FALL_M = 1e-9  # per step: a path more level than that has no crossing to be found
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
    """Where and how a batch comes down through its target's height; arrays (n,) or (n, 3).

    ``long_m``, ``height_m`` and ``right_m`` are the position from the ball, ``time_s`` the time in
    the air, ``apex_m`` the top of the path above the ball, ``descent_deg`` the angle below level.
    ``velocity_mps`` (n, 3) and ``spin_radps`` (n, 3) are the vectors of velocity and spin there,
    axes as in this module. ``reached`` is False for a shot whose apex stayed below the target's
    height, or that was not down after 30 s: its other values are finite and mean nothing.
    """

    long_m: Array
    height_m: Array
    right_m: Array
    time_s: Array
    apex_m: Array
    descent_deg: Array
    velocity_mps: Array
    spin_radps: Array
    reached: NDArray[np.bool_]

    @property
    def position_m(self) -> Array:
        """Positions (n, 3)."""
        return np.stack((self.long_m, self.height_m, self.right_m), axis=1)


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
    whole: Landing | None = None
    for start in range(0, max(height_m.shape[0], 1), BLOCK):
        part = slice(start, start + BLOCK)
        wind = wind_mps if wind_mps.shape[1] == 1 else wind_mps[:, part]
        shots = Launch(
            launch.velocity_mps[:, part], launch.spin_axis[:, part], launch.spin_radps[part]
        )
        landing = _fly_block(shots, wind, height_m[part], air, step_s)
        whole = landing if whole is None else whole.joined(landing)
    assert whole is not None
    return whole


def _fly_block(
    launch: Launch, wind_mps: Array, height_m: Array, air: Air, step_s: float
) -> Landing:
    """Fly shots together; those that are down leave once they are a good part of the rest."""
    motion = Motion(launch, wind_mps, air)
    state = motion.start(launch)
    crossings = _Crossings(height_m, motion)
    for count in range(int(LONGEST_FLIGHT_S / step_s)):
        before, state = state, motion.step(*state, step_s)
        crossings.watch(count * step_s, step_s, before, state)
        flying = ~crossings.down
        left = np.count_nonzero(flying)
        if not left:
            break
        if left < STAYS * flying.size:
            motion = motion.take(flying)
            state = state[0][:, flying], state[1][:, flying]
            crossings.take(flying)
    return crossings.landing(step_s, launch.spin_axis)


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

    A state is the position (3, n) in that frame, m, and the velocity in it, m/s: rows 0-2 and,
    where spin decays, the surface speed r omega in row 3. Under a profile the frame stands still
    and the wind is ``shear``.
    """

    def __init__(self, launch: Launch, wind_mps: Array, air: Air) -> None:
        uniform = air.profile_exponent is None
        self.frame = wind_mps if uniform else np.zeros((3, 1))
        self.shear = None if uniform else wind_mps
        self.exponent = air.profile_exponent or 0.0
        self.law = air.law
        self.force_per_m = air.density_kgpm3 * BALL_AREA_M2 / (2 * BALL_MASS_KG)  # k, 1/m
        self.reynolds_per_mps = air.density_kgpm3 * BALL_DIAMETER_M / AIR_VISCOSITY_PAS
        self.surface_mps = BALL_RADIUS_M * launch.spin_radps  # r omega, at the ball's equator
        x, y, z = launch.spin_axis
        none = np.zeros_like(x)
        self.axis_cross = np.array(((none, -z, y), (z, none, -x), (-y, x, none)))  # s x u = this u

    def take(self, keep: NDArray[np.bool_]) -> "Motion":
        """The motion of the shots to ``keep`` (n,)."""
        part = copy(self)
        if self.frame.shape[1] > 1:
            part.frame = self.frame[:, keep]
        if self.shear is not None and self.shear.shape[1] > 1:
            part.shear = self.shear[:, keep]
        part.surface_mps = self.surface_mps[keep]
        part.axis_cross = self.axis_cross[:, :, keep]
        return part

    def start(self, launch: Launch) -> State:
        """The state at the ball."""
        velocity = launch.velocity_mps - self.frame
        if self.law.spin_decay:
            velocity = np.concatenate((velocity, self.surface_mps[None]))
        return np.zeros_like(launch.velocity_mps), velocity

    def acceleration(
        self, velocity: Array, position: Array, ahead_s: float | Array, earlier: Array
    ) -> Array:
        """d(velocity)/dt at ``position + ahead_s * earlier``, with row 3 where spin decays."""
        through = velocity[:3]
        if self.shear is not None:
            height = position[1] + ahead_s * earlier[1]
            through = through - self.shear * power_profile(height_m=height, exponent=self.exponent)
        squares = through * through
        speed = squares[0]
        speed += squares[1]
        speed += squares[2]
        np.sqrt(speed, out=speed)
        speed += STILL_SPEED_MPS
        surface = velocity[3] if self.law.spin_decay else self.surface_mps
        reynolds = self.reynolds_per_mps * speed if self.law.asks_reynolds else None
        drag, lift = coefficients(spin_ratio=surface / speed, reynolds=reynolds, law=self.law)
        slowing = speed * surface if self.law.spin_decay else None
        force = np.multiply(speed, self.force_per_m, out=speed)  # k U, for coefficient x velocity
        lift *= force
        drag *= force
        change = np.einsum("ijn,jn->in", self.axis_cross, through)
        change *= lift
        change -= drag * through
        change[1] -= GRAVITY_MPS2
        if slowing is None:
            return change
        slowing *= -self.law.spin_decay / BALL_RADIUS_M
        return np.concatenate((change, slowing[None]))

    def step(self, position: Array, velocity: Array, step_s: float | Array) -> State:
        """The state ``step_s`` later, by one classical Runge-Kutta step of fourth order."""
        half, sixth = step_s / 2, step_s / 6
        first = self.acceleration(velocity, position, 0.0, velocity)
        velocity_2 = half * first
        velocity_2 += velocity
        second = self.acceleration(velocity_2, position, half, velocity)
        velocity_3 = half * second
        velocity_3 += velocity
        third = self.acceleration(velocity_3, position, half, velocity_2)
        velocity_4 = step_s * third
        velocity_4 += velocity
        fourth = self.acceleration(velocity_4, position, step_s, velocity_3)
        # sixth (v1 + 2 (v2 + v3) + v4) and the same of the accelerations, in place
        velocity_2 += velocity_3
        velocity_2 *= 2
        velocity_2 += velocity_4
        velocity_2 += velocity
        velocity_2 *= sixth
        velocity_2[:3] += position
        second += third
        second *= 2
        second += first
        second += fourth
        second *= sixth
        second += velocity
        return velocity_2[:3], second


class _Crossings:
    """Watches each step for shots that come down through their height."""

    def __init__(self, height_m: Array, motion: Motion) -> None:
        count = height_m.shape[0]
        self.height = height_m
        self.frame = motion.frame
        self.decays = bool(motion.law.spin_decay)
        self.reached = np.zeros(count, dtype=np.bool_)
        self.apex = np.zeros(count)
        self.time = np.zeros(count)
        # position and velocity before and after the step that crosses, and r omega at both
        self.ends = np.zeros((4, 3, count))
        self.surface_mps = np.tile(motion.surface_mps, (2, 1))
        # of the shots that are still flown: which they are, their heights, how far they are
        self.rows = np.arange(count, dtype=np.intp)
        self.target = height_m
        self.down = np.zeros(count, dtype=np.bool_)
        self.falling = np.zeros(count, dtype=np.bool_)

    def take(self, keep: NDArray[np.bool_]) -> None:
        """Watch on over the shots to ``keep`` alone."""
        self.rows, self.target = self.rows[keep], self.target[keep]
        self.down, self.falling = self.down[keep], self.falling[keep]

    def watch(self, time_s: float, step_s: float, before: State, after: State) -> None:
        """Take note of the shots that turn over or cross in the step that began at ``time_s``."""
        falling = after[1][1] < 0
        if not np.count_nonzero(falling):
            return
        turning = falling > self.falling
        self.falling = falling
        if np.count_nonzero(turning):
            self._top(step_s, np.flatnonzero(turning & ~self.down), before, after)
        below = falling & (after[0][1] <= self.target) & ~self.down
        if np.count_nonzero(below):
            self._cross(time_s, np.flatnonzero(below), before, after)

    def _top(self, step_s: float, at: Rows, before: State, after: State) -> None:
        """The top of shots that turn over, their vertical speed taken as linear over the step."""
        height, rise, fall = before[0][1, at], before[1][1, at], after[1][1, at]
        top = height + step_s * rise**2 / (2 * (rise - fall))
        rows = self.rows[at]
        self.apex[rows] = np.maximum(self.apex[rows], top)

    def _cross(self, time_s: float, at: Rows, before: State, after: State) -> None:
        rows = self.rows[at]
        self.down[at] = True
        highest = np.maximum(before[0][1, at], self.apex[rows])
        self.reached[rows] = highest >= self.target[at]
        self.time[rows] = time_s
        for end, whole in zip(self.ends, (*before, *after), strict=True):
            end[:, rows] = whole[:3, at]
        if self.decays:
            self.surface_mps[:, rows] = before[1][3, at], after[1][3, at]

    def landing(self, step_s: float, spin_axis: Array) -> Landing:
        """Where and how the shots crossed, seen from the ground, not from the moving frame."""
        part_s, position, velocity = _hermite(self.height, step_s, self.ends)
        time = self.time + part_s
        position = position + self.frame * time
        velocity = velocity + self.frame
        level = np.hypot(velocity[0], velocity[2])
        first, last = self.surface_mps
        spin = (first + (last - first) * (part_s / step_s)) / BALL_RADIUS_M
        return Landing(
            long_m=position[0],
            height_m=position[1],
            right_m=position[2],
            time_s=time,
            apex_m=self.apex,
            descent_deg=np.degrees(np.arctan2(-velocity[1], level)),
            velocity_mps=velocity.T,
            spin_radps=(spin * spin_axis).T,
            reached=self.reached,
        )


def _hermite(height: Array, step_s: float, ends: Array) -> tuple[Array, Array, Array]:
    """Time into the step, position and velocity where the Hermite cubic falls through ``height``.

    ``ends`` (4, 3, n): position and velocity before and after the step. Newton from the end of the
    step: a path that bends down has its later crossing on that side.
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
    position = ((cubic * t + square) * t + start) * t + before
    velocity = ((3 * cubic * t + 2 * square) * t + start) / step_s
    return t * step_s, position, velocity
