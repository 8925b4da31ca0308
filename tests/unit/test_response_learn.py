"""What the sums teach beside weights, held against the rows they were summed from."""

from dataclasses import replace

import numpy as np
import pytest

from engine.response import posterior_from_sums
from engine.response_learn import Learned, Problem, ResponsePrior, learn, start
from engine.response_sums import Sums
from engine.response_tree import GradeTree
from tests.unit.response_shots import plain_tree, results, shots

KEPT = ResponsePrior(learn_spread=False, tail_factor=2.2)


def test_learning_starts_at_the_prior() -> None:
    tree = GradeTree.from_labels(group=[0, 0, 1], family=[0, 0, 0], club=["a", "b", "a"])
    begun = start(Problem.of(Sums.zero(grades=3), tree, KEPT))
    np.testing.assert_allclose(begun.spread, [[0.81, 0.04, 0.04, 0.01]] * 2)
    np.testing.assert_allclose(begun.noise2, [[9.0, 6.25]] * 3)


def test_noise_is_what_is_left_over_for_the_degrees_of_freedom_that_are_left() -> None:
    """By the rows: residuals of the posterior mean, and the trace of the hat matrix as lost."""
    tree, count = GradeTree.from_labels(group=[0], family=[0], club=[0]), 30
    rng = np.random.default_rng(44)
    phi = shots(rng, count)
    observed = np.round(phi.law_effect_m * 1.3 + rng.normal(0.0, (5.0, 1.5), (count, 2)), 2)
    sums = Sums.of(results([0] * count, phi, observed), np.ones(count), grades=1)
    problem = Problem.of(sums, tree, KEPT)
    found = learn(problem, start(problem), passes=1).noise2[0]
    belief = posterior_from_sums(sums, tree, prior=replace(KEPT, noise_shots=(1e9,) * 4))
    for axis, known, first in ((0, belief.along, 9.0), (1, belief.across, 6.25)):
        rows = np.round(phi.axes[axis] * 128) / 128
        left_over = np.round(observed[:, axis] * 128) / 128 - rows @ known.mean[0]
        hat = rows @ known.cov[0] @ rows.T / (2.2 * first)
        assert 1.0 < np.trace(hat) < 9.0
        noise2 = first
        for worth in (2.0, 6.0, 6.0, 6.0):  # the group's, then drawn to it the nearer ones
            total = worth * noise2 + left_over @ left_over
            noise2 = total / (worth + count - np.trace(hat))
        assert found[axis] == pytest.approx(noise2, rel=1e-6)


def spreads(away: tuple[float, float, float, float, float]) -> Learned:
    """What is learned where each grade of the plain tree has its own multiple of the law."""
    tree, rng = plain_tree(), np.random.default_rng(45)
    phi = shots(rng, 500)
    grade = np.arange(500) % 5
    factor = np.array(away)[grade, None]
    observed = phi.law_effect_m * factor + rng.normal(0.0, 0.4, (500, 2))
    sums = Sums.of(results(grade, phi, observed), np.ones(500), grades=5)
    problem = Problem.of(sums, tree, ResponsePrior())
    return learn(problem, start(problem), passes=6)


def test_a_level_whose_nodes_differ_is_told_from_levels_whose_nodes_do_not() -> None:
    """Grades 0, 1 and 3, 4 share a club each, 0 to 2 a family."""
    alike = spreads((1.2, 1.2, 1.2, 1.2, 1.2)).spread[0]
    by_grade = spreads((0.7, 1.7, 1.2, 0.7, 1.7)).spread[0]
    by_club = spreads((0.7, 0.7, 1.7, 1.2, 1.2)).spread[0]
    by_family = spreads((0.7, 0.7, 0.7, 1.7, 1.7)).spread[0]
    start_at = np.array([0.81, 0.04, 0.04, 0.01])
    np.testing.assert_allclose(by_grade[0], 0.81)
    assert (alike[1:] < start_at[1:]).all()
    assert by_grade[3] > 3 * max(alike[3], by_club[3], by_family[3])
    assert by_club[2] > 1.5 * max(alike[2], by_family[2])
    assert by_family[1] > 1.5 * max(alike[1], by_club[1])
