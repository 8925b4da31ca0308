"""Misses that a wind typed from another side explains better, under a learned response."""

import numpy as np
import pytest
from scipy import stats

from engine.response import Posterior, full_pass, predict
from engine.response_features import Features, features
from engine.response_mistake import (
    Mistake,
    explain_miss,
    explain_misses,
    misread,
    misread_from_deg,
)
from engine.response_sums import Results
from engine.robust import TAIL_DF
from shared.errors import EngineError
from tests.unit.response_shots import law_of, plain_tree, results, shots, situations

TURNED = {Mistake.MIRRORED: 310.0, Mistake.SWAPPED: 130.0, Mistake.REVERSED: 230.0}


@pytest.fixture(scope="module")
def known() -> Posterior:
    rng = np.random.default_rng(21)
    phi = shots(rng, 300)
    observed = 1.15 * phi.law_effect_m + rng.normal(0.0, 0.8, (300, 2))
    return full_pass(results(rng.integers(0, 5, 300), phi, observed), plain_tree()).posterior


def typed(known: Posterior, *, came_from: float, wind: float = 5.0) -> tuple[Results, Features]:
    """A shot typed from 50 degrees whose wind came from elsewhere, without spread."""
    speed, carry = np.array([wind]), np.array([150.0])

    def at(from_deg: float):
        long, right = law_of(speed, np.array([from_deg]), carry)
        return situations(1, law_long_m=long, law_right_m=right, wind_mps=wind, from_deg=from_deg)

    blown = predict(known.response([3]), features(at(came_from))).effect_m
    return results([3], features(at(50.0)), blown), misread(at(50.0))


@pytest.mark.parametrize("mistake", list(TURNED))
def test_a_wind_typed_from_the_wrong_side_is_found(known: Posterior, mistake: Mistake) -> None:
    shot, readings = typed(known, came_from=TURNED[mistake])
    found = explain_miss(known, shot, readings)
    assert found.mistake == mistake and found.ask and found.probability > 0.9
    assert found.log_ratio > 4.0
    assert max(map(abs, found.miss_m)) > 4.0
    assert np.hypot(*found.miss_read_so_m) < 0.5 * np.hypot(*found.miss_m)


def test_a_right_wind_a_light_one_and_a_mishit_are_not_asked_about(known: Posterior) -> None:
    for came_from, wind, short in ((50.0, 5.0, 0.0), (230.0, 0.3, 0.0), (50.0, 5.0, -35.0)):
        shot, readings = typed(known, came_from=came_from, wind=wind)
        shot = results([3], shot.features, shot.observed_m + np.array([[short, 3.0]]))
        found = explain_miss(known, shot, readings)
        assert found.mistake == Mistake.NONE and not found.ask


def test_many_are_explained_as_one_by_one(known: Posterior) -> None:
    each = [typed(known, came_from=turn) for turn in (50.0, 130.0, 310.0)]
    phi = each[0][0].features
    together = phi.joined(phi).joined(phi)
    observed = np.concatenate([shot.observed_m for shot, _ in each])
    way = each[0][1].take(np.repeat(np.arange(3), 3))
    found = explain_misses(known, results([3, 3, 3], together, observed), way)
    alone = [explain_miss(known, shot, readings) for shot, readings in each]
    assert found.mistake.tolist() == [one.mistake for one in alone]
    assert found.mistake.tolist() == [Mistake.NONE, Mistake.SWAPPED, Mistake.MIRRORED]
    np.testing.assert_allclose(found.log_ratio, [one.log_ratio for one in alone])
    np.testing.assert_allclose(found.miss_m, [one.miss_m for one in alone])
    np.testing.assert_allclose(found.miss_read_so_m, [one.miss_read_so_m for one in alone])
    assert np.ptp(found.miss_read_so_m[0]) > 1.0


def test_the_side_it_came_from_under_each_mistake() -> None:
    found = misread_from_deg(np.array([50.0, 200.0]))
    np.testing.assert_allclose(found, [[310.0, 160.0], [130.0, 340.0], [230.0, 20.0]])


def test_readings_turn_the_laws_effect_with_the_wind() -> None:
    """Mirrored keeps what is along, swapped what is across, reversed neither."""
    at = situations(
        2,
        law_long_m=np.array([6.0, -2.5]),
        law_right_m=np.array([4.0, 1.5]),
        wind_mps=np.array([5.0, 3.0]),
        from_deg=np.array([50.0, 200.0]),
    )
    found = misread(at)
    long = [-6.0, 2.5, 6.0, -2.5, 6.0, -2.5]
    right = [4.0, 1.5, -4.0, -1.5, 4.0, 1.5]
    np.testing.assert_allclose(found.law_effect_m, np.column_stack((long, right)))
    turned = np.radians([310.0, 160.0, 130.0, 340.0, 230.0, 20.0])
    size = 0.006 * 150.0 / 0.44704 * np.array([5.0, 3.0] * 3)
    wind = size[:, None] * np.column_stack((np.cos(turned), np.sin(turned)))
    np.testing.assert_allclose(found.wind_m, wind, atol=1e-9)


def test_the_likelihood_is_that_of_the_bivariate_t(known: Posterior) -> None:
    """scipy's multivariate_t around what each reading expects (X)."""
    shot, readings = typed(known, came_from=130.0)
    shot = results([3], shot.features, shot.observed_m + np.array([[0.9, -1.7]]))
    found = explain_miss(known, shot, readings)
    assert found.mistake == Mistake.SWAPPED
    log_density: list[float] = []
    for phi in (shot.features, readings.take(np.array([Mistake.SWAPPED - 1]))):
        said = predict(known.response([3]), phi)
        shape = np.diag(known.noise_m[3] ** 2 + said.sd_m[0] ** 2)
        t = stats.multivariate_t(said.effect_m[0], shape, TAIL_DF)  # pyright: ignore[reportArgumentType]
        log_density.append(float(t.logpdf(shot.observed_m[0])))
    assert found.log_ratio == pytest.approx(log_density[1] - log_density[0], rel=1e-9)


def test_each_mistake_is_made_once_in_fifty_results(known: Posterior) -> None:
    """Straight across a wind typed into for helping is no mistake, and the other two are one: of a
    hundred such results two are mirrored, two reversed, and 96 as typed, by Bayes' rule."""
    speed, carry = np.array([4.0]), np.array([150.0])
    long, right = law_of(speed, np.array([90.0]), carry)
    at = situations(1, law_long_m=0 * long, law_right_m=right, wind_mps=4.0, from_deg=90.0)
    expected = predict(known.response([3]), features(at)).effect_m
    asked: set[bool] = set()
    for part in (-0.03, -0.1, -0.2, -0.3, -0.5, -0.8):  # of the way as typed: more the other way
        shot = results([3], features(at), expected * np.array([[1.0, part]]))
        found = explain_miss(known, shot, misread(at))
        odds = 0.02 * np.exp(found.log_ratio)
        assert found.probability == pytest.approx(odds / (0.96 + 2 * odds), rel=1e-6)
        assert found.ask == (2 * odds >= 0.96)
        asked.add(found.ask)
    assert asked == {True, False}


def test_readings_must_be_there_for_every_result(known: Posterior) -> None:
    shot, readings = typed(known, came_from=50.0)
    with pytest.raises(EngineError, match="under each mistake"):
        explain_miss(known, shot, readings.take(np.array([0, 1])))
