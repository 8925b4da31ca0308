"""Intervals and comparisons against printed values and general-purpose libraries.

Status: S read in texts that quote the source, X computed with the library named.
"""

import numpy as np
import pytest
from scipy import integrate, stats
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import proportion_confint

from engine.group_rates import CELL_ENDS, LineRates
from engine.intervals import tries_to_tell_apart, wilson_interval
from engine.practice import tries_to_separate
from engine.verdict import chances_to_be_best

# Newcombe 1998, Statist. Med. 17:857, table of method 3 (S), printed to four places
NEWCOMBE = (
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
)


@pytest.mark.parametrize(("holed", "tries", "low", "high"), NEWCOMBE)
def test_wilson_interval_newcombe_1998(holed: int, tries: int, low: float, high: float) -> None:
    found = wilson_interval(holed, tries, confidence=0.95)
    assert found.low == pytest.approx(low, abs=0.5e-4)
    assert found.high == pytest.approx(high, abs=0.5e-4)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
def test_wilson_interval_statsmodels(confidence: float) -> None:
    holed, tries = np.array([3, 0, 17, 250, 11]), np.array([8, 5, 17, 1900, 12])
    low, high = proportion_confint(holed, tries, alpha=1 - confidence, method="wilson")  # X
    found = wilson_interval(holed, tries, confidence=confidence)
    np.testing.assert_allclose(found.low, np.clip(low, 0, 1), atol=1e-12)
    np.testing.assert_allclose(found.high, np.clip(high, 0, 1), atol=1e-12)


def chance_second_is_higher(one: tuple[float, float], other: tuple[float, float]) -> float:
    """From the two posteriors' shares of the grid's cells, which carry rates to .025 at most."""
    theta = [np.diff(stats.beta.cdf(CELL_ENDS, *pair)) for pair in (one, other)]
    return float(chances_to_be_best(LineRates(np.ones(1), np.array([theta])))[1])


def test_chance_that_b_is_better_by_hand() -> None:
    """A ~ Beta(2, 1), B ~ Beta(1, 2): integral of 2 (1 - x) x^2 = 2/3 - 1/2."""
    assert chance_second_is_higher((2, 1), (1, 2)) == pytest.approx(1 / 6, abs=1e-3)


@pytest.mark.parametrize(
    ("one", "other"), [((4, 18), (8, 14)), ((3, 9), (6, 6)), ((1.4, 6.5), (3.7, 11.2))]
)
def test_chance_that_b_is_better_quadpack(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    """Integral of B's density times A's distribution; scipy's quadrature (X)."""

    def integrand(x: float) -> float:
        return float(stats.beta.pdf(x, *other) * stats.beta.cdf(x, *one))

    chance = integrate.quad(integrand, 0, 1, epsabs=1e-13, epsrel=1e-13)[0]
    assert chance_second_is_higher(one, other) == pytest.approx(chance, abs=1e-3)


@pytest.mark.parametrize(("one", "other", "each"), [(0.3, 0.5, 92.7), (0.1, 0.2, 194.9)])
def test_tries_for_two_proportions(one: float, other: float, each: float) -> None:
    """Power .8, alpha .05 two-sided; statsmodels NormalIndPower (X), printed to one place."""
    assert tries_to_tell_apart(one, other, confidence=0.95) == pytest.approx(each, abs=0.05)
    assert tries_to_separate(other, one, confidence=0.95).tries_each == int(each) + 1


@pytest.mark.parametrize(
    ("one", "other", "power", "confidence"),
    [(0.3, 0.5, 0.8, 0.95), (0.22, 0.17, 0.9, 0.99), (0.4, 0.45, 0.2, 0.9)],
)
def test_tries_for_other_powers(one: float, other: float, power: float, confidence: float) -> None:
    effect = 2 * np.arcsin(other**0.5) - 2 * np.arcsin(one**0.5)
    expected = NormalIndPower().solve_power(effect, power=power, alpha=1 - confidence)  # X
    found = tries_to_tell_apart(one, other, power=power, confidence=confidence)
    assert found == pytest.approx(expected, rel=1e-6)
