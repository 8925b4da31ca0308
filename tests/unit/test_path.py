"""Paths: where they end, that they agree with the flight, and that a batch is its shots."""

import numpy as np
import pytest

from engine.flight import fly
from engine.launch import full_shots, part_shot
from engine.motion import Air, Launch, wind_vector
from engine.path import Paths, trace
from shared.errors import EngineError

HEIGHT_M = np.array([3.0, -5.5, 0.0])
WIND = wind_vector(speed_mps=np.array([4.1, 7.3, 2.2]), from_deg=np.array([60.0, 205.0, 290.0]))


@pytest.fixture(scope="module")
def launch() -> Launch:
    full = full_shots(
        rows=["5-iron", "driver", "gap wedge"], carry_m=np.array([150.9, 212.0, 88.0])
    )
    return part_shot(
        full=full,
        speed_factor=np.array([0.93, 1.0, 0.71]),
        azimuth_rad=np.array([0.06, -0.02, 0.11]),
        spin_factor=np.array([1.0, 1.16, 0.84]),
        tilt_rad=np.array([0.1, -0.05, 0.0]),
    )


def traced(launch: Launch, steps: int = 24, air: Air | None = None) -> Paths:
    return trace(launch=launch, wind_mps=WIND, height_m=HEIGHT_M, steps=steps, air=air or Air())


def test_a_path_runs_from_the_ball_to_the_landing(launch: Launch) -> None:
    paths = traced(launch)
    landing = fly(launch=launch, wind_mps=WIND, height_m=HEIGHT_M)
    assert paths.position_m.shape == (3, 25, 3)
    assert (paths.position_m[:, 0] == 0).all()
    np.testing.assert_allclose(paths.position_m[0, -1], landing.long_m, atol=2e-3)
    np.testing.assert_allclose(paths.position_m[1, -1], HEIGHT_M, atol=2e-3)
    np.testing.assert_allclose(paths.position_m[2, -1], landing.right_m, atol=2e-3)
    np.testing.assert_allclose(paths.time_s[-1], landing.time_s)
    np.testing.assert_allclose(paths.time_s[6], landing.time_s / 4)


def test_its_top_is_the_apex(launch: Launch) -> None:
    paths = traced(launch, steps=90)
    np.testing.assert_allclose(paths.position_m[1].max(axis=0), paths.landing.apex_m, atol=0.02)


@pytest.mark.parametrize("air", [Air(), Air(profile_exponent=1 / 7)])
def test_few_samples_are_as_exact_as_many(launch: Launch, air: Air) -> None:
    few, many = traced(launch, 3, air), traced(launch, 63, air)
    np.testing.assert_allclose(few.position_m, many.position_m[:, ::21], atol=5e-3)


def test_a_sample_lies_where_the_shot_would_land_on_a_floor_of_its_height(launch: Launch) -> None:
    paths = traced(launch, steps=20)
    late = 17  # on the way down
    assert (np.diff(paths.position_m[1, late - 1 : late + 1], axis=0) < 0).all()
    floor = fly(launch=launch, wind_mps=WIND, height_m=paths.position_m[1, late])
    np.testing.assert_allclose(paths.position_m[0, late], floor.long_m, atol=3e-3)
    np.testing.assert_allclose(paths.position_m[2, late], floor.right_m, atol=3e-3)
    np.testing.assert_allclose(paths.time_s[late], floor.time_s, atol=1e-3)


def test_a_shot_that_stays_below_its_target_spoils_no_other(launch: Launch) -> None:
    height = np.array([3.0, 400.0, 0.0])
    paths = trace(launch=launch, wind_mps=WIND, height_m=height, steps=24)
    assert paths.landing.reached.tolist() == [True, False, True]
    assert np.isfinite(paths.position_m).all()
    np.testing.assert_allclose(
        paths.position_m[..., 0], traced(launch).position_m[..., 0], atol=2e-3
    )


def test_no_steps_and_no_numbers_are_refused(launch: Launch) -> None:
    with pytest.raises(EngineError, match="at least one step"):
        traced(launch, steps=0)
    with pytest.raises(EngineError, match="finite"):
        trace(launch=launch, wind_mps=WIND * np.nan, height_m=HEIGHT_M, steps=5)
