"""The aim that goes in most often, which is seldom the one that would stop at the hole.

A ball that would run on half a metre crosses the hole on its way, and the misses short of it are
fewer. So the aim is searched: all candidates at the same points, in one run of the ground
(``engine.ground.settle_aims``), first wide, then about the best.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch
from engine.execution import Execution
from engine.ground import Finish, Ground
from engine.holing import Chances, Cloud, Draws, Room, finishes, tally, unlimited
from engine.roll import CAPTURE_MPS

Array = NDArray[np.float64]

WIDE_LONG = np.array([-0.25, 0.0, 0.15, 0.3, 0.45, 0.6, 0.8, 1.0])
"""Candidates past the hole, in lengths that a ball rolls on from the fastest that falls in."""
GIVEN = 1  # which of the pairs is no move at all
WIDE_RIGHT_M = np.array([0.0, -0.2, 0.2, -0.5, 0.5])
FINE_LONG, FINE_RIGHT_M = np.array([0.0, -0.07, 0.07]), np.array([0.0, -0.08, 0.08])


@dataclass(frozen=True)
class BestAims(Batch):
    """Per set-up the aim likeliest to go in: ``past_m`` (n, 2) long and right of the aim that was
    given, its ``chances``, and ``given``, the chance of holing as it was aimed (n,)."""

    past_m: Array
    chances: Chances
    given: Array


def best_aims(
    *,
    cloud: Cloud,
    ground: Ground,
    hole_m: Array,
    execution: Execution,
    draws: Draws,
    room: Room | None = None,
) -> BestAims:
    """Search the aim of n set-ups; arguments as ``engine.holing.chances``.

    Among aims that the points cannot tell apart, the one nearest to the aim that was given. Its
    chance is taken at the points it was chosen by.
    """
    count = hole_m.shape[1]
    limits = unlimited(count) if room is None else room
    whole: BestAims | None = None
    for row in range(count):
        rows = slice(row, row + 1)
        part = _best_of_one(
            cloud.take(rows),
            ground.take(rows),
            hole_m[:, rows],
            execution.take(rows),
            draws,
            limits.take(rows),
        )
        whole = part if whole is None else whole.joined(part)
    assert whole is not None, "a search needs a set-up"
    return whole


def _best_of_one(
    cloud: Cloud, ground: Ground, hole_m: Array, execution: Execution, draws: Draws, room: Room
) -> BestAims:
    def tried(past_m: Array) -> tuple[Finish, NDArray[np.bool_]]:
        return finishes(
            cloud=cloud,
            ground=ground,
            hole_m=hole_m,
            execution=execution,
            draws=draws,
            past_m=past_m,
        )

    rolls_on = CAPTURE_MPS**2 / (2 * float(ground.green.slowing_mps2[0]))
    wide = _grid(rolls_on * WIDE_LONG, WIDE_RIGHT_M)
    _, taken = tried(wide)
    best = wide[:, [_nearest_of_the_best(taken, wide)]]
    fine = best + _grid(rolls_on * FINE_LONG, FINE_RIGHT_M)
    finish, again = tried(fine)
    at = _nearest_of_the_best(again, fine)
    past = fine[:, at]
    long = finish.long_m - hole_m[0] + past[0]
    right = finish.right_m - hole_m[2] + past[1]
    found = tally(again[[at]], long[None], right[None], room, draws)
    return BestAims(past[None], found, taken[[GIVEN]].mean(axis=1))


def _nearest_of_the_best(taken: NDArray[np.bool_], past_m: Array) -> int:
    """Of the aims (2, m) that the points cannot tell from the best, the one moved least.

    ``taken`` (m, points). The difference to the best is seen on the same points, so its standard
    error is the root of the number on which both differ (McNemar, Psychometrika 12:153, 1947); half
    of it counts as none.
    """
    holed = taken.sum(axis=1)
    best = taken[int(np.argmax(holed))]
    differ = (taken != best).sum(axis=1)
    equal = best.sum() - holed <= np.sqrt(differ) / 2
    return int(np.argmin(np.where(equal, np.hypot(*past_m), np.inf)))


def _grid(long_m: Array, right_m: Array) -> Array:
    """Every pair, (2, k), the first of each before the others."""
    pairs = [(long, right) for right in right_m for long in long_m]
    return np.array(pairs).T
