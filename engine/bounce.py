"""One bounce of a ball on turf, in three dimensions. Pure formulas on arrays (n,).

Penner, The run of a golf ball, Can. J. Phys. 80:931-940 (2002): turf gives way and tilts towards
the ball, in whose tilted frame the ball meets a hard surface. His law is planar; here its plane
is that of the ball's own travel, and friction acts against the slip of the lowest point, which
sidespin turns out of that plane.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import BALL_RADIUS_M
from engine.batch import Batch

Array = NDArray[np.float64]

RESTITUTION = (0.510, -0.0375, 0.000903)  # Penner: e = .510 - .0375 v + .000903 v^2
RESTITUTION_FAST, FAST_MPS = 0.120, 20.0  # Penner: above 20 m/s
MOST_RESTITUTION = 0.95  # of firm ground; at 1 a ball would not stop bouncing
TILT_RAD, TILT_SPEED_MPS = np.radians(15.4), 18.6  # Penner: at 18.6 m/s, 44.4 deg from vertical
TILT_STEEPNESS_RAD = np.radians(44.4)
TURF_FRICTION = 0.40  # Penner
GRIP_SHARE = 2 / 7  # of its slip that a solid ball loses in speed when it grips
SPIN_PER_SLIP = 5 / 2 / BALL_RADIUS_M  # rad/s for each m/s, from 2/5 m r^2
FADES_MPS = 0.35  # a ball that rises slower rolls
CRATER_MPS = 2.0  # our choice: into the ground slower than this, turf gives way and tilts less
STILL_MPS = 1e-12


@dataclass(frozen=True)
class Surface(Batch):
    """What n balls come down on; arrays (n,).

    ``firmness`` multiplies Penner's restitution, ``friction`` is that of the bounce,
    ``slowing_mps2`` the deceleration of a rolling ball.
    """

    firmness: Array
    friction: Array
    slowing_mps2: Array


@dataclass(frozen=True)
class Contact:
    """A ball at the ground, in the ground's own axes: velocity along it (2, n) and off it (n,).

    ``off_mps`` is the speed towards the ground before a bounce, away from it after. ``spin_radps``
    (3, n) is about the first axis, the normal and the second axis.
    """

    along_mps: Array
    off_mps: Array
    spin_radps: Array


def restitution(*, normal_mps: Array) -> Array:
    """Share of the speed into the turf that comes back, from that speed (Penner)."""
    flat, slope, curve = RESTITUTION
    slow = flat + normal_mps * (slope + curve * normal_mps)
    return np.where(normal_mps <= FAST_MPS, slow, RESTITUTION_FAST)


def turf_tilt_rad(*, speed_mps: Array, from_vertical_rad: Array) -> Array:
    """How far the turf tilts towards a ball that comes in at this angle from the vertical (Penner).

    15.4 deg (v / 18.6 m/s) (phi / 44.4 deg).
    """
    return TILT_RAD * (speed_mps / TILT_SPEED_MPS) * (from_vertical_rad / TILT_STEEPNESS_RAD)


def bounce(contact: Contact, surface: Surface) -> Contact:
    """One bounce: how n balls leave the ground.

    In the tilted frame, with v into it and s the slip of the lowest point, friction takes
    min(2/7 |s|, mu (1 + e) v) from the speed along: the ball grips, or still slides (Penner).
    A ball that skims digs no crater: from ``CRATER_MPS`` into the ground down to ``FADES_MPS`` the
    tilt fades out. Penner's own values are far above; extended to a skim, his tilt would throw a
    rolling ball up again, and let one bounce down a slope for ever on which it stops when it rolls.
    """
    level = np.hypot(*contact.along_mps)
    into = contact.off_mps
    east, north = np.where(
        level > STILL_MPS, contact.along_mps / np.maximum(level, STILL_MPS), [[1.0], [0.0]]
    )
    cos, sin = _tilt(level, into)
    along, hits = level * cos - into * sin, into * cos + level * sin
    first, normal, second = contact.spin_radps
    ahead, back = first * east + second * north, second * east - first * north
    roll, twist = ahead * cos + normal * sin, normal * cos - ahead * sin

    spring = restitution(normal_mps=hits) * surface.firmness
    spring = np.minimum(spring, MOST_RESTITUTION)
    slip, slip_side = along + BALL_RADIUS_M * back, -BALL_RADIUS_M * roll
    size = np.hypot(slip, slip_side)
    most = surface.friction * (1 + spring) * hits
    share = np.minimum(GRIP_SHARE, most / np.maximum(size, STILL_MPS))
    lost, lost_side = share * slip, share * slip_side

    leaves, rises = along - lost, spring * hits
    back = back - SPIN_PER_SLIP * lost
    roll = roll + SPIN_PER_SLIP * lost_side
    forward, up = leaves * cos - rises * sin, leaves * sin + rises * cos
    ahead, normal = roll * cos - twist * sin, roll * sin + twist * cos
    return Contact(
        np.stack((forward * east + lost_side * north, forward * north - lost_side * east)),
        np.maximum(up, 0.0),
        np.stack((ahead * east - back * north, normal, ahead * north + back * east)),
    )


def slip_mps(*, along_mps: Array, spin_radps: Array) -> Array:
    """Velocity (2, n) of the lowest point over the ground, in the ground's axes: v + w x (-r n)."""
    first, _, second = spin_radps
    return np.stack((along_mps[0] + BALL_RADIUS_M * second, along_mps[1] - BALL_RADIUS_M * first))


def _tilt(level_mps: Array, into_mps: Array) -> tuple[Array, Array]:
    """Cosine and sine of the turf's tilt, faded out for a ball that skims."""
    steep = np.arctan2(level_mps, into_mps)
    tilt = turf_tilt_rad(speed_mps=np.hypot(level_mps, into_mps), from_vertical_rad=steep)
    fades = np.clip((into_mps - FADES_MPS) / (CRATER_MPS - FADES_MPS), 0.0, 1.0)
    tilt = np.minimum(tilt * fades, steep)
    return np.cos(tilt), np.sin(tilt)
