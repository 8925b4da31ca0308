"""Intervals, comparisons and hits against printed values and general-purpose libraries.

Status: S read in texts that quote the source, X computed with the library named.
"""

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import proportion_confint

from engine.intervals import disc_hit_probability, tries_to_tell_apart, wilson_interval
from engine.practice import tries_to_separate
from engine.variants import Rates, chance_higher, probability_best

# Newcombe 1998, Statist. Med. 17:857, table of method 3 (S), printed to four places
NEWCOMBE = (
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
)

# P(pB > pA): A's beta parameters, B's, chance; closed sum and quadrature (X)
HIGHER = (
    ((4, 18), (8, 14), 0.920542),
    ((3, 9), (6, 6), 0.908669),
    ((2, 1), (1, 2), 1 / 6),
)

# offset, radius and spread in metres, chance; scipy ncx2 = rice (X)
DISC = (
    (0.0, 0.7, 0.7, 0.393469),
    (2.3, 2.3, 2.3, 0.267120),
    (0.6, 1.2, 0.6, 0.730988),
)


@pytest.mark.parametrize(("holed", "tries", "low", "high"), NEWCOMBE)
def test_wilson_interval_newcombe_1998(holed: int, tries: int, low: float, high: float) -> None:
    found = wilson_interval(holed, tries)
    assert found.low == pytest.approx(low, abs=0.5e-4)
    assert found.high == pytest.approx(high, abs=0.5e-4)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
def test_wilson_interval_statsmodels(confidence: float) -> None:
    holed, tries = np.array([3, 0, 17, 250, 11]), np.array([8, 5, 17, 1900, 12])
    low, high = proportion_confint(holed, tries, alpha=1 - confidence, method="wilson")  # X
    found = wilson_interval(holed, tries, confidence=confidence)
    np.testing.assert_allclose(found.low, np.clip(low, 0, 1), atol=1e-12)
    np.testing.assert_allclose(found.high, np.clip(high, 0, 1), atol=1e-12)


@pytest.mark.parametrize(("one", "other", "chance"), HIGHER)
def test_chance_that_b_is_better(
    one: tuple[int, int], other: tuple[int, int], chance: float
) -> None:
    assert chance_higher(*other, *one) == pytest.approx(chance, abs=0.6e-6)
    rates = Rates(
        np.array([one[0], other[0]], np.float64), np.array([one[1], other[1]], np.float64)
    )
    assert probability_best(rates)[1] == pytest.approx(chance, abs=0.6e-6)


@pytest.mark.parametrize(("one", "other", "each"), [(0.3, 0.5, 92.7), (0.1, 0.2, 194.9)])
def test_tries_for_two_proportions(one: float, other: float, each: float) -> None:
    """Power .8, alpha .05 two-sided; statsmodels NormalIndPower (X), printed to one place."""
    assert tries_to_tell_apart(one, other) == pytest.approx(each, abs=0.05)
    assert tries_to_separate(other, one).tries_each == int(each) + 1


@pytest.mark.parametrize(
    ("one", "other", "power", "confidence"),
    [(0.3, 0.5, 0.8, 0.95), (0.22, 0.17, 0.9, 0.99), (0.4, 0.45, 0.2, 0.9)],
)
def test_tries_for_other_powers(one: float, other: float, power: float, confidence: float) -> None:
    effect = 2 * np.arcsin(other**0.5) - 2 * np.arcsin(one**0.5)
    expected = NormalIndPower().solve_power(effect, power=power, alpha=1 - confidence)  # X
    found = tries_to_tell_apart(one, other, power=power, confidence=confidence)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("offset", "radius", "spread", "chance"), DISC)
def test_disc_hit(offset: float, radius: float, spread: float, chance: float) -> None:
    found = disc_hit_probability(offset_m=offset, radius_m=radius, spread_m=spread)
    assert found == pytest.approx(chance, abs=0.6e-6)


def test_half_the_shots_within_the_circular_error_probable() -> None:
    found = disc_hit_probability(offset_m=0, radius_m=1.17741 * 3.1, spread_m=3.1)  # X, CEP
    assert found == pytest.approx(0.5, abs=2e-6)


def test_disc_hit_ncx2_over_its_range() -> None:
    rng = np.random.default_rng(41)
    spread = rng.uniform(0.2, 3, 2000)
    radius, offset = 10 ** rng.uniform(-2, 1.4, 2000), rng.uniform(0, 30, 2000)
    found = disc_hit_probability(offset_m=offset, radius_m=radius, spread_m=spread)
    expected = stats.ncx2.cdf((radius / spread) ** 2, 2, (offset / spread) ** 2)  # X
    np.testing.assert_allclose(found, expected, atol=1e-12)
