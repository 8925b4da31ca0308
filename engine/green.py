"""Bounce, roll and the hole: what a ball does once it is down. Pure formulas on arrays (n,).

Penner, The run of a golf ball, Can. J. Phys. 80:931-940 (2002), for the bounce: turf gives way and
tilts towards the ball, in whose tilted frame the ball meets a hard surface. Penner, Can. J. Phys.
80:83-96 (2002), after Holmes, Am. J. Phys. 59:129-136 (1991), for the hole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import BALL_RADIUS_M, GRAVITY_MPS2
from shared.errors import EngineError

Array = NDArray[np.float64]

RESTITUTION = (0.510, -0.0375, 0.000903)  # Penner: e = .510 - .0375 v + .000903 v^2
RESTITUTION_FAST, FAST_MPS = 0.120, 20.0  # Penner: above 20 m/s
TILT_RAD, TILT_SPEED_MPS = np.radians(15.4), 18.6  # Penner: at 18.6 m/s, 44.4 deg from vertical
TILT_STEEPNESS_RAD = np.radians(44.4)
TURF_FRICTION = 0.40  # Penner
STIMP_RELEASE_MPS = 1.83  # USGA Stimpmeter
HOLE_RADIUS_M = 0.054  # Rules of Golf: a hole of 108 mm
CAPTURE_MPS = 1.63  # Holmes: the fastest that falls in through the centre


@dataclass(frozen=True)
class Bounce:
    """How a ball leaves the turf: speed along and up in m/s, backspin in rad/s; each (n,)."""

    along_mps: Array
    up_mps: Array
    backspin_radps: Array


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


def bounce(*, speed_mps: Array, from_vertical_rad: Array, backspin_radps: Array) -> Bounce:
    """One bounce of a ball that comes in at ``from_vertical_rad``; topspin is negative backspin.

    With u along and v into the tilted turf, the ball leaves rolling where friction exceeds
    2 (u + r omega) / (7 (1 + e) v), and else still slides (Penner). Errors: EngineError unless all
    is finite, speeds positive and angles from 0 to below 90 degrees.
    """
    if not all(np.isfinite(a).all() for a in (speed_mps, from_vertical_rad, backspin_radps)):
        raise EngineError("a bounce needs finite numbers")
    if (speed_mps <= 0).any() or (from_vertical_rad < 0).any():
        raise EngineError("a bounce needs a speed above 0 and an angle from the vertical")
    if (from_vertical_rad >= np.pi / 2).any():
        raise EngineError("a ball that bounces comes down, it does not come up")
    tilt = turf_tilt_rad(speed_mps=speed_mps, from_vertical_rad=from_vertical_rad)
    along = speed_mps * np.sin(from_vertical_rad - tilt)
    into = speed_mps * np.cos(from_vertical_rad - tilt)
    spring = restitution(normal_mps=into)
    friction = TURF_FRICTION * (1 + spring) * into  # the most it can take from ``along``
    slip = along + BALL_RADIUS_M * backspin_radps  # of the ball's lowest point over the turf
    rolls = 2 / 7 * np.abs(slip) <= friction
    lost = np.where(rolls, 2 / 7 * slip, np.sign(slip) * friction)
    leaves, rises = along - lost, spring * into
    return Bounce(
        along_mps=leaves * np.cos(tilt) - rises * np.sin(tilt),
        up_mps=leaves * np.sin(tilt) + rises * np.cos(tilt),
        backspin_radps=backspin_radps - 5 / 2 * lost / BALL_RADIUS_M,
    )


def stimp_deceleration_mps2(*, stimp_m: Array) -> Array:
    """Deceleration of a rolling ball on a green of this Stimpmeter reading: v^2 / (2 S)."""
    return STIMP_RELEASE_MPS**2 / (2 * stimp_m)


def capture_speed_mps(*, off_centre_m: Array) -> Array:
    """The fastest ball the hole takes on a line this far from its centre: 1.63 (1 - (d / R)^2)."""
    share = np.minimum(np.abs(off_centre_m) / HOLE_RADIUS_M, 1.0)
    return CAPTURE_MPS * (1 - share**2)


def free_fall_capture_mps() -> float:
    """The fastest ball that falls clear of the far rim: (2 R - r) sqrt(g / 2 r) (Holmes)."""
    across = 2 * HOLE_RADIUS_M - BALL_RADIUS_M
    return float(across * np.sqrt(GRAVITY_MPS2 / (2 * BALL_RADIUS_M)))
