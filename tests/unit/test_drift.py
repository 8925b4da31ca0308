"""The change-point test: its rate of false alarms, what it finds, and what it refuses."""

import numpy as np
import pytest

from engine.drift import (
    FALSE_ALARM,
    LATEST,
    LEAST_SHOTS,
    Drift,
    find_change,
    find_response_change,
)
from engine.response import full_pass
from engine.robust import Floats
from shared.errors import EngineError
from tests.bench.drift import series
from tests.unit.response_shots import plain_tree, results, shots


def found(effect: Floats, residual: Floats) -> Drift:
    drift = find_change(effect, residual)
    assert drift is not None
    return drift


@pytest.mark.parametrize("kind", ["mishits", "wilder in wind"])
def test_false_alarms_come_as_often_as_said(kind: str) -> None:
    """200 unchanged series: a p-value under .05 in 5% of them, within four standard errors."""
    rng = np.random.default_rng(5)
    chances = np.array([found(*series(rng, 40, kind=kind)).p_value for _ in range(200)])
    assert abs((chances <= 0.05).mean() - 0.05) < 4 * np.sqrt(0.05 * 0.95 / 200)
    assert abs((chances <= 0.5).mean() - 0.5) < 4 * np.sqrt(0.25 / 200)
    assert (chances <= FALSE_ALARM).mean() < 0.035


def test_a_changed_gain_is_found_where_it_changed() -> None:
    rng = np.random.default_rng(6)
    effect, residual = series(rng, 300, kind="mishits")
    residual[180:, 1] += -0.45 * effect[180:, 1]
    drift = found(effect, residual)
    assert drift.changed and drift.p_value == 0.001
    assert abs(drift.first - 180) <= 15
    assert drift.gain_change[1] == pytest.approx(-0.45, abs=0.12)
    assert drift.gain_change[0] == pytest.approx(0.0, abs=0.12)
    assert drift.bias_change_m == pytest.approx((0.0, 0.0), abs=1.0)
    assert drift.gain_trend_per_100[1] < -0.08 < drift.gain_trend_per_100[0]


def test_a_changed_bias_is_found_and_told_from_gain() -> None:
    rng = np.random.default_rng(7)
    effect, residual = series(rng, 120, kind="mishits")
    residual[50:, 0] += 6.0
    drift = found(effect, residual)
    assert drift.changed
    assert abs(drift.first - 50) <= 6
    assert drift.bias_change_m[0] == pytest.approx(6.0, abs=2.0)
    assert abs(drift.gain_change[0]) < 0.25


def test_a_slow_drift_shows_as_a_trend() -> None:
    rng = np.random.default_rng(8)
    effect, residual = series(rng, 600, kind="clean")
    residual += effect * (np.arange(600)[:, None] * (0.002, 0.0))
    drift = found(effect, residual)
    assert drift.gain_trend_per_100 == pytest.approx((0.2, 0.0), abs=0.05)


def test_mishits_alone_are_no_change() -> None:
    """Three wild ones in the last 25 of 200 clean results, and no size of them, carry the day."""
    rng = np.random.default_rng(9)
    effect, residual = series(rng, 200, kind="clean")
    before = found(effect, residual)
    assert not before.changed
    for size in (30.0, 600.0):
        wild = residual.copy()
        wild[[177, 186, 195]] += (-size, size / 2.0)
        after = found(effect, wild)
        assert not after.changed
        assert after.statistic == pytest.approx(before.statistic, abs=8.0)


def test_the_same_series_gets_the_same_answer() -> None:
    effect, residual = series(np.random.default_rng(10), 77, kind="mishits", gain=0.2)
    assert found(effect, residual) == found(effect.copy(), residual.copy())


def test_one_wind_all_along_still_shows_a_shift() -> None:
    rng = np.random.default_rng(11)
    effect = np.tile([-9.0, 4.0], (60, 1))
    residual = rng.normal(size=(60, 2)) * (2.0, 1.5)
    assert not found(effect, residual).changed
    residual[35:, 1] += 4.0
    drift = found(effect, residual)
    assert drift.changed and abs(drift.first - 35) <= 3
    assert drift.gain_change == (0.0, 0.0)
    assert drift.bias_change_m[1] == pytest.approx(4.0, abs=1.2)


def test_all_alike_is_no_change() -> None:
    drift = found(np.zeros((30, 2)), np.zeros((30, 2)))
    assert not drift.changed and drift.p_value == 1.0 and drift.statistic == 0.0


def test_too_few_shots_say_nothing() -> None:
    effect, residual = series(np.random.default_rng(12), LEAST_SHOTS, kind="clean")
    assert find_change(effect, residual) is not None
    assert find_change(effect[1:], residual[1:]) is None


def test_only_the_latest_are_looked_at_and_places_count_from_the_first() -> None:
    rng = np.random.default_rng(13)
    effect, residual = series(rng, LATEST + 500, kind="clean")
    residual[:400] += 30.0
    residual[2500:] += 2.0
    drift = found(effect, residual)
    assert drift.changed and drift.shots == LATEST
    assert abs(drift.first - 2500) <= 60


@pytest.mark.parametrize(
    ("effect", "residual"),
    [
        (np.zeros((30, 2)), np.full((30, 2), np.nan)),
        (np.zeros((30, 2)), np.zeros((29, 2))),
        (np.zeros((30, 3)), np.zeros((30, 3))),
        (np.full((30, 2), np.inf), np.zeros((30, 2))),
    ],
)
def test_bad_series_are_refused(effect: Floats, residual: Floats) -> None:
    with pytest.raises(EngineError):
        find_change(effect, residual)


def test_grades_that_differ_are_no_change() -> None:
    """Gains of 1.0 and 1.2, first one grade played and then the other: at most the stated rate."""
    rng, alarms = np.random.default_rng(61), 0
    for _ in range(60):
        effect, residual = series(rng, 80, kind="clean")
        grade = (np.arange(80) + rng.integers(-25, 26, 80) > 40).astype(int)
        residual += np.where(grade == 1, 0.2, 0.0)[:, None] * effect + grade[:, None] * 3.0
        found = find_change(effect, residual, grade=grade + 7)
        assert found is not None
        alarms += found.p_value <= 0.05
    assert alarms <= 9  # 3 expected, four standard errors more are 9.8


def test_a_change_within_grades_is_still_found() -> None:
    rng = np.random.default_rng(62)
    effect, residual = series(rng, 300, kind="mishits")
    grade = rng.integers(0, 3, 300)
    residual += 0.3 * grade[:, None] * effect
    residual[160:, 1] += -0.5 * effect[160:, 1]
    found = find_change(effect, residual, grade=grade)
    assert found is not None and found.changed
    assert abs(found.first - 160) <= 20


def test_one_grade_is_the_test_without_grades() -> None:
    effect, residual = series(np.random.default_rng(63), 60, kind="mishits")
    alone, named = found(effect, residual), find_change(effect, residual, grade=np.full(60, 4))
    assert named is not None
    assert named.statistic == pytest.approx(alone.statistic, rel=1e-9)
    assert named.first == alone.first


def test_what_is_believed_is_taken_off_and_a_reset_ends_the_alarm() -> None:
    rng = np.random.default_rng(64)
    phi = shots(rng, 160)
    observed = phi.law_effect_m + rng.normal(0.0, 1.0, (160, 2))
    observed[90:] += 0.6 * phi.law_effect_m[90:]
    played = results(rng.integers(0, 2, 160), phi, observed)
    tree = plain_tree()
    before = full_pass(played, tree).posterior
    alarm = find_response_change(before, played)
    assert alarm is not None and alarm.changed and abs(alarm.first - 90) <= 12
    used = np.arange(160) >= alarm.first
    after = full_pass(played.take(used), tree).posterior
    quiet = find_response_change(after, played, used=used)
    assert quiet is not None and not quiet.changed
    assert quiet.shots == used.sum() and quiet.first > alarm.first
    np.testing.assert_allclose(quiet.gain_change, 0.0, atol=0.3)


def test_every_result_needs_its_grade() -> None:
    effect, residual = series(np.random.default_rng(65), 40, kind="clean")
    with pytest.raises(EngineError):
        find_change(effect, residual, grade=[1, 2])
