"""Measuring on purpose: what a shot tells, what a series finds, and the three charts."""

from dataclasses import replace

import numpy as np
import pytest

from engine.chart import Direction
from engine.law import Allowances, Shots, allow
from engine.measuring import (
    Knowledge,
    Setups,
    begin,
    chart_points,
    margin_m,
    measure,
    next_shots,
    offered,
)
from engine.response import HALF_WIDTH_90, posterior_from_sums
from engine.response_features import features
from engine.response_sums import Sums
from engine.robust import CLEAN_COST, Floats
from shared.errors import EngineError
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_caddie
from tests.unit.response_shots import plain_tree

SHARES = np.array([0.7, 0.85, 1.0])
SPEEDS_MPH = np.array([8.0, 12.0, 10.0])  # into, helping, across: what the game offers
KIT_RACK = demo_caddie().kit_rack
ROW = KIT_RACK.row_of["5-iron", "ash", "plover"]
FULL_M = float(KIT_RACK.rack.full_m[ROW])


def ask(share: Floats, speed_mps: Floats, from_deg: Floats, *, rack=KIT_RACK.rack) -> Allowances:
    count = len(share)
    shots = Shots(
        row=np.full(count, ROW),
        distance_m=share * FULL_M,
        height_m=np.zeros(count),
        wind_mps=speed_mps,
        wind_from_deg=from_deg,
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
    )
    return allow(rack=rack, shots=shots, over_full=0.4)


def setups(found: Allowances) -> Setups:
    return Setups(found.situations.share, features(found.situations))


@pytest.fixture(scope="module")
def before() -> Knowledge:
    nothing = posterior_from_sums(Sums.zero(grades=5), plain_tree())
    return begin(nothing, grade=2, shares=SHARES)


@pytest.fixture(scope="module")
def grid() -> Allowances:
    return ask(*offered(shares=SHARES, speeds_mps=SPEEDS_MPH * MPS_PER_MPH))


def series(grid: Allowances, factor: float, count: int, *, hit_m: float = 0.3) -> Floats:
    """What a game of ``factor`` times the law does to shots of the grid in turn."""
    rng = np.random.default_rng(31)
    at = np.arange(count) % len(grid.long_m)
    law = -np.column_stack((grid.law_long_m, grid.law_right_m))[at]
    return factor * law + rng.normal(0.0, hit_m, (count, 2))


def test_a_series_asks_into_helping_and_across_at_every_share() -> None:
    share, speed, from_deg = offered(shares=[0.7, 1.0], speeds_mps=[3.0, 4.0, 5.0])
    assert share.tolist() == [0.7, 1.0] * 3
    assert speed.tolist() == [3.0, 3.0, 4.0, 4.0, 5.0, 5.0]
    assert from_deg.tolist() == [0.0, 0.0, 180.0, 180.0, 90.0, 90.0]


def test_a_shot_is_worth_the_variance_it_takes_away(before: Knowledge, grid: Allowances) -> None:
    offers = setups(grid)
    found = next_shots(before, offers, count=4)
    assert found.ranked[0] == found.series[0] == np.argmax(found.worth)
    assert found.margin_now_m == pytest.approx(margin_m(before, offers))
    assert np.all(np.diff(np.concatenate(([found.margin_now_m], found.margin_after_m))) < 0)
    taken = found.margin_now_m**2 - found.margin_after_m[0] ** 2
    assert taken / HALF_WIDTH_90**2 == pytest.approx(found.worth[found.series[0]], rel=1e-9)
    worst = next_shots(before, offers.take(found.ranked[-1:]), count=1)
    assert worst.worth[0] > 0


def test_the_margin_expected_is_the_margin_that_comes(before: Knowledge, grid: Allowances) -> None:
    """A clean hit of weight one narrows by what was said, noise held as it was."""
    offers = setups(grid)
    found = next_shots(before, offers, count=1)
    one = offers.take(found.series)
    law = one.features.law_effect_m
    after = measure(before, one, law + before.noise_m).knowledge
    noise2 = before.noise_m**2
    for axis, phi in enumerate(one.features.axes):
        size = phi.shape[1]
        prior = before.cov[axis]
        row = np.zeros(len(prior))
        row[:size] = phi[0]
        corner = np.array([np.interp(one.share[0], SHARES, hat) for hat in np.eye(3)])
        wind = one.features.wind_m[0, axis]
        start = size + (3 if axis == 0 and wind < 0 else 0)
        row[start : start + 3] = wind * corner
        along = prior @ row
        spread = row @ along
        # (miss2 / noise2).sum() is 2 at the law, so the weight is 1 there.
        lower = prior - np.outer(along, along) / (noise2[axis] * CLEAN_COST + spread)
        assert np.all(np.diag(after.cov[axis]) <= np.diag(prior) + 1e-12)
        assert row @ after.cov[axis] @ row == pytest.approx(row @ lower @ row, rel=0.5)


def test_chosen_shots_tell_all_three_directions(before: Knowledge, grid: Allowances) -> None:
    found = next_shots(before, setups(grid), count=9)
    assert {int(index) // 3 for index in found.series} == {0, 1, 2}
    in_one = next_shots(before, setups(grid).take(np.array([6, 7, 8])), count=9)
    other = measure(before, setups(grid).take(in_one.series + 6), np.zeros((9, 2)))
    chosen = measure(before, setups(grid).take(found.series), np.zeros((9, 2)))
    assert margin_m(chosen.knowledge, setups(grid)) < 0.8 * margin_m(other.knowledge, setups(grid))


def charted(grid: Allowances, known: Knowledge):
    """The rack with the measured charts laid over the law of the club."""
    mph = np.repeat(SPEEDS_MPH, 3)
    points = chart_points(known, setups(grid), wind_mph=mph, mark_m=grid.mark_m)
    rack = KIT_RACK.rack
    share = np.tile(SHARES, (len(rack), 1))
    marks = np.zeros((len(rack), 3, 3))
    marks[ROW] = np.array([point.marks_per_mph for point in points]).reshape(3, 3)
    flags = np.arange(len(rack)) == ROW
    return replace(rack, charted=flags, chart_share=share, chart_marks_per_mph=marks), points


def test_twelve_shots_chart_a_game_a_quarter_windier(before: Knowledge, grid: Allowances) -> None:
    """10 mph helping at 165: the chart of crosswinds alone answered -18.0 where the truth is a
    quarter more than the law's."""
    twelve = np.arange(12) % 9
    known = measure(before, setups(grid).take(twelve), series(grid, 1.25, 12)).knowledge
    rack, points = charted(grid, known)
    assert [point.direction for point in points[::3]] == list(Direction)
    assert [point.share for point in points[:3]] == pytest.approx(SHARES.tolist())
    for mph, from_deg in ((12.0, 180.0), (10.0, 180.0), (8.0, 0.0), (10.0, 90.0)):
        where = np.array([1.0]), np.array([mph * MPS_PER_MPH]), np.array([from_deg])
        law, answer = ask(*where), ask(*where, rack=rack)
        truth = 1.25 * np.array([law.law_long_m[0], law.law_right_m[0]])
        told = np.array([answer.long_m[0], answer.right_m[0]])
        axis = int(from_deg == 90.0)
        assert told[axis] == pytest.approx(truth[axis], abs=1.2 * METRES_PER_YARD)


def test_chart_margins_hold_the_truth(before: Knowledge, grid: Allowances) -> None:
    """Over games of half to one and a half times the law, all points of each chart."""
    mph, mark = np.repeat(SPEEDS_MPH, 3), grid.mark_m
    law = np.concatenate((grid.law_long_m[:6], grid.law_right_m[6:]))
    signs = np.repeat([1.0, -1.0, 1.0], 3)
    held: list[bool] = []
    for factor in (0.6, 0.8, 1.0, 1.2, 1.4):
        seen = series(grid, factor, 12)
        known = measure(before, setups(grid).take(np.arange(12) % 9), seen).knowledge
        for i, point in enumerate(chart_points(known, setups(grid), wind_mph=mph, mark_m=mark)):
            truth = factor * signs[i] * law[i] / (mph[i] * mark[i])
            held.append(abs(point.marks_per_mph - truth) <= point.half_marks_per_mph)
            assert 0.0 < point.half_marks_per_mph < 0.8
    assert np.mean(held) >= 0.9


def test_a_chart_holds_no_offset(before: Knowledge, grid: Allowances) -> None:
    known = before
    still = chart_points(known, setups(grid), wind_mph=np.repeat(SPEEDS_MPH, 3), mark_m=grid.mark_m)
    mean = before.mean[0].copy()
    mean[10] += 4.0
    shifted = Knowledge(before.shares, (mean, before.mean[1]), before.cov, before.noise_m)
    moved = chart_points(
        shifted, setups(grid), wind_mph=np.repeat(SPEEDS_MPH, 3), mark_m=grid.mark_m
    )
    assert [a.marks_per_mph for a in still] == [b.marks_per_mph for b in moved]


def test_a_mishit_is_set_aside_and_a_series_can_be_taken_up_again(
    before: Knowledge, grid: Allowances
) -> None:
    at = np.arange(18) % 9
    seen = series(grid, 1.1, 18)
    seen[4] += (-60.0, 20.0)
    whole = measure(before, setups(grid).take(at), seen)
    assert whole.weight[4] == 0.0 and (np.delete(whole.weight, 4) > 0.2).all()
    order = np.random.default_rng(3).permutation(18)
    again = measure(before, setups(grid).take(at[order]), seen[order])
    for axis in range(2):
        np.testing.assert_allclose(
            again.knowledge.mean[axis], whole.knowledge.mean[axis], rtol=1e-5, atol=1e-7
        )
    nothing = measure(before, setups(grid).take(at[:0]), np.zeros((0, 2))).knowledge
    np.testing.assert_allclose(nothing.mean[0], before.mean[0], atol=1e-9)
    np.testing.assert_allclose(nothing.cov[1], before.cov[1], rtol=1e-6, atol=1e-9)


def test_bad_input_is_refused(before: Knowledge, grid: Allowances) -> None:
    nothing = posterior_from_sums(Sums.zero(grades=5), plain_tree())
    offers, mph = setups(grid), np.repeat(SPEEDS_MPH, 3)
    none = offers.take(np.array([], dtype=np.intp))
    flat = Knowledge(
        before.shares, (0 * before.mean[0], 0 * before.mean[1]), before.cov, before.noise_m
    )
    for attempt in (
        lambda: begin(nothing, grade=5, shares=SHARES),
        lambda: begin(nothing, grade=0, shares=[0.9, 0.8]),
        lambda: begin(nothing, grade=0, shares=[0.0, 0.8]),
        lambda: begin(nothing, grade=0, shares=np.linspace(0.1, 1.0, 13)),
        lambda: Knowledge(SHARES, before.mean, before.cov, np.array([1.0, 0.0])),
        lambda: next_shots(before, none),
        lambda: next_shots(before, offers, count=0),
        lambda: next_shots(before, offers, count=61),
        lambda: margin_m(before, none),
        lambda: measure(before, offers, np.zeros((3, 2))),
        lambda: offered(shares=SHARES, speeds_mps=[1.0, 0.0, 2.0]),
        lambda: chart_points(before, offers, wind_mph=mph[:3], mark_m=grid.mark_m),
        lambda: chart_points(before, none, wind_mph=mph, mark_m=grid.mark_m),
        lambda: chart_points(flat, offers, wind_mph=mph, mark_m=grid.mark_m),
    ):
        with pytest.raises(EngineError):
            attempt()
