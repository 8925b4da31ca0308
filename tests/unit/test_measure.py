"""Measuring on purpose: the next shot is the D-optimal one, and a series finds a hidden gain."""

import dataclasses
from itertools import pairwise

import numpy as np
import pytest

from engine.gain import Posterior, full_pass, posterior_from_sums, standard_errors
from engine.gain_sums import GainSums, GradeTree, Results
from engine.measure import (
    SHARE_SD,
    Knowledge,
    Setups,
    begin,
    chart_points,
    margin_m,
    measure,
    next_shots,
)
from engine.robust import CLEAN_COST, Floats
from shared.errors import EngineError

SHARES = np.array([0.5, 0.7, 1.0])
TREE = GradeTree.from_labels(group=[0, 0], family=[0, 0], club=[0, 1])

# Winds a practice ground of an invented game offers: into, across, helping, at three shares.
OFFERED = Setups(
    np.array([0.5, 0.5, 0.7, 0.7, 1.0, 1.0, 1.0, 0.85]),
    np.array(
        [
            [-6.0, 0.0],
            [0.0, 5.0],
            [-9.0, 2.0],
            [5.0, -7.0],
            [-15.0, 0.0],
            [9.0, 3.0],
            [0.0, -11.0],
            [-4.0, 8.0],
        ]
    ),
)


@pytest.fixture(scope="module")
def nothing() -> Posterior:
    return posterior_from_sums(GainSums.zero(grades=2), TREE)


@pytest.fixture
def before(nothing: Posterior) -> Knowledge:
    return begin(nothing, grade=1, shares=SHARES)


def design_by_hand(share: float, effect: float) -> list[float]:
    if share <= 0.7:
        part = (share - 0.5) / 0.2
        return [(1 - part) * effect, part * effect, 0.0, 1.0]
    part = (share - 0.7) / 0.3
    return [0.0, (1 - part) * effect, part * effect, 1.0]


def log_det_after(before: Knowledge, shots: Setups, which: list[int]) -> float:
    """log det of the precision of all eight unknowns, the long way round."""
    total = 0.0
    for axis in range(2):
        precision = np.linalg.inv(before.cov[axis])
        for at in which:
            row = np.array(design_by_hand(shots.share[at], shots.predicted_m[at, axis]))
            precision += np.outer(row, row) / (before.noise_m[axis] ** 2 * CLEAN_COST)
        total += float(np.linalg.slogdet(precision)[1])
    return total


def test_series_begins_with_what_the_group_knows(nothing: Posterior, before: Knowledge) -> None:
    errors = standard_errors(nothing.grades)[1]
    assert before.mean.tolist() == [[1.0, 1.0, 1.0, 0.0], [1.0, 1.0, 1.0, 0.0]]
    spread = np.sqrt(np.diagonal(before.cov, axis1=1, axis2=2))
    assert spread[:, :3] == pytest.approx(
        np.repeat(np.sqrt(errors[:, :1] ** 2 + SHARE_SD**2), 3, axis=1)
    )
    assert spread[:, 3] == pytest.approx(errors[:, 1])
    assert before.cov[0, 0, 2] == pytest.approx(errors[0, 0] ** 2)
    assert before.noise_m.tolist() == [4.0, 3.0]


def test_a_grade_already_logged_starts_from_its_own_gain() -> None:
    rng = np.random.default_rng(3)
    effect = rng.normal(0.0, 7.0, (80, 2))
    observed = effect * (1.4, 0.7) + (2.0, -1.0) + rng.normal(size=(80, 2))
    known = full_pass(Results(np.zeros(80, dtype=int), effect, observed), TREE).posterior
    start = begin(known, grade=0, shares=SHARES)
    assert start.mean[0] == pytest.approx([1.4, 1.4, 1.4, 2.0], abs=0.4)
    assert start.mean[1, 3] == pytest.approx(known.grades.mean[0, 1, 1])
    assert start.cov[1, 0, 3] == pytest.approx(known.grades.cov[0, 1, 0, 1])


def test_worth_is_the_gain_in_log_det(before: Knowledge) -> None:
    choice = next_shots(before, OFFERED, count=4)
    none = log_det_after(before, OFFERED, [])
    worth = [log_det_after(before, OFFERED, [at]) - none for at in range(len(OFFERED))]
    assert choice.worth == pytest.approx(worth)
    assert choice.ranked.tolist() == np.argsort(-np.array(worth)).tolist()
    assert choice.series[0] == choice.ranked[0] == int(np.argmax(worth))
    so_far: list[int] = []
    for at in choice.series.tolist():
        best = max(log_det_after(before, OFFERED, [*so_far, other]) for other in range(8))
        so_far.append(at)
        assert log_det_after(before, OFFERED, so_far) == pytest.approx(best)


def test_margin_is_what_the_shots_would_leave(before: Knowledge) -> None:
    choice = next_shots(before, OFFERED, count=5)
    assert choice.margin_now_m == pytest.approx(margin_m(before, OFFERED))
    margins = [choice.margin_now_m, *choice.margin_after_m.tolist()]
    assert all(later < earlier for earlier, later in pairwise(margins))
    total = 0.0
    for axis in range(2):
        precision = np.linalg.inv(before.cov[axis])
        rows = [
            np.array(design_by_hand(s, e[axis]))
            for s, e in zip(OFFERED.share, OFFERED.predicted_m, strict=True)
        ]
        for at in choice.series:
            precision += np.outer(rows[at], rows[at]) / (before.noise_m[axis] ** 2 * CLEAN_COST)
        cov = np.linalg.inv(precision)
        total += sum(float(row @ cov @ row) for row in rows) / len(rows)
    assert margins[-1] == pytest.approx(np.sqrt(total))


def test_chosen_shots_beat_shots_in_turn_and_at_random(before: Knowledge) -> None:
    choice = next_shots(before, OFFERED, count=6)
    rng = np.random.default_rng(4)
    chosen = log_det_after(before, OFFERED, choice.series.tolist())
    others = [log_det_after(before, OFFERED, rng.integers(0, 8, 6).tolist()) for _ in range(200)]
    others.append(log_det_after(before, OFFERED, [0, 1, 2, 3, 4, 5]))
    assert chosen >= max(others) - 1e-9
    assert len(set(OFFERED.share[choice.series].tolist())) >= 2


def hidden(shots: Setups, rng: np.random.Generator, noise_m: float) -> Floats:
    """An invented game: gains rise with share, 1.2 to 1.5 long and .7 to .9 across."""
    long = np.interp(shots.share, SHARES, [1.2, 1.3, 1.5])
    right = np.interp(shots.share, SHARES, [0.7, 0.75, 0.9])
    effect = shots.predicted_m * np.column_stack([long, right])
    return effect + (1.5, -0.8) + rng.normal(size=(len(shots), 2)) * noise_m


def chosen_series(before: Knowledge, shots: int) -> Setups:
    series = next_shots(before, OFFERED, count=shots).series
    return Setups(OFFERED.share[series], OFFERED.predicted_m[series])


def test_a_series_finds_the_hidden_gains_and_can_be_taken_up_again(before: Knowledge) -> None:
    rng = np.random.default_rng(5)
    half = chosen_series(before, 60)
    shots = Setups(np.tile(half.share, 2), np.tile(half.predicted_m, (2, 1)))
    observed = hidden(shots, rng, noise_m=1.0)
    after = measure(before, shots, observed).knowledge
    assert after.mean[0] == pytest.approx([1.2, 1.3, 1.5, 1.5], abs=0.3)
    assert after.mean[1] == pytest.approx([0.7, 0.75, 0.9, -0.8], abs=0.3)
    error = np.sqrt(np.diagonal(after.cov, axis1=1, axis2=2))
    truth = np.array([[1.2, 1.3, 1.5, 1.5], [0.7, 0.75, 0.9, -0.8]])
    assert (np.abs(after.mean - truth) < 3.0 * error).all()
    assert margin_m(after, OFFERED) < 0.15 * margin_m(before, OFFERED)
    order = rng.permutation(120)
    mixed = measure(before, Setups(shots.share[order], shots.predicted_m[order]), observed[order])
    assert mixed.knowledge.mean == pytest.approx(after.mean, abs=1e-9)


def test_measured_margins_hold_the_truth_as_often_as_they_say(before: Knowledge) -> None:
    """90% intervals of gains and biases drawn from the prior, 400 series of 15 shots."""
    rng = np.random.default_rng(6)
    shots = chosen_series(before, 15)
    roots = np.linalg.cholesky(before.cov)
    pairs = list(zip(shots.share, shots.predicted_m, strict=True))
    rows = np.array([[design_by_hand(s, e[axis]) for s, e in pairs] for axis in range(2)])
    inside = np.empty((400, 2, 4))
    for turn in range(400):
        truth = before.mean + np.einsum("apq,aq->ap", roots, rng.normal(size=(2, 4)))
        observed = np.einsum("anp,ap->na", rows, truth) + rng.normal(size=(15, 2)) * (4.5, 3.5)
        after = measure(before, shots, observed).knowledge
        error = np.sqrt(np.diagonal(after.cov, axis1=1, axis2=2))
        inside[turn] = np.abs(after.mean - truth) < 1.645 * error
    covered = inside.mean(axis=0)
    assert covered.min() > 0.85 and covered.max() < 0.95


def test_a_mishit_is_set_aside(before: Knowledge) -> None:
    rng = np.random.default_rng(7)
    shots = chosen_series(before, 20)
    observed = hidden(shots, rng, noise_m=1.5)
    clean = measure(before, shots, observed)
    observed[13] += (-45.0, 20.0)
    wild = measure(before, shots, observed)
    assert wild.weight[13] == 0.0 and clean.weight[13] > 0.3
    error = np.sqrt(np.diagonal(clean.knowledge.cov, axis1=1, axis2=2))
    assert (np.abs(wild.knowledge.mean - clean.knowledge.mean) < error).all()


def test_no_shots_leave_knowledge_as_it_was(before: Knowledge) -> None:
    none = Setups(np.zeros(0), np.zeros((0, 2)))
    after = measure(before, none, np.zeros((0, 2))).knowledge
    assert after.mean == pytest.approx(before.mean)
    assert after.cov == pytest.approx(before.cov)
    assert after.noise_m == pytest.approx(before.noise_m)


def test_chart_points_average_the_axes_by_what_is_known(before: Knowledge) -> None:
    cov = before.cov.copy()
    cov[0, :3, :3], cov[1, :3, :3] = np.diag([0.04, 0.02, 0.01]), np.diag([0.01, 0.02, 0.03])
    mean = np.array([[1.2, 1.3, 1.5, 9.0], [0.7, 0.9, 1.1, -9.0]])
    points = chart_points(dataclasses.replace(before, mean=mean, cov=cov), [0.8, 0.9, 1.25])
    assert [point.share for point in points] == [0.5, 0.7, 1.0]
    assert points[0].marks_per_mph == pytest.approx(0.8 * (1.2 + 4 * 0.7) / 5)
    assert points[1].marks_per_mph == pytest.approx(0.9 * 1.1)
    assert points[2].marks_per_mph == pytest.approx(1.25 * (3 * 1.5 + 1.1) / 4)
    assert points[0].sd_marks_per_mph == pytest.approx(0.8 * np.sqrt(0.04 * 0.01 / 0.05))


def test_bad_input_is_refused(nothing: Posterior, before: Knowledge) -> None:
    attempts = (
        lambda: begin(nothing, grade=2, shares=SHARES),
        lambda: begin(nothing, grade=0, shares=[0.7, 0.5]),
        lambda: begin(nothing, grade=0, shares=[0.0, 0.5]),
        lambda: begin(nothing, grade=0, shares=[]),
        lambda: begin(nothing, grade=0, shares=[0.5, float("nan")]),
        lambda: Setups(np.array([0.5, 0.6]), np.zeros((3, 2))),
        lambda: Setups(np.array([-0.5]), np.zeros((1, 2))),
        lambda: Setups(np.array([0.5]), np.array([[1.0, float("nan")]])),
        lambda: measure(before, OFFERED, np.zeros((7, 2))),
        lambda: measure(before, OFFERED, np.full((8, 2), np.nan)),
        lambda: next_shots(before, Setups(np.zeros(0), np.zeros((0, 2)))),
        lambda: next_shots(before, OFFERED, count=0),
        lambda: chart_points(before, [0.8, 0.9]),
        lambda: chart_points(before, [0.8, -0.9, 1.0]),
        lambda: chart_points(dataclasses.replace(before, mean=-before.mean), [0.8, 0.9, 1.0]),
        lambda: measure(dataclasses.replace(before, cov=0 * before.cov), OFFERED, np.ones((8, 2))),
        lambda: dataclasses.replace(before, noise_m=np.array([4.0, 0.0])),
        lambda: margin_m(before, Setups(np.zeros(0), np.zeros((0, 2)))),
    )
    for attempt in attempts:
        with pytest.raises(EngineError):
            attempt()
