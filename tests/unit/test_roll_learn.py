"""Roll learned from came down against ended, apart from the wind and surface by surface."""

import numpy as np
import pytest

from engine.bounce import Surface
from engine.finish import hole_of, solve_finish, touchdown_of
from engine.ground import Ground, settle
from engine.roll_learn import RunSums, learn_roll, run_sums
from shared.errors import EngineError
from tests.finishing import ground_of, questions_of


def sums_of(truth: float, *, count: int, seed: int, scatter_m: float = 1.0) -> RunSums:
    """Runs on surface 1 of 3 whose roll is ``truth`` times the one foreseen."""
    random = np.random.default_rng(seed)
    rolled, bounced = random.uniform(1, 12, count), random.uniform(0.5, 4, count)
    run = bounced + truth * rolled + scatter_m * random.normal(size=count)
    return run_sums(
        surfaces=3,
        surface=np.ones(count, dtype=np.intp),
        run_m=run,
        bounced_m=bounced,
        rolled_m=rolled,
    )


def test_without_results_it_is_one_give_or_take_a_half() -> None:
    nothing = run_sums(
        surfaces=2,
        surface=np.zeros(0, dtype=np.intp),
        run_m=np.zeros(0),
        bounced_m=np.zeros(0),
        rolled_m=np.zeros(0),
    )
    found = learn_roll(nothing)
    assert found.factor.tolist() == [1.0, 1.0] and found.sd == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize("truth", [0.55, 1.6])
def test_the_factor_is_found_with_its_error_and_the_scatter(truth: float) -> None:
    found = learn_roll(sums_of(truth, count=200, seed=4, scatter_m=1.5))
    assert found.factor[1] == pytest.approx(truth, abs=4 * found.sd[1])
    assert found.sd[1] < 0.03
    assert found.scatter_m[1] == pytest.approx(1.5, rel=0.15)
    assert found.factor[[0, 2]].tolist() == [1.0, 1.0]


def test_the_interval_holds_as_often_as_it_says() -> None:
    held = 0
    for world in range(300):
        found = learn_roll(sums_of(1.3, count=12, seed=world, scatter_m=1.2))
        held += abs(found.factor[1] - 1.3) <= 1.645 * found.sd[1]
    assert 255 <= held <= 292  # 90% of 300 give or take 2.9 standard errors, drawn to the prior


def test_sums_add_as_if_taken_together() -> None:
    one, other = sums_of(1.4, count=9, seed=1), sums_of(0.7, count=5, seed=2)
    both = one + other
    assert both.runs.tolist() == [0.0, 14.0, 0.0]
    assert both.roll_rest[1] == pytest.approx(one.roll_rest[1] + other.roll_rest[1])
    with pytest.raises(EngineError, match="finite"):
        run_sums(
            surfaces=1,
            surface=np.zeros(1, dtype=np.intp),
            run_m=np.array([np.nan]),
            bounced_m=np.ones(1),
            rolled_m=np.ones(1),
        )


def test_a_slower_green_is_learned_from_the_balls_that_rolled_on_it() -> None:
    """A world whose green slows balls half as much again as the kit says: deceleration / g fits."""
    questions = questions_of(*("5-iron", "6-iron", "7-iron", "8-iron") * 10, share=0.9)
    count = len(questions)
    stated = ground_of(count)
    slow = np.full(count, 0.549 * 1.5)
    true = Ground(
        Surface(stated.surface.firmness, stated.surface.friction, slow),
        Surface(stated.green.firmness, stated.green.friction, slow),
        stated.green_radius_m,
        stated.rises_long,
        stated.rises_right,
    )
    aims = solve_finish(questions=questions, ground=stated)
    hole = hole_of(questions)
    seen = settle(touchdown=touchdown_of(aims.flight), ground=true, hole_m=hole, capture=False)
    run = seen.long_m - seen.landed_long_m + np.random.default_rng(1).normal(size=count)
    foreseen = aims.finish
    sums = run_sums(
        surfaces=1,
        surface=np.zeros(count, dtype=np.intp),
        run_m=run,
        bounced_m=foreseen.rolls_long_m - foreseen.landed_long_m,
        rolled_m=foreseen.long_m - foreseen.rolls_long_m,
    )
    found = learn_roll(sums)
    assert 0.549 / found.factor[0] == pytest.approx(0.549 * 1.5, rel=0.08)
