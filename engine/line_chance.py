"""The chance of a line: shot after shot, each played from where the one before really ended.

A player sees where the ball lies and aims anew from there. So each shot's aim is solved for a grid
of leaves (distance and direction), its landing is interpolated between them, and every sampled
ball plays from its own leave. Nothing is assumed to end where it was meant to.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aim import Questions
from engine.execution import Execution
from engine.finish import FinishAims, solve_finish
from engine.ground import Ground, Touchdown, settle
from engine.holing import (
    STATE,
    Chances,
    Cloud,
    Draws,
    Room,
    basis_of,
    cloud_of,
    hit_errors,
    tally,
    unlimited,
    varied,
)
from engine.launch import FullShot
from engine.motion import STANDARD_AIR, Air
from shared.errors import EngineError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

DISTANCES, DIRECTIONS = 5, 3  # nodes of the grid of leaves, at Chebyshev's points
TAIL = 0.005  # of leaves at either end that are played like the nearest node
ALIKE_M, ALIKE_RAD = 0.05, 0.002  # leaves that differ less are one node
LEAST_DISTANCE_M = 5.0


@dataclass(frozen=True)
class Leg:
    """One shot of a line as planned; every batch in it holds one row.

    ``distance_m`` is how far its target lies, ``turn_deg`` how far its line turns clockwise from
    the line of the shot before. The wind is relative to its own line. ``past_m`` (2,) moves the
    finish that is aimed for long and right of the target. ``least_m`` and ``most_m`` bound the
    still-air carry the club can be set up for. A ``last`` leg's target is the hole.
    """

    full: FullShot
    distance_m: float
    height_m: float
    wind_mps: float
    wind_from_deg: float
    spin_factor: float
    tilt_rad: float
    ground: Ground
    execution: Execution
    least_m: float
    most_m: float
    past_m: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    last: bool = False
    room: Room | None = None


@dataclass(frozen=True)
class LineChances:
    """What becomes of a line: the chances of its end, and of every leg that it stays in its room.

    ``line`` holds one row: holed by any leg, in the last room, left at the end. ``legs`` has a row
    for each leg. ``leaves_m`` (legs, 3) are the 5%, 50% and 95% points of the distance each leg
    leaves to the next target. ``playable`` is the share of balls that their next shot could reach
    without being set up beyond what the club allows.
    """

    line: Chances
    legs: Chances
    leaves_m: Array
    playable: float


def line_chances(*, legs: tuple[Leg, ...], draws: Draws, air: Air = STANDARD_AIR) -> LineChances:
    """Play a line at every point of ``draws``; its chances with their standard errors.

    Errors: EngineError for a line without legs, for more legs than the draws have shots, and where
    a shot cannot be solved from the leaves it has to be played from.
    """
    if not legs or len(legs) > len(draws.shots):
        raise EngineError("draw points for every shot of the line")
    count = len(draws)
    vector = np.stack((np.full(count, legs[0].distance_m), np.zeros(count)))  # to the target
    holed = np.zeros(count, dtype=np.bool_)
    reached = np.ones(count, dtype=np.bool_)
    rows: list[Chances] = []
    leaves: list[Array] = []
    for number, leg in enumerate(legs):
        miss, went_in, reaches = _play(leg, vector, draws, number, air)
        holed, reached = holed | went_in, reached & (reaches | holed)
        room = unlimited(1) if leg.room is None else leg.room
        rows.append(tally(holed[None], miss[:1], miss[1:], room, draws))
        if number + 1 < len(legs):
            after = legs[number + 1]
            turn = np.radians(after.turn_deg)
            planned = after.distance_m * np.array([[np.cos(turn)], [np.sin(turn)]])
            vector = _turned(planned - miss, -turn)
            left = np.hypot(*vector)
        else:
            left = np.where(holed, 0.0, np.hypot(*miss))
        leaves.append(np.quantile(left, [0.05, 0.5, 0.95]))
    whole = rows[0]
    for row in rows[1:]:
        whole = whole.joined(row)
    return LineChances(rows[-1], whole, np.stack(leaves), float(reached.mean()))


def _turned(vectors: Array, angle_rad: float | Array) -> Array:
    """Vectors (2, n) long and right, turned clockwise by ``angle_rad``."""
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    return np.stack((cos * vectors[0] - sin * vectors[1], sin * vectors[0] + cos * vectors[1]))


def _play(
    leg: Leg, vector: Array, draws: Draws, number: int, air: Air
) -> tuple[Array, Flags, Flags]:
    """Misses (2, n) of the target in the leg's axes, which were holed, which were in reach."""
    distance = np.hypot(*vector)
    direction = np.arctan2(vector[1], vector[0])
    nodes = _Nodes.around(distance, direction)
    aims = _aims(leg, nodes, air)
    playable = aims.plays_m[: nodes.distances.size]
    reaches = _within(leg, nodes.distances, playable)
    aimed = np.clip(distance, *nodes.distances[[0, -1]])
    held = np.clip(aimed, *reaches) if reaches[0] < reaches[1] else aimed
    cloud = cloud_of(swings=aims.swings, execution=_repeated(leg.execution, len(nodes)), air=air)
    weights = nodes.weights(held, direction)
    state = _states(cloud, weights, draws)
    state[[0, 2]] += hit_errors(leg.execution, draws.shots[number])[:, 0]
    velocity = np.minimum(state[3:6], [[np.inf], [0.0], [np.inf]])
    none = np.zeros_like(distance)
    finish = settle(
        touchdown=Touchdown(state[:3].T, velocity.T, state[6:].T),
        ground=varied(leg.ground, leg.execution, draws.common),
        hole_m=np.stack((distance, none + leg.height_m, none)),
        capture=leg.last,
    )
    own = np.stack((finish.long_m - distance, finish.right_m))
    inside = (distance >= reaches[0] - 0.5) & (distance <= reaches[1] + 0.5)
    return _turned(own, direction), finish.holed & leg.last, inside


def _within(leg: Leg, distances: Array, plays_m: Array) -> tuple[float, float]:
    """The shortest and longest distance whose set-up lies within the club's, between the nodes'."""
    if plays_m.size == 1:
        return float(distances[0]), float(distances[0])
    ends = np.interp([leg.least_m, leg.most_m], plays_m, distances)
    least = -np.inf if plays_m[0] >= leg.least_m else float(ends[0])
    most = np.inf if plays_m[-1] <= leg.most_m else float(ends[1])
    return least, most


def _aims(leg: Leg, nodes: "_Nodes", air: Air) -> FinishAims:
    """The aims that finish at the target from every node, distances fastest."""
    distance, direction = nodes.pairs()
    count = distance.size
    one = np.ones(count)
    questions = Questions(
        full=leg.full.take(np.zeros(count, dtype=np.intp)),
        distance_m=distance,
        height_m=one * leg.height_m,
        wind_mps=one * leg.wind_mps,
        wind_from_deg=leg.wind_from_deg - np.degrees(direction),
        spin_factor=one * leg.spin_factor,
        tilt_rad=one * leg.tilt_rad,
    )
    aims = solve_finish(
        questions=questions,
        ground=leg.ground.take(np.zeros(count, dtype=np.intp)),
        past_m=np.array(leg.past_m)[:, None] * one,
        air=air,
    )
    if not aims.solved.all():
        worst = float(np.where(aims.solved, 0.0, aims.miss_m).max())
        raise EngineError(
            f"a leave of this line cannot be played; the best try missed {worst:.0f} m"
        )
    return aims


def _repeated(execution: Execution, count: int) -> Execution:
    return execution.take(np.zeros(count, dtype=np.intp))


def _states(cloud: Cloud, weights: Array, draws: Draws) -> Array:
    """Landing states (9, points) of every ball: the nodes' clouds weighed for its leave."""
    basis = basis_of(draws.common[0], draws.common[1])
    flat = cloud.coefficients.reshape(len(weights), -1)  # (nodes, 54)
    own = (flat.T @ weights).reshape(STATE, basis.shape[0], -1)
    return (own * basis).sum(axis=1)


@dataclass(frozen=True)
class _Nodes:
    """Nodes of the leaves: distances and directions, rising."""

    distances: Array
    directions: Array

    @classmethod
    def around(cls, distance_m: Array, direction_rad: Array) -> "_Nodes":
        """Nodes that span all but the tails of the leaves."""
        tails = [TAIL, 1 - TAIL]
        near, far = np.quantile(np.maximum(distance_m, LEAST_DISTANCE_M), tails)
        left, right = np.quantile(direction_rad, tails)
        return cls(
            _chebyshev(float(near), float(far), DISTANCES, ALIKE_M),
            _chebyshev(float(left), float(right), DIRECTIONS, ALIKE_RAD),
        )

    def __len__(self) -> int:
        return self.distances.size * self.directions.size

    def pairs(self) -> tuple[Array, Array]:
        """Distance and direction of every node, the middle direction's first."""
        middle = self.directions.size // 2
        order = np.roll(self.directions, -middle)
        return np.tile(self.distances, order.size), np.repeat(order, self.distances.size)

    def weights(self, distance_m: Array, direction_rad: Array) -> Array:
        """Lagrange's weights (nodes, n) of every node for each leave, held at the ends."""
        middle = self.directions.size // 2
        order = np.roll(self.directions, -middle)
        along = _lagrange(self.distances, distance_m)
        round_ = _lagrange(order, direction_rad)
        return (round_[:, None] * along[None]).reshape(len(self), -1)


def _chebyshev(least: float, most: float, count: int, alike: float) -> Array:
    """Chebyshev's extreme points from ``least`` to ``most``; where they are alike the middle."""
    if most - least < alike:
        return np.array([(least + most) / 2])
    part = (1 - np.cos(np.pi * np.arange(count) / (count - 1))) / 2
    return least + part * (most - least)


def _lagrange(nodes: Array, at: Array) -> Array:
    """Lagrange's weights (nodes, n) at ``at`` (n,), held between the outermost nodes."""
    held = np.clip(at, nodes.min(), nodes.max())
    weights = np.ones((nodes.size, at.size))
    for row, node in enumerate(nodes):
        for other in np.delete(nodes, row):
            weights[row] *= (held - other) / (node - other)
    return weights
