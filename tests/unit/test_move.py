"""Moving tested shots: what is added to what, where a cut set-up lands, and the margin."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from engine.law import Allowances, Shots, allow
from engine.move import Limits, Moves, Tested, move
from engine.rack import Rack
from engine.reach import Verdict
from engine.response import differences, prior_response
from engine.response_features import features
from shared.errors import EngineError
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_caddie

OVER_FULL = 0.12
LIMITS = Limits(over_full=OVER_FULL, marks=20.0)
FIVE, NINE = ("5-iron", "ash", "plover"), ("9-iron", "ash", "plover")


def rack() -> Rack:
    return demo_caddie().kit_rack.rack


def row(key: tuple[str, str, str]) -> int:
    return demo_caddie().kit_rack.row_of[key]


def asked(key: tuple[str, str, str], *, yards: float, mph: float, from_deg: float) -> Allowances:
    shots = Shots(
        row=np.array([row(key)]),
        distance_m=np.array([yards * METRES_PER_YARD]),
        height_m=np.zeros(1),
        wind_mps=np.array([mph * MPS_PER_MPH]),
        wind_from_deg=np.array([from_deg]),
        spin_factor=np.ones(1),
        tilt_rad=np.zeros(1),
    )
    return allow(rack=rack(), shots=shots, over_full=OVER_FULL)


def noted(
    long_m: float = 0.0,
    right_m: float = 0.0,
    *,
    noted: bool = True,
    room: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
    holed: float | None = None,
) -> Tested:
    return Tested(
        np.array([noted]),
        np.array([long_m]),
        np.array([right_m]),
        np.array(room)[:, None],
        None if holed is None else np.array([holed]),
    )


def moved(was: Allowances, now: Allowances, known: Tested, **fields: Any) -> Moves:
    between = fields.pop("between", now)
    limits = fields.pop("limits", LIMITS)
    return move(
        rack=rack(), was=was, between=between, now=now, tested=known, limits=limits, **fields
    )


def test_a_move_adds_what_the_wind_and_the_bag_change() -> None:
    was = asked(FIVE, yards=150, mph=5, from_deg=30)
    between = asked(FIVE, yards=150, mph=9, from_deg=70)
    grades = {key[1] for key in demo_caddie().kit_rack.keys if key[0] == "5-iron"}
    other = ("5-iron", max(grades - {"ash"}), "plover")
    now = asked(other, yards=150, mph=9, from_deg=70)
    found = moved(was, now, noted(3.0, -1.5), between=between)
    assert found.long_m[0] == pytest.approx(3.0 + now.long_m[0] - was.long_m[0])
    assert found.right_m[0] == pytest.approx(-1.5 + now.right_m[0] - was.right_m[0])
    assert found.wind_long_m[0] == pytest.approx(between.long_m[0] - was.long_m[0])
    assert found.wind_right_m[0] == pytest.approx(between.right_m[0] - was.right_m[0])
    assert found.bag_long_m[0] == pytest.approx(now.long_m[0] - between.long_m[0])
    assert found.bag_right_m[0] == pytest.approx(now.right_m[0] - between.right_m[0])
    total = found.tested_long_m + found.wind_long_m + found.bag_long_m
    assert total[0] == pytest.approx(found.long_m[0])
    assert found.plays_m[0] == pytest.approx(now.plays_m[0] + found.long_m[0] - now.long_m[0])
    assert found.setup_m[0] == pytest.approx(found.plays_m[0] - rack().full_m[row(other)])
    before = was.plays_m[0] + 3.0 - was.long_m[0] - rack().full_m[row(FIVE)]
    assert found.tested_setup_m[0] == pytest.approx(before)
    assert found.fit[0] == Verdict.FINE


def test_without_a_note_the_move_starts_from_what_is_told() -> None:
    was = asked(FIVE, yards=150, mph=5, from_deg=30)
    now = asked(FIVE, yards=150, mph=9, from_deg=70)
    found = moved(was, now, noted(9.0, 9.0, noted=False))
    assert found.tested_long_m[0] == was.long_m[0] and found.tested_right_m[0] == was.right_m[0]
    assert found.long_m[0] == pytest.approx(now.long_m[0])
    assert found.sd_long_m[0] == now.sd_long_m[0] and found.sd_right_m[0] == now.sd_right_m[0]


def test_the_margin_holds_the_move_the_grades_and_the_tested_spread() -> None:
    response = prior_response(rows=len(rack()))
    response.along_mean[row(NINE)] += 0.01  # another grade, believed otherwise
    response.tested_m[row(FIVE)] = (0.7, 0.4)
    was = asked(FIVE, yards=115, mph=6, from_deg=30)
    now = asked(NINE, yards=115, mph=6, from_deg=30)
    found = moved(was, now, noted(2.0, 1.0), response=response)
    here, there = response.take(now.row), response.take(was.row)
    between = differences(here, features(now.situations), there, features(was.situations))[0]
    assert found.sd_long_m[0] == pytest.approx((between[0] + 0.49) ** 0.5, rel=1e-12)
    assert found.sd_right_m[0] == pytest.approx((between[1] + 0.16) ** 0.5, rel=1e-12)
    assert between.min() > 0.05


def test_a_line_that_went_in_more_often_is_surer_and_none_is_sure() -> None:
    was = asked(FIVE, yards=150, mph=6, from_deg=30)
    once, often = (moved(was, was, noted(2.0, 1.0, holed=count)) for count in (1.0, 4.0))
    unsaid = moved(was, was, noted(2.0, 1.0))
    never = moved(was, was, noted(2.0, 1.0, holed=0.0))
    assert once.sd_long_m[0] == unsaid.sd_long_m[0] == never.sd_long_m[0] == pytest.approx(1.0)
    assert often.sd_long_m[0] == often.sd_right_m[0] == pytest.approx(0.5)


def test_the_margin_grows_with_the_size_of_the_move() -> None:
    was = asked(FIVE, yards=150, mph=6, from_deg=30)
    sizes = [
        moved(was, asked(FIVE, yards=150, mph=mph, from_deg=30), noted()).sd_long_m[0]
        for mph in (6, 8, 11, 15)
    ]
    assert np.all(np.diff(sizes) > 0.1)


AIMS = [(3.0, 40.0), (3.0, -40.0), (-30.0, 25.0), (25.0, -30.0)]


@pytest.mark.parametrize(("long_m", "right_m"), AIMS)
def test_a_cut_aim_lands_on_the_far_side_of_the_target_from_the_aim(
    long_m: float, right_m: float
) -> None:
    """Eight marks are allowed and more are wanted: what is cut off is missed, downwind."""
    calm = asked(NINE, yards=110, mph=0, from_deg=0)
    limits = Limits(over_full=OVER_FULL, marks=8.0)
    found = moved(calm, calm, noted(long_m, right_m), limits=limits)
    most = 8.0 * calm.mark_m[0]
    cut = 1.0 - most / np.hypot(long_m, right_m)
    assert cut > 0.1
    assert found.lands_right_m[0] == pytest.approx(-cut * right_m, abs=1e-9)
    short = max(0.0, found.plays_m[0] - found.most_m[0] - 0.01)
    expected = -max(short, cut * long_m) if long_m > 0 else -cut * long_m
    assert found.lands_long_m[0] == pytest.approx(expected, abs=1e-9)
    assert found.fit[0] in (Verdict.AIM_LIMIT, Verdict.TOO_LONG, Verdict.TOO_SHORT)


ROOMS = [
    ((0.0, 0.0, 9.0, 0.0), 20.0, Verdict.FINE),  # aimed right, cut, so it lands left: room left
    ((0.0, 0.0, 0.0, 9.0), 20.0, Verdict.AIM_LIMIT),
    ((9.0, 9.0, 0.0, 0.0), 20.0, Verdict.AIM_LIMIT),
    ((0.0, 0.0, 0.0, 9.0), -20.0, Verdict.FINE),
    ((0.0, 0.0, 9.0, 0.0), -20.0, Verdict.AIM_LIMIT),
]


@pytest.mark.parametrize(("room", "right_m", "fit"), ROOMS)
def test_a_cut_aim_is_playable_while_it_lands_in_its_room(
    room: tuple[float, float, float, float], right_m: float, fit: Verdict
) -> None:
    calm = asked(NINE, yards=100, mph=0, from_deg=0)
    limits = Limits(over_full=OVER_FULL, marks=12.0 / calm.mark_m[0])
    found = moved(calm, calm, noted(0.0, right_m, room=room), limits=limits)
    assert found.lands_right_m[0] == pytest.approx(-np.sign(right_m) * 8.0, abs=1e-9)
    assert found.fit[0] == fit


EDGES = [
    (16.0, 0.0, (7.99, 0.0, 0.0, 0.0)),  # short by the eight metres that are cut off
    (-16.0, 0.0, (0.0, 7.99, 0.0, 0.0)),
    (0.0, 16.0, (0.0, 0.0, 7.99, 0.0)),
    (0.0, -16.0, (0.0, 0.0, 0.0, 7.99)),
]


@pytest.mark.parametrize(("long_m", "right_m", "room"), EDGES)
def test_a_room_ends_a_centimetre_behind_its_edge(
    long_m: float, right_m: float, room: tuple[float, float, float, float]
) -> None:
    calm = replace(asked(NINE, yards=95, mph=0, from_deg=0), mark_m=np.array([2.0]))
    limits = Limits(over_full=OVER_FULL, marks=4.0)
    found = moved(calm, calm, noted(long_m, right_m, room=room), limits=limits)
    less = tuple(np.array(room) - 0.005 * (np.array(room) > 0))
    off = moved(calm, calm, noted(long_m, right_m, room=less), limits=limits)
    assert np.hypot(found.lands_long_m, found.lands_right_m)[0] == 8.0
    assert (found.fit[0], off.fit[0]) == (Verdict.FINE, Verdict.AIM_LIMIT)


def test_an_aim_within_the_limits_lands_on_the_target() -> None:
    calm = asked(NINE, yards=100, mph=0, from_deg=0)
    found = moved(calm, calm, noted(2.0, -3.0))
    assert found.lands_long_m[0] == found.lands_right_m[0] == 0.0
    assert found.fit[0] == Verdict.FINE


@pytest.mark.parametrize(("short_m", "fit"), [(6.0, Verdict.TOO_LONG), (12.0, Verdict.FINE)])
def test_a_set_up_past_the_limit_falls_short_by_what_is_missing(
    short_m: float, fit: Verdict
) -> None:
    calm = asked(FIVE, yards=150, mph=0, from_deg=0)
    wanted = calm.most_m[0] - calm.plays_m[0] + 10.0
    limits = Limits(over_full=OVER_FULL, marks=1000.0)
    room = (short_m, 0.0, 0.0, 0.0)
    found = moved(calm, calm, noted(wanted, 0.0, room=room), limits=limits)
    assert found.lands_long_m[0] == pytest.approx(-10.0 + 0.01, abs=1e-9)
    assert found.fit[0] == fit


def test_room_long_is_for_what_lands_long() -> None:
    """An aim cut while it was to be short lands long."""
    calm = asked(FIVE, yards=150, mph=0, from_deg=0)
    limits = Limits(over_full=OVER_FULL, marks=10.0 / calm.mark_m[0])
    fine = moved(calm, calm, noted(-16.0, 0.0, room=(0.0, 7.0, 0.0, 0.0)), limits=limits)
    off = moved(calm, calm, noted(-16.0, 0.0, room=(7.0, 5.0, 0.0, 0.0)), limits=limits)
    assert fine.lands_long_m[0] == off.lands_long_m[0] == pytest.approx(6.0, abs=1e-9)
    assert (fine.fit[0], off.fit[0]) == (Verdict.FINE, Verdict.AIM_LIMIT)


def test_shots_shorter_than_the_club_and_unsolved_ones_are_told() -> None:
    calm = asked(FIVE, yards=110, mph=0, from_deg=0)
    least = rack().short_m[row(FIVE)]
    short = moved(calm, calm, noted(least - calm.plays_m[0] - 1.0, 0.0))
    fine = moved(calm, calm, noted(least - calm.plays_m[0] + 0.005, 0.0))
    near = moved(calm, calm, noted(least - calm.plays_m[0] - 0.008, 0.0))
    assert (short.fit[0], fine.fit[0]) == (Verdict.TOO_SHORT, Verdict.FINE)
    assert near.fit[0] == Verdict.FINE
    assert short.answered[0] and fine.answered[0]
    storm = asked(NINE, yards=110, mph=150, from_deg=80)
    for found in (moved(calm, storm, noted()), moved(storm, calm, noted())):
        assert found.fit[0] == Verdict.UNSOLVED and not found.answered[0]


@pytest.mark.parametrize(
    ("beyond_m", "fit"),
    [(-0.005, Verdict.AIM_LIMIT), (0.005, Verdict.AIM_LIMIT), (0.02, Verdict.TOO_LONG)],
)
def test_a_centimetre_past_the_longest_set_up_is_not_what_forbids_a_cut_aim(
    beyond_m: float, fit: Verdict
) -> None:
    calm = asked(FIVE, yards=150, mph=0, from_deg=0)
    limits = Limits(over_full=OVER_FULL, marks=10.0 / calm.mark_m[0])
    wanted = calm.most_m[0] - calm.plays_m[0] + beyond_m
    found = moved(calm, calm, noted(wanted, 16.0), limits=limits)
    assert found.fit[0] == fit


def test_batches_of_different_length_are_refused() -> None:
    calm = asked(FIVE, yards=150, mph=0, from_deg=0)
    two = calm.take(np.array([0, 0]))
    with pytest.raises(EngineError):
        moved(calm, two, noted())


def test_tested_shots_are_taken_in_order() -> None:
    three = Tested(
        np.array([True, False, True]),
        np.array([1.0, 2.0, 3.0]),
        np.array([4.0, 5.0, 6.0]),
        np.arange(12.0).reshape(4, 3),
        np.array([1.0, 2.0, 7.0]),
    )
    found = three.take(np.array([2, 1]))
    assert found.noted.tolist() == [True, False] and found.long_m.tolist() == [3.0, 2.0]
    assert found.right_m.tolist() == [6.0, 5.0] and found.room_m[1].tolist() == [5.0, 4.0]
    assert found.holed is not None and found.holed.tolist() == [7.0, 2.0]
    assert noted().take(np.array([0])).holed is None
