"""Aim off for the wind: one joint solve of azimuth and speed on a batch of questions.

Find speed factor f and azimuth a so that the ball lands on the target in the wind:

    landing(f, a; wind) = (distance, 0)      at the target's height

The aim point is where that same shot lands in still air; allowance = aim point - target. Newton
with differences for the first Jacobian, then Broyden's rank-one updates; each round is one flight
of the whole batch.
"""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch, Rows
from engine.flight import STEP_S, Landing, fly
from engine.launch import FullShot, part_shot
from engine.motion import STANDARD_AIR, Air, wind_vector
from shared.errors import EngineError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_ROUNDS = 15  # with coarse steps; the questions of tests/bench/aim.py need 6
LEAST_FACTOR, MOST_FACTOR = 0.15, 2.5  # of full speed; wider than any kit allows
MOST_AZIMUTH_RAD = 1.3
FARTHEST_M = 1e6
NUDGE = 1e-3  # difference for the first Jacobian, of the factor and in rad
LARGEST_STEP = 0.25  # per round, of ln f and in rad
HARDER = np.array([[0.1], [0.0]])  # the move of a shot that stayed below its target
LEAST = np.array([[np.log(LEAST_FACTOR)], [-MOST_AZIMUTH_RAD]])
MOST = np.array([[np.log(MOST_FACTOR)], [MOST_AZIMUTH_RAD]])
COARSE_STEP_S = 0.42  # lands within 3 cm of the fine step, most shots within 2 mm
COARSE_M, SOLVED_M = 0.005, 0.01  # how near the target a shot must land, with coarse and fine steps
MOST_CORRECTIONS = 4  # with fine steps; each takes a miss to a twentieth or less


@dataclass(frozen=True)
class Questions(Batch):
    """A batch of wind questions; every array (n,). Wind direction as in shared/units.py."""

    full: FullShot
    distance_m: Array
    height_m: Array
    wind_mps: Array
    wind_from_deg: Array
    spin_factor: Array
    tilt_rad: Array

    def __len__(self) -> int:
        return self.distance_m.shape[0]

    def check(self) -> None:
        """EngineError unless all is finite, distances positive and sane, winds not negative."""
        arrays = (
            *(self.full.speed_mps, self.full.elevation_rad, self.full.spin_radps),
            *(self.distance_m, self.height_m, self.wind_mps, self.wind_from_deg),
            *(self.spin_factor, self.tilt_rad),
        )
        if not all(np.isfinite(array).all() for array in arrays):
            raise EngineError("an aim needs finite numbers")
        if (self.distance_m <= 0).any() or (self.wind_mps < 0).any():
            raise EngineError("an aim needs a distance above 0 and a wind of 0 or more")
        if self.distance_m.max(initial=0.0) > FARTHEST_M:
            raise EngineError(f"an aim needs a distance of at most {FARTHEST_M:g} m")


@dataclass(frozen=True)
class Aims(Batch):
    """Solved aims of a batch; every array (n,). Values where ``solved`` is False mean nothing.

    ``plays_m`` is what the same swing, without spin or curve added, carries level in still air.
    ``still`` is the shot's landing without wind at the target's height, ``flight`` that in the
    wind; ``miss_m`` is what the solve left over, up to a centimetre of it where ``solved``.
    """

    allowance_long_m: Array
    allowance_right_m: Array
    plays_m: Array
    speed_factor: Array
    azimuth_rad: Array
    flight: Landing
    still: Landing
    miss_m: Array
    solved: Flags
    rounds: int


def solve(*, questions: Questions, air: Air = STANDARD_AIR) -> Aims:
    """Aims of a batch of questions.

    A question without an answer has ``solved`` False and leaves the others alone. Errors:
    EngineError for numbers that are not finite.
    """
    questions.check()
    return _Search(questions, air).run()


class _Search:
    """The joint solve of one batch; unknowns are ln f (row 0) and the azimuth (row 1)."""

    def __init__(self, questions: Questions, air: Air) -> None:
        self.questions = questions
        self.air = air
        self.wind = wind_vector(speed_mps=questions.wind_mps, from_deg=questions.wind_from_deg)
        self.guess = rough_guess(questions)
        self.gap = np.empty((2, len(questions)))
        self.reached = np.zeros(len(questions), dtype=np.bool_)

    def run(self) -> Aims:
        """Find the swings with coarse steps, then answer with fine ones.

        A fine answer that lands too far off moves by one more Newton step and is given again.
        """
        jacobian = self._first_round()
        rounds = self._refine(jacobian)
        hopeful = self._solved(COARSE_M)
        landing = self._answer(np.arange(len(self.questions)))
        for _ in range(MOST_CORRECTIONS):
            late = np.flatnonzero(hopeful & ~self._solved(SOLVED_M))
            if not late.size:
                break
            move = _solve_two(jacobian[..., late], -self.gap[:, late])
            self.guess[:, late] += np.clip(move, -LARGEST_STEP, LARGEST_STEP)
            _put(landing, late, self._answer(late))
            rounds += 1
        return self._aims(landing, rounds)

    def _solved(self, solved_m: float) -> Flags:
        return (np.abs(self.gap) < solved_m).all(axis=0) & self.reached

    def _refine(self, jacobian: Array) -> int:
        """Newton steps on the questions that are still open; returns the rounds it took.

        A step that ends farther off, or in a shot that does not come down at its target's height,
        is not taken and the next one is halved; so the guess is always the best try. Before any
        shot has come down there, nothing tells where to go and shots are hit harder.
        """
        share = np.ones(len(self.questions))
        for rounds in range(MOST_ROUNDS):
            open_ = np.flatnonzero(~self._solved(COARSE_M))
            if not open_.size:
                return rounds
            gap, reached, before = self.gap[:, open_], self.reached[open_], self.guess[:, open_]
            move = np.where(reached, _solve_two(jacobian[..., open_], -gap), HARDER)
            move = share[open_] * np.clip(move, -LARGEST_STEP, LARGEST_STEP)
            guess = np.clip(before + move, LEAST, MOST)
            later, landed = self._gap(guess, self.questions.take(open_), self.wind[:, open_])
            change = _broyden(jacobian[..., open_], guess - before, later - gap)
            jacobian[..., open_] += np.where(reached & landed, change, 0.0)
            nearer = landed & (np.hypot(*later) < np.hypot(*gap))
            taken = nearer | ~reached
            share[open_] = np.where(taken, 1.0, share[open_] / 2)
            kept = open_[taken]
            self.guess[:, kept], self.gap[:, kept] = guess[:, taken], later[:, taken]
            self.reached[kept] = landed[taken]
        return MOST_ROUNDS

    def _answer(self, rows: Rows) -> Landing:
        """Three fine flights of each guess, one kind after the other, and the gap of the first.

        In the wind, without it, and the plain swing without it over level ground.
        """
        asked = self.questions.take(rows)
        none, one = np.zeros(len(asked)), np.ones(len(asked))
        plain = replace(asked, height_m=none, spin_factor=one, tilt_rad=none)
        wind = np.zeros((3, 3 * len(asked)))
        wind[:, : len(asked)] = self.wind[:, rows]
        guess = np.tile(self.guess[:, rows], 3)
        landing = self._fly(guess, asked.joined(asked).joined(plain), wind, STEP_S)
        blown = _part(landing, 0, len(asked))
        self.gap[:, rows] = blown.long_m - asked.distance_m, blown.right_m
        self.reached[rows] = blown.reached
        return landing

    def _aims(self, landing: Landing, rounds: int) -> Aims:
        count = len(self.questions)
        blown, calm, plain = (_part(landing, i * count, (i + 1) * count) for i in range(3))
        return Aims(
            allowance_long_m=calm.long_m - blown.long_m,
            allowance_right_m=calm.right_m - blown.right_m,
            plays_m=np.hypot(plain.long_m, plain.right_m) - self.gap[0],
            speed_factor=np.exp(self.guess[0]),
            azimuth_rad=self.guess[1],
            flight=blown,
            still=calm,
            miss_m=np.hypot(*self.gap),
            solved=self._solved(SOLVED_M) & calm.reached,
            rounds=rounds,
        )

    def _first_round(self) -> Array:
        count = len(self.questions)
        thrice = self.questions.take(np.tile(np.arange(count), 3))
        guess = np.tile(self.guess, 3)
        guess[0, count : 2 * count] += NUDGE
        guess[1, 2 * count :] += NUDGE
        gap, reached = self._gap(guess, thrice, np.tile(self.wind, 3))
        base = gap[:, :count]
        jacobian = np.empty((2, 2, count))
        jacobian[:, 0] = (gap[:, count : 2 * count] - base) / NUDGE
        jacobian[:, 1] = (gap[:, 2 * count :] - base) / NUDGE
        good = reached.reshape(3, count).all(axis=0)
        distance = self.questions.distance_m
        fallback = np.zeros_like(jacobian)
        fallback[0, 0], fallback[1, 1] = 1.6 * distance, distance
        self.gap, self.reached = base, reached[:count]
        return np.where(good, jacobian, fallback)

    def _gap(self, guess: Array, questions: Questions, wind: Array) -> tuple[Array, Flags]:
        landing = self._fly(guess, questions, wind, COARSE_STEP_S)
        return np.stack((landing.long_m - questions.distance_m, landing.right_m)), landing.reached

    def _fly(self, guess: Array, questions: Questions, wind: Array, step_s: float) -> Landing:
        launch = part_shot(
            full=questions.full,
            speed_factor=np.exp(guess[0]),
            azimuth_rad=guess[1],
            spin_factor=questions.spin_factor,
            tilt_rad=questions.tilt_rad,
        )
        return fly(
            launch=launch,
            wind_mps=wind,
            height_m=questions.height_m,
            air=self.air,
            step_s=step_s,
        )


def rough_guess(questions: Questions) -> Array:
    """ln f (row 0) and azimuth in rad (row 1) to begin a solve with, (2, n), without a flight."""
    full = _rough_full_m(questions.full)
    wind = questions.wind_mps
    head = wind * np.cos(np.radians(questions.wind_from_deg))
    cross = wind * np.sin(np.radians(questions.wind_from_deg))
    plays = questions.distance_m * (1 + 0.02 * head) + questions.height_m
    factor = (np.maximum(plays, 0.05 * full) / full) ** 0.6
    return np.stack((np.clip(np.log(factor), -1.5, 0.7), np.clip(0.016 * cross, -0.8, 0.8)))


def _rough_full_m(full: FullShot) -> Array:
    """A rough still-air carry from ball speed alone, for a first guess only."""
    return 1.35 * full.speed_mps**1.19


def _solve_two(matrix: Array, right: Array) -> Array:
    """Solve n systems of two equations; matrix (2, 2, n), right (2, n)."""
    (a, b), (c, d) = matrix
    det = a * d - b * c
    det = np.where(np.abs(det) < 1e-9, 1e-9, det)
    return np.stack((d * right[0] - b * right[1], a * right[1] - c * right[0])) / det


def _broyden(jacobian: Array, move: Array, change: Array) -> Array:
    """Broyden's rank-one correction of the Jacobians (2, 2, n) after ``move`` made ``change``."""
    size = (move * move).sum(axis=0)
    error = change - np.einsum("ijn,jn->in", jacobian, move)
    return error[:, None] * move[None] / np.where(size > 1e-16, size, np.inf)


def _put(landing: Landing, rows: Rows, part: Landing) -> None:
    """Write the three kinds of flight of some rows over those in ``landing``."""
    count = landing.reached.shape[0] // 3
    index = np.concatenate((rows, rows + count, rows + 2 * count))
    for field in fields(Landing):
        getattr(landing, field.name)[index] = getattr(part, field.name)


def _part(landing: Landing, start: int, end: int) -> Landing:
    return landing.take(slice(start, end))
