"""The hierarchical model of a group's rates against its definition, worked out by other means."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from engine.group_rates import (
    CONCENTRATIONS,
    CORRELATIONS,
    MEANS,
    RATES,
    GroupRates,
    MemberTries,
    learn_group,
    line_rates,
)
from shared.errors import EngineError

A = MemberTries([3, 0, 5], [7, 4, 6])
B = MemberTries([1, 2], [9, 5])
UNTRIED = MemberTries([], [])


def at(mean: int, concentration: int, correlation: int) -> GroupRates:
    """A group whose hyperparameters are known."""
    weight = np.zeros((len(MEANS), len(CONCENTRATIONS), len(CORRELATIONS)))
    weight[mean, concentration, correlation] = 1.0
    return GroupRates(weight)


def moments(line: MemberTries, m: float, s: float, rho: float) -> tuple[float, float, float]:
    """Evidence, mean and second moment of theta, by adaptive quadrature over the rate itself."""
    k = 1 / rho - 1

    def integrand(theta: float, power: int) -> float:
        pairs = zip(np.asarray(line.holed), np.asarray(line.tries), strict=True)
        chances = [stats.betabinom.pmf(y, n, theta * k, (1 - theta) * k) for y, n in pairs]
        prior = stats.beta.pdf(theta, m * s, (1 - m) * s)
        return float(prior * np.prod(chances) * theta**power)

    total, first, second = (
        integrate.quad(integrand, 0, 1, args=(power,), limit=400, epsrel=1e-9)[0]
        for power in (0, 1, 2)
    )
    return total, first / total, second / total


@pytest.mark.parametrize(("mean", "concentration", "correlation"), [(14, 2, 2), (18, 3, 7)])
def test_posterior_given_the_hyperparameters_is_the_integral(
    mean: int, concentration: int, correlation: int
) -> None:
    found = line_rates([A, UNTRIED, B], at(mean, concentration, correlation))
    m, s, rho = MEANS[mean], CONCENTRATIONS[concentration], CORRELATIONS[correlation]
    for place, line in ((0, A), (2, B)):
        _, first, second = moments(line, m, s, rho)
        assert found.mean[place] == pytest.approx(first, abs=1e-4)
        assert found.variance[place] == pytest.approx(second - first**2, rel=5e-3)
    assert found.mean[1] == pytest.approx(m, abs=1e-3)
    assert found.variance[1] == pytest.approx(m * (1 - m) / (s + 1), rel=0.01)


def test_grids_are_what_their_texts_say() -> None:
    assert (RATES[0], RATES[-1]) == pytest.approx((0.00247, 0.99753), abs=1e-5)
    assert (MEANS[0], MEANS[-1]) == pytest.approx((0.011, 0.924), abs=1e-3)
    assert CONCENTRATIONS.tolist() == [2, 4, 8, 16, 32, 64]
    np.testing.assert_allclose(CORRELATIONS, [0.01 + 0.05 * i for i in range(10)])


def test_the_stated_prior() -> None:
    """m ~ Beta(1, 2), rho ~ Beta(2, 14) on its grid, s evenly in its logarithm."""
    prior = learn_group([])
    assert prior.weight.sum() == pytest.approx(1)
    assert prior.mean == pytest.approx(1 / 3, abs=0.01)
    density = stats.beta.pdf(CORRELATIONS, 2, 14)
    np.testing.assert_allclose(prior.weight.sum(axis=(0, 1)), density / density.sum(), rtol=1e-9)
    assert prior.correlation == pytest.approx(float(density @ CORRELATIONS / density.sum()))
    np.testing.assert_allclose(prior.weight.sum(axis=(0, 2)), 1 / 6)
    by_mean = prior.weight.sum(axis=(1, 2))
    expected = stats.beta.pdf(MEANS, 1, 2) * MEANS * (1 - MEANS)
    np.testing.assert_allclose(by_mean, expected / expected.sum(), rtol=1e-9)
    np.testing.assert_allclose(learn_group([UNTRIED, MemberTries(0, 0)]).weight, prior.weight)


def test_what_is_learned_is_prior_times_evidence() -> None:
    found, prior = learn_group([A, UNTRIED, B]).weight, learn_group([]).weight
    places = [(11, 1, 0), (14, 2, 2), (17, 4, 5), (20, 0, 9)]
    expected = [
        prior[i, j, k]
        * moments(A, MEANS[i], CONCENTRATIONS[j], CORRELATIONS[k])[0]
        * moments(B, MEANS[i], CONCENTRATIONS[j], CORRELATIONS[k])[0]
        for i, j, k in places
    ]
    got = np.array([found[place] for place in places])
    np.testing.assert_allclose(got / got[1], np.array(expected) / expected[1], rtol=0.01)
    assert found.sum() == pytest.approx(1)


def simulate(
    seed: int, *, lines: int, members: int, each: int, sd: float, mean: float = 0.3
) -> list[MemberTries]:
    """Every line with members of its own, normal in log odds: not the model's own world."""
    rng = np.random.default_rng(seed)
    log_odds = np.log(mean / (1 - mean)) + 0.4 * rng.normal(size=(lines, 1))
    chance = 1 / (1 + np.exp(-log_odds - sd * rng.normal(size=(lines, members))))
    holed = rng.binomial(each, chance)
    return [MemberTries(row, np.full(members, each)) for row in holed]


def test_members_who_differ_are_told_from_members_who_are_equal() -> None:
    equal = learn_group(simulate(5, lines=20, members=6, each=12, sd=0.0))
    differ = learn_group(simulate(5, lines=20, members=6, each=12, sd=1.2))
    assert equal.correlation < 0.04
    assert 0.14 < differ.correlation < 0.3
    assert differ.mean == pytest.approx(0.33, abs=0.05)


def test_only_the_least_likely_half_percent_is_left_out() -> None:
    group = learn_group(simulate(2, lines=12, members=5, each=7, sd=0.6))
    kept = line_rates([A], group).weight
    likely = np.sort(group.weight.ravel())[::-1]
    count = next(n for n in range(likely.size) if likely[:n].sum() >= 0.995)
    assert kept.size == count < likely.size / 2
    np.testing.assert_allclose(kept, likely[:count] / likely[:count].sum())


def test_intervals_hold_nine_lines_in_ten() -> None:
    """300 lines of 30 groups; standard error of the share .017."""
    inside = []
    for seed in range(30):
        rng = np.random.default_rng(100 + seed)
        truth = rng.beta(2, 5, 10)
        members = rng.beta(7 * truth[:, None], 7 * (1 - truth[:, None]), (10, 4))
        tries = rng.integers(0, 9, members.shape)
        lines = [
            MemberTries(y, n) for y, n in zip(rng.binomial(tries, members), tries, strict=True)
        ]
        low, high = line_rates(lines, learn_group(lines)).interval()
        inside += ((low <= truth) & (truth <= high)).tolist()
    assert 0.86 < np.mean(inside) < 0.94


def test_interval_of_a_known_posterior() -> None:
    """One member's tries, rho .01: nearly the beta posterior."""
    found = line_rates([MemberTries([3], [8])], at(14, 2, 0))
    m, s = MEANS[14], CONCENTRATIONS[2]
    low, high = found.interval()
    exact = stats.beta.ppf([0.05, 0.95], m * s + 3, (1 - m) * s + 5)
    assert (low[0], high[0]) == pytest.approx(tuple(exact), abs=0.01)
    narrow, wide = found.interval(0.5), found.interval(0.99)
    assert wide[0] < low < narrow[0] < narrow[1] < high < wide[1]
    with pytest.raises(EngineError, match="confidence"):
        found.interval(1.0)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.lists(st.tuples(st.floats(0, 1), st.floats(0, 300)), max_size=5), min_size=1, max_size=6
    )
)
def test_any_counts_give_rates(lines: list[list[tuple[float, float]]]) -> None:
    tries = [MemberTries([r * n for r, n in line], [n for _, n in line]) for line in lines]
    group = learn_group(tries)
    assert group.weight.sum() == pytest.approx(1)
    found = line_rates(tries, group)
    low, high = found.interval()
    assert found.theta.shape[1:] == (len(lines), len(RATES))
    np.testing.assert_allclose(found.theta.sum(axis=-1), 1)
    assert found.weight.sum() == pytest.approx(1)
    assert np.all((low >= 0) & (low < found.mean) & (found.mean < high) & (high <= 1))


def test_many_tries_of_many_members_do_not_underflow() -> None:
    rng = np.random.default_rng(3)
    lines = [MemberTries(rng.binomial(400, p, 40), np.full(40, 400)) for p in (0.02, 0.31, 0.97)]
    np.testing.assert_allclose(
        line_rates(lines, learn_group(lines)).mean, [0.02, 0.31, 0.97], atol=0.012
    )


def test_tries_of_one_member_say_less_than_those_of_many() -> None:
    group = learn_group([])
    found = line_rates([MemberTries([12], [24]), MemberTries([2] * 6, [4] * 6)], group)
    assert found.variance[0] > 1.8 * found.variance[1]
    assert found.mean[0] < found.mean[1]


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: line_rates([], learn_group([])), "at least one line"),
        (lambda: learn_group([MemberTries([3, 1], [2, 4])]), "no more can be holed"),
        (lambda: learn_group([A, MemberTries([-1.0], [4])]), "holed must be at least 0"),
        (lambda: learn_group([MemberTries([1, 1, 1], [4, 4])]), "must pair up"),
        (lambda: line_rates([MemberTries([1], [np.nan])], learn_group([])), "tries must be finite"),
    ],
)
def test_bad_input_is_refused_in_words(ask, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        ask()
