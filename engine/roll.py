"""Roll of a ball on a plane, in closed form, and whether the hole takes it. Vectors (2, n).

A rolling ball is slowed by a constant a against its motion and pulled downhill by G, which is 5/7
of gravity along the plane, as a ball that rolls without slip has 7/5 of its mass to move:

    dv/dt = -a v/|v| + G d

With psi the angle of v to the fall line d, d(v)/d(psi) separates. Let q fall from 1 at the start to
0 at rest, e = G / a, C = cos^2(psi_0 / 2), S = sin^2(psi_0 / 2) and v_0 the speed at the start:

    speed           v_0 (C q^(1-e) + S q^(1+e))
    to come, down   v_0^2/2 (C^2 q^(2-2e) / (a - G) - S^2 q^(2+2e) / (a + G))
    to come, aside  2 v_0^2 sqrt(C S) (C q^(2-e) / (2 a - G) + S q^(2+e) / (2 a + G))

which for G = 0 is the straight roll of length v_0^2 / (2 a). tests/reference_ground.py integrates
the equation instead.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import BALL_RADIUS_M, GRAVITY_MPS2

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ROLLING_SHARE = 5 / 7  # of a force along the plane that speeds up a solid ball rolling on it
HOLE_RADIUS_M = 0.054  # Rules of Golf: a hole of 108 mm
CAPTURE_MPS = 1.63  # Holmes: the fastest that falls in through the centre
NODES = 24  # of a curved path; between them a chord, corrected by Newton
FEW_NODES, SAG_SHARE = 6, 0.015  # of a first look; its chords lie off by at most .010 of a length
CLOSEST_ROUNDS = 3  # Newton on the path's closest approach, from the nearest chord
STILL_MPS = 1e-12  # of speeds that are divided by


def capture_speed_mps(*, off_centre_m: Array) -> Array:
    """The fastest ball the hole takes on a line this far from its centre: 1.63 (1 - (d / R)^2).

    Penner, Can. J. Phys. 80:83-96 (2002), after Holmes, Am. J. Phys. 59:129-136 (1991).
    """
    share = np.minimum(np.abs(off_centre_m) / HOLE_RADIUS_M, 1.0)
    return CAPTURE_MPS * (1 - share**2)


def free_fall_capture_mps() -> float:
    """The fastest ball that falls clear of the far rim: (2 R - r) sqrt(g / 2 r) (Holmes)."""
    across = 2 * HOLE_RADIUS_M - BALL_RADIUS_M
    return float(across * np.sqrt(GRAVITY_MPS2 / (2 * BALL_RADIUS_M)))


def taken(*, off_centre_m: Array, speed_mps: Array) -> Flags:
    """Whether the hole takes a ball at this offset of its path and this speed there."""
    inside = off_centre_m < HOLE_RADIUS_M
    return inside & (speed_mps <= capture_speed_mps(off_centre_m=off_centre_m))


@dataclass(frozen=True)
class Roll:
    """n rolls from rest to rest; see the module for the symbols.

    ``start_m`` (2, n) from the hole, ``down`` and ``across`` (2, n) unit vectors of the fall line
    and square to it, ``slowing_mps2`` a and ``pull_mps2`` G (n,), ``cos2`` C and ``sin2`` S (n,).
    """

    start_m: Array
    speed_mps: Array
    down: Array
    across: Array
    slowing_mps2: Array
    pull_mps2: Array
    cos2: Array
    sin2: Array

    def left(self, q: Array | float, power: Array) -> Array:
        """Displacement still to come at ``q``, with ``power`` q^e; (2, ..., n)."""
        a, g, c, s = self.slowing_mps2, self.pull_mps2, self.cos2, self.sin2
        square = self.speed_mps**2 * (q * q)
        down = 0.5 * square * (c * c / (power * power * (a - g)) - s * s * power * power / (a + g))
        side = 2 * square * np.sqrt(c * s) * (c / (power * (2 * a - g)) + s * power / (2 * a + g))
        return np.stack([self.down[row] * down + self.across[row] * side for row in range(2)])

    def length_m(self) -> Array:
        """An upper bound of the path's length: that of the straight roll downhill."""
        return self.speed_mps**2 / (2 * (self.slowing_mps2 - self.pull_mps2))

    def end_m(self) -> Array:
        """Where the ball comes to rest, from the hole (2, n)."""
        return self.start_m + self.left(1.0, np.ones_like(self.speed_mps))

    def take(self, rows: NDArray[np.intp]) -> "Roll":
        """The rolls at ``rows``."""
        return Roll(
            self.start_m[:, rows],
            self.speed_mps[rows],
            self.down[:, rows],
            self.across[:, rows],
            self.slowing_mps2[rows],
            self.pull_mps2[rows],
            self.cos2[rows],
            self.sin2[rows],
        )

    def at(self, q: Array) -> tuple[Array, Array, Array, Array]:
        """Place and direction (2, n), speed and metres of path per unit of q (n,), at q (n,)."""
        safe = np.maximum(q, STILL_MPS)
        power = safe ** (self.pull_mps2 / self.slowing_mps2)
        place = self.end_m() - self.left(safe, power)
        half_down, half_side = self.cos2 / power, self.sin2 * power
        both = half_down + half_side
        speed = self.speed_mps * safe * both
        cosine = (half_down - half_side) / both
        sine = 2 * np.sqrt(self.cos2 * self.sin2) / both
        direction = self.down * cosine + self.across * sine
        return place, direction, speed, self.speed_mps * speed * both / self.slowing_mps2


def roll_from(
    *, start_m: Array, velocity_mps: Array, slowing_mps2: Array, pull_mps2: Array
) -> Roll:
    """Rolls that start at ``start_m`` (2, n) with ``velocity_mps`` (2, n).

    ``pull_mps2`` (2, n) is G d. G must stay below ``slowing_mps2`` (n,), or no ball would stop;
    ``engine.ground`` refuses such a plane.
    """
    speed = np.hypot(*velocity_mps)
    pull = np.hypot(*pull_mps2)
    travel = np.where(
        speed > STILL_MPS, velocity_mps / np.maximum(speed, STILL_MPS), [[1.0], [0.0]]
    )
    down = np.where(pull > 0, pull_mps2 / np.where(pull > 0, pull, 1.0), travel)
    side = down[0] * travel[1] - down[1] * travel[0]
    turn = np.where(side < 0, -1.0, 1.0)
    across = np.stack((-down[1] * turn, down[0] * turn))
    cosine: Array = np.clip(down[0] * travel[0] + down[1] * travel[1], -1.0, 1.0)
    sine2 = side * side
    # half-angle squares; the smaller from the sine, which keeps its digits
    larger = (1 + np.abs(cosine)) / 2
    smaller = sine2 / (4 * larger)
    downhill = cosine >= 0
    return Roll(
        start_m,
        speed,
        down,
        across,
        slowing_mps2,
        pull,
        np.where(downhill, larger, smaller),
        np.where(downhill, smaller, larger),
    )


def holed(roll: Roll) -> Flags:
    """Which rolls the hole takes: by offset and speed where the path is nearest its centre.

    A ball that stops within the hole's edge has fallen in as well.
    """
    found = np.zeros(roll.speed_mps.shape, dtype=np.bool_)
    reach = np.hypot(*roll.start_m) - HOLE_RADIUS_M
    near = np.flatnonzero(roll.length_m() >= reach)
    curved = bool(roll.pull_mps2[near].any())
    if curved:
        first = roll.take(near)
        _, offset = _nearest(first, FEW_NODES)
        near = near[offset <= HOLE_RADIUS_M + SAG_SHARE * first.length_m()]
    if near.size:
        close = roll.take(near)
        q, _ = _nearest(close, NODES if curved else 1)
        place, direction, speed, per_q = close.at(q)
        found[near] = taken(off_centre_m=np.hypot(*place), speed_mps=speed)
        for _ in range(CLOSEST_ROUNDS if curved else 0):
            ahead = place[0] * direction[0] + place[1] * direction[1]
            step = ahead / np.maximum(per_q, STILL_MPS)
            q = np.clip(q + np.clip(step, -1 / NODES, 1 / NODES), 0.0, 1.0)
            place, direction, speed, per_q = close.at(q)
            found[near] |= taken(off_centre_m=np.hypot(*place), speed_mps=speed)
    return found


def path(roll: Roll, nodes: int) -> tuple[Array, Array]:
    """Values of q (nodes + 1, 1), falling, and the places there from the hole (2, nodes + 1, n)."""
    q = np.linspace(1.0, 0.0, nodes + 1)[:, None]
    power = np.exp(np.log(np.maximum(q, STILL_MPS)) * (roll.pull_mps2 / roll.slowing_mps2))
    return q, roll.end_m()[:, None, :] - roll.left(q, power)


def _nearest(roll: Roll, nodes: int) -> tuple[Array, Array]:
    """q of the chord point at which the hole is likeliest to take the ball, and the least distance
    of a chord from the hole; (n,).

    Along a chord the way to go is taken as quadratic in q, which a straight roll's is.
    """
    q, place = path(roll, nodes)
    chord = place[:, 1:] - place[:, :-1]
    length2 = np.maximum((chord * chord).sum(axis=0), STILL_MPS**2)
    part = np.clip(-(place[:, :-1] * chord).sum(axis=0) / length2, 0.0, 1.0)
    there = place[:, :-1] + part * chord
    offset2 = (there * there).sum(axis=0)
    square = q[:-1] ** 2 + part * (q[1:] ** 2 - q[:-1] ** 2)
    at = np.sqrt(np.maximum(square, 0.0))
    # speed over a straight roll's q is v_0, which is near enough to choose between chords
    margin = CAPTURE_MPS * (1 - offset2 / HOLE_RADIUS_M**2) - roll.speed_mps * at
    best = np.argmax(margin, axis=0)
    return np.take_along_axis(at, best[None], axis=0)[0], np.sqrt(offset2.min(axis=0))


def passed(*, start_m: Array, end_m: Array, speed_mps: Array) -> Flags:
    """Whether the hole takes balls that go straight from ``start_m`` to ``end_m``, (2, n)."""
    chord = end_m - start_m
    length2 = np.maximum((chord * chord).sum(axis=0), STILL_MPS**2)
    part = np.clip(-(start_m * chord).sum(axis=0) / length2, 0.0, 1.0)
    return taken(off_centre_m=np.hypot(*(start_m + part * chord)), speed_mps=speed_mps)


def crossing(roll: Roll, radius_m: Array, inside: Flags) -> Array:
    """q (n,) at which each roll first crosses the circle of ``radius_m`` (n,) about the hole.

    ``inside`` says on which side each starts. 0 where it does not cross. A path that clips the
    circle between two nodes is taken as outside.
    """
    q, place = path(roll, NODES)
    gap = np.hypot(*place) - radius_m
    other = (gap[1:] < 0) != inside
    first = np.argmax(other, axis=0)
    crosses = other[first, np.arange(first.size)]
    before, after = q[first, 0], q[first + 1, 0]
    ends = np.take_along_axis(gap, np.stack((first, first + 1)), axis=0)
    change = np.where(crosses, ends[1] - ends[0], 1.0)
    at = before - ends[0] / change * (before - after)
    for _ in range(CLOSEST_ROUNDS):
        there, direction, _, per_q = roll.at(at)
        distance = np.hypot(*there)
        outward = (there[0] * direction[0] + there[1] * direction[1]) / np.maximum(
            distance, STILL_MPS
        )
        rate = np.where(np.abs(outward) > 0.05, outward * per_q, np.inf)
        at = np.clip(at + (distance - radius_m) / rate, after, before)
    return np.where(crosses, at, 0.0)
