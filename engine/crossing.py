"""Where shots of a batch come down through their heights, found while they are flown step by step.

Between the ends of a step a path is the Hermite cubic of its positions and velocities there:

    y(t) = ((a t + b) t + c) t + d,    t from 0 to 1 over the step
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from engine.batch import Rows
from engine.motion import Array, State

Flags = NDArray[np.bool_]

HERMITE_ROUNDS = 6  # Newton on a cubic over one step: quadratic, from the end of the step
LEAST_FALL_M = 1e-9  # per step: a path more level than that has no crossing to be found


@dataclass(frozen=True)
class Ends:
    """The ends of steps of m shots: which they are, when each step began and how long it was.

    ``rows``, ``time_s`` and ``step_s`` are (1, m), positions (3, m), velocities (3, m) or, with the
    surface speed of the spin, (4, m).
    """

    rows: Rows
    time_s: Array
    step_s: Array
    before_m: Array
    before_mps: Array
    after_m: Array
    after_mps: Array


@dataclass(frozen=True)
class Landed:
    """Where and how shots (n,) crossed; zeros where ``reached`` is False for a shot never down.

    ``position_m`` and ``velocity_mps`` have the rows of the states watched.
    """

    time_s: Array
    position_m: Array
    velocity_mps: Array
    apex_m: Array
    reached: Flags


class Crossings:
    """Watches each step for shots (n,) that turn over or come down through ``height_m``.

    Positions and heights are seen from one frame. ``down`` (of the shots still flown) is known at
    once; ``landed`` tells the rest when all are down.
    """

    def __init__(self, height_m: Array) -> None:
        self.down = np.zeros(height_m.shape[0], dtype=np.bool_)
        self._height = height_m
        self._tops: list[Ends] = []
        self._falls: list[Ends] = []
        # of the shots that are still flown: which they are, their heights, whether they fall
        self._rows = np.arange(height_m.shape[0], dtype=np.intp)
        self._target = height_m
        self._falling = self.down

    def take(self, keep: Rows) -> None:
        """Watch on over the shots at ``keep`` alone."""
        self._rows, self._target = self._rows.take(keep), self._target.take(keep)
        self.down, self._falling = self.down.take(keep), self._falling.take(keep)

    def watch(self, *, time_s: float, step_s: float, before: State, after: State) -> None:
        """Take note of the shots that turn over or cross in the step that began at ``time_s``."""
        falling = after[1][1] < 0
        if not np.count_nonzero(falling):
            return
        turning = falling > self._falling
        self._falling = falling
        if np.count_nonzero(turning):
            turning &= ~self.down
            self._tops.append(self._ends(turning, time_s, step_s, (*before, *after)))
        below = falling & (after[0][1] <= self._target)
        below &= ~self.down
        if np.count_nonzero(below):
            self._falls.append(self._ends(below, time_s, step_s, (*before, *after)))
            self.down = self.down | below

    def _ends(self, which: Flags, time_s: float, step_s: float, states: tuple[Array, ...]) -> Ends:
        at = np.flatnonzero(which)
        times = np.empty((2, 1, at.size))
        times[0], times[1] = time_s, step_s
        return Ends(self._rows[None, at], *times, *(each.take(at, axis=1) for each in states))

    def landed(self, *, state_rows: int) -> Landed:
        """Where and how the shots crossed; velocities have ``state_rows`` rows."""
        count: int = self._height.shape[0]
        highest = self._apex_m()
        found = Landed(
            time_s=np.zeros(count, dtype=np.float64),
            position_m=np.zeros((3, count)),
            velocity_mps=np.zeros((state_rows, count)),
            apex_m=highest,
            reached=np.zeros(count, dtype=np.bool_),
        )
        if self._falls:
            falls = _together(self._falls)
            rows = falls.rows[0]
            part_s, position, velocity = _fallen(falls, self._height[rows])
            found.time_s[rows] = falls.time_s[0] + part_s
            found.position_m[:, rows], found.velocity_mps[:, rows] = position, velocity
            top_m = np.maximum(falls.before_m[1], highest[rows])
            found.reached[rows] = top_m >= self._height[rows]
        return found

    def _apex_m(self) -> Array:
        """The tops of the paths above the ball, (n,): where the cubic's slope falls through 0.

        The slope is 3 a t^2 + 2 b t + c, its falling root c / (sqrt(b^2 - 3 a c) - b), also where a
        is 0.
        """
        highest = np.zeros(self._height.shape[0])
        if not self._tops:
            return highest
        tops = _together(self._tops)
        step_s = tops.step_s[0]
        start, rise = tops.before_m[1], step_s * tops.before_mps[1]
        a, b = _bends(start, rise, tops.after_m[1], step_s * tops.after_mps[1])
        up = np.maximum(rise, 0.0)  # a ball hit downwards is highest where it starts
        back = np.sqrt(np.maximum(b * b - 3 * a * up, 0.0)) - b
        t = np.minimum(up / np.maximum(back, LEAST_FALL_M), 1.0)
        np.maximum.at(highest, tops.rows[0], ((a * t + b) * t + rise) * t + start)
        return highest


def _together(steps: list[Ends]) -> Ends:
    """Ends of several steps as one, in their order."""
    names = [field.name for field in fields(Ends)]
    return Ends(*(np.concatenate([getattr(e, name) for e in steps], axis=1) for name in names))


def _bends(before: Array, start: Array, after: Array, end: Array) -> tuple[Array, Array]:
    """a and b of the cubic; ``start`` and ``end`` are the slopes over a whole step."""
    return 2 * (before - after) + start + end, 3 * (after - before) - 2 * start - end


def _fallen(ends: Ends, height: Array) -> tuple[Array, Array, Array]:
    """Time into the step, position and velocity where the cubic falls through ``height``.

    Newton from the end of the step: a path that bends down has its later crossing on that side. A
    fourth row of the velocity, the spin's surface speed, goes straight from end to end.
    """
    step_s = ends.step_s
    before, start = ends.before_m, step_s * ends.before_mps[:3]
    cubic, square = _bends(before, start, ends.after_m, step_s * ends.after_mps[:3])
    a, b, c, d = cubic[1], square[1], start[1], before[1] - height
    t = np.ones_like(height)
    for _ in range(HERMITE_ROUNDS):
        value = ((a * t + b) * t + c) * t + d
        rate = (3 * a * t + 2 * b) * t + c
        falls = np.where(rate < -LEAST_FALL_M, rate, -np.inf)
        t = np.maximum(np.minimum(t - value / falls, 1.0), 0.0)
    position = ((cubic * t + square) * t + start) * t + before
    velocity = ((3 * cubic * t + 2 * square) * t + start) / step_s
    first, last = ends.before_mps[3:], ends.after_mps[3:]
    return t * step_s[0], position, np.concatenate((velocity, first + (last - first) * t))
