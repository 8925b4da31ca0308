"""The aim whose ball *finishes* at the target: carry, bounce and roll solved together.

    finish(f, a; wind, ground) = target

for the speed factor f and the azimuth a: differences for the first Jacobian, then Broyden's
updates, each round one flight and one run of what is still open.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.aim import (
    COARSE_STEP_S,
    HARDER,
    LARGEST_STEP,
    NUDGE,
    Questions,
    rough_guess,
    solve,
)
from engine.batch import Batch, Rows
from engine.flight import STEP_S, Landing, fly
from engine.ground import Finish, Ground, Touchdown, settle
from engine.launch import part_shot
from engine.motion import STANDARD_AIR, Air, wind_vector

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SOLVED_M = 0.01
MOST_ROUNDS, MOST_CORRECTIONS = 12, 5  # with coarse and with fine steps
LEAST_CARRY_M = 3.0  # of a guess
CARRIES = 0.95  # of the distance, to begin with; the rest is run
CARRY_PER_LOG_SPEED = 1.6  # how fast carry grows with speed, where no difference can be taken


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


def fly_swings(
    swings: Swings, *, wind_mps: Array, air: Air = STANDARD_AIR, step_s: float = STEP_S
) -> Landing:
    """Fly n set-ups in winds ``wind_mps`` (3, n), each to its target's height."""
    asked = swings.questions
    launch = part_shot(
        full=asked.full,
        speed_factor=swings.speed_factor,
        azimuth_rad=swings.azimuth_rad,
        spin_factor=asked.spin_factor,
        tilt_rad=asked.tilt_rad,
    )
    return fly(launch=launch, wind_mps=wind_mps, height_m=asked.height_m, air=air, step_s=step_s)


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
        count = len(questions)
        self.guess = rough_guess(replace(questions, distance_m=CARRIES * questions.distance_m))
        self.gap, self.lands = np.empty((2, count)), np.zeros(count, dtype=np.bool_)
        self.jacobian = np.empty((2, 2, count))

    def run(self) -> FinishAims:
        """Find the swings with coarse steps, answer with fine ones; what fails begins anew.

        The second beginning is the aim that lands as far short of the goal as such a ball runs.
        """
        rows = np.arange(len(self.questions), dtype=np.intp)
        self._search(rows)
        late = np.flatnonzero(~self._solved())
        if late.size:
            self.guess[:, late] = self._landing_short(late)
            self._search(late)
        return self._answer()

    def _solved(self) -> Flags:
        return self.lands & (np.hypot(*self.gap) < SOLVED_M / 2)

    def _search(self, rows: Rows) -> None:
        self._differences(rows)
        self._broyden(rows, COARSE_STEP_S, MOST_ROUNDS)
        self.gap[:, rows], self.lands[rows] = self._gap(self.guess[:, rows], rows, STEP_S)
        self._broyden(rows, STEP_S, MOST_CORRECTIONS)

    def _differences(self, rows: Rows) -> None:
        """Gap and Jacobian of the guesses, from three flights of each with coarse steps."""
        count = rows.size
        guess = np.tile(self.guess[:, rows], 3)
        guess[0, count : 2 * count] += NUDGE
        guess[1, 2 * count :] += NUDGE
        found, reached = self._gap(guess, np.tile(rows, 3), COARSE_STEP_S)
        base, faster, turned = found.reshape(2, 3, count).transpose(1, 0, 2)
        distance = self.questions.distance_m[rows]
        rough = np.zeros((2, 2, count))
        rough[0, 0], rough[1, 1] = CARRY_PER_LOG_SPEED * distance, distance
        near = np.stack(((faster - base) / NUDGE, (turned - base) / NUDGE), axis=1)
        good = np.logical_and.reduce(reached.reshape(3, count))
        self.jacobian[..., rows] = np.where(good, near, rough)
        self.gap[:, rows], self.lands[rows] = base, reached[:count]

    def _broyden(self, rows: Rows, step_s: float, rounds: int) -> None:
        """Newton steps with Broyden's updates; a step that ends farther off is halved.

        Before any shot has come down at its target's height, shots are hit harder.
        """
        share = np.ones(len(self.questions))
        for _ in range(rounds):
            open_ = rows[~self._solved()[rows]]
            if not open_.size:
                break
            j, g, landed = self.jacobian[..., open_], self.gap[:, open_], self.lands[open_]
            move = np.where(landed, _newton(j, g), HARDER)
            move = share[open_] * np.clip(move, -LARGEST_STEP, LARGEST_STEP)
            tried = self.guess[:, open_] + move
            later, reached = self._gap(tried, open_, step_s)
            size = np.maximum((move * move).sum(axis=0), 1e-16)
            error = later - g - np.einsum("ijn,jn->in", j, move)
            update = error[:, None] * move[None] / size
            self.jacobian[..., open_] += np.where(reached & landed, update, 0.0)
            taken = (reached & (np.hypot(*later) < np.hypot(*g))) | ~landed
            share[open_] = np.where(taken, 1.0, share[open_] / 2)
            kept = open_[taken]
            self.guess[:, kept], self.gap[:, kept] = tried[:, taken], later[:, taken]
            self.lands[kept] = reached[taken]

    def _landing_short(self, rows: Rows) -> Array:
        """The aims that land as far short of the goal as a ball that lands at the target runs."""
        asked = self.questions.take(rows)
        aims = solve(questions=asked, air=self.air)
        guess = np.stack((np.log(aims.speed_factor), aims.azimuth_rad))
        ran, _ = self._gap(guess, rows, STEP_S)
        carry = np.maximum(asked.distance_m - ran[0], LEAST_CARRY_M)
        nearer = solve(questions=replace(asked, distance_m=carry), air=self.air)
        return np.where(
            nearer.solved, np.stack((np.log(nearer.speed_factor), nearer.azimuth_rad)), guess
        )

    def _gap(self, guess: Array, rows: Rows, step_s: float) -> tuple[Array, Flags]:
        """Finish less goal (2, n), and whether each shot came down at its target's height."""
        swings = Swings(self.questions.take(rows), np.exp(guess[0]), guess[1])
        wind = self.wind[:, rows]
        landing = fly_swings(swings, wind_mps=wind, air=self.air, step_s=step_s)
        finish = self._settle(landing, rows)
        return np.stack((finish.long_m, finish.right_m)) - self.goal[:, rows], landing.reached

    def _settle(self, landing: Landing, rows: Rows) -> Finish:
        return settle(
            touchdown=touchdown_of(landing),
            ground=self.ground.take(rows),
            hole_m=self.hole[:, rows],
            capture=False,
        )

    def _answer(self) -> FinishAims:
        """Three flights of each swing in one batch: in the wind, without, and plain and level."""
        asked, count = self.questions, len(self.questions)
        swings = Swings(asked, np.exp(self.guess[0]), self.guess[1])
        none, one = np.zeros(count), np.ones(count)
        bare = replace(asked, height_m=none, spin_factor=one, tilt_rad=none)
        wind = np.concatenate((self.wind, np.zeros((3, 2 * count))), axis=1)
        thrice = swings.joined(swings).joined(replace(swings, questions=bare))
        landing = fly_swings(thrice, wind_mps=wind, air=self.air)
        flight, still, plain = (
            landing.take(slice(at * count, (at + 1) * count)) for at in range(3)
        )
        finish = self._settle(flight, np.arange(count, dtype=np.intp))
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


def _newton(jacobian: Array, gap: Array) -> Array:
    """The moves (2, n) that would close the gaps (2, n) were the Jacobians (2, 2, n) exact."""
    (a, b), (c, d) = jacobian
    det = a * d - b * c
    det = np.where(np.abs(det) < 1e-9, 1e-9, det)
    return np.stack((b * gap[1] - d * gap[0], c * gap[0] - a * gap[1])) / det
