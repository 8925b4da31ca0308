"""The aim solve: signs, symmetries, the reference's answers, and questions without an answer."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.aim import Aims, Questions, rough_guess, solve
from engine.flight import Landing
from engine.launch import FullShot, full_shots
from engine.motion import Air
from shared.errors import EngineError
from shared.units import METRES_PER_YARD
from tests.reference import Shot, aim, touch
from tests.shots import swing_of

CLUBS = ["driver", "hybrid", "5-iron", "7-iron", "pitching wedge", "sand wedge"]
FULL_YD = np.array([232.0, 187.0, 165.0, 140.0, 103.0, 77.0])
FULL = full_shots(rows=CLUBS, carry_m=FULL_YD * METRES_PER_YARD)
TARGET_M = FULL_YD * METRES_PER_YARD * np.array([0.95, 0.9, 0.93, 0.88, 0.8, 0.75])
SOLVED_M = 1e-2  # how near its target a solved shot lands
ALIKE_M = 4e-3  # allowances, which that hardly touches


def ask(
    *,
    full: FullShot = FULL,
    distance_m: np.ndarray = TARGET_M,
    height_m: float | np.ndarray = 0.0,
    wind_mps: float | np.ndarray = 0.0,
    from_deg: float | np.ndarray = 0.0,
    spin_factor: float | np.ndarray = 1.0,
    tilt_rad: float | np.ndarray = 0.0,
) -> Questions:
    """Questions for every club of ``full``; single numbers hold for all."""
    rest = (height_m, wind_mps, from_deg, spin_factor, tilt_rad)
    columns = (np.broadcast_to(np.asarray(v, float), distance_m.shape).copy() for v in rest)
    return Questions(full, distance_m, *columns)


def answer(air: Air | None = None, **question: float | np.ndarray) -> Aims:
    questions = ask(**question)  # type: ignore[arg-type]
    aims = solve(questions=questions, air=air) if air else solve(questions=questions)
    assert aims.solved.all()
    return aims


def arrays(aims: Aims) -> dict[str, np.ndarray]:
    """Every array of the aims, those of the two landings too."""
    found: dict[str, np.ndarray] = {}
    for field in fields(aims):
        value = getattr(aims, field.name)
        if isinstance(value, Landing):
            found |= {f"{field.name}.{key}": array for key, array in vars(value).items()}
        elif isinstance(value, np.ndarray):
            found[field.name] = value
    return found


def test_a_calm_needs_no_allowance() -> None:
    for height_m, tilt_rad, from_deg in ((0.0, 0.0, 0.0), (-6.0, 0.12, 77.0), (5.0, -0.08, 301.0)):
        aims = answer(height_m=height_m, tilt_rad=tilt_rad, from_deg=from_deg)
        assert np.abs(aims.allowance_long_m).max() < 1e-12
        assert np.abs(aims.allowance_right_m).max() < 1e-12


def test_a_calm_level_straight_shot_plays_its_distance_and_flies_its_own_swing() -> None:
    aims = answer()
    assert aims.plays_m == pytest.approx(TARGET_M, abs=ALIKE_M)
    assert (np.abs(aims.azimuth_rad) < 1e-6).all()
    assert (aims.speed_factor < 1).all()
    full = answer(distance_m=FULL_YD * METRES_PER_YARD)
    assert full.speed_factor == pytest.approx(np.ones(6), abs=1e-4)


def test_wind_from_the_right_pushes_left_and_the_aim_goes_right() -> None:
    right, left = answer(wind_mps=5.0, from_deg=90.0), answer(wind_mps=5.0, from_deg=270.0)
    assert (right.allowance_right_m > 3).all()
    assert left.allowance_right_m == pytest.approx(-right.allowance_right_m, abs=2 * ALIKE_M)
    assert (right.azimuth_rad > 0.05).all()
    assert right.flight.right_m == pytest.approx(np.zeros(6), abs=SOLVED_M)
    drift_m = right.flight.right_m - right.still.right_m
    assert drift_m == pytest.approx(-right.allowance_right_m, abs=1e-12)


def test_into_plays_longer_and_helping_shorter_by_less() -> None:
    into, helping = answer(wind_mps=5.0, from_deg=0.0), answer(wind_mps=5.0, from_deg=180.0)
    assert (into.allowance_long_m > 4).all()
    assert (helping.allowance_long_m < -0.3).all()
    assert (into.allowance_long_m > -helping.allowance_long_m).all()
    assert into.plays_m == pytest.approx(TARGET_M + into.allowance_long_m, abs=2 * ALIKE_M)
    assert np.abs(into.allowance_right_m).max() < SOLVED_M


def test_the_allowance_is_nearly_linear_in_a_crosswind() -> None:
    gentle, fresh, strong = (
        answer(wind_mps=speed, from_deg=90.0).allowance_right_m for speed in (2.0, 4.0, 8.0)
    )
    assert fresh / gentle == pytest.approx(np.full(6, 2.0), abs=0.08)
    assert strong / fresh == pytest.approx(np.full(6, 2.0), abs=0.3)


@settings(max_examples=15, deadline=None)
@given(
    wind=st.floats(0, 7),
    from_deg=st.floats(0, 360),
    tilt=st.floats(-0.2, 0.2),
    spin=st.floats(0.7, 1.3),
)
def test_left_and_right_are_mirror_images(
    wind: float, from_deg: float, tilt: float, spin: float
) -> None:
    near = TARGET_M * 0.9
    one = answer(distance_m=near, wind_mps=wind, from_deg=from_deg, tilt_rad=tilt, spin_factor=spin)
    other = answer(
        distance_m=near, wind_mps=wind, from_deg=360 - from_deg, tilt_rad=-tilt, spin_factor=spin
    )
    slack = 2 * ALIKE_M
    assert other.allowance_right_m == pytest.approx(-one.allowance_right_m, abs=slack)
    assert other.allowance_long_m == pytest.approx(one.allowance_long_m, abs=slack)
    assert other.plays_m == pytest.approx(one.plays_m, abs=slack)


@pytest.mark.parametrize("height_m", [6.0, -9.0])
def test_a_height_plays_what_its_descent_needs_to_cover_it(height_m: float) -> None:
    """By the slope of the path there, height / tan(descent), for it bends by little on the way.

    A target above plays longer and one below shorter, and neither needs an allowance in a calm.
    """
    aims = answer(height_m=height_m)
    covered_m = height_m / np.tan(np.radians(aims.flight.descent_deg))
    assert (np.sign(aims.plays_m - TARGET_M) == np.sign(height_m)).all()
    assert aims.plays_m - TARGET_M == pytest.approx(covered_m, rel=0.15)
    assert np.abs(aims.allowance_long_m).max() < 1e-12


def test_a_draw_starts_right_and_a_fade_left_of_the_target() -> None:
    draw, fade = answer(tilt_rad=-0.1), answer(tilt_rad=0.1)
    assert (draw.azimuth_rad > 0.02).all()
    assert fade.azimuth_rad == pytest.approx(-draw.azimuth_rad, abs=1e-4)


def test_a_profile_asks_less_of_a_shot_below_ten_metres_than_a_uniform_wind() -> None:
    low = FullShot(
        speed_mps=np.array([45.0, 52.0]),
        elevation_rad=np.array([0.09, 0.08]),
        spin_radps=np.array([180.0, 150.0]),
        rise_per_mps=np.array([-0.001, -0.002]),
        spin_per_mps=np.array([3.0, 2.0]),
    )
    targets = np.array([50.0, 60.0])
    asked = ask(full=low, distance_m=targets, wind_mps=6.0, from_deg=80.0)
    uniform = solve(questions=asked)
    profile = solve(questions=asked, air=Air(profile_exponent=1 / 7))
    assert uniform.solved.all() and profile.solved.all()
    assert (uniform.flight.apex_m < 8).all()
    share = profile.allowance_right_m / uniform.allowance_right_m
    assert ((share > 0.6) & (share < 0.95)).all()


def _struck(row: int, questions: Questions, aims: Aims) -> Shot:
    return swing_of(questions, row).struck(
        factor=float(aims.speed_factor[row]), azimuth_rad=float(aims.azimuth_rad[row])
    )


UNEVEN = ask(
    height_m=np.array([3.0, -4.0, 0.0, 6.0, -2.0, 1.0]),
    wind_mps=np.array([4.0, 6.5, 1.2, 3.3, 5.1, 2.4]),
    from_deg=np.array([17.0, 95.0, 160.0, 231.0, 305.0, 48.0]),
    spin_factor=np.array([0.8, 1.2, 1.0, 0.9, 1.1, 0.7]),
    tilt_rad=np.array([0.1, -0.05, 0.0, -0.12, 0.07, 0.02]),
)


def test_the_reference_lands_the_solved_shots_on_their_targets() -> None:
    """Speed and azimuth flown by DOP853: on the target in the wind, on the aim point without."""
    aims = solve(questions=UNEVEN)
    assert aims.solved.all()
    for row in range(len(UNEVEN)):
        blown = touch(_struck(row, UNEVEN, aims))
        calm = touch(replace(_struck(row, UNEVEN, aims), wind_mps=0.0))
        assert blown is not None and calm is not None
        assert blown.long_m == pytest.approx(UNEVEN.distance_m[row], abs=SOLVED_M + 1e-3)
        assert blown.right_m == pytest.approx(0.0, abs=SOLVED_M + 1e-3)
        assert calm.long_m - blown.long_m == pytest.approx(aims.allowance_long_m[row], abs=1e-3)
        assert calm.right_m - blown.right_m == pytest.approx(aims.allowance_right_m[row], abs=1e-3)


def test_scipy_finds_the_same_allowances() -> None:
    """scipy.optimize.root over solve_ivp, one question at a time: within .05 yd."""
    aims = solve(questions=UNEVEN)
    for row in range(len(UNEVEN)):
        other = aim(swing_of(UNEVEN, row), distance_m=float(UNEVEN.distance_m[row]), rtol=1e-10)
        assert other is not None
        assert ALIKE_M < 0.05 * METRES_PER_YARD
        assert aims.allowance_long_m[row] == pytest.approx(other.long_m, abs=ALIKE_M)
        assert aims.allowance_right_m[row] == pytest.approx(other.right_m, abs=ALIKE_M)
        assert aims.speed_factor[row] == pytest.approx(other.speed_factor, abs=1e-4)


def test_a_batch_answers_as_its_questions_do_alone() -> None:
    together = arrays(solve(questions=UNEVEN))
    for row in range(len(UNEVEN)):
        alone = arrays(solve(questions=UNEVEN.take(np.array([row]))))
        for name, array in together.items():
            assert array[row] == pytest.approx(alone[name][0], abs=1e-7), name


ORDINARY = [
    (0.0, 0.0, 0.0),
    (6.0, 20.0, 0.0),
    (6.0, 200.0, 0.0),
    (5.0, 90.0, 0.0),
    (8.0, 260.0, 0.0),
    (0.0, 0.0, 6.0),
    (3.0, 130.0, -7.0),
]


@pytest.mark.parametrize(("wind_mps", "from_deg", "height_m"), ORDINARY)
def test_an_ordinary_shot_is_solved_in_a_few_rounds_from_a_guess_near_it(
    wind_mps: float, from_deg: float, height_m: float
) -> None:
    """Near: by a seventh of the speed and three degrees; good Jacobians then need few rounds."""
    asked = ask(wind_mps=wind_mps, from_deg=from_deg, height_m=height_m)
    aims, guess = solve(questions=asked), rough_guess(asked)
    assert aims.solved.all() and 1 < aims.rounds <= 5
    assert guess[0] == pytest.approx(np.log(aims.speed_factor), abs=1 / 7)
    assert guess[1] == pytest.approx(aims.azimuth_rad, abs=np.radians(3))


@pytest.mark.parametrize(
    ("share", "height_m", "wind_mps", "from_deg"),
    [(0.45, 8.0, 0.0, 0.0), (0.3, 6.0, 2.0, 30.0)],
)
def test_a_first_guess_below_its_target_is_hit_harder_until_it_comes_down_there(
    share: float, height_m: float, wind_mps: float, from_deg: float
) -> None:
    """Short shots far up: the first guess of some stays below, and a few rounds more do."""
    asked = ask(
        distance_m=FULL_YD * METRES_PER_YARD * share,
        height_m=height_m,
        wind_mps=wind_mps,
        from_deg=from_deg,
    )
    aims = solve(questions=asked)
    assert aims.solved.all() and aims.rounds <= 6
    assert np.abs(aims.azimuth_rad).max() < 0.2


def test_a_wind_too_strong_is_unsolved_and_spoils_no_other() -> None:
    wind = np.array([3.0, 60.0, 3.0, 45.0, 3.0, 3.0])
    aims = solve(questions=ask(wind_mps=wind, from_deg=20.0))
    assert aims.solved.tolist() == [True, False, True, False, True, True]
    plain = solve(questions=ask(wind_mps=3.0, from_deg=20.0))
    for row in (0, 2, 4, 5):
        assert aims.allowance_right_m[row] == pytest.approx(plain.allowance_right_m[row], abs=1e-7)
        assert aims.plays_m[row] == pytest.approx(plain.plays_m[row], abs=1e-7)
    assert aims.miss_m[1] > 50 > 0.1 > aims.miss_m[0]


def test_a_target_out_of_reach_is_unsolved_and_says_how_near_it_came() -> None:
    far = ask(distance_m=TARGET_M * np.array([1, 1, 1, 1, 3.5, 1]))
    aims = solve(questions=far)
    assert aims.solved.tolist() == [True, True, True, True, False, True]
    assert aims.miss_m[4] > 50


def test_the_miss_of_a_hopeless_question_is_that_of_the_best_try() -> None:
    """The shot it returns misses by what it says, a sweep of shots comes hardly any nearer."""
    asked = ask(wind_mps=14.0, from_deg=25.0).take(np.array([4]))
    aims = solve(questions=asked)
    assert not aims.solved[0]
    swing = swing_of(asked, 0)
    best = min(
        np.hypot(found.long_m - asked.distance_m[0], found.right_m)
        for factor in np.linspace(0.6, 2.4, 13)
        for azimuth in np.linspace(0.0, 0.6, 7)
        if (found := touch(swing.struck(factor=factor, azimuth_rad=azimuth), rtol=1e-6))
    )
    tried = touch(_struck(0, asked, aims))
    assert tried is not None
    missed = np.hypot(tried.long_m - asked.distance_m[0], tried.right_m)
    assert aims.miss_m[0] == pytest.approx(missed, abs=5e-3)
    assert best > 5 and missed < 1.2 * best


@pytest.mark.parametrize("distance_m", [1e-9, 0.3, 4.0, 900.0, 1e6])
@pytest.mark.parametrize("wind_mps", [0.0, 11.0, 60.0])
def test_no_silly_question_brings_out_a_nan(distance_m: float, wind_mps: float) -> None:
    silly = ask(
        distance_m=np.full(6, distance_m),
        wind_mps=wind_mps,
        from_deg=np.array([0.0, 61.0, 122.0, 183.0, 244.0, 305.0]),
        height_m=np.array([0.0, 900.0, -900.0, 30.0, -2.0, 1e-9]),
        spin_factor=np.array([0.01, 3.0, 1.0, 0.5, 2.0, 1.0]),
        tilt_rad=np.array([1.5, -1.5, 0.0, 0.7, -0.3, 0.1]),
    )
    for name, array in arrays(solve(questions=silly)).items():
        assert np.isfinite(array).all(), name


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
@pytest.mark.parametrize(
    "field", ["distance_m", "height_m", "wind_mps", "wind_from_deg", "spin_factor", "tilt_rad"]
)
def test_numbers_that_are_not_finite_are_refused(field: str, bad: float) -> None:
    values = np.full(6, 100.0)
    values[2] = bad
    with pytest.raises(EngineError, match="finite"):
        solve(questions=replace(ask(), **{field: values}))


@pytest.mark.parametrize(
    ("field", "value"), [("distance_m", -3.0), ("distance_m", 0.0), ("wind_mps", -0.1)]
)
def test_a_distance_of_nothing_and_a_negative_wind_are_refused(field: str, value: float) -> None:
    values = np.full(6, 50.0)
    values[5] = value
    with pytest.raises(EngineError, match="distance above 0 and a wind of 0 or more"):
        solve(questions=replace(ask(), **{field: values}))


def test_a_negative_spin_is_refused() -> None:
    with pytest.raises(EngineError, match="spin"):
        solve(questions=ask(spin_factor=np.array([1.0, 1.0, -0.2, 1.0, 1.0, 1.0])))


def test_what_is_out_of_all_proportion_is_refused() -> None:
    with pytest.raises(EngineError, match="at most 1e"):
        solve(questions=ask(distance_m=TARGET_M * np.array([1, 1, 1, 1, 1e200, 1])))
    with pytest.raises(EngineError, match="m/s of wind"):
        solve(questions=ask(wind_mps=np.array([1.0, 2.0, 1e5, 3.0, 4.0, 5.0])))
    with pytest.raises(EngineError, match="of spin"):
        solve(questions=ask(spin_factor=np.array([1.0, 1.0, 1.0, 1e6, 1.0, 1.0])))


def test_a_target_only_the_wind_lifts_the_shot_to_is_not_solved() -> None:
    """A 5-iron hits the high target in the wind; in still air it would stay below: no aim point."""
    question = ask(
        full=FULL.take(np.array([2])),
        distance_m=TARGET_M[[2]] * 0.65,
        height_m=22.0,
        wind_mps=10.0,
        from_deg=347.0,
    )
    aims = solve(questions=question)
    assert aims.miss_m[0] < SOLVED_M and aims.flight.reached[0]
    assert not aims.still.reached[0] and not aims.solved[0]
