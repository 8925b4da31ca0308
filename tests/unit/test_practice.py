"""What to test next: the plan's worth, how near it is to the best plan, and what it beats."""

from itertools import product

import numpy as np
import pytest
from scipy import integrate, special, stats

from engine.group_rates import MemberTries, learn_group, line_rates
from engine.practice import (
    RATE_NODES,
    Allocation,
    HoleLines,
    PracticeHole,
    PracticePlan,
    beta_nodes,
    plan_practice,
    practice_holes,
    tries_to_separate,
)
from shared.errors import EngineError
from tests.bench.practice import WORLDS, compare


def worth(a: np.ndarray, b: np.ndarray, tries: tuple[int, ...]) -> float:
    """Expected best rate after the tries, by listing every outcome of every variant."""
    after, chance = np.zeros([n + 1 for n in tries]), np.ones(())
    for axis, n in enumerate(tries):
        shape = [1] * len(tries)
        shape[axis] = n + 1
        rate = (a[axis] + np.arange(n + 1)) / (a[axis] + b[axis] + n)
        after = np.maximum(after, rate.reshape(shape))
        chance = np.multiply.outer(
            chance, stats.betabinom.pmf(np.arange(n + 1), n, a[axis], b[axis])
        )
    return float(np.sum(after * chance))


def tries_of(plan, hole: str, variants: int) -> tuple[int, ...]:
    tries = [0] * variants
    for part in plan.allocations:
        if part.hole == hole:
            tries[part.variant] = part.tries
    return tuple(tries)


def draw(rng: np.random.Generator) -> list[tuple[np.ndarray, np.ndarray]]:
    return [(rng.uniform(0.5, 6, k), rng.uniform(1, 15, k)) for k in (2, 3)]


def test_one_try_by_hand() -> None:
    """Beta(1, 1) against a sure .4: holed .5 -> 2/3, missed -> 1/3 < .4; gain 8/15 - 1/2."""
    known = PracticeHole("4", [400_000.0, 1.0], [600_000.0, 1.0], plays=3)
    plan = plan_practice([known], 1)
    assert plan.allocations[0].variant == 1
    assert plan.gain == pytest.approx(3 * (0.5 * 2 / 3 + 0.5 * 0.4 - 0.5))
    assert (plan.allocations[0].tries, plan.unspent) == (1, 0)


def test_gain_is_the_expectation_over_every_outcome() -> None:
    rng = np.random.default_rng(21)
    for entries in (2, 5, 11):
        one, two = draw(rng)
        plan = plan_practice([PracticeHole("a", *one), PracticeHole("b", *two, plays=2.5)], entries)
        expected = (worth(*one, tries_of(plan, "a", 2)) - worth(*one, (0, 0))) + 2.5 * (
            worth(*two, tries_of(plan, "b", 3)) - worth(*two, (0, 0, 0))
        )
        assert plan.gain == pytest.approx(expected, abs=1e-12)
        assert sum(part.gain for part in plan.allocations) == pytest.approx(plan.gain)
        assert sum(part.tries for part in plan.allocations) == entries


def test_greedy_reaches_nearly_the_best_plan_there_is() -> None:
    """All plans of 6 entries over five variants tried; measured .99 of the best over 80 draws."""
    rng, reached, best = np.random.default_rng(0), 0.0, 0.0
    for _ in range(30):
        holes = draw(rng)
        start = sum(worth(*hole, (0,) * hole[0].size) for hole in holes)
        first = {n: worth(*holes[0], n) for n in product(range(7), repeat=2) if sum(n) <= 6}
        second = {n: worth(*holes[1], n) for n in product(range(7), repeat=3) if sum(n) <= 6}
        best += max(first[n] + second[m] for n, m in product(first, second) if sum(n) + sum(m) == 6)
        best -= start
        named = [PracticeHole(name, *hole) for name, hole in zip("ab", holes, strict=True)]
        reached += plan_practice(named, 6).gain
    assert 0.97 * best < reached <= best + 1e-12


def test_what_is_promised_is_what_happens_on_average() -> None:
    """Rates drawn from the posteriors themselves, tries played, the best then chosen."""
    a, b = np.array([3.0, 1.5, 6.0]), np.array([9.0, 3.5, 15.0])
    plan = plan_practice([PracticeHole("7", a, b)], 14)
    tries = np.array(tries_of(plan, "7", 3))
    rng = np.random.default_rng(5)
    truth = rng.beta(a, b, (60_000, 3))
    holed = rng.binomial(tries, truth)
    chosen = np.argmax((a + holed) / (a + b + tries), axis=1)
    gained = truth[np.arange(len(truth)), chosen] - truth[:, np.argmax(a / (a + b))]
    error = np.std(gained) / np.sqrt(len(gained))
    assert abs(np.mean(gained) - plan.gain) < 4 * error
    assert np.mean(gained) > 10 * error


def test_entries_go_where_they_can_change_the_choice() -> None:
    settled = PracticeHole("1", [300.0, 20.0], [200.0, 400.0])
    open_ = PracticeHole("2", [3.0, 1.0], [7.0, 2.0])
    plan = plan_practice([settled, open_], 8)
    assert {part.hole for part in plan.allocations} == {"2"}
    assert plan.gain > 0.01


def test_a_hole_played_more_often_takes_the_entries() -> None:
    rates = ([2.0, 1.0], [6.0, 3.0])
    plan = plan_practice([PracticeHole("1", *rates), PracticeHole("2", *rates, plays=50)], 4)
    assert {part.hole for part in plan.allocations} == {"2"}
    first = plan.allocations[0]
    assert first == Allocation("2", 1, 3, first.gain)
    assert first.gain == pytest.approx(50 * 3 / 56)  # three tries of Beta(1, 3) against 1/4


def test_a_test_longer_than_the_entries_is_begun_with_no_gain_promised() -> None:
    """30 of 100 against 9 of 50: two tries cannot change the choice, forty can."""
    hole = PracticeHole("3", [30.0, 9.0], [70.0, 41.0])
    plan = plan_practice([hole], 2)
    assert (plan.gain, plan.unspent) == (0, 0)
    assert sum(part.tries for part in plan.allocations) == 2
    assert plan_practice([hole], 40).gain > 1e-5


def test_no_test_longer_than_fifty_more_tries_is_begun() -> None:
    """10 of 50 against 1,000 of 10,150: only 52 misses or more would put the second first."""
    hole = PracticeHole("3", [10.0, 1e7], [40.0, 9.15e7])
    assert 10 / 101 > 1 / 10.15 > 10 / 102
    assert plan_practice([hole], 1) == PracticePlan((), 0.0, 1)
    assert plan_practice([hole], 2).allocations == (Allocation("3", 0, 2, 0.0),)


def test_nothing_to_choose_leaves_the_entries() -> None:
    plan = plan_practice([PracticeHole("5", [2.0], [3.0]), PracticeHole("6", 4.0, 1.0)], 5)
    assert (plan.allocations, plan.gain, plan.unspent) == ((), 0, 5)
    assert plan_practice([PracticeHole("5", [2.0, 3.0], [3.0, 8.0])], 0).allocations == ()


def test_the_rule_adds_about_what_it_promises() -> None:
    """24 groups whose lines are of two kinds and whose members differ; the bench has more."""
    (world,) = (each for each in WORLDS if "two kinds" in each.name)
    got = compare(range(300, 324), world, rounds=[12])
    assert got.untested < got.rule < got.known
    assert got.equal < got.rule
    assert abs(got.gained - got.promised) < 3 * got.gained_error


# What the plan is given


def test_a_hole_is_believed_as_its_lines_are() -> None:
    lines = [MemberTries([3, 0], [5, 4]), MemberTries([2], [3]), MemberTries([], [])]
    others = [MemberTries([1, 4], [9, 9]), MemberTries([0], [7])]
    group = learn_group([*lines, *others])
    holes = practice_holes([HoleLines("4", lines, plays=2.5), HoleLines("5", others)], group)
    assert [(hole.hole, hole.plays) for hole in holes] == [("4", 2.5), ("5", 1.0)]
    a, b = np.asarray(holes[0].a), np.asarray(holes[0].b)
    found = line_rates(lines, group)
    np.testing.assert_allclose(a / (a + b), found.mean)
    variance = a * b / (a + b) ** 2 / (a + b + 1)
    given = found.theta @ special.expit(np.linspace(-6, 6, 121))
    around = given - given.mean(axis=1, keepdims=True)
    shared = found.weight @ given**2 - found.mean**2
    own = found.weight @ around**2 - (found.weight @ around) ** 2
    np.testing.assert_allclose(variance, found.variance - shared + own, rtol=1e-9)
    assert variance[2] > variance[0]


def test_nothing_tried_promises_less_than_the_first_results_would_show() -> None:
    """12 entries over nine holes of four untried lines each; .79 was promised once."""
    holes = [HoleLines(str(n), [MemberTries([], [])] * 4) for n in range(9)]
    group = learn_group([])
    promised = plan_practice(practice_holes(holes, group), 12, correlation=group.correlation).gain
    assert 0.1 < promised < 0.35


def test_an_untried_line_is_one_of_the_groups_lines() -> None:
    """Where the group's lines all hole about a tenth, an untried one is no hope of a half."""
    tried = [MemberTries([1, 1, 1, 0], [8, 8, 8, 8])] * 20
    group = learn_group(tried)
    (hole,) = practice_holes([HoleLines("1", [tried[0], MemberTries([], [])])], group)
    a, b = np.asarray(hole.a), np.asarray(hole.b)
    np.testing.assert_allclose(a / (a + b), 0.1, atol=0.015)


@pytest.mark.parametrize(("a", "b"), [(0.1, 0.1), (0.5, 0.5), (2.5, 7.0), (1.0, 1.0), (0.3, 40.0)])
def test_nodes_are_those_of_gauss_and_jacobi(a: float, b: float) -> None:
    rate, weight = beta_nodes(np.array([a]), np.array([b]))
    nodes, weights = special.roots_jacobi(RATE_NODES, b - 1, a - 1)
    np.testing.assert_allclose(rate[0], (1 + nodes) / 2, atol=1e-13)
    np.testing.assert_allclose(weight[0], weights / weights.sum(), atol=1e-12)


def test_nodes_of_a_rate_that_is_nearly_known() -> None:
    rate, weight = beta_nodes(np.array([4e5]), np.array([6e5]))
    assert weight @ rate.T == pytest.approx(0.4, abs=1e-12)
    assert weight @ (rate.T - 0.4) ** 2 == pytest.approx(0.24 / 1_000_001, rel=1e-3)


def test_tries_of_one_member_count_as_theirs() -> None:
    """One line against a sure .3: y of n is beta-binomial around theta, theta ~ Beta(2, 5)."""
    a, b, rho, tries = 2.0, 5.0, 0.2, 6
    hole = PracticeHole("8", [a, 3e8], [b, 7e8])
    plan = plan_practice([hole], tries, correlation=rho)
    assert tries_of(plan, "8", 2) == (tries, 0)
    k = 1 / rho - 1
    expected = 0.0
    for holed in range(tries + 1):

        def joint(theta: float, power: int, holed: int = holed) -> float:
            seen = stats.betabinom.pmf(holed, tries, theta * k, (1 - theta) * k)
            return float(stats.beta.pdf(theta, a, b) * seen * theta**power)

        chance, first = (
            integrate.quad(joint, 0, 1, args=(power,), epsabs=1e-12)[0] for power in (0, 1)
        )
        expected += max(first, 0.3 * chance)
    assert plan.gain == pytest.approx(expected - 0.3, abs=1e-9)
    assert plan.gain < 0.85 * plan_practice([hole], tries).gain


@pytest.mark.parametrize("correlation", [0.0, 0.3])
def test_two_hundred_entries_stay_within_what_can_be_gained(correlation: float) -> None:
    """The best of two is at most E max(theta), which tries only approach."""
    a, b = np.array([0.2, 5.0]), np.array([9.0, 45.0])
    plan = plan_practice([PracticeHole("1", a, b)], 200, correlation=correlation)
    rng = np.random.default_rng(4)
    most = np.mean(np.max(rng.beta(a, b, (400_000, 2)), axis=1)) - 0.1
    assert 0.1 * most < plan.gain < most
    assert (plan.gain > 0.8 * most) == (correlation == 0)


def test_of_tests_worth_the_same_the_shorter_is_taken() -> None:
    hole = PracticeHole("1", [1.0, 4e8], [1.0, 6e8])
    plan = plan_practice([hole], 1)
    assert (plan.allocations[0].variant, plan.allocations[0].tries) == (0, 1)


def test_tries_to_separate_rounds_up() -> None:
    found = tries_to_separate(0.35, 0.2, power=0.9, confidence=0.9)
    assert found.tries_each == int(found.tries_exact) + 1
    assert found.effect == pytest.approx(abs(2 * np.arcsin(0.35**0.5) - 2 * np.arcsin(0.2**0.5)))
    assert found.tries_exact == pytest.approx(2 * ((1.6449 + 1.2816) / found.effect) ** 2, rel=1e-4)


@pytest.mark.parametrize(
    ("holes", "entries", "words"),
    [
        ([], 3, "at least one hole"),
        ([PracticeHole("1", [2, 1], [3, 4])] * 2, 3, "each hole must be given once"),
        ([PracticeHole("1", [2, 1], [3, 4])], -1, "entries must be from 0 to 200, not -1"),
        ([PracticeHole("1", [2, 1], [3, 4])], 2.5, "entries must be a whole number"),
        ([PracticeHole("1", [2, 1], [3, 4])], 201, "entries must be from 0 to 200"),
        ([PracticeHole("1", [2, 1], [3, 4])], float("nan"), "entries must be finite"),
        ([PracticeHole("1", [], [])], 3, "must hold at least one number"),
        ([PracticeHole("1", [2, -1], [3, 4])], 3, "a of a beta distribution must be from"),
        ([PracticeHole("1", [[2, 1]], [[3, 4]])], 3, "one list of rates"),
        ([PracticeHole("1", [2, 1], [3, 4], plays=-2)], 3, "plays must be at least 0"),
    ],
)
def test_bad_input_is_refused_in_words(holes, entries, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        plan_practice(holes, entries)


@pytest.mark.parametrize("correlation", [-0.1, 0.95, float("nan")])
def test_a_correlation_out_of_range_is_refused(correlation: float) -> None:
    with pytest.raises(EngineError, match="the correlation must be"):
        plan_practice([PracticeHole("1", [2, 1], [3, 4])], 3, correlation=correlation)


def test_equal_rates_cannot_be_separated() -> None:
    with pytest.raises(EngineError, match="equal rates"):
        tries_to_separate(0.4, 0.4)
