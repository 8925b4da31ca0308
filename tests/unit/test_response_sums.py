"""Sums of features and effects: one result by hand, rows as they are stored, proportions."""

import numpy as np
import pytest

from engine.response import full_pass
from engine.response_features import ACROSS, ALONG, Features
from engine.response_sums import (
    COLUMNS,
    COUNTS,
    KINDS,
    LENGTHS,
    SHARE_SHOTS,
    Results,
    Sums,
    hole_out_information,
    missed_row,
    on_weight_grid,
    set_aside_row,
    shot_rows,
    squares,
)
from engine.response_tree import GradeTree
from engine.robust import CLEAN_SCALE
from shared.errors import EngineError
from tests.unit.response_shots import plain_tree, results, shots


def numbered() -> Features:
    """One shot whose features are 1, 2, 3, ... along and -1, -2, ... across."""
    return Features(np.arange(1.0, 13.0)[None], -np.arange(1.0, 9.0)[None])


def test_sums_of_one_result_by_hand() -> None:
    row = shot_rows(results([0], numbered(), np.array([[20.5, -9.25]])), [0.5])[0]
    assert len(row) == COLUMNS == 4 + 13 * 14 // 2 + 9 * 10 // 2
    assert row[:COUNTS].tolist() == [1.0, 0.0, 0.5, 0.25]
    along, across = squares(row[None])
    z = np.append(np.arange(1.0, 13.0), 20.5)
    np.testing.assert_allclose(along[0], 0.5 * np.outer(z, z))
    z = np.append(-np.arange(1.0, 9.0), -9.25)
    np.testing.assert_allclose(across[0], 0.5 * np.outer(z, z))
    assert along.shape == (1, len(ALONG) + 1, 13) and across.shape == (1, len(ACROSS) + 1, 9)


def test_a_result_set_aside_is_only_counted() -> None:
    row = shot_rows(results([0], numbered(), np.array([[20.5, -9.25]])), [0.0])[0]
    assert row[:COUNTS].tolist() == [0.0, 1.0, 0.0, 0.0] and not row[COUNTS:].any()
    assert set_aside_row() == tuple(row.tolist())


def test_rows_kept_one_by_one_are_the_sums_of_all() -> None:
    rng = np.random.default_rng(41)
    phi = shots(rng, 60)
    played = Results(rng.integers(0, 5, 60), phi, rng.normal(0, 5, (60, 2)), rng.random(60) < 0.4)
    weight = rng.uniform(0, 1.5, 60)
    rows: dict[tuple[int, str], np.ndarray] = {}
    each = shot_rows(played, weight)
    for i in range(60):
        key = int(played.grade[i]), "holed" if played.holed[i] else "measured"
        rows[key] = rows.get(key, np.zeros(COLUMNS)) + each[i]
    rows[3, "missed"] = np.array(missed_row(short=True, long=False, left=False, right=True))
    found = Sums.from_rows({key: row.tolist() for key, row in rows.items()}, grades=5)
    whole = Sums.of(played, weight, grades=5)
    np.testing.assert_array_equal(found.measured, whole.measured)
    np.testing.assert_array_equal(found.holed, whole.holed)
    assert found.missed.tolist()[3] == [1.0, 1.0, 0.0, 0.0, 1.0]
    assert not np.delete(found.missed, 3, axis=0).any()
    assert tuple(KINDS) == ("measured", "holed", "missed") and LENGTHS == (COLUMNS, COLUMNS, 5)


def counted(measured: list[float], aside: list[float], missed: list[float]) -> Sums:
    """Sums that hold counts alone, and two hole-outs of weight 1.5 in each grade."""
    grades = len(measured)
    first, second = np.zeros((grades, COLUMNS)), np.zeros((grades, COLUMNS))
    first[:, 0], first[:, 1] = measured, aside
    second[:, 0], second[:, 1], second[:, 2] = 2.0, 1.0, 3.0
    third = np.zeros((grades, 5))
    third[:, 0] = missed
    return Sums(first, second, third)


def test_the_share_of_measured_misses_is_a_grades_own_drawn_to_its_groups() -> None:
    tree = GradeTree.from_labels(group=[0, 0, 1], family=[0, 0, 0], club=["a", "b", "a"])
    sums = counted([9.0, 0.0, 0.0], [3.0, 0.0, 0.0], [4.0, 8.0, 0.0])
    share = sums.measured_share(tree)
    shared = 12 / 25  # of sixteen and eight misses, and one that went unmeasured at the start
    assert share[0] == pytest.approx((12 + SHARE_SHOTS * shared) / (16 + SHARE_SHOTS))
    assert share[1] == pytest.approx(SHARE_SHOTS * shared / (8 + SHARE_SHOTS))
    assert share[2] == 0.0
    joined = sums.joined(tree)
    part = share * hole_out_information(sums.goes_in(tree))
    shots = np.array([9.0, 0.0, 0.0]) + 2.0 * part / CLEAN_SCALE**2
    np.testing.assert_allclose(joined[:, 0], shots)
    np.testing.assert_allclose(joined[:, 2], 3.0 * part)
    assert joined[:, 1].tolist() == [4.0, 1.0, 1.0]


def test_what_goes_in_is_a_grades_own_part_drawn_to_its_groups() -> None:
    """Set aside or not: what is surprising went in or missed all the same."""
    tree = GradeTree.from_labels(group=[0, 0, 1], family=[0, 0, 0], club=["a", "b", "a"])
    sums = counted([9.0, 0.0, 0.0], [3.0, 0.0, 0.0], [4.0, 8.0, 0.0])  # three hole-outs each
    shared = 6 / (6 + 24 + 1)  # and one that missed at the start
    told = [(3 + SHARE_SHOTS * shared) / (19 + SHARE_SHOTS)]
    told += [(3 + SHARE_SHOTS * shared) / (11 + SHARE_SHOTS)]
    told += [(3 + SHARE_SHOTS * 3 / 4) / (3 + SHARE_SHOTS)]
    assert sums.goes_in(tree).tolist() == pytest.approx(told)


def test_a_weight_below_nothing_is_refused() -> None:
    played = results([1], shots(np.random.default_rng(3), 1), np.array([[1.0, 2.0]]))
    with pytest.raises(EngineError, match="never negative"):
        Sums.of(played, [-0.5], grades=5)


def test_a_hole_out_tells_less_the_more_goes_in() -> None:
    """Beside the variance of centred misses within the hole, found by drawing them."""
    tree = GradeTree.from_labels(group=[0, 1, 2], family=[0, 0, 0], club=["a", "a", "a"])
    rng, spread = np.random.default_rng(5), 0.7
    misses = rng.normal(0.0, spread, (400_000, 2))
    away = np.hypot(*misses.T)
    for radius in (0.15, 0.6, 1.4, 2.1):
        inside = misses[away < radius]
        goes_in = len(inside) / len(misses)
        shots = 1e6  # so many that a group's start no longer counts
        sums = counted([shots * (1.0 - goes_in), 0.0, 5.0], [0.0] * 3, [0.0] * 3)
        sums.holed[:, 0], sums.holed[:, 1] = (shots * goes_in, 5.0, 0.0), 0.0
        told = hole_out_information(sums.goes_in(tree))
        assert told[0] == pytest.approx(1.0 - inside.var() / spread**2, abs=0.01)
        assert told[1] < 0.4  # five went in and none missed
        assert told[2] == 1.0


@pytest.mark.parametrize("radius_m", [0.4, 0.8, 1.2])
def test_the_spread_of_hits_is_found_however_many_go_in(radius_m: float) -> None:
    """Kept as misses of nothing, hole-outs of a wide hole made the spread .06 m instead of .5."""
    rng, tree = np.random.default_rng(8), plain_tree()
    phi = shots(rng, 400)
    miss = rng.normal(0.0, (0.5, 0.5), (400, 2))
    holed = np.hypot(*miss.T) < radius_m
    seen = np.column_stack((-phi.along[:, 0], -phi.across[:, 0])) * 1.1
    seen += np.where(holed[:, None], 0.0, miss)
    played = Results(rng.integers(0, 5, 400), phi, np.round(seen, 3), holed)
    found = full_pass(played, tree).posterior
    assert found.noise_m.mean() == pytest.approx(0.5, rel=0.25)


def test_a_group_that_measures_every_miss_counts_hole_outs_nearly_whole() -> None:
    sums = counted([50.0] * 5, [0.0] * 5, [0.0] * 5)
    assert sums.measured_share(plain_tree()) == pytest.approx([0.99945] * 5, abs=1e-4)


def test_taking_a_subset_keeps_the_order() -> None:
    phi = shots(np.random.default_rng(42), 4)
    played = Results(
        np.array([3, 1, 2, 0]), phi, np.arange(8.0).reshape(4, 2), np.array([True, False] * 2)
    )
    by_flag, by_place = (
        played.take(np.array([False, True, True, False])),
        played.take(np.array([2, 1])),
    )
    assert by_flag.grade.tolist() == [1, 2] and by_place.grade.tolist() == [2, 1]
    assert by_place.holed.tolist() == [True, False]
    assert by_place.observed_m.tolist() == [[4.0, 5.0], [2.0, 3.0]]
    np.testing.assert_array_equal(by_place.features.along, phi.along[[2, 1]])


def test_an_effect_beyond_a_kilometre_is_refused() -> None:
    assert len(results([0], numbered(), np.array([[-999.0, 999.0]]))) == 1
    for effect in ([[1001.0, 0.0]], [[0.0, -1001.0]]):
        with pytest.raises(EngineError, match="1000 m"):
            results([0], numbered(), np.array(effect))
    wild = Features(np.arange(1.0, 13.0)[None], np.full((1, 8), -1001.0))
    with pytest.raises(EngineError, match="1000 m"):
        results([0], wild, np.zeros((1, 2)))


def test_what_is_summed_lies_on_its_grid() -> None:
    """Weights in 1/256 and values in 1/128, so that a term needs 22 binary places at most."""
    weight = on_weight_grid(np.array([1 / 3, 1.4999, 0.0017]))
    assert (weight * 256).tolist() == [85.0, 384.0, 0.0]
    phi = Features(np.full((1, 12), 1 / 3), np.full((1, 8), -2 / 3))
    row = shot_rows(results([0], phi, np.array([[0.7, -0.3]])), [1 / 3])[0]
    along, across = (part[0] * 256 * 128**2 for part in squares(row[None]))
    assert along[0, 0] == 85 * 43 * 43 and along[0, -1] == 85 * 43 * 90
    assert across[0, 0] == 85 * 85 * 85 and across[0, -1] == 85 * 85 * 38


def test_rows_of_a_wrong_length_are_refused() -> None:
    with pytest.raises(EngineError):
        Sums.from_rows({(0, "missed"): [1.0] * 4}, grades=1)
    with pytest.raises(EngineError):
        Sums.from_rows({(0, "holed"): [1.0] * 5}, grades=1)
