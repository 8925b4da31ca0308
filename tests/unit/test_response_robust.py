"""No single result, and no handful of garbage, bends an answer beyond its margin."""

import numpy as np
import pytest

from engine import response as response_module
from engine.response import (
    full_pass,
    posterior_from_sums,
    predict,
    shot_weight,
)
from engine.response_features import Features, features
from engine.response_sums import Results, Sums
from engine.response_tree import GradeTree
from engine.robust import Floats
from tests.unit.response_shots import law_of, plain_tree, results, shots, situations


def answers(tree: GradeTree, sums: Sums) -> tuple[Floats, Floats]:
    """Effects and 90% margins of every grade in calm, winds from all sides, level and up."""
    wind, from_deg, height = (
        each.ravel() for each in np.meshgrid([0.0, 2.0, 5.0], [0.0, 60.0, 180.0, 290.0], [0.0, 7.0])
    )
    count = len(wind)
    long, right = law_of(wind, from_deg, np.full(count, 150.0))
    phi = features(
        situations(
            count,
            law_long_m=long,
            law_right_m=right,
            wind_mps=wind,
            from_deg=from_deg,
            height_m=height,
        )
    )
    grade = np.repeat(np.arange(tree.grades), count)
    repeated = phi.take(np.tile(np.arange(count), tree.grades))
    said = predict(posterior_from_sums(sums, tree).response(grade), repeated)
    return said.effect_m, said.half_m


def log_misses(tree: GradeTree, sums: Sums, miss_m: list[tuple[float, float]], wind: float) -> Sums:
    """The sums after tries of grade 2 aimed by what was known and missed by so much."""
    for miss in miss_m:
        long, right = law_of(np.array([wind]), np.array([40.0]), np.array([150.0]))
        one = features(
            situations(1, law_long_m=long, law_right_m=right, wind_mps=wind, from_deg=40.0)
        )
        posterior = posterior_from_sums(sums, tree)
        effect = predict(posterior.response([2]), one).effect_m + np.array([miss])
        shot = results([2], one, effect)
        sums = sums + Sums.of(shot, shot_weight(posterior, shot), grades=5)
    return sums


def good_shots(phi: Features) -> Results:
    """Shots of a game a tenth windier than the law, hit as well as people hit."""
    spread = np.random.default_rng(17).normal(0.0, 0.4, (len(phi), 2))
    return results(np.arange(len(phi)) % 5, phi, phi.law_effect_m * 1.1 + spread)


def known(tree: GradeTree, good: int, rng: np.random.Generator | None = None) -> Sums:
    """The sums after ``good`` such shots, weighed by a full pass."""
    phi = shots(rng or np.random.default_rng(11), good)
    return full_pass(good_shots(phi), tree).sums if good else Sums.zero(grades=5)


@pytest.mark.parametrize("good", [0, 40])
@pytest.mark.parametrize("wind", [0.0, 4.5])
@pytest.mark.parametrize("size", [1.0, 2.0, 4.0, 7.0, 12.0, 20.0, 45.0])
def test_one_logged_shot_bends_no_aim_beyond_its_margin(
    size: float, wind: float, good: int
) -> None:
    tree = plain_tree()
    start = known(tree, good, np.random.default_rng(10))
    effect, half = answers(tree, start)
    for way in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (-0.7, -0.7)):
        after, _ = answers(tree, log_misses(tree, start, [(way[0] * size, way[1] * size)], wind))
        assert (np.abs(after - effect) <= half).all()


@pytest.mark.parametrize("good", [0, 40])
@pytest.mark.parametrize("wind", [0.0, 4.5])
def test_seven_garbage_misses_bend_no_aim_beyond_its_margin(wind: float, good: int) -> None:
    """All alike, and in all directions; garbage is 20 m and more."""
    tree, rng = plain_tree(), np.random.default_rng(11)
    start = known(tree, good, rng)
    effect, half = answers(tree, start)
    turns = rng.uniform(0, 2 * np.pi, 7)
    mixed = [(30 * np.cos(turn), 30 * np.sin(turn)) for turn in turns]
    for misses in ([(-20.0, 0.0)] * 7, [(0.0, -25.0)] * 7, [(35.0, 35.0)] * 7, mixed):
        after, _ = answers(tree, log_misses(tree, start, misses, wind))
        assert (np.abs(after - effect) <= half).all()


@pytest.mark.parametrize("good", [0, 10, 40])
@pytest.mark.parametrize("wind", [0.0, 4.5])
@pytest.mark.parametrize("size", [1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 14.0])
def test_seven_misses_of_any_size_on_all_sides_bend_no_aim_beyond_its_margin(
    size: float, wind: float, good: int
) -> None:
    tree = plain_tree()
    start = known(tree, good)
    effect, half = answers(tree, start)
    for seed in (3, 4):
        turns = np.random.default_rng(seed).uniform(0.0, 2.0 * np.pi, 7)
        misses = [(size * np.cos(turn), size * np.sin(turn)) for turn in turns]
        after, _ = answers(tree, log_misses(tree, start, misses, wind))
        assert (np.abs(after - effect) <= half).all()


@pytest.mark.parametrize(("good", "size"), [(0, 17.0), (10, 7.0), (40, 2.0)])
def test_the_more_is_known_the_smaller_the_misses_that_are_set_aside(
    good: int, size: float
) -> None:
    """Seven alike within what is still possible are evidence of another game; beyond it, not."""
    tree = plain_tree()
    start = known(tree, good)
    effect, _ = answers(tree, start)
    for wind in (0.0, 4.5):
        for way in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (-0.7, -0.7)):
            misses = [(way[0] * size, way[1] * size)] * 7
            after, _ = answers(tree, log_misses(tree, start, misses, wind))
            assert after == pytest.approx(effect, abs=1e-9)
    near = [(1.0, 0.0)] * 7
    after, _ = answers(tree, log_misses(tree, start, near, 4.5))
    assert (after[:, 0] - effect[:, 0]).max() > 0.1


def test_where_most_go_in_a_miss_is_counted_from_the_hole() -> None:
    """By the part p that goes in: -2 s^2 ln(1 - p) off a miss, what is missing on a hole-out."""
    rng, tree = np.random.default_rng(21), plain_tree()
    phi = shots(rng, 300)
    miss = rng.normal(0.0, 0.5, (300, 2))
    holed = np.hypot(*miss.T) < 0.8
    seen = np.column_stack((-phi.along[:, 0], -phi.across[:, 0]))
    seen += np.where(holed[:, None], 0.0, miss)
    played = Results(np.full(300, 2), phi, np.round(seen, 3), holed)
    known = full_pass(played, tree).posterior
    part, s2 = known.goes_in[2], known.hit_sd_m[2] ** 2
    assert 0.6 < part < 0.8
    asked = phi.take(np.array([5, 5]))
    said = predict(known.response([2, 2]), asked)
    away = np.array([0.5, 0.4])
    new = Results(np.array([2, 2]), asked, said.effect_m + away, np.array([False, True]))
    variance = known.noise_m[2] ** 2 + said.sd_m[0] ** 2
    plain, hits = (away**2 / variance).sum(), (s2 / variance).sum()
    told = -np.log(1 - part) * (1 - part) / part
    distance2 = np.array([plain + np.log(1 - part) * hits, plain + (1 - told) * hits])
    expected = 6.0 / (4.0 + np.maximum(distance2, 0.0))
    found = shot_weight(known, new)
    assert (found <= expected + 1 / 256).all()  # and never more than MOST_BEND lets it
    assert found[0] > found[1]
    np.testing.assert_allclose(found, expected, atol=1 / 256)


def test_the_spread_a_test_had_goes_from_the_stated_one_to_the_groups() -> None:
    rng, tree = np.random.default_rng(22), plain_tree()
    phi = shots(rng, 120)
    seen = np.column_stack((-phi.along[:, 0], -phi.across[:, 0])) + rng.normal(0.0, 0.4, (120, 2))
    played = Results(rng.integers(0, 5, 120), phi, np.round(seen, 3), np.zeros(120, dtype=bool))
    known = full_pass(played, tree).posterior
    count, hits = known.shots[1, 3], known.hit_sd_m[1]
    stated = response_module.TESTED_SHOTS * response_module.TESTED_SPREAD_M**2
    expected = np.sqrt((stated + count * hits**2) / (response_module.TESTED_SHOTS + count))
    np.testing.assert_allclose(known.response([1]).tested_m[0], expected)
    nothing = posterior_from_sums(Sums.zero(grades=5), tree).response([1]).tested_m[0]
    np.testing.assert_allclose(nothing, response_module.TESTED_SPREAD_M)
