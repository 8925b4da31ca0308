"""How the aim is solved: from a near guess, in few flights, with coarse steps that are near enough.

The questions: every club, calm to 8 m/s from five sides, curved both ways, up and down.
"""

import numpy as np
import pytest

from engine import aim
from engine.aim import Aims, Questions, rough_guess, solve
from engine.flight import STEP_S, Landing, fly
from engine.launch import part_shot
from engine.motion import STANDARD_AIR, wind_vector
from tests.unit.test_aim import FULL, TARGET_M

SHARE = 0.9


@pytest.fixture(scope="module")
def questions() -> Questions:
    return asked(height_m=(0.0, -8.0, 7.0))


@pytest.fixture(scope="module")
def aims(questions: Questions) -> Aims:
    return solve(questions=questions)


def asked(*, height_m: tuple[float, ...]) -> Questions:
    clubs, wind, side = range(len(TARGET_M)), (0.0, 4.0, 8.0), (0.0, 60.0, 90.0, 180.0, 250.0)
    every = np.meshgrid(clubs, wind, side, (-0.12, 0.0, 0.1), height_m)
    club, wind_mps, from_deg, tilt_rad, up_m = (each.ravel().astype(float) for each in every)
    row = club.astype(np.intp)
    return Questions(
        full=FULL.take(row),
        distance_m=SHARE * TARGET_M[row],
        height_m=up_m,
        wind_mps=wind_mps,
        wind_from_deg=from_deg,
        spin_factor=np.ones(len(row)),
        tilt_rad=tilt_rad,
    )


def flown(questions: Questions, aims: Aims, *, step_s: float) -> Landing:
    launch = part_shot(
        full=questions.full,
        speed_factor=aims.speed_factor,
        azimuth_rad=aims.azimuth_rad,
        spin_factor=questions.spin_factor,
        tilt_rad=questions.tilt_rad,
    )
    wind = wind_vector(speed_mps=questions.wind_mps, from_deg=questions.wind_from_deg)
    height = questions.height_m
    return fly(launch=launch, wind_mps=wind, height_m=height, air=STANDARD_AIR, step_s=step_s)


def test_curved_shots_in_strong_winds_are_solved_in_six_rounds(aims: Aims) -> None:
    """A wrong Jacobian, update or step still ends at the target, after twice as many flights."""
    assert aims.solved.all()
    assert 4 <= aims.rounds <= 6


def test_the_guess_is_within_one_step_of_the_answer(questions: Questions, aims: Aims) -> None:
    guess = rough_guess(questions)
    off = np.abs(guess - np.stack((np.log(aims.speed_factor), aims.azimuth_rad)))
    assert (off.max(axis=1) < aim.LARGEST_STEP).all()
    straight = questions.tilt_rad == 0.0
    assert (off[:, straight].mean(axis=1) < (0.06, 0.03)).all()


def test_a_guess_for_a_very_short_shot_stays_a_swing() -> None:
    few = asked(height_m=(0.0,))
    short = Questions(
        few.full,
        np.full(len(few), 0.5),
        few.height_m,
        0.0 * few.wind_mps,
        few.wind_from_deg,
        few.spin_factor,
        few.tilt_rad,
    )
    assert np.allclose(np.exp(rough_guess(short)[0]), np.exp(-1.5))


def test_a_guess_in_a_storm_stays_within_reach_of_the_club() -> None:
    few = asked(height_m=(0.0,))
    storm = Questions(
        few.full,
        3.0 * few.distance_m,
        few.height_m,
        np.full(len(few), 60.0),
        few.wind_from_deg,
        few.spin_factor,
        few.tilt_rad,
    )
    swing, azimuth = rough_guess(storm)
    assert swing.max() == 0.7 and np.abs(azimuth).max() == 0.8


def test_coarse_steps_land_within_three_centimetres_of_fine_ones(
    questions: Questions, aims: Aims
) -> None:
    coarse = flown(questions, aims, step_s=aim.COARSE_STEP_S)
    fine = flown(questions, aims, step_s=STEP_S)
    off = np.hypot(coarse.long_m - fine.long_m, coarse.right_m - fine.right_m)
    assert off.max() < 0.03 and np.median(off) < 0.002


def test_high_targets_are_found_by_hitting_harder_and_straight() -> None:
    """Shots that stay below their target say nothing of where they would come down there."""
    high = asked(height_m=(20.0,))
    level = high.tilt_rad == 0.0
    calm = level & (high.wind_mps == 0.0)
    found = solve(questions=high.take(np.flatnonzero(calm)))
    assert found.solved.mean() > 0.5
    assert np.abs(found.azimuth_rad).max() < 1e-6
    assert found.rounds <= 11


def test_two_equations_are_solved_as_a_library_solves_them() -> None:
    rng = np.random.default_rng(3)
    matrix, right = rng.normal(size=(2, 2, 50)), rng.normal(size=(2, 50))
    found = aim._solve_two(matrix, right)
    told = np.linalg.solve(np.moveaxis(matrix, 2, 0), right.T[..., None])[..., 0].T
    np.testing.assert_allclose(found, told, rtol=1e-9)


def test_a_correction_agrees_with_the_last_move_and_leaves_the_rest() -> None:
    """Broyden 1965: the mended matrix maps the move to its change, and what is at right angles to
    the move as before; a question that did not move is left alone."""
    rng = np.random.default_rng(4)
    matrix, move, change = (
        rng.normal(size=(2, 2, 9)),
        rng.normal(size=(2, 9)),
        rng.normal(size=(2, 9)),
    )
    move[:, 4] = 0.0
    mended = matrix + aim._broyden(matrix, move, change)
    still = np.arange(9) == 4
    np.testing.assert_allclose(np.einsum("ijn,jn->in", mended, move)[:, ~still], change[:, ~still])
    across = np.stack((-move[1], move[0]))
    np.testing.assert_allclose(
        np.einsum("ijn,jn->in", mended, across), np.einsum("ijn,jn->in", matrix, across), atol=1e-12
    )
    np.testing.assert_array_equal(mended[..., 4], matrix[..., 4])


def test_what_coarse_steps_get_wrong_is_corrected_and_counted(
    questions: Questions, aims: Aims, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(aim, "COARSE_STEP_S", 1.2)
    found = solve(questions=questions)
    assert found.solved.all() and found.miss_m.max() < aim.SOLVED_M * np.sqrt(2.0)
    assert found.rounds > aims.rounds
    np.testing.assert_allclose(found.allowance_right_m, aims.allowance_right_m, atol=8e-3)
