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
from engine.holing import TOGETHER, Chances, Cloud, Draws, Room, finishes, tally, unlimited
from engine.roll import CAPTURE_MPS

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

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
    size = max(1, TOGETHER // len(draws))
    whole: BestAims | None = None
    for start in range(0, count, size):
        rows = slice(start, min(start + size, count))
        part = _best(
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


def _best(
    cloud: Cloud, ground: Ground, hole_m: Array, execution: Execution, draws: Draws, room: Room
) -> BestAims:
    """The search of as many set-ups as are settled together."""
    count = hole_m.shape[1]

    def tried(past_m: Array) -> tuple[Finish, Flags]:
        """Finishes flat (n points,), and which are holed (m, n, points)."""
        finish, taken = finishes(
            cloud=cloud,
            ground=ground,
            hole_m=hole_m,
            execution=execution,
            draws=draws,
            past_m=past_m,
        )
        return finish, taken.reshape(past_m.shape[1], count, -1)

    rolls_on = CAPTURE_MPS**2 / (2 * ground.green.slowing_mps2)
    wide = _grid(WIDE_LONG[:, None] * rolls_on, WIDE_RIGHT_M)
    _, taken = tried(wide)
    fine = _grid(FINE_LONG[:, None] * rolls_on, FINE_RIGHT_M)
    fine = fine + _chosen(wide, _nearest_of_the_best(taken, wide))[:, None]
    finish, again = tried(fine)
    at = _nearest_of_the_best(again, fine)
    past = _chosen(fine, at)
    shape = (count, len(draws))
    long = finish.long_m.reshape(shape) - (hole_m[0] - past[0])[:, None]
    right = finish.right_m.reshape(shape) - (hole_m[2] - past[1])[:, None]
    found = tally(again[at, np.arange(count)], long, right, room, draws)
    return BestAims(past.T, found, taken[GIVEN].mean(axis=1))


def _chosen(past_m: Array, at: NDArray[np.intp]) -> Array:
    """The aims (2, n) at each set-up's own place ``at`` (n,) among its aims (2, m, n)."""
    return past_m[:, at, np.arange(at.size)]


def _nearest_of_the_best(taken: Flags, past_m: Array) -> NDArray[np.intp]:
    """Of each set-up's aims (2, m, n) that the points cannot tell from the best, the least moved.

    ``taken`` (m, n, points). The difference to the best is seen on the same points, so its standard
    error is the root of the number on which both differ (McNemar, Psychometrika 12:153, 1947); half
    of it counts as none.
    """
    holed = taken.sum(axis=2)
    best = np.argmax(holed, axis=0)
    column = np.arange(best.size, dtype=np.intp)
    differ = (taken != taken[best, column]).sum(axis=2)
    equal = holed[best, column] - holed <= np.sqrt(differ) / 2
    return np.argmin(np.where(equal, np.hypot(*past_m), np.inf), axis=0)


def _grid(long_m: Array, right_m: Array) -> Array:
    """Every pair of ``long_m`` (k, n) and ``right_m`` (l,), (2, k l, n); first right's first."""
    long = np.tile(long_m, (right_m.size, 1))
    right = np.repeat(right_m, len(long_m))[:, None] + np.zeros(long_m.shape[1])
    return np.stack((long, right))
