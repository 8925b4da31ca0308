"""The allowance law on a batch: which law answers, what the game lets be hit, and joins."""

import numpy as np
import pytest

from bot.services.caddie.rack import KitRack, build_rack
from engine.law import Shots, Verdict, allow, spin_factor
from shared.errors import EngineError
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_caddie, kit_with

OVER_FULL = 0.12
CHART = ((0.5, 0.8), (1.0, 1.1))


@pytest.fixture(scope="module")
def charted() -> KitRack:
    """The demo's rack with a chart for the 6-iron alone."""
    return build_rack(kit_with(club="6-iron", chart=CHART))


def shots(
    keys: list[tuple[str, str, str]],
    *,
    kit_rack: KitRack,
    yards: list[float],
    height_yd: float = 0.0,
    mph: float = 0.0,
    from_deg: float = 0.0,
) -> Shots:
    """A shot for each (club, grade, ball) in one wind."""
    count = len(keys)
    return Shots(
        row=np.array([kit_rack.row_of[key] for key in keys]),
        distance_m=np.array(yards) * METRES_PER_YARD,
        height_m=np.full(count, height_yd * METRES_PER_YARD),
        wind_mps=np.full(count, mph * MPS_PER_MPH),
        wind_from_deg=np.full(count, from_deg),
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
    )


def test_a_row_with_a_chart_answers_by_it_and_the_others_by_flight(charted: KitRack) -> None:
    keys = [("6-iron", "ash", "plover"), ("7-iron", "ash", "plover")]
    asked = shots(keys, kit_rack=charted, yards=[153.0, 135.0], mph=10.0, from_deg=90.0)
    found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
    assert found.right_m[0] == pytest.approx(1.1 * 10 * 1.6 * METRES_PER_YARD, abs=1e-9)
    assert found.right_m[1] == pytest.approx(found.aims.allowance_right_m[1], abs=1e-12)
    assert found.right_m[1] != pytest.approx(1.1 * 10 * 1.6 * METRES_PER_YARD, abs=1.0)
    assert found.verdict.tolist() == [Verdict.FINE, Verdict.FINE]


def test_the_chart_plays_distance_height_and_what_is_added_into_the_wind(charted: KitRack) -> None:
    key = [("6-iron", "ash", "plover")]
    asked = shots(key, kit_rack=charted, yards=[114.75], height_yd=-6.0, mph=7.0, from_deg=0.0)
    found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
    mark_yd = 0.8 + 0.8 * (114.75 - 99) / (153 - 99)  # the demo's mark between short and full carry
    into_yd = (0.8 + 0.5 * 0.3) * 7.0 * (1 - 6 / 114.75) * mark_yd  # the chart at three quarters
    assert found.long_m[0] / METRES_PER_YARD == pytest.approx(into_yd, abs=1e-9)
    assert found.plays_m[0] / METRES_PER_YARD == pytest.approx(114.75 - 6 + into_yd, abs=1e-9)


def test_a_ball_scales_the_wind_of_either_law(charted: KitRack) -> None:
    for club, yards in (("6-iron", 140.0), ("hybrid", 170.0)):
        keys = [(club, "ash", "plover"), (club, "ash", "tern")]
        asked = shots(keys, kit_rack=charted, yards=[yards] * 2, mph=8.0, from_deg=270.0)
        plain, less = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL).right_m
        assert plain < less < 0
        assert less / plain == pytest.approx(0.85, abs=0.015)


def test_verdicts_are_those_of_the_games_limits() -> None:
    kit_rack = demo_caddie().kit_rack
    five = ("5-iron", "ash", "plover")  # 107 to 165 yd, to 184.8 with 12% over full
    nine = ("9-iron", "ash", "plover")  # 75 to 116 yd
    cases = [
        (106.9, 0.0, 0.0, Verdict.TOO_SHORT),
        (107.0, 0.0, 0.0, Verdict.FINE),
        (165.0, 0.0, 0.0, Verdict.FINE),
        (165.2, 0.0, 0.0, Verdict.TOO_LONG),
        (165.0, 11.0, 0.0, Verdict.FINE),
        (165.0, 15.0, 0.0, Verdict.TOO_LONG),
        (168.0, 20.0, 180.0, Verdict.FINE),
        (168.0, 20.0, 90.0, Verdict.TOO_LONG),
        (160.0, 120.0, 0.0, Verdict.UNSOLVED),
    ]
    for yards, mph, from_deg, verdict in cases:
        asked = shots([five], kit_rack=kit_rack, yards=[yards], mph=mph, from_deg=from_deg)
        found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
        assert found.verdict[0] == verdict, (yards, mph, from_deg, found.plays_m / METRES_PER_YARD)
        over = 1.0 if yards > 165 else 1.12
        assert found.most_m[0] == pytest.approx(over * 165 * METRES_PER_YARD)
    helped = shots([nine], kit_rack=kit_rack, yards=[76.0], mph=15.0, from_deg=180.0)
    found = allow(rack=kit_rack.rack, shots=helped, over_full=OVER_FULL)
    assert found.plays_m[0] < 75 * METRES_PER_YARD < helped.distance_m[0]
    assert found.verdict[0] == Verdict.TOO_SHORT


def test_over_full_is_the_games_to_say() -> None:
    kit_rack = demo_caddie().kit_rack
    asked = shots(
        [("5-iron", "ash", "plover")], kit_rack=kit_rack, yards=[160.0], mph=12.0, from_deg=0.0
    )
    allowed = [
        allow(rack=kit_rack.rack, shots=asked, over_full=share).verdict[0] for share in (0.12, 0.0)
    ]
    assert allowed == [Verdict.FINE, Verdict.TOO_LONG]


def test_joined_and_taken_shots_answer_as_they_do_apart() -> None:
    kit_rack = demo_caddie().kit_rack
    keys = [("driver", "yew", "heron"), ("9-iron", "oak", "tern")]
    first = shots(keys, kit_rack=kit_rack, yards=[230.0, 100.0], mph=6.0, from_deg=30.0)
    second = shots(keys[:1], kit_rack=kit_rack, yards=[210.0], height_yd=4.0, mph=9.0, from_deg=200)
    together = allow(rack=kit_rack.rack, shots=first.joined(second), over_full=OVER_FULL)
    apart = allow(rack=kit_rack.rack, shots=second, over_full=OVER_FULL)
    assert together.long_m[2] == pytest.approx(apart.long_m[0], abs=1e-7)
    last = together.take(np.array([2]))
    assert (last.plays_m[0], last.row[0]) == (together.plays_m[2], apart.row[0])
    turned = first.take(np.array([1, 0]))
    again = allow(rack=kit_rack.rack, shots=turned, over_full=OVER_FULL)
    assert again.right_m == pytest.approx(together.right_m[[1, 0]], abs=1e-7)


def test_another_wind_changes_nothing_else() -> None:
    kit_rack = demo_caddie().kit_rack
    asked = shots([("8-iron", "ash", "plover")], kit_rack=kit_rack, yards=[120.0], height_yd=3.0)
    windy = asked.with_wind(wind_mps=np.array([4.0]), wind_from_deg=np.array([250.0]))
    assert (windy.wind_mps[0], windy.wind_from_deg[0], asked.wind_mps[0]) == (4.0, 250.0, 0.0)
    assert (windy.distance_m == asked.distance_m).all() and (windy.row == asked.row).all()


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_wind_that_is_no_number_is_refused_for_charts_too(charted: KitRack, bad: float) -> None:
    asked = shots([("6-iron", "oak", "plover")], kit_rack=charted, yards=[140.0])
    with pytest.raises(EngineError, match="finite"):
        allow(
            rack=charted.rack,
            shots=asked.with_wind(wind_mps=np.array([bad]), wind_from_deg=np.array([0.0])),
            over_full=OVER_FULL,
        )


def test_no_unsolved_answer_holds_a_nan(charted: KitRack) -> None:
    keys = [("6-iron", "ash", "plover"), ("driver", "oak", "tern"), ("sand wedge", "yew", "heron")]
    asked = shots(keys, kit_rack=charted, yards=[1.0, 700.0, 60.0], mph=134.0, from_deg=10.0)
    found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
    assert found.verdict.tolist() == [Verdict.TOO_SHORT, Verdict.UNSOLVED, Verdict.UNSOLVED]
    for name, value in vars(found).items():
        if isinstance(value, np.ndarray):
            assert np.isfinite(value).all(), name


def test_spin_steps_multiply_the_clubs_backspin() -> None:
    steps = np.array([0.0, 3.0, -4.0])
    assert spin_factor(backspin_steps=steps, share_per_step=0.08) == pytest.approx([1, 1.24, 0.68])
    with pytest.raises(EngineError, match="topspin"):
        spin_factor(backspin_steps=np.array([1.0, -5.0]), share_per_step=0.2)
