"""The equation of motion of a batch of shots: drag and lift on a spinning ball, one step of RK4.

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
from engine.batch import Rows

Array = NDArray[np.float64]
State = tuple[Array, Array]  # position and velocity of a batch, as Motion has them

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

    def take(self, keep: Rows) -> "Motion":
        """The motion of the shots at ``keep``."""
        part = copy(self)
        if self.frame.shape[1] > 1:
            part.frame = self.frame.take(keep, axis=1)
        if self.shear is not None and self.shear.shape[1] > 1:
            part.shear = self.shear.take(keep, axis=1)
        part.surface_mps = self.surface_mps.take(keep)
        part.axis_cross = self.axis_cross.take(keep, axis=2)
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
        np.multiply(through, drag, out=squares)
        change -= squares
        change[1] -= GRAVITY_MPS2
        if slowing is None:
            return change
        slowing *= -self.law.spin_decay / BALL_RADIUS_M
        return np.concatenate((change, slowing[None]))

    def step(self, position: Array, velocity: Array, step_s: float | Array) -> State:
        """The state ``step_s`` later, by one classical Runge-Kutta step of fourth order.

        With the accelerations a1 to a4 of its stages, and h = ``step_s``,

            v' = v + h / 6 (a1 + 2 a2 + 2 a3 + a4),    x' = x + h v + h^2 / 6 (a1 + a2 + a3)
        """
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
        second += third
        first += second  # a1 + a2 + a3
        fourth += second
        fourth += first
        fourth *= sixth
        fourth += velocity
        first *= sixth
        first += velocity
        first *= step_s
        first[:3] += position
        return first[:3], fourth
