"""The learned response: Bayes' rule, sums, the prior, robustness and honest margins."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from engine.response import (
    HALF_WIDTH_90,
    Source,
    differences,
    full_pass,
    misfit2,
    moved,
    posterior_from_sums,
    predict,
    prior_response,
    provenance,
    shot_weight,
)
from engine.response_features import ACROSS_SD, ALONG, ALONG_SD, Features, features
from engine.response_learn import ResponsePrior
from engine.response_sums import Results, Sums
from engine.response_tree import GradeTree
from engine.robust import CLEAN_COST, Floats
from shared.errors import EngineError
from tests.unit.response_shots import MPH, plain_tree, results, shots, situations

FIXED = ResponsePrior(learn_spread=False, tail_factor=1.0, noise_shots=(1e9, 1e9, 1e9, 1e9))


def test_one_grade_is_bayes_rule_by_hand() -> None:
    """A single grade's posterior is that of one normal regression with the whole prior's width."""
    tree, rng = GradeTree.from_labels(group=[0], family=[0], club=[0]), np.random.default_rng(3)
    phi = shots(rng, 40)
    observed = np.column_stack((phi.along[:, 0] * 1.2, phi.across[:, 0] * 0.9))
    observed += rng.normal(size=(40, 2))
    sums = Sums.of(results([0] * 40, phi, observed), np.ones(40), grades=1)
    found = posterior_from_sums(sums, tree, prior=FIXED)
    parts = ((phi.along, ALONG_SD, 3.0, found.along), (phi.across, ACROSS_SD, 2.5, found.across))
    for axis, (rows, sd, noise, belief) in enumerate(parts):
        rows = np.round(rows * 128) / 128
        target = np.round(observed[:, axis] * 128) / 128
        below = np.array([0.2**2 + 0.2**2 + 0.1**2] * len(sd))
        below *= FIXED.shape[axis]
        prior = np.diag(1.0 / ((0.9**2 + below) * np.square(sd)))
        cov = np.linalg.inv(prior + rows.T @ rows / noise**2)
        mean = np.zeros(len(sd))
        mean[0] = 1.0
        mean = cov @ (prior @ mean + rows.T @ target / noise**2)
        np.testing.assert_allclose(belief.mean[0], mean, atol=1e-7)
        np.testing.assert_allclose(belief.cov[0], cov, rtol=1e-6, atol=1e-9)


def test_without_results_the_law_is_told_with_the_priors_margin() -> None:
    """One prior before and after: no sums, and the response of no rack, say the same."""
    nothing = posterior_from_sums(Sums.zero(grades=5), plain_tree())
    phi = features(situations(1, law_long_m=8.0, law_right_m=-3.0, wind_mps=3.0, from_deg=340.0))
    before, after = prior_response(rows=1), nothing.response([3])
    first, second = predict(before, phi), predict(after, phi)
    np.testing.assert_allclose(first.effect_m, [[-8.0, 3.0]], atol=1e-12)
    np.testing.assert_allclose(second.sd_m, first.sd_m, rtol=1e-12)
    calm = predict(before, features(situations(1, height_m=10.0)))
    variance = 0.2**2 * 100 * (0.81 + 0.09 * 0.25**2) + 0.9 * (1.3 * 0.9144) ** 2
    variance += 0.9 * (0.15 * 0.8 * 0.9144) ** 2
    assert calm.sd_m[0, 0] == pytest.approx(variance**0.5, rel=1e-9)
    np.testing.assert_allclose(calm.half_m, 1.6448536 * calm.sd_m, rtol=1e-7)


def test_a_perfect_shot_widens_no_margin() -> None:
    tree, phi = plain_tree(), shots(np.random.default_rng(4), 60)
    nothing = posterior_from_sums(Sums.zero(grades=5), tree)
    one = features(situations(1, law_long_m=9.0, wind_mps=4.5))
    sums = Sums.of(results([1], one, np.array([[-9.0, 0.0]])), [1.0], grades=5)
    for grade in range(5):
        before = predict(nothing.response([grade] * 60), phi).sd_m
        after = predict(posterior_from_sums(sums, tree).response([grade] * 60), phi).sd_m
        assert (after <= before * 1.001).all()


def test_margin_never_vanishes_where_the_law_cancels() -> None:
    """A helping wind at a part shot, for which this law says exactly nothing."""
    phi = features(situations(1, wind_mps=9.0, from_deg=180.0, share=0.65, carry_m=100.0))
    assert predict(prior_response(rows=1), phi).half_m[0, 0] > 3.0


def test_misfit_is_a_part_of_the_spread_that_grows_with_the_wind() -> None:
    response = prior_response(rows=3)
    size = np.array([0.0, 3.0, 18.0])
    phi = features(situations(3, wind_mps=3.0, carry_m=size / (0.006 / MPH * 3.0), from_deg=30.0))
    # A fifth of the variance of hits where the wind moves a ball by six metres, half of that in
    # half the wind, and half as much again at most.
    expected = response.spread_m**2 * np.array([[0.0], [0.1], [0.3]])
    np.testing.assert_allclose(misfit2(response, phi), expected, atol=1e-12)
    np.testing.assert_allclose(response.spread_m, [[3.0 / 0.853, 2.5 / 0.853]] * 3)


def truth(phi: Features) -> Floats:
    """A game that is not the law: linear, the same both ways, with an offset."""
    return np.column_stack((-0.55 * phi.along[:, 1] + 0.8, -0.7 * phi.across[:, 1] - 0.4))


def test_a_linear_game_is_learned_and_margins_hold() -> None:
    tree, rng = plain_tree(), np.random.default_rng(5)
    phi, asked = shots(rng, 400), shots(rng, 300)
    observed = truth(phi) + rng.normal(0.0, 0.4, (400, 2))
    found = full_pass(results(rng.integers(0, 4, 400), phi, observed), tree).posterior
    said = predict(found.response(rng.integers(0, 4, 300)), asked)
    error = np.abs(said.effect_m - truth(asked))
    law = np.abs(asked.law_effect_m - truth(asked))
    assert error.mean() < 0.2 < 0.15 * law.mean() + 0.1
    assert (error <= said.half_m).mean() > 0.88
    assert said.half_m.mean() < 3.0 * np.quantile(error, 0.9)
    # The grade nobody hit knows almost as much, with a wider margin.
    other = predict(found.response([4] * 300), asked)
    assert np.abs(other.effect_m - truth(asked)).mean() < 0.4
    assert (other.sd_m > said.sd_m * 0.999).mean() > 0.95
    np.testing.assert_allclose(found.hit_sd_m[:4].mean(), 0.4, atol=0.1)


def test_groups_do_not_hear_of_one_another() -> None:
    rng = np.random.default_rng(6)
    two = GradeTree.from_labels(group=[0, 0, 1], family=[0, 0, 0], club=["a", "b", "a"])
    alone = GradeTree.from_labels(group=[0, 0], family=[0, 0], club=["a", "b"])
    phi = shots(rng, 50)
    played = results([0] * 30 + [1] * 20, phi, truth(phi))
    both = posterior_from_sums(Sums.of(played, np.ones(50), grades=3), two)
    one = posterior_from_sums(Sums.of(played, np.ones(50), grades=2), alone)
    nothing = posterior_from_sums(Sums.zero(grades=3), two)
    np.testing.assert_allclose(both.along.mean[:2], one.along.mean, rtol=1e-9)
    np.testing.assert_allclose(both.along.mean[2], nothing.along.mean[2], rtol=1e-12)
    np.testing.assert_allclose(both.across.cov[2], nothing.across.cov[2], rtol=1e-12)
    assert both.shots.tolist() == [[30, 30, 50, 50], [20, 20, 50, 50], [0, 0, 0, 0]]


def test_provenance_names_the_nearest_shots() -> None:
    tree = GradeTree.from_labels(
        group=[0, 0, 0, 0, 1], family=[0, 0, 0, 1, 0], club=["a", "a", "b", "c", "a"]
    )
    phi = shots(np.random.default_rng(7), 3)
    sums = Sums.of(results([0, 0, 0], phi, phi.law_effect_m), np.ones(3), grades=5)
    source, count = provenance(posterior_from_sums(sums, tree), [0, 1, 2, 3, 4])
    expected = [Source.OWN, Source.CLUB, Source.FAMILY, Source.GROUP, Source.COMPUTED]
    assert source.tolist() == expected
    assert count.tolist() == [3, 3, 3, 3, 0]
    one = Sums.of(results([0], phi.take(np.array([1])), np.zeros((1, 2))), [1.0], grades=5)
    source, count = provenance(posterior_from_sums(one, tree), [4, 3, 2, 1, 0])
    assert source.tolist() == expected[::-1] and count.tolist() == [0, 1, 1, 1, 1]


def test_taking_results_out_leaves_no_trace() -> None:
    rng = np.random.default_rng(8)
    phi = shots(rng, 90)
    played = results(rng.integers(0, 5, 90), phi, rng.normal(0, 6, (90, 2)))
    weight = rng.uniform(0, 1.5, 90)
    some = np.arange(90) < 40
    whole = Sums.of(played, weight, grades=5)
    part = Sums.of(played.take(some), weight[some], grades=5)
    rest = Sums.of(played.take(~some), weight[~some], grades=5)
    for kind in ("measured", "holed", "missed"):
        np.testing.assert_array_equal(getattr(whole - part, kind), getattr(rest, kind))
        np.testing.assert_array_equal(getattr(part + rest, kind), getattr(whole, kind))


def test_an_outlier_weighs_little_and_a_far_one_nothing() -> None:
    tree, rng = plain_tree(), np.random.default_rng(9)
    phi = shots(rng, 200)
    known = full_pass(
        results(rng.integers(0, 5, 200), phi, truth(phi) + rng.normal(0, 0.4, (200, 2))), tree
    ).posterior
    asked = phi.take(np.arange(4, dtype=np.intp))
    response = known.response([1] * 4)
    said = predict(response, asked)
    scale = np.sqrt(known.noise_m[1] ** 2 + said.sd_m**2)
    away = np.array([0.0, 1.0, 2.9, 3.1])[:, None] * np.array([0.6, 0.8]) * scale
    weight = shot_weight(known, results([1] * 4, asked, said.effect_m + away))
    np.testing.assert_allclose(weight, [1.5, 1.2, 6 / (4 + 2.9**2), 0.0], atol=1 / 256)


def one_in_five(measured: bool) -> Sums:
    """Hits spread round an aim 6 m off: the few that go in, and a fifth of the misses measured."""
    rng, tree = np.random.default_rng(13), plain_tree()
    phi = features(situations(1, law_long_m=20.0, wind_mps=5.0))
    sums = Sums.zero(grades=tree.grades)
    for turn in range(300):
        miss = rng.normal((-6.0, 0.0), 3.0)
        holed = bool(np.hypot(*miss) < 3.0)
        seen = np.array([[-20.0, 0.0]]) + (0.0 if holed else miss)
        if holed or (measured and turn % 5 == 0):
            shot = results([2], phi, np.round(seen, 3), holed=holed)
            sums = sums + Sums.of(shot, [1.0], grades=5)
        else:
            missed = np.zeros((5, 5))
            missed[2, 0] = 1.0
            sums = sums + Sums(0 * sums.measured, 0 * sums.holed, missed)
    return sums


def test_hole_outs_count_in_the_proportion_in_which_misses_are_measured() -> None:
    tree = plain_tree()
    phi = features(situations(1, law_long_m=20.0, wind_mps=5.0))
    few, none = one_in_five(True), one_in_five(False)
    share = few.measured_share(tree)
    assert share[2] == pytest.approx(0.2, abs=0.03)
    said = predict(posterior_from_sums(few, tree).response([2]), phi)
    assert said.effect_m[0, 0] == pytest.approx(-26.0, abs=1.0)
    # Nobody measured a miss: hole-outs alone say nothing, and the margin says so.
    assert none.measured_share(tree).tolist() == [0.0] * 5
    before = predict(prior_response(rows=1), phi)
    silent = predict(posterior_from_sums(none, tree).response([2]), phi)
    np.testing.assert_allclose(silent.effect_m, before.effect_m, atol=1e-9)
    np.testing.assert_allclose(silent.sd_m, before.sd_m, rtol=1e-9)


def test_another_grade_may_differ_by_what_grades_differ() -> None:
    tree, phi = plain_tree(), shots(np.random.default_rng(14), 2)
    found = posterior_from_sums(
        Sums.of(results([0, 0], phi, truth(phi)), np.ones(2), grades=5), tree
    )
    same, other = found.response([1]), found.response([0])
    one = phi.take(np.array([0]))
    assert (differences(same, one, same, one) == 0.0).all()
    apart = differences(same, one, other, one)
    expected = (one.along**2 * (found.along_apart[1] + found.along_apart[0])).sum()
    assert apart[0, 0] == pytest.approx(expected, rel=1e-12) and apart[0, 0] > 0.01
    two = phi.take(np.array([1]))
    step = one.along[0] - two.along[0]
    plain = step @ found.along.cov[1] @ step
    move = Features(one.along - two.along, one.across - two.across)
    total = plain + misfit2(same, move)[0, 0]
    assert differences(same, one, same, two)[0, 0] == pytest.approx(total, rel=1e-12)


def test_before_any_shot_grades_differ_by_a_tenth_of_what_a_weight_may() -> None:
    """And by a quarter of that in how the game treats wind, whatever is hit."""
    response = prior_response(rows=2)
    name = dict(zip(ALONG, response.along_apart[1], strict=True))
    width = dict(zip(ALONG, ALONG_SD, strict=True))
    for feature in ("law", "wind", "share_wind", "offset", "share"):
        assert name[feature] ** 0.5 == pytest.approx(width[feature] / 10)
    for feature in ("size", "speed", "height"):
        assert name[feature] ** 0.5 == pytest.approx(width[feature] / 40)
    across = response.across_apart[0, -1] ** 0.5
    assert across == pytest.approx(ACROSS_SD[-1] / 10) != pytest.approx(name["law"] ** 0.5)


def test_tested_spread_starts_small_and_follows_the_hits() -> None:
    tree, rng = plain_tree(), np.random.default_rng(15)
    assert prior_response(rows=1).tested_m.tolist() == [[1.0, 1.0]]
    phi = shots(rng, 300)
    observed = phi.law_effect_m + rng.normal(0.0, (2.5, 0.5), (300, 2))
    found = full_pass(results(rng.integers(0, 5, 300), phi, observed), tree).posterior
    expected = np.sqrt((12 + 300 * found.hit_sd_m[1] ** 2) / 312)
    np.testing.assert_allclose(found.response([1]).tested_m[0], expected, rtol=1e-9)
    assert expected[0] > 2.0 and expected[1] < 0.8


def test_where_hits_are_surer_than_answers_a_weight_is_what_bends_by_the_margin() -> None:
    tree = GradeTree.from_labels(group=[0], family=[0], club=["a"])
    nothing = posterior_from_sums(Sums.zero(grades=1), tree)
    sure = replace(nothing, noise_m=np.array([[0.6, 0.5]]))
    phi = features(situations(3, wind_mps=4.0, from_deg=30.0, share=0.7, height_m=5.0))
    sd = predict(sure.response([0] * 3), phi).sd_m
    assert sd[0, 0] > 1.4 * sd[0, 1] > 2.0
    far = np.hypot(sd[0, 0], 0.6)
    miss = np.array([[2.9 * far, 0.0], [1.0 * sd[0, 0], 0.0], [0.0, 2.7 * np.hypot(sd[0, 1], 0.5)]])
    weight = shot_weight(sure, results([0] * 3, phi, miss))
    for i, axis, noise in ((0, 0, 0.6), (2, 1, 0.5)):
        known, cost = weight[i] * sd[i, axis] ** 2, CLEAN_COST * noise**2
        bent = known / (known + cost) * miss[i, axis]
        assert bent == pytest.approx(0.8 * 1.645 * sd[i, axis], rel=0.02)
    plain = 6.0 / (4.0 + (sd[1, 0] / far) ** 2)
    assert weight[1] == pytest.approx(plain, abs=1 / 256)
    again = shot_weight(sure, results([0] * 3, phi, -miss))
    np.testing.assert_array_equal(again, weight)


def test_counts_behind_a_grade() -> None:
    phi = shots(np.random.default_rng(19), 4)
    played = results([1, 1, 1, 3], phi, phi.law_effect_m)
    sums = Sums.of(played, [1.5, 0.5, 0.0, 1.0], grades=5)
    missed = np.zeros((5, 5))
    missed[1, 0] = 6.0
    found = posterior_from_sums(
        sums + Sums(0 * sums.measured, 0 * sums.holed, missed), plain_tree()
    )
    holed = Sums.of(results([1, 1, 1, 3], phi, phi.law_effect_m, holed=True), np.ones(4), grades=5)
    went_in = posterior_from_sums(holed, plain_tree())
    assert went_in.shots[:, 0].tolist() == [0, 3, 0, 1, 0]
    assert went_in.effective.tolist() == [0.0, 3.0, 0.0, 1.0, 0.0]
    np.testing.assert_allclose(found.effective, [0.0, 4.0 / 2.5, 0.0, 1.0, 0.0])
    assert found.set_aside.tolist() == [0, 1, 0, 0, 0] and found.missed.tolist() == [0, 6, 0, 0, 0]
    assert found.shots.tolist() == [
        [0, 2, 2, 3],
        [2, 2, 2, 3],
        [0, 0, 2, 3],
        [1, 1, 1, 3],
        [0, 1, 1, 3],
    ]


def test_a_held_row_is_put_in_place_and_the_others_stay() -> None:
    tree, phi = plain_tree(), shots(np.random.default_rng(18), 12)
    sums = Sums.of(results([0] * 12, phi, truth(phi)), np.ones(12), grades=5)
    known, plain = posterior_from_sums(sums, tree), prior_response(rows=1)
    response = known.response([0, 1, 4])
    held = response.put([1], plain)
    np.testing.assert_array_equal(held.along_mean[1], plain.along_mean[0])
    np.testing.assert_array_equal(held.across_cov[1], plain.across_cov[0])
    np.testing.assert_array_equal(held.along_cov[[0, 2]], response.along_cov[[0, 2]])
    assert (response.along_mean[1] != plain.along_mean[0]).any()


def test_bad_input_is_refused() -> None:
    tree, phi = plain_tree(), shots(np.random.default_rng(16), 2)
    nothing = posterior_from_sums(Sums.zero(grades=5), tree)
    good = np.zeros((2, 2))
    attempts = (
        lambda: posterior_from_sums(Sums.zero(grades=4), tree),
        lambda: nothing.response([5]),
        lambda: nothing.response([-1]),
        lambda: predict(nothing.response([1]), phi),
        lambda: results([0, 1], phi, good + np.nan),
        lambda: results([0, 1], phi, good + 2000.0),
        lambda: results([0], phi, good),
        lambda: Results(np.array([0, 1]), phi, good, np.array([True])),
        lambda: Sums.of(results([0, 1], phi, good), [1.0, -1.0], grades=5),
        lambda: Sums.zero(grades=5) + Sums.zero(grades=4),
        lambda: Sums.zero(grades=5) - Sums.of(results([0, 1], phi, good), [1, 1], grades=5),
        lambda: moved(nothing, posterior_from_sums(Sums.zero(grades=1), one_grade())),
        lambda: ResponsePrior(noise_m=(0.0, 1.0)),
        lambda: ResponsePrior(along_sd=ALONG_SD[:-1]),
        lambda: ResponsePrior(tail_factor=0.0),
    )
    for attempt in attempts:
        with pytest.raises(EngineError):
            attempt()


def one_grade() -> GradeTree:
    return GradeTree.from_labels(group=[0], family=[0], club=[0])


def test_ninety_percent_is_the_normal_quantile() -> None:

    assert pytest.approx(NormalDist().inv_cdf(0.95), abs=1e-12) == HALF_WIDTH_90
    assert ALONG[0] == "law"
