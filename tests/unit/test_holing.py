"""The chance of holing: closed forms, common points, and the aim that goes in most often."""

import numpy as np
import pytest
from scipy.stats import ncx2

from engine.best_aim import best_aims
from engine.finish import fly_swings, hole_of, solve_finish, touchdown_of
from engine.ground import settle
from engine.holing import Cloud, Room, chances, cloud_of, draws
from engine.motion import wind_vector
from engine.roll import HOLE_RADIUS_M
from shared.errors import EngineError
from tests.finishing import execution_of, ground_of, questions_of


def dropped(count: int, *, off_m: float) -> tuple[Cloud, np.ndarray]:
    """Balls that come straight down 20 m out, ``off_m`` beside a hole, and stay where they land."""
    coefficients = np.zeros((count, 9, 6))
    coefficients[:, 0, 0], coefficients[:, 4, 0] = 20.0, -10.0
    hole = np.tile([[20.0], [0.0], [off_m]], count)
    return Cloud(coefficients, np.ones(count, dtype=np.bool_)), hole


@pytest.mark.parametrize(
    ("offset", "radius", "chance"),
    [(0.0, 1.0, 0.393469), (1.0, 1.0, 0.267120), (1.0, 2.0, 0.730988)],
)
def test_a_ball_that_stays_where_it_lands_goes_in_as_a_disc_is_hit(
    offset: float, radius: float, chance: float
) -> None:
    """X, scipy ncx2: hit by a round normal of spread s, the disc off by ``offset`` s."""
    spread = HOLE_RADIUS_M / radius
    cloud, hole = dropped(1, off_m=offset * spread)
    found = chances(
        cloud=cloud,
        ground=ground_of(1, firmness=0.0),
        hole_m=hole,
        execution=execution_of(1, hit_long_m=spread, hit_right_m=spread),
        draws=draws(count=16384),
    )
    assert chance == pytest.approx(ncx2.cdf(radius**2, 2, offset**2), abs=1e-6)
    assert found.holed_se[0] < 0.003
    assert found.holed[0] == pytest.approx(chance, abs=4 * found.holed_se[0])


def test_a_mishit_is_a_wider_hit_and_the_mixture_is_known_in_closed_form() -> None:
    spread, share = HOLE_RADIUS_M, 0.3
    cloud, hole = dropped(1, off_m=0.0)
    found = chances(
        cloud=cloud,
        ground=ground_of(1, firmness=0.0),
        hole_m=hole,
        execution=execution_of(1, hit_long_m=spread, hit_right_m=spread, mishit_share=share),
        draws=draws(count=8192),
    )
    wide = -np.expm1(-1 / (2 * 4.0**2))
    expected = (1 - share) * -np.expm1(-0.5) + share * wide
    assert found.holed[0] == pytest.approx(expected, abs=4 * found.holed_se[0] + 1e-9)


def test_hit_and_response_add_as_variances() -> None:
    cloud, hole = dropped(2, off_m=0.0)
    both = execution_of(2)
    both.hit_long_m[:] = both.hit_right_m[:] = [0.06, 0.10]
    both.response_long_m[:] = both.response_right_m[:] = [0.08, 0.0]
    found = chances(
        cloud=cloud,
        ground=ground_of(2, firmness=0.0),
        hole_m=hole,
        execution=both,
        draws=draws(count=16384),
    )
    assert found.holed[0] == pytest.approx(found.holed[1], abs=3 * found.holed_se.max())
    assert found.holed[0] == pytest.approx(
        -np.expm1(-((HOLE_RADIUS_M / 0.10) ** 2) / 2), abs=4 * found.holed_se[0]
    )


def test_the_distance_left_and_the_room_are_those_of_a_normal() -> None:
    """Rayleigh: the mean distance of a round normal is s sqrt(pi / 2); half a plane is a half."""
    spread = 2.0
    cloud, hole = dropped(1, off_m=0.0)
    room = Room(*(np.array([v]) for v in (np.inf, np.inf, np.inf, 0.0)))
    found = chances(
        cloud=cloud,
        ground=ground_of(1, firmness=0.0),
        hole_m=hole,
        execution=execution_of(1, hit_long_m=spread, hit_right_m=spread),
        draws=draws(count=8192),
        room=room,
    )
    assert found.left_m[0] == pytest.approx(spread * np.sqrt(np.pi / 2), abs=0.02)
    assert found.in_room[0] == pytest.approx(0.5, abs=0.005)
    assert 0 < found.left_se_m[0] < 0.02


def test_the_standard_error_is_that_of_repetition() -> None:
    cloud, hole = dropped(1, off_m=0.03)
    repeated = [
        chances(
            cloud=cloud,
            ground=ground_of(1, firmness=0.0),
            hole_m=hole,
            execution=execution_of(1, hit_long_m=0.07, hit_right_m=0.05),
            draws=draws(count=512, seed=seed),
        )
        for seed in range(60)
    ]
    holed = np.array([each.holed[0] for each in repeated])
    said = np.sqrt(np.mean([each.holed_se[0] ** 2 for each in repeated]))
    assert holed.std(ddof=1) == pytest.approx(said, rel=0.35)
    assert said < 0.6 * np.sqrt(holed.mean() * (1 - holed.mean()) / 512)  # dice would do worse


def test_a_changed_input_moves_the_answer_and_not_the_dice() -> None:
    """The chance against the spread is smooth on common points, where fresh dice would jump."""
    count = 41
    cloud, hole = dropped(count, off_m=0.0)
    execution = execution_of(count)
    spread = np.linspace(0.05, 0.06, count)
    execution.hit_long_m[:] = execution.hit_right_m[:] = spread
    found = chances(
        cloud=cloud,
        ground=ground_of(count, firmness=0.0),
        hole_m=hole,
        execution=execution,
        draws=draws(count=1024),
    )
    assert (np.diff(found.holed) <= 0).all()
    assert found.holed[0] - found.holed[-1] > 0.08


def test_the_cloud_of_winds_is_what_flying_every_wind_gives() -> None:
    """Quadratic between a standard deviation either side, against one flight for every point."""
    questions = questions_of("6-iron", wind_mps=5.0, wind_from_deg=50.0)
    ground = ground_of(1)
    aims = solve_finish(questions=questions, ground=ground)
    execution = execution_of(1, wind_mps=0.7, wind_deg=6.0)
    points = draws(count=1024)
    cloud = cloud_of(swings=aims.swings, execution=execution)
    state = cloud.at(points.common[0], points.common[1])[0]
    many = np.zeros(len(points), dtype=np.intp)
    landing = fly_swings(
        aims.swings.take(many),
        wind_mps=wind_vector(
            speed_mps=5.0 + 0.7 * points.common[0], from_deg=50.0 + 6.0 * points.common[1]
        ),
    )
    apart = np.hypot(state[0] - landing.long_m, state[2] - landing.right_m)
    assert np.hypot(landing.long_m - landing.long_m.mean(), landing.right_m).std() > 1.0
    assert np.quantile(apart, 0.95) < 0.15
    exact = settle(
        touchdown=touchdown_of(landing),
        ground=ground.take(many),
        hole_m=hole_of(questions)[:, many],
    )
    found = chances(
        cloud=cloud,
        ground=ground,
        hole_m=hole_of(questions),
        execution=execution,
        draws=points,
    )
    assert found.holed[0] == pytest.approx(exact.holed.mean(), abs=0.01)


def test_the_best_aim_lies_past_the_hole_and_beats_the_middle() -> None:
    """A ball that would run on goes over the hole on its way, one that falls short never does."""
    questions = questions_of("7-iron", "9-iron")
    ground = ground_of(2)
    aims = solve_finish(questions=questions, ground=ground)
    execution = execution_of(2, hit_long_m=0.37, hit_right_m=0.37)
    points = draws(count=4096)
    cloud = cloud_of(swings=aims.swings, execution=execution)
    best = best_aims(
        cloud=cloud, ground=ground, hole_m=hole_of(questions), execution=execution, draws=points
    )
    assert ((best.past_m[:, 0] > 0.2) & (best.past_m[:, 0] < 1.0)).all()
    assert np.abs(best.past_m[:, 1]).max() < 0.15
    assert (best.chances.holed > best.given + 0.015).all()
    again = solve_finish(questions=questions, ground=ground, past_m=best.past_m.T)
    fresh = chances(
        cloud=cloud_of(swings=again.swings, execution=execution),
        ground=ground,
        hole_m=hole_of(questions),
        execution=execution,
        draws=draws(count=4096, seed=77),
    )
    assert fresh.holed == pytest.approx(best.chances.holed, abs=0.01)


def test_on_a_slope_the_ball_is_best_sent_to_the_high_side() -> None:
    """Ground that rises to the right turns a rolling ball left, so it must come from the right."""
    questions = questions_of("5-iron")
    aims = solve_finish(questions=questions, ground=ground_of(1, rises_right=0.03))
    assert aims.finish.landed_right_m[0] > 0.3


def test_ground_that_may_be_too_fast_for_its_slope_still_gives_a_chance() -> None:
    """Stated, it holds a ball; some of the points would make it a fifth faster than its slope."""
    questions = questions_of("8-iron")
    ground = ground_of(1, rises_long=0.065)
    aims = solve_finish(questions=questions, ground=ground)
    execution = execution_of(1, hit_long_m=0.4, hit_right_m=0.4, slowing_log=0.15)
    found = chances(
        cloud=cloud_of(swings=aims.swings, execution=execution),
        ground=ground,
        hole_m=hole_of(questions),
        execution=execution,
        draws=draws(count=1024),
    )
    assert 0 < found.holed[0] < 1 and found.left_m[0] < 5
    with pytest.raises(EngineError, match="rest"):
        chances(
            cloud=cloud_of(swings=aims.swings, execution=execution),
            ground=ground_of(1, rises_long=0.1),
            hole_m=hole_of(questions),
            execution=execution,
            draws=draws(count=64),
        )


def test_draws_that_cannot_be_made_are_refused() -> None:
    for count, shots in ((1000, 1), (16, 1), (1024, 0), (1024, 9)):
        with pytest.raises(EngineError):
            draws(count=count, shots=shots)
