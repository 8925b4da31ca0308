"""The full pass over all results: what it takes in, what it hears of, and when it ends."""

from dataclasses import replace

import numpy as np
import pytest

from engine.response import full_pass, moved, posterior_from_sums, predict
from engine.response_features import ALONG, Features, features
from engine.response_sums import Results, Sums
from engine.response_tree import Belief
from engine.robust import Floats
from tests.unit.response_shots import plain_tree, results, shots, situations


def truth(phi: Features) -> Floats:
    """A game that is not the law: linear, the same both ways, with an offset."""
    return np.column_stack((-0.55 * phi.along[:, 1] + 0.8, -0.7 * phi.across[:, 1] - 0.4))


def test_a_full_pass_takes_in_what_agrees_and_leaves_out_what_does_not() -> None:
    """A game three times the law is surprising at first and believed when all shots say so."""
    tree, rng = plain_tree(), np.random.default_rng(12)
    phi = shots(rng, 120)
    observed = 3.0 * phi.law_effect_m + rng.normal(0.0, 0.5, (120, 2))
    observed[::10] -= (30.0, 0.0)
    found = full_pass(results(rng.integers(0, 5, 120), phi, observed), tree)
    wild = np.arange(120) % 10 == 0
    assert (found.weight[wild] < 0.1).all() and np.median(found.weight[~wild]) > 1.0
    said = predict(found.posterior.response([1] * 120), phi).effect_m
    assert np.abs(said - 3.0 * phi.law_effect_m).mean() < 0.8
    again = posterior_from_sums(found.sums, tree)
    assert moved(found.posterior, again).max() == 0.0


def test_a_full_pass_hears_of_misses_nobody_measured() -> None:
    """A quarter went in, 75 measured misses say that the aim was 3 m long: the more misses went
    unmeasured, the less the hole-outs weigh beside them."""
    tree, count = plain_tree(), 100
    rng = np.random.default_rng(23)
    holed = np.arange(count) % 4 == 0
    phi = features(situations(count, law_long_m=10.0, wind_mps=5.0))
    miss = rng.normal((-3.0, 0.0), 2.0, (count, 2))
    off = np.where(holed[:, None], 0.0, miss)
    played = Results(np.full(count, 2), phi, np.array([-10.0, 0.0]) + off, holed)
    missed = np.zeros((5, 5))
    missed[2, 0] = 450.0
    plain, heard = full_pass(played, tree), full_pass(played, tree, missed=missed)
    assert heard.posterior.missed.tolist() == [0, 0, 450, 0, 0]
    assert (plain.posterior.missed == 0).all() and 1 < heard.passes < 40
    np.testing.assert_array_equal(heard.sums.missed, missed)
    one = phi.take(np.array([0]))
    told, other = (predict(x.posterior.response([2]), one).effect_m[0, 0] for x in (plain, heard))
    assert told == pytest.approx(-12.25, abs=0.3)
    assert other == pytest.approx(-12.86, abs=0.3)
    assert other < told - 0.4


def test_a_move_of_the_weights_is_told_in_their_standard_errors() -> None:
    """Of a grade's most moved weight, by the covariance after: the law's .25 sqrt(.9) at first."""
    before = posterior_from_sums(Sums.zero(grades=5), plain_tree())
    along, across = before.along.mean.copy(), before.across.mean.copy()
    along[2, 0] += 0.1
    along[2, ALONG.index("offset")] -= 0.3
    across[4, 0] -= 0.05
    after = replace(
        before, along=Belief(along, before.along.cov), across=Belief(across, before.across.cov)
    )
    sd = 0.25 * 0.9**0.5
    expected = [0.0, 0.0, 0.1 / sd, 0.0, 0.05 / sd]
    np.testing.assert_allclose(moved(before, after), expected, rtol=1e-9)
    np.testing.assert_allclose(moved(after, before), expected, rtol=1e-9)


def test_a_full_pass_ends_when_settled_or_at_its_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    phi = shots(np.random.default_rng(24), 30)
    nothing = results([0] * 30, phi, phi.law_effect_m).take(np.arange(0))
    assert full_pass(nothing, plain_tree()).passes == 2  # the first one learns the noise only
    monkeypatch.setattr("engine.response.FULL_PASSES", 3)
    monkeypatch.setattr("engine.response.SETTLED", -1.0)
    assert full_pass(results([0] * 30, phi, truth(phi)), plain_tree()).passes == 3
