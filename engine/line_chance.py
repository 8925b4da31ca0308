"""The chance of a line: shot after shot, each played from where the one before really ended.

A player sees where the ball lies and aims anew from there. So each shot's aim is solved for a grid
of leaves (distance and direction), its landing is interpolated between them, and every sampled
ball plays from its own leave. Nothing is assumed to end where it was meant to. Lines that are
compared are played in one batch at the same points, their last shots at the same ones too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aim import Questions
from engine.batch import Rows, joined
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
    without being set up beyond what the club allows. ``went_in`` and ``stayed`` (points,) say at
    which points it was holed and ended in the last room.
    """

    line: Chances
    legs: Chances
    leaves_m: Array
    playable: float
    went_in: Flags
    stayed: Flags


def line_chances(*, legs: tuple[Leg, ...], draws: Draws, air: Air = STANDARD_AIR) -> LineChances:
    """``lines_chances`` of one line.

    Errors: also EngineError where a shot cannot be solved from the leaves it has to be played from.
    """
    (found,) = lines_chances(lines=[legs], draws=draws, air=air)
    if found is None:
        raise EngineError("a leave of this line cannot be played")
    return found


def lines_chances(
    *, lines: Sequence[tuple[Leg, ...]], draws: Draws, air: Air = STANDARD_AIR
) -> list[LineChances | None]:
    """Play lines at every point of ``draws``, in one batch; their chances with standard errors.

    The last shots of all use the last points, so that what differs is the lines and not the dice.
    None of a line with a shot that cannot be solved from a leave it has to be played from. Errors:
    EngineError for no line, a line without legs, and more legs than the draws have shots.
    """
    most = max((len(legs) for legs in lines), default=0)
    if not most or not all(lines) or most > len(draws.shots):
        raise EngineError("draw points for every shot of the line")
    under_way = [_UnderWay(legs, draws) for legs in lines]
    for left in range(most, 0, -1):
        playing = [line for line in under_way if len(line.legs) >= left and not line.stuck]
        if playing:
            _play([(line, line.legs[-left]) for line in playing], draws, left, air)
    return [None if line.stuck else line.found() for line in under_way]


class _UnderWay:
    """A line as far as it has been played: each ball's way to the target, what became of it."""

    def __init__(self, legs: tuple[Leg, ...], draws: Draws) -> None:
        count = len(draws)
        self.legs, self._draws = legs, draws
        self.vector = np.stack((np.full(count, legs[0].distance_m), np.zeros(count)))
        self.stuck = False
        self._holed = np.zeros(count, dtype=np.bool_)
        self._reached = np.ones(count, dtype=np.bool_)
        self._stayed = self._reached
        self._rows: list[Chances] = []
        self._leaves: list[Array] = []

    def go_on(self, leg: Leg, miss: Array, went_in: Flags, reaches: Flags) -> None:
        """Take in a leg: misses (2, n) of its target, which were holed, which were in reach."""
        self._holed = self._holed | went_in
        self._reached = self._reached & (reaches | self._holed)
        room = unlimited(1) if leg.room is None else leg.room
        self._stayed = room.holds(miss[:1], miss[1:])[0] | self._holed
        self._rows.append(tally(self._holed[None], miss[:1], miss[1:], room, self._draws))
        if len(self._rows) == len(self.legs):
            left = np.where(self._holed, 0.0, np.hypot(*miss))
        else:
            after = self.legs[len(self._rows)]
            turn = np.radians(after.turn_deg)
            planned = after.distance_m * np.array([[np.cos(turn)], [np.sin(turn)]])
            self.vector = _turned(planned - miss, -turn)
            left = np.hypot(*self.vector)
        self._leaves.append(np.quantile(left, [0.05, 0.5, 0.95]))

    def found(self) -> LineChances:
        """What became of it, once all legs are played."""
        whole = self._rows[0]
        for row in self._rows[1:]:
            whole = whole.joined(row)
        return LineChances(
            self._rows[-1],
            whole,
            np.stack(self._leaves),
            float(self._reached.mean()),
            self._holed,
            self._stayed,
        )


def _turned(vectors: Array, angle_rad: float | Array) -> Array:
    """Vectors (2, n) long and right, turned clockwise by ``angle_rad``."""
    cos, sin = np.cos(angle_rad), np.sin(angle_rad)
    return np.stack((cos * vectors[0] - sin * vectors[1], sin * vectors[0] + cos * vectors[1]))


def _play(legs: list[tuple[_UnderWay, Leg]], draws: Draws, left: int, air: Air) -> None:
    """Play the leg that has ``left`` legs of each line left, all lines in one batch."""
    shots = [_Shot(line, leg) for line, leg in legs]
    of_node = np.repeat(np.arange(len(shots)), [len(shot.nodes) for shot in shots])
    aims = _aims(shots, of_node, air)
    for number, shot in enumerate(shots):
        shot.line.stuck = not aims.solved[of_node == number].all()
    open_ = np.array([not shot.line.stuck for shot in shots])[of_node]
    hits = joined([shot.leg.execution for shot in shots])
    cloud = cloud_of(
        swings=aims.swings.take(np.flatnonzero(open_)),
        execution=hits.take(of_node[open_]),
        air=air,
    )
    errors = hit_errors(hits, draws.shots[-left])
    playing: list[_Landed] = []
    for number, shot in enumerate(shots):
        if not shot.line.stuck:
            weights, inside = shot.reach(aims.plays_m[of_node == number])
            own = cloud.take(np.flatnonzero(of_node[open_] == number))
            state = _states(own, weights, draws)
            state[[0, 2]] += errors[:, number]
            playing.append(_Landed(shot, state, inside))
    for last in (False, True):
        some = [each for each in playing if each.shot.leg.last is last]
        if some:
            _settle(some, draws, capture=last)


def _settle(landed: "list[_Landed]", draws: Draws, *, capture: bool) -> None:
    """Let the balls of all these shots come to rest, in one batch."""
    shots = [each.shot for each in landed]
    state = np.concatenate([each.state for each in landed], axis=1)
    velocity = np.minimum(state[3:6], [[np.inf], [0.0], [np.inf]])
    distance = np.concatenate([shot.distance_m for shot in shots])
    height = np.repeat([shot.leg.height_m for shot in shots], len(draws))
    hits = joined([shot.leg.execution for shot in shots])
    finish = settle(
        touchdown=Touchdown(state[:3].T, velocity.T, state[6:].T),
        ground=varied(joined([shot.leg.ground for shot in shots]), hits, draws.common),
        hole_m=np.stack((distance, height, np.zeros_like(distance))),
        capture=capture,
    )
    own = np.stack((finish.long_m - distance, finish.right_m)).reshape(2, len(shots), -1)
    holed = finish.holed.reshape(len(shots), -1)
    for number, each in enumerate(landed):
        miss = _turned(own[:, number], each.shot.direction_rad)
        each.shot.line.go_on(each.shot.leg, miss, holed[number], each.inside)


class _Shot:
    """A leg of a line under way: from where its balls lie to its target."""

    def __init__(self, line: _UnderWay, leg: Leg) -> None:
        self.line, self.leg = line, leg
        self.distance_m = np.hypot(*line.vector)
        self.direction_rad = np.arctan2(line.vector[1], line.vector[0])
        self.nodes = _Nodes.around(self.distance_m, self.direction_rad)

    def reach(self, plays_m: Array) -> tuple[Array, Flags]:
        """Weights (nodes, n) of the nodes for each ball, and whether the club reaches from it.

        ``plays_m`` (nodes,) is what each node's swing plays.
        """
        nodes = self.nodes
        aimed = np.clip(self.distance_m, *nodes.distances[[0, -1]])
        least, most = _within(self.leg, nodes.distances, plays_m[: nodes.distances.size])
        held = np.clip(aimed, least, most) if least < most else aimed
        inside = (self.distance_m >= least - 0.5) & (self.distance_m <= most + 0.5)
        return nodes.weights(held, self.direction_rad), inside


@dataclass(frozen=True)
class _Landed:
    """Landing states (9, n) of a shot's balls, and whether each was in reach."""

    shot: _Shot
    state: Array
    inside: Flags


def _within(leg: Leg, distances: Array, plays_m: Array) -> tuple[float, float]:
    """The shortest and longest distance whose set-up lies within the club's, between the nodes'."""
    if plays_m.size == 1:
        return float(distances[0]), float(distances[0])
    ends = np.interp([leg.least_m, leg.most_m], plays_m, distances)
    least = -np.inf if plays_m[0] >= leg.least_m else float(ends[0])
    most = np.inf if plays_m[-1] <= leg.most_m else float(ends[1])
    return least, most


def _aims(shots: list[_Shot], of_node: Rows, air: Air) -> FinishAims:
    """The aims that finish at the targets from every node of every shot, distances fastest."""
    legs = [shot.leg for shot in shots]
    pairs = [shot.nodes.pairs() for shot in shots]
    distance, direction = (np.concatenate(each) for each in zip(*pairs, strict=True))

    def each(values: list[float]) -> Array:
        return np.array(values, dtype=np.float64)[of_node]

    questions = Questions(
        full=joined([leg.full for leg in legs]).take(of_node),
        distance_m=distance,
        height_m=each([leg.height_m for leg in legs]),
        wind_mps=each([leg.wind_mps for leg in legs]),
        wind_from_deg=each([leg.wind_from_deg for leg in legs]) - np.degrees(direction),
        spin_factor=each([leg.spin_factor for leg in legs]),
        tilt_rad=each([leg.tilt_rad for leg in legs]),
    )
    return solve_finish(
        questions=questions,
        ground=joined([leg.ground for leg in legs]).take(of_node),
        past_m=np.array([leg.past_m for leg in legs]).T[:, of_node],
        air=air,
    )


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
