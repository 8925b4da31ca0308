"""Rates, their comparison, misses from sums, and what counts in winds like yours."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from engine.intervals import (
    tries_to_tell_apart,
    two_sided_z,
    wilson_interval,
)
from engine.variants import (
    OTHER_GRADE_WEIGHT,
    UNKNOWN_WIND_WEIGHT,
    WIND_WIDTH_MPS,
    MemberCells,
    MissSums,
    WindCells,
    members_like_yours,
    miss_summary,
    winds_like_yours,
)
from shared.errors import EngineError

NAN = math.nan


# Quantiles and intervals


def test_wilson_agrees_with_the_exact_interval_with_many_tries() -> None:
    score = wilson_interval([3000], [10000], confidence=0.9)
    exact = special.betaincinv(3001.0, 7001.0, [0.05, 0.95])
    assert (score.low[0], score.high[0]) == pytest.approx(tuple(exact), abs=5e-5)


def test_wilson_interval_without_a_try_is_everything() -> None:
    found = wilson_interval([0.0, 2.5], [0.0, 2.5])
    np.testing.assert_array_equal(found.low[0], 0.0)
    np.testing.assert_array_equal(found.high, [1.0, 1.0])
    assert found.centre[0] == pytest.approx(0.5)
    z = two_sided_z(0.9)
    assert found.low[1] == pytest.approx(2.5 / (2.5 + z * z))


@given(tries=st.floats(0, 1e6), share=st.floats(0, 1), confidence=st.floats(0.01, 0.999))
def test_wilson_interval_holds_its_rate(tries: float, share: float, confidence: float) -> None:
    found = wilson_interval(share * tries, tries, confidence=confidence)
    assert 0 <= found.low <= found.centre <= found.high <= 1
    if tries > 1e-3:
        assert found.low <= share + 1e-9
        assert found.high >= share - 1e-9


def test_every_interval_is_of_90_percent_unless_told_otherwise() -> None:
    assert wilson_interval(2, 7).confidence == 0.9
    z = stats.norm.ppf(0.95)
    assert wilson_interval(0, 7).high == pytest.approx(z * z / (7 + z * z))


# Misses


def plain_sums(points: np.ndarray) -> MissSums:
    along, across = points.T
    return MissSums(
        len(points),
        len(points),
        float(along.sum()),
        float(across.sum()),
        float(along @ along),
        float(across @ across),
        float(along @ across),
    )


def test_miss_summary_is_the_mean_and_covariance() -> None:
    points = np.random.default_rng(3).multivariate_normal([4, -1.5], [[9, 2], [2, 4]], 37)
    found = miss_summary(plain_sums(points))
    assert found is not None and found.covariance_m2 is not None
    assert (found.along_m, found.across_m) == pytest.approx(tuple(points.mean(axis=0)))
    expected = np.cov(points.T)
    np.testing.assert_allclose(found.covariance_m2, expected, rtol=1e-10)
    assert found.spread_m == pytest.approx(math.sqrt(np.trace(expected) / 2))
    assert (found.weight, found.results) == (37, pytest.approx(37))


def test_weighted_miss_summary_is_unbiased_as_numpys() -> None:
    rng = np.random.default_rng(8)
    points, weights = rng.normal([1, 6], [2, 3], (25, 2)), rng.uniform(0.1, 1, 25)
    along, across = points.T
    sums = MissSums(
        *(float(np.sum(part)) for part in (weights, weights**2)),
        *(float(weights @ part) for part in (along, across, along**2, across**2, along * across)),
    )
    found = miss_summary(sums)
    assert found is not None and found.covariance_m2 is not None
    np.testing.assert_allclose(found.covariance_m2, np.cov(points.T, aweights=weights), rtol=1e-10)
    assert found.results == pytest.approx(weights.sum() ** 2 / np.sum(weights**2))


def test_miss_summary_with_none_one_and_equal_misses() -> None:
    assert miss_summary(plain_sums(np.empty((0, 2)))) is None
    one = miss_summary(plain_sums(np.array([[2.0, -5.0]])))
    assert one is not None
    assert (one.along_m, one.across_m, one.spread_m) == (2, -5, None)
    same = miss_summary(plain_sums(np.full((7, 2), [0.1, 0.7])))
    assert same is not None
    assert same.spread_m == pytest.approx(0, abs=1e-7)
    nowhere = miss_summary(plain_sums(np.zeros((4, 2))))
    assert nowhere is not None and nowhere.spread_m == 0


def test_two_misses_have_a_spread() -> None:
    """1 and 3 along, -2 and 5 across: variances 2 and 24.5."""
    found = miss_summary(plain_sums(np.array([[1.0, -2.0], [3.0, 5.0]])))
    assert found is not None and found.spread_m == pytest.approx(math.sqrt(26.5 / 2))


@pytest.mark.parametrize("count", [3, 7, 11, 23])
def test_rounding_of_far_misses_is_no_contradiction(count: int) -> None:
    """Equal misses of hundreds of kilometres, whose squares cancel only to what a float holds."""
    found = miss_summary(plain_sums(np.full((count, 2), [333_333.3, 777_777.7])))
    assert found is not None and found.spread_m is not None and found.spread_m < 100


def test_sums_that_cannot_belong_together_are_refused() -> None:
    good = plain_sums(np.array([[1.0, 2.0], [3.0, -4.0], [6.0, 0.5]]))
    for field, wrong in (
        ("along2_m2", 1.0),
        ("product_m2", 1e3),
        ("across_m", NAN),
        ("weight", -1.0),
        ("squared_weight", 12.0),
        ("squared_weight", 0.0),
    ):
        with pytest.raises(EngineError):
            miss_summary(replace(good, **{field: wrong}))


# Winds like yours


def cells() -> WindCells:
    return WindCells(
        along_mps=np.array([0.0, 1.5, -4.0]),
        across_mps=np.array([2.0, 2.5, 7.0]),
        same_grade=np.array([True, False, True]),
        tries=np.array([5, 9, 14]),
        holed=np.array([2, 1, 6]),
        measured=np.array([3, 8, 8]),
        sum_along_m=np.array([4.0, -3.0, 11.0]),
        sum_across_m=np.array([1.0, 6.0, -2.0]),
        sum_along2_m2=np.array([10.0, 25.0, 40.0]),
        sum_across2_m2=np.array([6.0, 30.0, 12.0]),
        sum_product_m2=np.array([2.0, -4.0, 3.0]),
    )


def test_a_cell_counts_by_its_distance_and_grade() -> None:
    found = winds_like_yours(cells(), along_mps=0.5, across_mps=1.0, width_mps=2.0)
    weight = np.exp(-np.array([1.25, 3.25, 56.25]) / 8) * [1, OTHER_GRADE_WEIGHT, 1]
    assert found.tries == pytest.approx(weight @ [5, 9, 14])
    assert found.holed == pytest.approx(weight @ [2, 1, 6])
    assert found.misses.weight == pytest.approx(weight @ [3, 8, 8])
    assert found.misses.squared_weight == pytest.approx(weight**2 @ [3, 8, 8])
    assert found.misses.along_m == pytest.approx(weight @ [4, -3, 11])
    assert found.misses.across_m == pytest.approx(weight @ [1, 6, -2])
    assert found.misses.along2_m2 == pytest.approx(weight @ [10, 25, 40])
    assert found.misses.across2_m2 == pytest.approx(weight @ [6, 30, 12])
    assert found.misses.product_m2 == pytest.approx(weight @ [2, -4, 3])
    assert found.width_mps == 2.0


def test_the_stated_width_counts_as_its_text_says() -> None:
    alone = replace(
        cells(),
        along_mps=np.array([1.0, 1.0, 1.0]),
        across_mps=2 + np.array([1, 2, 3]) * WIND_WIDTH_MPS,
        same_grade=np.array([True, True, True]),
        tries=np.array([100, 0, 0]),
        holed=np.zeros(3),
        measured=np.zeros(3),
    )
    shares = [
        winds_like_yours(
            replace(alone, tries=np.roll([100, 0, 0], i)), along_mps=1.0, across_mps=2.0
        ).tries
        for i in range(3)
    ]
    assert shares == pytest.approx([61, 14, 1], abs=0.6)
    assert pytest.approx(4 * 0.44704) == WIND_WIDTH_MPS


def test_a_very_wide_kernel_is_the_plain_sum() -> None:
    same = replace(cells(), same_grade=np.array([True, True, True]))
    found = winds_like_yours(same, along_mps=9.0, across_mps=-3.0, width_mps=1e9)
    assert (found.tries, found.holed) == pytest.approx((28, 9))
    summary = miss_summary(found.misses)
    assert summary is not None
    assert (summary.along_m, summary.across_m) == pytest.approx((12 / 19, 5 / 19))
    assert summary.results == pytest.approx(19)


def test_far_winds_and_no_cells_are_no_results() -> None:
    far = winds_like_yours(cells(), along_mps=60.0, across_mps=0.0)
    assert (far.tries, far.holed) == (0, 0)
    assert miss_summary(far.misses) is None
    none = winds_like_yours(WindCells(*[np.empty(0)] * 11), along_mps=1.0, across_mps=2.0)
    assert (none.tries, none.holed, none.misses) == (0, 0, MissSums(0, 0, 0, 0, 0, 0, 0))


def test_squares_of_misses_below_a_metre_are_counted() -> None:
    small = replace(cells(), sum_along2_m2=[0.2, 0.5, 0.3], sum_across2_m2=[0.7, 0.1, 0.4])
    found = winds_like_yours(small, along_mps=0.5, across_mps=1.0, width_mps=1e9)
    assert found.misses.along2_m2 == pytest.approx(0.2 + 0.5 * OTHER_GRADE_WEIGHT + 0.3)
    assert found.misses.across2_m2 == pytest.approx(0.7 + 0.1 * OTHER_GRADE_WEIGHT + 0.4)


# The same by member


def member_cells() -> MemberCells:
    return MemberCells(
        member=np.array([2, 0, 2, 0]),
        along_mps=np.array([0.0, 1.5, -4.0, NAN]),
        across_mps=np.array([2.0, 2.5, 7.0, NAN]),
        same_grade=np.array([True, False, True, False]),
        tries=np.array([5, 9, 14, 6]),
        holed=np.array([2, 1, 6, 4]),
    )


def test_members_count_as_their_cells_do() -> None:
    found = members_like_yours(member_cells(), along_mps=0.5, across_mps=1.0, width_mps=2.0)
    near = np.exp(-np.array([1.25, 3.25, 56.25]) / 8) * [1, OTHER_GRADE_WEIGHT, 1]
    unknown = UNKNOWN_WIND_WEIGHT * OTHER_GRADE_WEIGHT
    assert (UNKNOWN_WIND_WEIGHT, OTHER_GRADE_WEIGHT) == (0.3, 0.5)
    tries = [near[1] * 9 + unknown * 6, 0, near[0] * 5 + near[2] * 14]
    holed = [near[1] * 1 + unknown * 4, 0, near[0] * 2 + near[2] * 6]
    np.testing.assert_allclose(np.asarray(found.tries), tries)
    np.testing.assert_allclose(np.asarray(found.holed), holed)
    known = winds_like_yours(cells(), along_mps=0.5, across_mps=1.0, width_mps=2.0)
    assert np.sum(np.asarray(found.tries)) - unknown * 6 == pytest.approx(known.tries)


def test_no_cells_are_no_members() -> None:
    found = members_like_yours(MemberCells(*[np.empty(0)] * 6), along_mps=1.0, across_mps=2.0)
    assert (np.size(found.tries), np.size(found.holed)) == (0, 0)


@pytest.mark.parametrize(
    ("field", "wrong", "words"),
    [
        ("tries", [5, 9, 14], "must pair up"),
        ("tries", [], "must hold at least one number"),
        ("member", [], "every column"),
        ("member", [2, 0, 2], "every column"),
        ("along_mps", [[0, 1, 2, 3]], "every column"),
        ("same_grade", [True, False, True], "every column"),
        ("member", [2, -1, 2, 0], "members must be whole"),
        ("member", [2.0, 1.0, 2.0, 0.0], "members must be whole"),
        ("same_grade", [1, 0, 1, 1], "same grade must be true or false"),
        ("holed", [6, 1, 6, 4], "no more can be holed"),
    ],
)
def test_bad_member_cells_are_named(field: str, wrong: list, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        members_like_yours(replace(member_cells(), **{field: wrong}), along_mps=0.0, across_mps=0.0)


@pytest.mark.parametrize(
    ("field", "wrong", "words"),
    [
        ("tries", [5, 9], "every column"),
        ("tries", [], "tries must hold at least one number"),
        ("along_mps", [], "the wind along must hold at least one number"),
        ("holed", [2, 1, 15], "no more can be holed"),
        ("tries", [1, 9, 14], "no more can be holed"),
        ("measured", [6, 8, 8], "no more can be holed or measured"),
        ("holed", [2, -1, 6], "holed must be at least 0, not -1"),
        ("along_mps", [0, NAN, 1], "the wind along must be finite"),
        ("sum_along_m", ["x", 1, 2], "the sums along must be numbers"),
        ("same_grade", [1, 0, 1], "same grade must be true or false"),
    ],
)
def test_bad_cells_are_named(field: str, wrong: list, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        winds_like_yours(replace(cells(), **{field: wrong}), along_mps=0.0, across_mps=0.0)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda: wilson_interval([3, 5], [4, 4]), "no more can be holed than were tried"),
        (lambda: wilson_interval([-1], [4]), "holed must be at least 0, not -1"),
        (lambda: wilson_interval([], []), "holed must hold at least one number"),
        (lambda: wilson_interval([1, 2, 3], [4, 4]), "must pair up"),
        (lambda: wilson_interval([1], [4], confidence=1.0), "confidence must be between"),
        (lambda: wilson_interval([NAN], [4]), "holed must be finite"),
        (lambda: tries_to_tell_apart(0.3, 0.3), "equal rates cannot be told apart"),
        (lambda: tries_to_tell_apart(0.3, 1.2), "a rate must be from 0 to 1"),
        (lambda: tries_to_tell_apart(0.3, 0.2, power=0.09), "power must be between"),
        (
            lambda: winds_like_yours(cells(), along_mps=0, across_mps=1, width_mps=0),
            "the width must be more than zero",
        ),
        (lambda: winds_like_yours(cells(), along_mps=NAN, across_mps=1), "the wind must"),
    ],
)
def test_bad_input_is_refused_in_words(ask, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        ask()
