"""The one verdict: who is named best, by how much members differ, and what never leads."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.group_rates import (
    RATES,
    GroupRates,
    LineRates,
    MemberTries,
    learn_group,
    line_rates,
)
from engine.verdict import (
    Outcome,
    TriedLine,
    Verdict,
    chances_to_be_best,
    chances_to_be_near,
    hole_verdict,
)
from shared.errors import EngineError


def line(name: str, holed: int, tries: int, *, members: int = 1, retired: bool = False):
    """Tries shared out evenly, holed from the first member on."""
    made = np.diff(np.floor(np.linspace(0, holed, members + 1)))
    return TriedLine(name, MemberTries(made, np.full(members, tries / members)), retired)


def judged(*lines: TriedLine, group: GroupRates | None = None) -> Verdict:
    return hole_verdict(lines, group or learn_group([each.members for each in lines]))


def played(
    rng: np.random.Generator, rates: tuple[float, ...], *, members: int, each: int, sd: float
) -> list[TriedLine]:
    """Each line played by members of its own, who differ normally in log odds."""
    lines = []
    for name, rate in zip("ABCD", rates, strict=False):
        log_odds = np.log(rate / (1 - rate)) + sd * rng.normal(size=members)
        holed = rng.binomial(each, 1 / (1 + np.exp(-log_odds)))
        lines.append(TriedLine(name, MemberTries(holed, np.full(members, each))))
    return lines


def outcomes(rates: tuple[float, ...], *, runs: int, **how) -> Counter[tuple]:
    found: Counter[tuple] = Counter()
    for seed in range(runs):
        got = judged(*played(np.random.default_rng(seed), rates, **how))
        found[got.outcome, got.lines] += 1
    return found


def named_best(found: Counter[tuple], name: str | None = None) -> int:
    wanted = [(o, who) for o, who in found if o is Outcome.BEST and name in (None, *who)]
    return sum(found[each] for each in wanted)


@pytest.mark.parametrize(("members", "each"), [(2, 18), (4, 9), (6, 6), (12, 3)])
@pytest.mark.parametrize("rate", [0.3, 0.55])
def test_equal_lines_are_seldom_named_best(members: int, each: int, rate: float) -> None:
    """36 tries each, members with a logit spread of .8: in at most 10% of runs."""
    found = outcomes((rate, rate), runs=60, members=members, each=each, sd=0.8)
    assert named_best(found) <= 6


def test_the_keen_member_does_not_decide() -> None:
    """One member of each line logs most of its 36 tries, one line has a single member."""
    named = 0
    for seed in range(60):
        rng = np.random.default_rng([7, seed])
        lines = []
        for name, tries in (("A", [26, 5, 5]), ("B", [36])):
            log_odds = np.log(0.4 / 0.6) + 0.8 * rng.normal(size=len(tries))
            holed = rng.binomial(tries, 1 / (1 + np.exp(-log_odds)))
            lines.append(TriedLine(name, MemberTries(holed, tries)))
        named += judged(*lines).outcome is Outcome.BEST
    assert named <= 6


def test_a_line_that_is_better_is_found() -> None:
    found = outcomes((0.2, 0.55), runs=60, members=8, each=9, sd=0.8)
    assert named_best(found, "B") > 36
    assert named_best(found, "A") == 0


def test_near_equal_lines_are_called_equal() -> None:
    """.40 and .41 after 200 tries each, by members who hardly differ."""
    found = outcomes((0.40, 0.41), runs=40, members=10, each=20, sd=0.1)
    assert named_best(found) <= 4
    assert found[Outcome.EQUAL, ("A", "B")] > 24
    apart = outcomes((0.3, 0.5), runs=40, members=10, each=20, sd=0.1)
    assert found[Outcome.EQUAL, ("A", "B")] > 24 and apart[Outcome.EQUAL, ("A", "B")] <= 1
    assert named_best(apart, "B") > 30


def test_equal_beats_best_where_a_sure_difference_is_small() -> None:
    lines = line("A", 3000, 10000, members=100), line("B", 3300, 10000, members=100)
    found = judged(*lines)
    assert (found.outcome, found.lines) == (Outcome.EQUAL, ("A", "B"))
    assert found.rows[1].best is not None and found.rows[1].best > 0.95
    assert 0.5 < found.chance <= 1


@pytest.mark.parametrize(
    ("lines", "outcome", "names"),
    [
        ([line("A", 0, 4), line("B", 0, 0)], Outcome.NONE, ()),
        ([line("A", 0, 4)], Outcome.NONE, ()),
        ([line("A", 0, 0), line("B", 0, 0)], Outcome.NONE, ()),
        ([line("A", 1, 1), line("B", 0, 0)], Outcome.NONE, ()),
        ([line("A", 1, 1), line("B", 0, 12, members=6)], Outcome.LEADS, ("A",)),
        ([line("A", 2, 4)], Outcome.LEADS, ("A",)),
        ([line("A", 200, 200, members=50)], Outcome.LEADS, ("A",)),
        ([line("A", 90, 100, members=20, retired=True)], Outcome.NONE, ()),
        (
            [line("A", 90, 100, members=20, retired=True), line("B", 5, 20, members=5)],
            Outcome.LEADS,
            ("B",),
        ),
        ([line("A", 30, 60, members=12), line("B", 6, 60, members=12)], Outcome.BEST, ("A",)),
        ([line("B", 6, 60, members=12), line("A", 30, 60, members=12)], Outcome.BEST, ("A",)),
    ],
)
def test_what_is_said_of(lines: list[TriedLine], outcome: Outcome, names: tuple) -> None:
    found = judged(*lines)
    assert (found.outcome, found.lines) == (outcome, names)
    rows = {row.name: row for row in found.rows}
    assert found.chance == (rows[names[0]].best if names else 0)
    assert found.tries == sum(rows[each.name].tries for each in lines if not each.retired)


def test_a_retired_line_takes_no_chance_from_others() -> None:
    old = line("O", 55, 60, members=12, retired=True)
    lines = [line("A", 9, 30, members=6), line("B", 6, 30, members=5)]
    group = learn_group([each.members for each in lines])
    alone, beside = judged(*lines, group=group), judged(old, *lines, group=group)
    assert beside.rows[0].best is None
    assert beside.rows[0].rate > 0.7
    assert [row.best for row in beside.rows[1:]] == pytest.approx([r.best for r in alone.rows])


def test_rows_say_what_was_tried() -> None:
    lines = [
        TriedLine("B", MemberTries([2.5, 0, 1], [4, 0, 1.25])),
        TriedLine("A", MemberTries([], [])),
    ]
    group = learn_group([each.members for each in lines])
    first, second = judged(*lines, group=group).rows
    assert (first.name, first.holed, first.tries, first.members) == ("B", 3.5, 5.25, 2)
    assert (second.name, second.holed, second.tries, second.members) == ("A", 0, 0, 0)
    expected = line_rates([each.members for each in lines], group)
    assert (first.rate, second.rate) == pytest.approx(tuple(expected.mean))
    low, high = expected.interval(0.9)
    assert (first.low, second.high) == (low[0], high[1])
    assert first.best is not None and second.best is not None
    assert first.best + second.best == pytest.approx(1)


def test_the_chance_is_that_of_draws_from_the_posterior() -> None:
    lines = [MemberTries([3, 1], [6, 5]), MemberTries([9], [20]), MemberTries([0, 2], [1, 3])]
    found = line_rates(lines, learn_group(lines))
    rng, draws = np.random.default_rng(8), 60_000
    which = rng.choice(len(found.weight), draws, p=found.weight)
    cumulative = np.cumsum(found.theta, axis=-1)[which]
    place = np.sum(rng.random((draws, 3, 1)) > cumulative, axis=-1)
    theta = RATES[np.minimum(place, len(RATES) - 1)]
    theta = theta * (1 + 0.02 * rng.uniform(-1, 1, theta.shape))  # ties fall either way
    share = np.bincount(np.argmax(theta, axis=1), minlength=3) / draws
    np.testing.assert_allclose(chances_to_be_best(found), share, atol=0.008)
    near = np.mean(np.abs(theta - theta[:, [1]]) < 0.05, axis=0)
    np.testing.assert_allclose(chances_to_be_near(found, 1)[[0, 2]], near[[0, 2]], atol=0.01)


def test_half_of_a_shared_cell_counts_as_below() -> None:
    """A in one cell, B half in it and half in the next: A is best in half of the half they tie."""
    theta = np.zeros((1, 2, len(RATES)))
    theta[0, 0, 50], theta[0, 1, 50:52] = 1.0, 0.5
    np.testing.assert_allclose(chances_to_be_best(LineRates(np.ones(1), theta)), [0.25, 0.75])


def test_near_is_by_the_width_stated() -> None:
    """Two known rates .02 and .08 away from a third."""
    theta = np.zeros((1, 3, len(RATES)))
    places = [int(np.argmin(np.abs(RATES - rate))) for rate in (0.40, 0.42, 0.48)]
    for of, place in enumerate(places):
        theta[0, of, place] = 1.0
    near = chances_to_be_near(LineRates(np.ones(1), theta), 0)
    assert near[1] > 0.99 and near[2] < 0.01


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 12), st.integers(0, 12), st.booleans()), min_size=1, max_size=6
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_of_lines_changes_nothing(counts, random) -> None:
    lines = [
        TriedLine("ABCDEF"[i], MemberTries([min(a, b), 0], [b, 2]), retired)
        for i, (a, b, retired) in enumerate(counts)
    ]
    group = learn_group([each.members for each in lines])
    found = hole_verdict(lines, group)
    again = list(lines)
    random.shuffle(again)
    other = hole_verdict(again, group)
    rates = {row.name: row.rate for row in found.rows}
    if len(set(np.round(list(rates.values()), 9))) == len(rates):  # no tie for the first place
        assert other.outcome == found.outcome and set(other.lines) == set(found.lines)
    named = {row.name: row for row in found.rows}
    assert all(named[name].holed > 0 for name in found.lines[:1] if len(found.lines) == 1)
    assert not {each.name for each in lines if each.retired} & set(found.lines)
    chances = [row.best for row in found.rows if row.best is not None]
    assert not chances or sum(chances) == pytest.approx(1)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "at least one line"),
        ([line("A", 1, 3), line("A", 2, 3)], "each line must be given once"),
        ([TriedLine("A", MemberTries([3], [2]))], "no more can be holed"),
    ],
)
def test_bad_input_is_refused_in_words(lines, words: str) -> None:
    with pytest.raises(EngineError, match=words):
        hole_verdict(lines, learn_group([]))
