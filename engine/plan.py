"""What to play next from where the ball lies, and how far to play now so that the next goes in.

``next_shots`` plays every way of a bag (club, grade, spin) from one place and searches each one's
best aim. ``holing_values`` does so over a grid of distances: the chance that the next shot goes in,
by distance. ``step_back`` takes such values one shot back: the first shot's ways and targets, with
their whole spread, are weighed by what they leave.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.aim import Questions
from engine.batch import Batch, Rows
from engine.best_aim import best_aims
from engine.execution import Execution
from engine.finish import FinishAims, hole_of, solve_finish
from engine.ground import Ground
from engine.holing import Chances, Draws, cloud_of, finishes
from engine.launch import FullShot
from engine.motion import STANDARD_AIR, Air
from shared.errors import EngineError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

REACH_SLACK_M = 0.01


@dataclass(frozen=True)
class Ways(Batch):
    """n ways to play: a club's full shot, the set-ups it allows, spin, and what varies; (n,)."""

    full: FullShot
    least_m: Array
    most_m: Array
    wind_share: Array
    spin_factor: Array
    tilt_rad: Array
    execution: Execution

    def __len__(self) -> int:
        return self.least_m.shape[0]


@dataclass(frozen=True)
class Place:
    """Where a ball lies: the wind there, the target's height, and its lie.

    From the lie a club carries ``carry_share`` of its set-up with ``spin_share`` of its spin, and
    hits spread ``spread`` times as wide. ``ground`` holds one row, that about the target.
    """

    wind_mps: float
    wind_from_deg: float
    ground: Ground
    height_m: float = 0.0
    carry_share: float = 1.0
    spin_share: float = 1.0
    spread: float = 1.0


@dataclass(frozen=True)
class NextShots(Batch):
    """Every way played at a target; (n,). Where not ``playable`` the rest means nothing.

    ``aims`` finish at the hole, ``past_m`` (n, 2) is how far past and right of it to aim the finish
    for the best chance, ``setup_m`` the still-air carry to set up for the finish at the hole.
    ``chances`` are those of the best aim.
    """

    aims: FinishAims
    setup_m: Array
    past_m: Array
    chances: Chances
    playable: Flags

    def order(self) -> Rows:
        """The playable rows, likeliest to go in first, among equals the one that leaves less."""
        rows = np.flatnonzero(self.playable)
        key = (self.chances.left_m[rows], -self.chances.holed[rows])
        return rows[np.lexsort(key)]


@dataclass(frozen=True)
class Values:
    """The chance of holing within ``shots`` shots by distance: ``distances_m`` and the rest (d,).

    ``way`` is the way likeliest to, -1 where none reaches; ``leave_m`` what it is to leave on
    purpose, 0 for a shot at the hole.
    """

    shots: int
    distances_m: Array
    chance: Array
    way: NDArray[np.intp]
    leave_m: Array

    def at(self, distance_m: Array) -> Array:
        """Values at distances of any shape, linear between the grid's, held at its ends."""
        return np.interp(distance_m, self.distances_m, self.chance)

    @property
    def best_leave_m(self) -> float:
        """The distance of the grid from which the next shots are likeliest to go in."""
        return float(self.distances_m[int(np.argmax(self.chance))])


def with_spins(ways: Ways, *, spin_factor: Array) -> Ways:
    """Every way with every factor (s,) of its club's backspin: (n s,), a way's spins together."""
    each = ways.take(np.repeat(np.arange(len(ways)), spin_factor.size))
    return replace(each, spin_factor=each.spin_factor * np.tile(spin_factor, len(ways)))


def next_shots(
    *, ways: Ways, distance_m: Array, place: Place, draws: Draws, air: Air = STANDARD_AIR
) -> NextShots:
    """Each way (n,) played at a target ``distance_m`` (n,) away from ``place``, at its best aim.

    Errors: EngineError for numbers that are not finite.
    """
    asked = _questions(ways, distance_m, place)
    ground = place.ground.take(np.zeros(len(ways), dtype=np.intp))
    aims = solve_finish(questions=asked, ground=ground, air=air)
    setup = aims.plays_m / place.carry_share
    playable = aims.solved & _allowed(ways, setup)
    rows = np.flatnonzero(playable)
    past = np.zeros((len(ways), 2))
    chances = Chances(*(np.zeros(len(ways)) for _ in range(6)))
    if rows.size:
        execution = _from_lie(ways.execution, place).take(rows)
        best = best_aims(
            cloud=cloud_of(swings=aims.swings.take(rows), execution=execution, air=air),
            ground=ground.take(rows),
            hole_m=hole_of(asked)[:, rows],
            execution=execution,
            draws=draws,
        )
        past[rows] = best.past_m
        for name in Chances.__dataclass_fields__:
            getattr(chances, name)[rows] = getattr(best.chances, name)
    return NextShots(aims, setup, past, chances, playable)


def holing_values(
    *,
    ways: Ways,
    distances_m: Array,
    place: Place,
    draws: Draws,
    air: Air = STANDARD_AIR,
) -> Values:
    """The chance that the next shot goes in, by distance (d,), rising; all in one batch."""
    _rising(distances_m)
    count, wide = len(ways), distances_m.size
    each = np.tile(np.arange(count), wide)
    found = next_shots(
        ways=ways.take(each),
        distance_m=np.repeat(distances_m, count),
        place=place,
        draws=draws,
        air=air,
    )
    chance = np.where(found.playable, found.chances.holed, -1.0).reshape(wide, count)
    way = np.argmax(chance, axis=1)
    best = chance[np.arange(wide), way]
    return Values(
        1,
        distances_m,
        np.maximum(best, 0.0),
        np.where(best < 0, -1, way),
        np.zeros(wide),
    )


def step_back(
    *,
    after: Values,
    ways: Ways,
    distances_m: Array,
    targets_m: Array,
    place: Place,
    draws: Draws,
    air: Air = STANDARD_AIR,
) -> Values:
    """Values one shot further back: the best way and target (t,) for each distance (d,).

    Each way is played at each target; where its balls really finish, long, short or wide, is what
    they leave, and the mean of ``after`` there is what the choice is worth. Lies and wind of the
    next shot are those that ``after`` was made for.
    """
    _rising(distances_m)
    count = len(ways)
    each = np.tile(np.arange(count), targets_m.size)
    played, target = ways.take(each), np.repeat(targets_m, count)
    asked = _questions(played, target, place)
    ground = place.ground.take(np.zeros(target.size, dtype=np.intp))
    aims = solve_finish(questions=asked, ground=ground, air=air)
    playable = aims.solved & _allowed(played, aims.plays_m / place.carry_share)
    rows = np.flatnonzero(playable)
    if not rows.size:
        nothing = np.full(distances_m.size, -1, dtype=np.intp)
        none = np.zeros(distances_m.size)
        return Values(after.shots + 1, distances_m, none, nothing, none)
    long, right = _ends(aims, asked, ground, _from_lie(played.execution, place), rows, draws, air)
    worth = np.stack(
        [after.at(np.hypot(far - long, right)).mean(axis=1) for far in distances_m]
    )  # (d, rows)
    best = np.argmax(worth, axis=1)
    return Values(
        after.shots + 1,
        distances_m,
        worth[np.arange(distances_m.size), best],
        each[rows[best]],
        np.abs(distances_m - target[rows[best]]),
    )


def _ends(
    aims: FinishAims,
    asked: Questions,
    ground: Ground,
    execution: Execution,
    rows: Rows,
    draws: Draws,
    air: Air,
) -> tuple[Array, Array]:
    """Where the balls of ``rows`` end, long and right of the start, (rows, points); no hole."""
    execution = execution.take(rows)
    finish, _ = finishes(
        cloud=cloud_of(swings=aims.swings.take(rows), execution=execution, air=air),
        ground=ground.take(rows),
        hole_m=hole_of(asked)[:, rows],
        execution=execution,
        draws=draws,
        past_m=np.zeros((2, 0)),
    )
    shape = (rows.size, len(draws))
    return finish.long_m.reshape(shape), finish.right_m.reshape(shape)


def _questions(ways: Ways, distance_m: Array, place: Place) -> Questions:
    one = np.ones(len(ways))
    return Questions(
        full=ways.full,
        distance_m=distance_m,
        height_m=one * place.height_m,
        wind_mps=ways.wind_share * place.wind_mps,
        wind_from_deg=one * place.wind_from_deg,
        spin_factor=ways.spin_factor * place.spin_share,
        tilt_rad=ways.tilt_rad,
    )


def _allowed(ways: Ways, setup_m: Array) -> Flags:
    within = (setup_m >= ways.least_m - REACH_SLACK_M) & (setup_m <= ways.most_m + REACH_SLACK_M)
    return within.astype(np.bool_)


def _from_lie(execution: Execution, place: Place) -> Execution:
    return replace(
        execution,
        hit_long_m=execution.hit_long_m * place.spread,
        hit_right_m=execution.hit_right_m * place.spread,
    )


def _rising(distances_m: Array) -> None:
    if distances_m.size == 0 or (np.diff(distances_m) <= 0).any() or distances_m[0] <= 0:
        raise EngineError("a table of values needs distances above 0 that rise")
