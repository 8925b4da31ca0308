"""The reference ground: bounce, roll and hole once more, in the world's own axes, by scipy.

Vectors of three instead of a plane's own axes, the bounce by the vector law of its sources
(Penner 2002), every hop and the roll integrated by solve_ivp (DOP853) with touch, rest and the
nearest point to the hole as events. Nothing is shared with the engine but published numbers.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

RADIUS_M = 0.04267 / 2
GRAVITY = np.array([0.0, -9.80665, 0.0])
HOLE_RADIUS_M, CAPTURE_MPS = 0.054, 1.63
FADES_MPS = 0.35
RTOL = 1e-10
Vector = np.ndarray[Any, np.dtype[np.float64]]


@dataclass(frozen=True)
class Turf:
    """One ground: as ``engine.ground.Ground`` of one shot, without a green of its own."""

    firmness: float = 1.0
    friction: float = 0.40
    slowing_mps2: float = 0.549
    rises_long: float = 0.0
    rises_right: float = 0.0

    @property
    def normal(self) -> Vector:
        """Unit normal of the plane."""
        up = np.array([-self.rises_long, 1.0, -self.rises_right])
        return up / np.linalg.norm(up)


@dataclass(frozen=True)
class Rest:
    """Where a ball rests (3,), whether in the hole, and how often it bounced."""

    place: Vector
    holed: bool
    bounces: int


def bounced(velocity: Vector, spin: Vector, turf: Turf) -> tuple[Vector, Vector]:
    """Velocity and spin after one bounce about the turf's normal."""
    up = turf.normal
    into = -float(velocity @ up)
    along = velocity + into * up
    level = float(np.linalg.norm(along))
    ahead = along / level if level > 0 else np.array([1.0, 0.0, 0.0])
    steep = math.atan2(level, into)
    tilt = math.radians(15.4) * math.hypot(level, into) / 18.6 * steep / math.radians(44.4)
    tilt = min(tilt * min(max((into - FADES_MPS) / (2.0 - FADES_MPS), 0.0), 1.0), steep)
    normal = math.cos(tilt) * up - math.sin(tilt) * ahead
    hits = -float(velocity @ normal)
    spring = 0.510 - 0.0375 * hits + 0.000903 * hits**2 if hits <= 20 else 0.120
    spring = min(spring * turf.firmness, 0.95)
    tangent = velocity + hits * normal
    slip = tangent + np.cross(spin, -RADIUS_M * normal)
    size = float(np.linalg.norm(slip))
    pushed = np.zeros(3)
    if size > 0:
        pushed = -min(2 / 7 * size, turf.friction * (1 + spring) * hits) * slip / size
    after = tangent + pushed + spring * hits * normal
    off = float(after @ up)
    if off < 0:
        after = after - off * up
    return after, spin + 5 / (2 * RADIUS_M) * -np.cross(normal, pushed)


def settled(place: Vector, velocity: Vector, spin: Vector, turf: Turf) -> Rest:
    """A ball that meets the plane through the origin, the hole, at ``place``, until it rests."""
    up = turf.normal
    pull = GRAVITY - (GRAVITY @ up) * up
    weight = -float(GRAVITY @ up)
    for count in range(100):
        if _falls(float(np.linalg.norm(place)), _level(velocity, up)):
            return Rest(np.zeros(3), True, count)
        velocity, spin = bounced(velocity, spin, turf)
        off = float(velocity @ up)
        start = place
        place, velocity = _hop(place, velocity, up)
        if off < FADES_MPS:
            along = velocity - (velocity @ up) * up
            slip = along + np.cross(spin, -RADIUS_M * up)
            rolling = along - 2 / 7 * slip
            slides_s = 2 / 7 * float(np.linalg.norm(slip)) / (turf.friction * weight)
            spring = min(0.510 * turf.firmness, 0.95)
            others_s = 2 * off / weight * spring / (1 - spring)
            gains = 5 / 7 * pull * others_s
            place = place + (along + rolling) / 2 * slides_s + (rolling + gains / 2) * others_s
            rolling = rolling + gains
            step = place - start
            part = min(max(-float(start @ step) / float(step @ step), 0.0), 1.0)
            if _falls(float(np.linalg.norm(start + part * step)), float(np.linalg.norm(rolling))):
                return Rest(np.zeros(3), True, count + 1)
            end, holed = _rolled(place, rolling, turf, 5 / 7 * pull)
            return Rest(end, holed, count + 1)
        velocity = velocity.copy()
    raise AssertionError("the reference ball bounces for ever")


def _level(velocity: Vector, up: Vector) -> float:
    return float(np.linalg.norm(velocity - (velocity @ up) * up))


def _falls(offset_m: float, speed_mps: float) -> bool:
    return offset_m < HOLE_RADIUS_M and speed_mps <= CAPTURE_MPS * (
        1 - (offset_m / HOLE_RADIUS_M) ** 2
    )


def _hop(place: Vector, velocity: Vector, up: Vector) -> tuple[Vector, Vector]:
    if velocity @ up < 1e-9:
        return place, velocity

    def height(_time: float, state: Any) -> float:
        return float(state[:3] @ up)

    height.terminal, height.direction = True, -1  # type: ignore[attr-defined]
    start = np.array([*(place - (place @ up) * up + 1e-12 * up), *velocity])
    found: Any = solve_ivp(
        lambda _time, state: [*state[3:], *GRAVITY],
        (0.0, 20.0),
        start,
        method="DOP853",
        rtol=RTOL,
        atol=1e-12,
        events=height,
    )
    state = found.y_events[0][0]
    return state[:3] - (state[:3] @ up) * up, state[3:]


def _rolled(place: Vector, velocity: Vector, turf: Turf, pull: Vector) -> tuple[Vector, bool]:
    """The roll to rest, or into the hole: place and whether it is holed."""
    slowing = turf.slowing_mps2 * float(turf.normal[1])

    def change(_time: float, state: Any) -> list[float]:
        speed = math.sqrt(float(state[3:] @ state[3:]))
        return [*state[3:], *(pull - slowing * state[3:] / max(speed, 1e-12))]

    def rest(_time: float, state: Any) -> float:
        return math.sqrt(float(state[3:] @ state[3:])) - 1e-5

    def nearest(_time: float, state: Any) -> float:
        return float(state[:3] @ state[3:])

    rest.terminal, rest.direction = True, -1  # type: ignore[attr-defined]
    nearest.direction = 1  # type: ignore[attr-defined]
    if math.sqrt(float(velocity @ velocity)) <= 1e-5:
        return place, bool(np.linalg.norm(place) < HOLE_RADIUS_M)
    found: Any = solve_ivp(
        change,
        (0.0, 200.0),
        np.array([*place, *velocity]),
        method="DOP853",
        rtol=RTOL,
        atol=1e-11,
        events=(rest, nearest),
    )
    for state in found.y_events[1]:
        if _falls(float(np.linalg.norm(state[:3])), float(np.linalg.norm(state[3:]))):
            return np.zeros(3), True
    end = found.y_events[0][0][:3]
    return (np.zeros(3), True) if np.linalg.norm(end) < HOLE_RADIUS_M else (end, False)
