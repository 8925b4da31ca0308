"""Aim off for the wind: one joint solve of azimuth and speed on a batch of questions.

Find speed factor f and azimuth a so that the ball lands on the target in the wind:

    landing(f, a; wind) = (distance, 0)      at the target's height

The aim point is where that same shot lands in still air; allowance = aim point - target. Newton
with differences for the first Jacobian, then Broyden's rank-one updates; each round is one flight
of the whole batch.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.flight import STANDARD_AIR, STEP_S, Air, Landing, fly, wind_vector
from engine.launch import FullShot, part_shot
from shared.errors import EngineError, NotConvergedError, TooStrongWindError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SOLVED_M = 2e-3  # how near the target the ball must land
MOST_ROUNDS = 25
LEAST_FACTOR, MOST_FACTOR = 0.15, 2.5  # of full speed; wider than any kit allows
MOST_AZIMUTH_RAD = 1.3
NUDGE = 1e-3  # difference for the first Jacobian, of the factor and in rad
LARGEST_STEP = 0.25  # per round, of ln f and in rad
HARDER = np.array([[0.1], [0.0]])  # the move of a shot that stayed below its target
COARSE_STEP_S = 0.4  # the first rounds only point the way


@dataclass(frozen=True)
class Questions:
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
        """EngineError unless every number is finite, distances positive, winds not negative."""
        arrays = (
            *(self.full.speed_mps, self.full.elevation_rad, self.full.spin_radps),
            *(self.distance_m, self.height_m, self.wind_mps, self.wind_from_deg),
            *(self.spin_factor, self.tilt_rad),
        )
        if not all(np.isfinite(array).all() for array in arrays):
            raise EngineError("an aim needs finite numbers")
        if (self.distance_m <= 0).any() or (self.wind_mps < 0).any():
            raise EngineError("an aim needs a distance above 0 and a wind of 0 or more")

    def take(self, index: NDArray[np.intp]) -> "Questions":
        """The questions at ``index``, in its order."""
        return Questions(
            self.full.take(index),
            self.distance_m[index],
            self.height_m[index],
            self.wind_mps[index],
            self.wind_from_deg[index],
            self.spin_factor[index],
            self.tilt_rad[index],
        )


@dataclass(frozen=True)
class Aims:
    """Solved aims of a batch; every array (n,). Values where ``solved`` is False mean nothing.

    ``plays_m`` is the level still-air carry of the shot, ``still`` its landing without wind at the
    target's height, ``flight`` the landing in the wind; ``miss_m`` is what the solve left over.
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
    search = _Search(questions, air)
    rounds = search.run()
    return search.aims(rounds)


def require_solved(*, aims: Aims, questions: Questions, row: int = 0) -> None:
    """Raise for a question without an answer: TooStrongWindError or NotConvergedError."""
    if aims.solved[row]:
        return
    miss = float(aims.miss_m[row])
    wind = float(questions.wind_mps[row])
    if wind > 0:
        raise TooStrongWindError("no aim holds the ball against this wind", wind, miss)
    raise NotConvergedError("no shot was found that lands on the target", aims.rounds, miss)


class _Search:
    """The joint solve of one batch; unknowns are ln f (row 0) and the azimuth (row 1)."""

    def __init__(self, questions: Questions, air: Air) -> None:
        self.questions = questions
        self.air = air
        self.wind = wind_vector(speed_mps=questions.wind_mps, from_deg=questions.wind_from_deg)
        self.guess = self._first_guess()
        self.gap = np.empty((2, len(questions)))
        self.reached = np.zeros(len(questions), dtype=np.bool_)

    def run(self) -> int:
        """Refine the guess until every question is solved or the rounds are used up."""
        jacobian = self._first_round()
        limits = np.array([[np.log(LEAST_FACTOR)], [-MOST_AZIMUTH_RAD]])
        most = np.array([[np.log(MOST_FACTOR)], [MOST_AZIMUTH_RAD]])
        rounds = 0
        for rounds in range(1, MOST_ROUNDS + 1):
            done = (np.abs(self.gap) < SOLVED_M).all(axis=0) & self.reached
            open_ = np.arange(done.size) if rounds == 1 else np.flatnonzero(~done)
            if not open_.size:
                break
            gap, reached, before = self.gap[:, open_], self.reached[open_], self.guess[:, open_]
            move = np.where(reached, _solve_two(jacobian[..., open_], -gap), HARDER)
            guess = np.clip(before + np.clip(move, -LARGEST_STEP, LARGEST_STEP), limits, most)
            later, landed = self._gap(guess, self.questions.take(open_), self.wind[:, open_])
            if rounds > 1:  # the first gap came from the coarse step
                change = _broyden(jacobian[..., open_], guess - before, later - gap)
                jacobian[..., open_] += np.where(reached & landed, change, 0.0)
            self.guess[:, open_], self.gap[:, open_], self.reached[open_] = guess, later, landed
        return rounds

    def aims(self, rounds: int) -> Aims:
        questions = self.questions
        count = len(questions)
        twice = questions.take(np.tile(np.arange(count), 3))
        height = np.concatenate((questions.height_m, questions.height_m, np.zeros(count)))
        still = np.zeros((3, 2 * count))
        landing = self._fly(
            np.tile(self.guess, 3),
            replace(twice, height_m=height),
            np.concatenate((self.wind, still), axis=1),
        )
        flight, calm = _part(landing, 0, count), _part(landing, count, 2 * count)
        level = _part(landing, 2 * count, 3 * count)
        miss = np.hypot(*self.gap)
        return Aims(
            allowance_long_m=calm.long_m - questions.distance_m,
            allowance_right_m=calm.right_m + 0.0,
            plays_m=np.hypot(level.long_m, level.right_m),
            speed_factor=np.exp(self.guess[0]),
            azimuth_rad=self.guess[1],
            flight=flight,
            still=calm,
            miss_m=miss,
            solved=(np.abs(self.gap) < SOLVED_M).all(axis=0) & self.reached & calm.reached,
            rounds=rounds,
        )

    def _first_guess(self) -> Array:
        questions = self.questions
        full = _rough_full_m(questions.full)
        wind = questions.wind_mps
        head = wind * np.cos(np.radians(questions.wind_from_deg))
        cross = wind * np.sin(np.radians(questions.wind_from_deg))
        plays = questions.distance_m * (1 + 0.02 * head) + questions.height_m
        factor = (np.maximum(plays, 0.05 * full) / full) ** 0.6
        return np.stack((np.clip(np.log(factor), -1.5, 0.7), np.clip(0.016 * cross, -0.8, 0.8)))

    def _first_round(self) -> Array:
        count = len(self.questions)
        thrice = self.questions.take(np.tile(np.arange(count), 3))
        guess = np.tile(self.guess, 3)
        guess[0, count : 2 * count] += NUDGE
        guess[1, 2 * count :] += NUDGE
        gap, reached = self._gap(guess, thrice, np.tile(self.wind, 3), COARSE_STEP_S)
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

    def _gap(
        self,
        guess: Array,
        questions: Questions,
        wind: Array,
        step_s: float = STEP_S,
    ) -> tuple[Array, Flags]:
        landing = self._fly(guess, questions, wind, step_s)
        return np.stack((landing.long_m - questions.distance_m, landing.right_m)), landing.reached

    def _fly(
        self, guess: Array, questions: Questions, wind: Array, step_s: float = STEP_S
    ) -> Landing:
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


def _part(landing: Landing, start: int, end: int) -> Landing:
    cut = slice(start, end)
    return Landing(
        landing.long_m[cut],
        landing.right_m[cut],
        landing.time_s[cut],
        landing.apex_m[cut],
        landing.descent_deg[cut],
        landing.reached[cut],
    )
