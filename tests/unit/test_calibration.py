"""Chances put right: against a reference by grid, and in games that the computed ones don't fit."""

from collections.abc import Callable

import numpy as np
import pytest

from engine.calibration import (
    FIRST,
    HALF_LIFE,
    LEVEL_SD,
    SLOPE_LOG_SD,
    Calibration,
    calibrate,
    calibrated_before,
)
from engine.reliability import Standing, reliability
from shared.errors import EngineError

Array = np.ndarray
World = Callable[[Array], Array]
JUDGED = 400


def logit(chance: Array) -> Array:
    return np.log(chance / (1 - chance))


def chance_of(logits: Array) -> Array:
    return 1 / (1 + np.exp(-logits))


def community(world: World, *, seed: int, tries: int = 600) -> tuple[Array, Array, Array]:
    """What was computed of single tries, their true chances, and what went in."""
    random = np.random.default_rng(seed)
    computed = chance_of(random.normal(-4.0, 0.8, tries))
    true = world(computed)
    return computed, true, (random.random(tries) < true).astype(float)


def fitted(computed: Array, went_in: Array) -> Calibration:
    return calibrate(chance=computed, tries=np.ones(computed.size), went_in=went_in)


def takes_more(computed: Array) -> Array:
    """A hole that takes eight times the odds."""
    return chance_of(logit(computed) + np.log(8.0))


def flatter(computed: Array) -> Array:
    return computed**0.6


def harder_and_steeper(computed: Array) -> Array:
    return chance_of(-4.2 + 1.5 * (logit(computed) + 4.0))


def hits_better_and_better(computed: Array) -> Array:
    rising = np.minimum(1.0, np.arange(computed.size) / 200)
    return chance_of(logit(computed) + np.log(8.0) * rising)


def test_without_tries_the_computed_chance_stands_and_is_hardly_known() -> None:
    none = np.zeros(0)
    found = calibrate(chance=none, tries=none, went_in=none).of(np.array([0.02, 0.2]))
    assert found.chance == pytest.approx([0.02, 0.2])
    assert (found.low < 0.01).all() and found.high[0] > 0.3


def test_mode_and_spread_are_those_of_the_posterior_on_a_grid() -> None:
    """Reference: the same posterior summed over a grid of level and log slope."""
    computed, _, went_in = community(takes_more, seed=5, tries=260)
    found = fitted(computed, went_in)
    level, log_slope = np.meshgrid(
        np.linspace(0.2, 3.8, 241), np.linspace(-1.6, 1.4, 241), indexing="ij"
    )
    counts = 0.5 ** ((computed.size - 1 - np.arange(computed.size)) / HALF_LIFE)
    apart = logit(computed) - (counts * logit(computed)).sum() / counts.sum()
    middle = logit(computed) - apart
    log = -(level**2) / (2 * LEVEL_SD**2) - log_slope**2 / (2 * SLOPE_LOG_SD**2)
    for each in range(computed.size):
        at = middle[each] + level + np.exp(log_slope) * apart[each]
        log += counts[each] * (went_in[each] * at - np.logaddexp(0.0, at))
    best = np.unravel_index(int(np.argmax(log)), log.shape)
    assert found.level == pytest.approx(level[best], abs=0.008)
    assert found.log_slope == pytest.approx(log_slope[best], abs=0.008)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    for name, of, sd in (("level", level, 0), ("slope", log_slope, 1)):
        mean = float((weight * of).sum())
        spread = float(np.sqrt((weight * (of - mean) ** 2).sum()))
        assert np.sqrt(found.cov[sd, sd]) == pytest.approx(spread, rel=0.1), name


@pytest.mark.parametrize("world", [takes_more, flatter, harder_and_steeper])
def test_the_interval_holds_the_true_chance_as_often_as_it_says(world: World) -> None:
    held = []
    for seed in range(120):
        computed, _, went_in = community(world, seed=seed)
        asked = chance_of(np.array([-5.0, -4.0, -3.0]))
        found = fitted(computed, went_in).of(asked)
        true = world(asked)
        held.append((found.low <= true) & (true <= found.high))
    assert np.mean(held) >= 0.86


@pytest.mark.parametrize(
    ("world", "least"), [(takes_more, 0.8), (flatter, 0.75), (hits_better_and_better, 0.8)]
)
def test_in_a_game_unlike_ours_it_earns_what_the_computed_chance_does_not(
    world: World, least: float
) -> None:
    raw, right = [], []
    for seed in range(40):
        computed, _, went_in = community(world, seed=seed, tries=1200)
        one, holed = np.ones(computed.size), went_in > 0
        given = calibrated_before(chance=computed, tries=one, went_in=went_in)
        raw.append(reliability(chance=computed[-JUDGED:], holed=holed[-JUDGED:]).standing)
        right.append(reliability(chance=given[-JUDGED:], holed=holed[-JUDGED:]).standing)
    assert all(each is Standing.OFF for each in raw)
    assert np.mean([each is Standing.EARNED for each in right]) >= least


def test_what_is_computed_of_nothing_gives_all_the_groups_rate() -> None:
    computed, _, went_in = community(lambda c: np.full(c.size, 0.15), seed=3, tries=2000)
    found = fitted(computed, went_in).of(chance_of(np.array([-5.0, -4.0, -3.0])))
    assert found.chance == pytest.approx(0.15, abs=0.06)
    assert (np.diff(found.chance) > 0).all()  # the order stays


def test_nothing_given_was_fitted_to_what_came_of_it() -> None:
    computed, _, went_in = community(takes_more, seed=8, tries=200)
    one = np.ones(200)
    before = calibrated_before(chance=computed, tries=one, went_in=went_in)
    other = went_in.copy()
    other[150:] = 1 - other[150:]
    after = calibrated_before(chance=computed, tries=one, went_in=other)
    assert np.isnan(before[:FIRST]).all() and not np.isnan(before[FIRST:]).any()
    assert after[FIRST:175] == pytest.approx(before[FIRST:175])
    assert after[175:].mean() > before[175:].mean() + 0.05


def test_tries_told_at_once_count_one_by_one() -> None:
    chance = np.array([0.02, 0.05, 0.03])
    tries, went_in = np.array([40.0, 1.0, 30.0]), np.array([6.0, 0.0, 9.0])
    together = calibrate(chance=chance, tries=tries, went_in=went_in)
    single = [[c] * int(n) for c, n in zip(chance, tries, strict=True)]
    ins = [[1.0] * int(k) + [0.0] * int(n - k) for n, k in zip(tries, went_in, strict=True)]
    apart = calibrate(chance=np.concatenate(single), tries=np.ones(71), went_in=np.concatenate(ins))
    asked = np.array([0.01, 0.04])
    assert together.of(asked).chance == pytest.approx(apart.of(asked).chance, rel=0.05)
    given = calibrated_before(chance=chance, tries=tries, went_in=went_in)
    assert np.isnan(given).all()  # 41 tries came before the third


@pytest.mark.parametrize(
    ("chance", "tries", "went_in", "match"),
    [
        ([1.2], [1.0], [0.0], "from 0 to 1"),
        ([0.1, 0.2], [1.0], [0.0], "every result"),
        ([0.1], [1.0], [2.0], "no more go in"),
    ],
)
def test_what_is_no_result_is_refused(
    chance: list[float], tries: list[float], went_in: list[float], match: str
) -> None:
    with pytest.raises(EngineError, match=match):
        calibrate(chance=np.array(chance), tries=np.array(tries), went_in=np.array(went_in))
