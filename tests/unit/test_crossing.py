"""Crossings and tops between steps, against polynomials whose roots are known."""

import numpy as np
import pytest

from engine.crossing import Crossings

G = 9.80665


def thrown(*, climb_mps: list[float], height_m: list[float], steps: tuple[float, ...]) -> Crossings:
    """Balls without air, watched in uneven steps: 3 m/s along, their own climb, 1 m/s left."""
    climb = np.array(climb_mps)
    crossings = Crossings(np.array(height_m))
    begin = 0.0

    def state(time_s: float) -> tuple[np.ndarray, np.ndarray]:
        one = np.ones_like(climb)
        position = np.stack((3 * time_s * one, climb * time_s - G * time_s**2 / 2, -time_s * one))
        return position, np.stack((3 * one, climb - G * time_s, -one, 7 - time_s * one))

    for step_s in steps:
        crossings.watch(
            time_s=begin, step_s=step_s, before=state(begin), after=state(begin + step_s)
        )
        begin += step_s
    return crossings


def test_a_parabola_is_met_where_it_falls_through_the_height() -> None:
    found = thrown(
        climb_mps=[6.0, 9.0], height_m=[-2.0, 1.5], steps=(0.3, 0.5, 0.4, 0.7, 0.6)
    ).landed(state_rows=4)
    climb, height = np.array([6.0, 9.0]), np.array([-2.0, 1.5])
    time_s = (climb + np.sqrt(climb**2 - 2 * G * height)) / G
    np.testing.assert_allclose(found.time_s, time_s, rtol=1e-9)
    np.testing.assert_allclose(found.position_m, [3 * time_s, height, -time_s], atol=1e-8)
    np.testing.assert_allclose(found.velocity_mps[1], climb - G * time_s, rtol=1e-9)
    np.testing.assert_allclose(found.velocity_mps[3], 7 - time_s, rtol=1e-9)
    np.testing.assert_allclose(found.apex_m, climb**2 / (2 * G), rtol=1e-9)
    assert found.reached.tolist() == [True, True]


def test_a_top_and_a_fall_within_one_step_are_both_found() -> None:
    found = thrown(climb_mps=[2.0], height_m=[0.1], steps=(0.9,)).landed(state_rows=4)
    assert found.apex_m[0] == pytest.approx(4 / (2 * G), rel=1e-9)
    assert found.reached.tolist() == [True]
    assert found.time_s[0] == pytest.approx((2 + np.sqrt(4 - 0.2 * G)) / G, rel=1e-9)


def test_a_ball_hit_downwards_is_highest_where_it_starts() -> None:
    found = thrown(climb_mps=[-4.0], height_m=[-6.0], steps=(0.2, 0.5, 0.5)).landed(state_rows=4)
    assert found.apex_m[0] == 0.0
    assert found.time_s[0] == pytest.approx((-4 + np.sqrt(16 + 12 * G)) / G, rel=1e-9)


def test_a_height_above_the_top_is_not_reached() -> None:
    found = thrown(climb_mps=[6.0], height_m=[2.5], steps=(0.4, 0.4, 0.4)).landed(state_rows=4)
    assert found.reached.tolist() == [False]
    assert found.apex_m[0] == pytest.approx(36 / (2 * G), rel=1e-9)


def test_shots_that_leave_keep_their_places_and_one_never_down_is_zero() -> None:
    crossings = thrown(climb_mps=[1.0, 40.0, 5.0], height_m=[0.0, 0.0, -1.0], steps=(0.3,))
    assert crossings.down.tolist() == [True, False, False]
    crossings.take(np.flatnonzero(~crossings.down))
    one = np.ones(2)

    def state(time_s: float) -> tuple[np.ndarray, np.ndarray]:
        climb = np.array([40.0, 5.0])
        return (
            np.stack((3 * time_s * one, climb * time_s - G * time_s**2 / 2, -time_s * one)),
            np.stack((3 * one, climb - G * time_s, -one, 7 - time_s * one)),
        )

    crossings.watch(time_s=0.3, step_s=1.2, before=state(0.3), after=state(1.5))
    found = crossings.landed(state_rows=4)
    assert found.time_s == pytest.approx([2 / G, 0.0, (5 + np.sqrt(25 + 2 * G)) / G], rel=1e-9)
    assert found.reached.tolist() == [True, False, True]
    assert found.position_m[:, 1].tolist() == [0.0, 0.0, 0.0]
