"""Chances held honest: right ones earn their place, wrong ones and few ones do not."""

import numpy as np
import pytest

from engine.finish import hole_of, solve_finish, touchdown_of
from engine.ground import settle
from engine.holing import chances, cloud_of, draws
from engine.reliability import Standing, reliability
from shared.errors import EngineError
from tests.finishing import execution_of, ground_of, questions_of


def community(*, tries: int, seed: int, power: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Chances told, and what went in where the true chance is the told one to a power."""
    random = np.random.default_rng(seed)
    told = random.beta(2, 12, tries)
    return told, random.random(tries) < told**power


def test_right_chances_are_earned_nine_times_in_ten() -> None:
    earned = [
        reliability(chance=told, holed=holed).standing
        for told, holed in (community(tries=600, seed=seed) for seed in range(200))
    ]
    assert 168 <= sum(each is Standing.EARNED for each in earned) <= 200
    assert Standing.TOO_FEW not in earned


@pytest.mark.parametrize("power", [0.6, 1.6])
def test_wrong_chances_are_found_out(power: float) -> None:
    found = [
        reliability(chance=told, holed=holed).standing
        for told, holed in (community(tries=600, seed=seed, power=power) for seed in range(40))
    ]
    assert sum(each is Standing.OFF for each in found) >= 36


def test_few_tries_give_no_chance_and_say_so() -> None:
    told, holed = community(tries=99, seed=1)
    found = reliability(chance=told, holed=holed)
    assert found.standing is Standing.TOO_FEW
    assert found.standing.value == "not enough tries to give a chance"
    rare = reliability(chance=np.full(500, 0.01), holed=np.arange(500) < 5)
    assert rare.standing is Standing.TOO_FEW
    assert reliability(chance=np.zeros(0), holed=np.zeros(0, dtype=bool)).tries.size == 0


def test_bins_hold_equally_many_and_rise() -> None:
    told, holed = community(tries=403, seed=6)
    found = reliability(chance=told, holed=holed)
    assert found.tries.sum() == 403 and np.ptp(found.tries) <= 1
    assert (np.diff(found.given) > 0).all()
    assert (found.low <= found.holed).all() and (found.holed <= found.high).all()
    assert found.brier == pytest.approx(np.mean((told - holed) ** 2))
    assert found.brier < found.brier_of_rate


def test_the_computed_chance_of_a_simulated_community_earns_its_place() -> None:
    """Members whose hits are not normal (Student's t, 5 degrees) but as wide as was learned.

    Every try is told its computed chance and played on fresh dice by another sampler.
    """
    random = np.random.default_rng(21)
    clubs = ("6-iron", "7-iron", "8-iron", "9-iron")
    questions = questions_of(*clubs, wind_mps=3.0, wind_from_deg=200.0)
    ground = ground_of(4)
    spread = np.array([0.9, 0.5, 0.7, 0.3])
    execution = execution_of(4)
    execution.hit_long_m[:] = execution.hit_right_m[:] = spread
    aims = solve_finish(questions=questions, ground=ground, past_m=np.tile([[0.4], [0.0]], 4))
    cloud = cloud_of(swings=aims.swings, execution=execution)
    told = chances(
        cloud=cloud,
        ground=ground,
        hole_m=hole_of(questions),
        execution=execution,
        draws=draws(count=4096),
    ).holed
    club = random.integers(0, 4, 1500)
    down = touchdown_of(aims.flight).take(club)
    noise = random.standard_t(5, (1500, 2)) * np.sqrt(3 / 5)
    down.position_m[:, 0] += spread[club] * noise[:, 0]
    down.position_m[:, 2] += spread[club] * noise[:, 1]
    played = settle(touchdown=down, ground=ground.take(club), hole_m=hole_of(questions)[:, club])
    found = reliability(chance=told[club], holed=played.holed)
    assert found.standing is not Standing.TOO_FEW
    # heavier tails put more hits near the middle: the diagonal stays near, if not inside
    assert np.abs(found.given - found.holed).max() < 0.05


def test_what_is_no_chance_is_refused() -> None:
    with pytest.raises(EngineError, match="from 0 to 1"):
        reliability(chance=np.array([0.2, 1.2]), holed=np.array([True, False]))
    with pytest.raises(EngineError, match="every try"):
        reliability(chance=np.array([0.2]), holed=np.array([True, False]))
