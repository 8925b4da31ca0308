"""Robust estimates against statsmodels, scipy and quadrature.

Status: X computed with the library named.
"""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import integrate
from scipy.stats import theilslopes
from statsmodels.datasets import stackloss

from engine.robust import (
    CLEAN_COST,
    CLEAN_SCALE,
    CLEAN_W2,
    MAX_SLOPE_POINTS,
    SET_ASIDE_D2,
    TAIL_DF,
    huber_fit,
    student_cost,
    student_weight,
    theil_sen,
)
from shared.errors import EngineError


def test_huber_on_stackloss() -> None:
    """-41.0265, .8294, .9261, -.1278 (X, statsmodels RLM)."""
    data = np.asarray(stackloss.load_pandas().data)
    fit = huber_fit(np.column_stack([np.ones(len(data)), data[:, 1:]]), data[:, 0])
    assert fit.coefficients == pytest.approx([-41.0265, 0.8294, 0.9261, -0.1278], abs=5e-5)


@pytest.mark.parametrize("seed", [3, 17, 40])
def test_huber_agrees_with_statsmodels_elsewhere(seed: int) -> None:
    rng = np.random.default_rng(seed)
    design = np.column_stack([rng.normal(0.0, 6.0, 57), np.ones(57)])
    target = design @ [1.3, -2.0] + rng.standard_t(2, 57)
    expected = sm.RLM(target, design, M=sm.robust.norms.HuberT()).fit(maxiter=500, tol=1e-12)
    fit = huber_fit(design, target)
    assert fit.coefficients == pytest.approx(expected.params, rel=1e-6)
    assert fit.scale == pytest.approx(expected.scale, rel=1e-6)
    assert fit.weight == pytest.approx(expected.weights, rel=1e-5)


def test_huber_leaves_a_line_through_most_points_alone() -> None:
    x = np.arange(11.0)
    y = 3.0 * x - 2.0
    y[[1, 8]] = [400.0, -90.0]
    fit = huber_fit(np.column_stack([x, np.ones(11)]), y)
    assert fit.coefficients == pytest.approx([3.0, -2.0], abs=1e-9)
    assert fit.scale == 0.0


def test_median_slope_of_the_published_series() -> None:
    """theilslopes([1, 2, 3, 4, 100]) = 1.0 (X, scipy)."""
    assert theil_sen([1, 2, 3, 4, 100]) == 1.0
    assert theilslopes([1, 2, 3, 4, 100])[0] == 1.0


def test_median_slope_agrees_with_scipy_at_uneven_places() -> None:
    rng = np.random.default_rng(8)
    at = np.sort(rng.choice(40, 61)).astype(float)
    values = -0.7 * at + rng.standard_cauchy(61)
    assert theil_sen(values, at) == pytest.approx(theilslopes(values, at)[0], rel=1e-12)


def test_median_slope_of_a_long_series_keeps_its_unit() -> None:
    at = np.arange(3.0 * MAX_SLOPE_POINTS + 1.0)
    values = 0.25 * at + np.random.default_rng(1).normal(size=len(at))
    assert theil_sen(values, at) == pytest.approx(0.25, abs=1e-4)
    assert theil_sen(values) == pytest.approx(0.25, abs=1e-4)


def test_clean_hits_weigh_what_is_assumed() -> None:
    """Mean weight 1, mean square and scale of the t fitted to a normal, by quadrature (X, scipy).

    The squared distance of a normal in two directions is exponential with mean 2.
    """

    def mean_of(power: int, shift: int) -> float:
        def term(d2: float) -> float:
            weight = float(student_weight(np.array(d2 / CLEAN_SCALE**2)))
            return weight**power * d2**shift * np.exp(-d2 / 2.0) / 2.0

        edge = SET_ASIDE_D2 * CLEAN_SCALE**2
        return integrate.quad(term, 0.0, edge)[0]

    assert mean_of(1, 0) == pytest.approx(1.0, abs=0.002)
    assert mean_of(2, 0) == pytest.approx(CLEAN_W2, abs=0.005)
    assert mean_of(1, 1) / 2.0 == pytest.approx(CLEAN_SCALE**2, abs=0.002)
    # Asymptotic variance of such a centre, in scales squared: E psi^2 / (E psi')^2 by quadrature.
    psi2 = mean_of(2, 1) / 2.0 / CLEAN_SCALE**2
    slope = mean_of(1, 0) - 2.0 * psi2 / (TAIL_DF + 2.0)
    assert pytest.approx(psi2 / slope**2, abs=0.01) == CLEAN_COST


def test_cost_of_the_tails_is_the_t_information_for_t_errors() -> None:
    """(df + p + 2) / (df + p) times the scale squared for p = 2 directions, by quadrature (X)."""

    def mean_of(power: int) -> float:
        # Squared distance of the bivariate t: density (1 + d2/df)^(-(df + 2)/2) / 2.
        def term(d2: float) -> float:
            weight = (TAIL_DF + 2.0) / (TAIL_DF + d2)
            return weight**power * 0.5 * (1.0 + d2 / TAIL_DF) ** (-(TAIL_DF + 2.0) / 2.0)

        return integrate.quad(term, 0.0, np.inf)[0]

    cost = float(student_cost(np.array(mean_of(1)), np.array(mean_of(2))))
    assert cost == pytest.approx((TAIL_DF + 4.0) / (TAIL_DF + 2.0), rel=1e-6)


def test_weight_falls_and_ends() -> None:
    weight = student_weight(np.array([0.0, 2.0, SET_ASIDE_D2, SET_ASIDE_D2 + 0.01]))
    assert weight == pytest.approx([1.5, 1.0, 6.0 / 29.0, 0.0])


@pytest.mark.parametrize(
    ("design", "target"),
    [
        (np.ones((5, 2)), np.arange(5.0)),
        (np.arange(6.0).reshape(3, 2), [1.0, float("nan"), 2.0]),
        (np.arange(6.0).reshape(3, 2), [1.0, 2.0]),
        ([[1.0, 2.0]], [3.0]),
        (np.arange(4.0), np.arange(4.0)),
    ],
)
def test_huber_refuses(design: object, target: object) -> None:
    with pytest.raises(EngineError):
        huber_fit(np.asarray(design), np.asarray(target))


@pytest.mark.parametrize(
    ("values", "at"), [([1.0], None), ([1.0, 2.0], [4.0, 4.0]), ([1.0, float("inf")], None)]
)
def test_median_slope_refuses(values: list[float], at: list[float] | None) -> None:
    with pytest.raises(EngineError):
        theil_sen(values, at)
