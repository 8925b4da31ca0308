"""The aim whose ball finishes at the target: played again it does, in wind and on slopes."""

import numpy as np
import pytest

from engine.aim import Questions, solve
from engine.finish import fly_swings, hole_of, solve_finish, touchdown_of
from engine.ground import settle
from engine.motion import wind_vector
from tests.bench.aim import draw
from tests.finishing import ground_of, questions_of
from tests.reference_ground import Turf, settled


def reachable(count: int, *, seed: int) -> Questions:
    """Mixed questions of the demo's kit that an aim for the landing answers.

    Without more backspin than a club's own: into a wind it draws a wedge back further than the club
    can be hit past the hole, by this law and ground.
    """
    questions = draw(count=count, seed=seed)
    aims = solve(questions=questions)
    plain = questions.spin_factor <= 1.0
    return questions.take(np.flatnonzero(aims.solved & (aims.speed_factor < 1.15) & plain))


@pytest.mark.parametrize(
    "ground", [{}, {"rises_long": 0.02, "rises_right": -0.015}, {"green_radius_m": 9.0}]
)
def test_the_ball_finishes_at_its_target(ground: dict[str, float]) -> None:
    questions = reachable(140, seed=3)
    count = len(questions)
    assert count > 60
    turf = ground_of(count, **ground)
    aims = solve_finish(questions=questions, ground=turf)
    assert aims.solved.all()
    wind = wind_vector(speed_mps=questions.wind_mps, from_deg=questions.wind_from_deg)
    landing = fly_swings(aims.swings, wind_mps=wind)
    finish = settle(touchdown=touchdown_of(landing), ground=turf, hole_m=hole_of(questions))
    assert finish.holed.all()  # it would stop at the hole's centre, so it falls in
    assert np.abs(aims.total_m - questions.distance_m).max() < 0.01


def test_the_finish_is_that_of_the_reference_ground() -> None:
    """The landing solved for, put on the reference's ground, rests within a millimetre or so."""
    questions = questions_of("7-iron", "9-iron", wind_mps=4.0, wind_from_deg=70.0)
    aims = solve_finish(questions=questions, ground=ground_of(2, rises_right=0.02))
    turf = Turf(rises_right=0.02)
    for row in range(2):
        down = touchdown_of(aims.flight)
        start = down.position_m[row] - hole_of(questions)[:, row]
        # on along the parabola to the tilted green
        velocity = down.velocity_mps[row]
        height = start[1] - 0.02 * start[2]
        rise = velocity[1] - 0.02 * velocity[2]
        time = (rise + np.sqrt(rise**2 + 2 * 9.80665 * height)) / 9.80665
        gravity = np.array([0.0, -9.80665, 0.0])
        start = start + velocity * time + gravity * time**2 / 2
        rest = settled(start, velocity + gravity * time, down.spin_radps[row], turf)
        assert rest.holed
        ours = np.array([aims.finish.landed_long_m[row], aims.finish.landed_right_m[row]])
        assert ours - hole_of(questions)[::2, row] == pytest.approx(start[::2], abs=1e-9)


def test_carry_first_bounce_and_roll_lie_in_this_order() -> None:
    """A long club runs further than a short one, and backspin stops a ball sooner."""
    plain = solve_finish(
        questions=questions_of("4-iron", "9-iron", "sand wedge"), ground=ground_of(3)
    )
    run = plain.total_m - plain.carry_m
    assert run[0] > run[1] > run[2]
    assert (plain.first_bounce_m > 0).all() and (plain.roll_m > 0).all()
    assert (plain.first_bounce_m + plain.roll_m < run + 0.3 + plain.finish.bounces).all()
    spun = solve_finish(
        questions=questions_of("4-iron", "9-iron", "sand wedge", spin_factor=1.3),
        ground=ground_of(3),
    )
    assert ((spun.total_m - spun.carry_m) < run).all()


def test_past_the_hole_and_to_its_right_is_where_it_ends() -> None:
    questions = questions_of("8-iron", "5-iron", wind_mps=5.0, wind_from_deg=200.0)
    past = np.array([[0.5, 3.0], [-0.2, 1.5]])
    aims = solve_finish(questions=questions, ground=ground_of(2), past_m=past)
    assert aims.finish.long_m - questions.distance_m == pytest.approx(past[0], abs=0.01)
    assert aims.finish.right_m == pytest.approx(past[1], abs=0.01)


def test_the_aim_point_stands_upwind() -> None:
    """Wind from the right: still air would leave the ball to the right, by about the drift."""
    questions = questions_of("7-iron", wind_mps=6.0, wind_from_deg=90.0)
    aims = solve_finish(questions=questions, ground=ground_of(1))
    assert aims.still.right_m[0] > 5.0
    assert abs(aims.finish.right_m[0]) < 0.01


def test_what_cannot_be_reached_is_not_solved_and_leaves_the_others_alone() -> None:
    near = questions_of("7-iron", "8-iron", wind_mps=3.0)
    alone = solve_finish(questions=near.take(np.array([1])), ground=ground_of(1))
    far = Questions(**{**near.__dict__, "distance_m": np.array([900.0, near.distance_m[1]])})
    both = solve_finish(questions=far, ground=ground_of(2))
    assert both.solved.tolist() == [False, True]
    assert both.plays_m[1] == pytest.approx(alone.plays_m[0], abs=0.01)
