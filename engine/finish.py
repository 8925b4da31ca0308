"""The aim whose ball *finishes* at the target: carry, bounce and roll solved together.

    finish(f, a; wind, ground) = target

for the speed factor f and the azimuth a. The aim that lands there, less its run, is the first
guess; Broyden's updates do the rest, each round one flight of what is still open.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.aim import Questions, solve
from engine.batch import Batch, Rows
from engine.flight import STANDARD_AIR, Air, Landing, fly, wind_vector
from engine.ground import Finish, Ground, Touchdown, settle
from engine.launch import part_shot

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SOLVED_M = 0.01
MOST_ROUNDS = 16
LARGEST_STEP = 0.15  # per round, of ln f and in rad
LEAST_CARRY_M = 3.0  # of the first guess
CARRY_PER_LOG_SPEED = 1.6  # how fast carry grows with speed, to begin with


@dataclass(frozen=True)
class Swings(Batch):
    """n set-ups to be played: what Questions ask, with the speed factor and azimuth that answer."""

    questions: Questions
    speed_factor: Array
    azimuth_rad: Array

    def __len__(self) -> int:
        return self.speed_factor.shape[0]


@dataclass(frozen=True)
class FinishAims(Batch):
    """Aims of a batch for the finish; arrays (n,). Where not ``solved`` the rest means nothing.

    ``flight`` is the landing in the wind, ``still`` that of the same swing without wind: the aim
    point, from the ball. ``plays_m`` is what the swing carries level, still and without spin added.
    ``finish`` is where the ball goes with no hole in its way, ``miss_m`` what the solve left over.
    """

    swings: Swings
    flight: Landing
    still: Landing
    plays_m: Array
    finish: Finish
    miss_m: Array
    solved: Flags

    @property
    def carry_m(self) -> Array:
        """From the ball to where it comes down."""
        return np.hypot(self.finish.landed_long_m, self.finish.landed_right_m)

    @property
    def first_bounce_m(self) -> Array:
        """Length of the first bounce, along the ground."""
        landed = self.finish.landed_long_m, self.finish.landed_right_m
        again = self.finish.second_long_m, self.finish.second_right_m
        return np.hypot(again[0] - landed[0], again[1] - landed[1])

    @property
    def roll_m(self) -> Array:
        """Straight distance of the roll at the end."""
        return self.finish.rolled_m

    @property
    def total_m(self) -> Array:
        """From the ball to where it rests."""
        return np.hypot(self.finish.long_m, self.finish.right_m)


def touchdown_of(landing: Landing) -> Touchdown:
    """A flight's landing as the ground takes it; one not ``reached`` drops where it is."""
    falls = np.where(landing.reached[:, None], landing.velocity_mps, [0.0, -1.0, 0.0])
    return Touchdown(landing.position_m, falls, landing.spin_radps)


def hole_of(questions: Questions) -> Array:
    """The target of each question as the ground's hole, (3, n)."""
    return np.stack((questions.distance_m, questions.height_m, np.zeros_like(questions.distance_m)))


def fly_swings(swings: Swings, *, wind_mps: Array, air: Air = STANDARD_AIR) -> Landing:
    """Fly n set-ups in winds ``wind_mps`` (3, n), each to its target's height."""
    asked = swings.questions
    launch = part_shot(
        full=asked.full,
        speed_factor=swings.speed_factor,
        azimuth_rad=swings.azimuth_rad,
        spin_factor=asked.spin_factor,
        tilt_rad=asked.tilt_rad,
    )
    return fly(launch=launch, wind_mps=wind_mps, height_m=asked.height_m, air=air)


def solve_finish(
    *,
    questions: Questions,
    ground: Ground,
    past_m: Array | None = None,
    air: Air = STANDARD_AIR,
) -> FinishAims:
    """Aims whose balls end at their targets, or ``past_m`` (2, n) long and right of them.

    ``ground`` is that at the target, its plane and green about it. A question without an answer has
    ``solved`` False and leaves the others alone. Errors: EngineError as ``engine.aim.solve`` and
    ``engine.ground.settle``.
    """
    past = np.zeros((2, len(questions))) if past_m is None else past_m
    return _FinishSearch(questions, ground, past, air).run()


class _FinishSearch:
    """The joint solve of one batch; unknowns are ln f (row 0) and the azimuth (row 1)."""

    def __init__(self, questions: Questions, ground: Ground, past_m: Array, air: Air) -> None:
        self.questions, self.ground, self.air = questions, ground, air
        self.hole = hole_of(questions)
        self.goal = np.stack((questions.distance_m + past_m[0], past_m[1]))
        self.wind = wind_vector(speed_mps=questions.wind_mps, from_deg=questions.wind_from_deg)
        self.lands = np.zeros(len(questions), dtype=np.bool_)

    def run(self) -> FinishAims:
        rows = np.arange(len(self.questions), dtype=np.intp)
        guess = self._first_guess(rows)
        gap, self.lands = self._gap(guess, rows)
        jacobian = np.zeros((2, 2, rows.size))
        jacobian[0, 0] = CARRY_PER_LOG_SPEED * self.questions.distance_m
        jacobian[1, 1] = self.questions.distance_m
        share, open_ = np.ones(rows.size), rows
        for _ in range(MOST_ROUNDS):
            open_ = open_[(np.hypot(*gap[:, open_]) > SOLVED_M / 4) & self.lands[open_]]
            if not open_.size:
                break
            j, g = jacobian[..., open_], gap[:, open_]
            det = j[0, 0] * j[1, 1] - j[0, 1] * j[1, 0]
            det = np.where(np.abs(det) < 1e-9, 1e-9, det)
            move = (
                np.stack((j[0, 1] * g[1] - j[1, 1] * g[0], j[1, 0] * g[0] - j[0, 0] * g[1])) / det
            )
            move = share[open_] * np.clip(move, -LARGEST_STEP, LARGEST_STEP)
            tried = guess[:, open_] + move
            later, reached = self._gap(tried, open_)
            size = np.maximum((move * move).sum(axis=0), 1e-16)
            error = later - g - np.einsum("ijn,jn->in", j, move)
            jacobian[..., open_] += np.where(reached, error[:, None] * move[None] / size, 0.0)
            taken = reached & (np.hypot(*later) < np.hypot(*g))
            share[open_] = np.where(taken, 1.0, share[open_] / 2)
            kept = open_[taken]
            guess[:, kept], gap[:, kept] = tried[:, taken], later[:, taken]
        return self._answer(guess)

    def _first_guess(self, rows: Rows) -> Array:
        """The aim that lands as far short of the goal as a ball landing there runs."""
        aims = solve(questions=self.questions, air=self.air)
        guess = np.stack((np.log(aims.speed_factor), aims.azimuth_rad))
        ran, _ = self._gap(guess, rows)
        carry = np.maximum(self.questions.distance_m - ran[0], LEAST_CARRY_M)
        nearer = solve(questions=replace(self.questions, distance_m=carry), air=self.air)
        better = nearer.solved & nearer.flight.reached
        found = np.stack((np.log(nearer.speed_factor), nearer.azimuth_rad))
        return np.where(better, found, guess)

    def _swings(self, guess: Array, rows: Rows) -> Swings:
        return Swings(self.questions.take(rows), np.exp(guess[0]), guess[1])

    def _finish(self, guess: Array, rows: Rows) -> tuple[Landing, Finish]:
        landing = fly_swings(self._swings(guess, rows), wind_mps=self.wind[:, rows], air=self.air)
        finish = settle(
            touchdown=touchdown_of(landing),
            ground=self.ground.take(rows),
            hole_m=self.hole[:, rows],
            capture=False,
        )
        return landing, finish

    def _gap(self, guess: Array, rows: Rows) -> tuple[Array, Flags]:
        """Finish less goal (2, n), and whether each shot came down at its target's height."""
        landing, finish = self._finish(guess, rows)
        return np.stack((finish.long_m, finish.right_m)) - self.goal[:, rows], landing.reached

    def _answer(self, guess: Array) -> FinishAims:
        rows = np.arange(len(self.questions), dtype=np.intp)
        swings = self._swings(guess, rows)
        flight, finish = self._finish(guess, rows)
        none = np.zeros((3, rows.size))
        still = fly_swings(swings, wind_mps=none, air=self.air)
        asked = self.questions
        bare = replace(
            asked,
            height_m=np.zeros(rows.size),
            spin_factor=np.ones(rows.size),
            tilt_rad=np.zeros(rows.size),
        )
        plain = fly_swings(replace(swings, questions=bare), wind_mps=none, air=self.air)
        miss = np.hypot(finish.long_m - self.goal[0], finish.right_m - self.goal[1])
        return FinishAims(
            swings=swings,
            flight=flight,
            still=still,
            plays_m=np.hypot(plain.long_m, plain.right_m),
            finish=finish,
            miss_m=miss,
            solved=flight.reached & still.reached & (miss < SOLVED_M),
        )
