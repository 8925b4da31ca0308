"""The allowance law on a batch: which law answers, what the game lets be hit, and joins."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from bot.services.caddie.rack import KitRack, build_rack
from engine.law import Shots, Verdict, allow, answers, help_turns, spin_factor
from engine.reach import verdicts
from engine.response import prior_response
from engine.response_features import ALONG
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
    keys: Sequence[tuple[str, str, str]],
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


def test_the_chart_plays_what_flight_plays_but_for_the_wind(charted: KitRack) -> None:
    key = [("6-iron", "ash", "plover")]
    asked = shots(key, kit_rack=charted, yards=[114.75], height_yd=-6.0, mph=7.0, from_deg=0.0)
    found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
    mark_yd = 0.8 + 0.8 * (114.75 - 99) / (153 - 99)  # the demo's mark between short and full carry
    into_yd = (0.8 + 0.5 * 0.3) * 7.0 * (1 + 6 / 114.75) * mark_yd  # the chart at three quarters
    assert found.long_m[0] / METRES_PER_YARD == pytest.approx(into_yd, abs=1e-9)
    still_m = found.aims.plays_m[0] - found.aims.allowance_long_m[0]
    assert found.plays_m[0] == pytest.approx(still_m + found.long_m[0], abs=1e-9)
    assert still_m < (114.75 - 4) * METRES_PER_YARD


def test_a_rack_may_hold_a_chart_for_each_direction(charted: KitRack) -> None:
    rack = charted.rack
    factors = np.array([1.0, 0.5, 0.8])[None, :, None]
    three = replace(rack, chart_marks_per_mph=rack.chart_marks_per_mph * factors)
    for from_deg, factor in ((0.0, 1.0), (180.0, 0.5), (90.0, 0.8)):
        asked = shots(
            [("6-iron", "ash", "plover")],
            kit_rack=charted,
            yards=[130.0],
            mph=7.0,
            from_deg=from_deg,
        )
        one, each = (allow(rack=r, shots=asked, over_full=OVER_FULL) for r in (rack, three))
        assert np.hypot(each.long_m, each.right_m)[0] == pytest.approx(
            factor * np.hypot(one.long_m, one.right_m)[0], rel=1e-9
        )


@pytest.mark.parametrize(("height_yd", "level_yd"), [(60.0, 190.0), (-900.0, -770.0)])
def test_a_chart_answers_where_no_flight_does(
    charted: KitRack, height_yd: float, level_yd: float
) -> None:
    """A target so high, or so low, plays by its height as if it lay on a slope of half a right
    angle, with what the chart says for the wind."""
    key = [("6-iron", "ash", "plover")]
    asked = shots(key, kit_rack=charted, yards=[130.0], height_yd=height_yd, mph=5.0, from_deg=90.0)
    found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
    assert not found.aims.solved[0] and found.answered[0]
    assert found.plays_m[0] / METRES_PER_YARD == pytest.approx(level_yd, abs=1e-9)
    assert abs(found.right_m[0]) > 1.0


def test_what_is_learned_moves_the_answer_and_what_it_plays() -> None:
    kit_rack = demo_caddie().kit_rack
    asked = shots(
        [("5-iron", "ash", "plover")] * 2,
        kit_rack=kit_rack,
        yards=[150.0] * 2,
        mph=8.0,
        from_deg=30.0,
    )
    learned = prior_response(rows=len(kit_rack.rack))
    row = asked.row[0]
    learned.along_mean[row, ALONG.index("law")] = 1.25
    learned.along_mean[row, ALONG.index("offset")] = 2.0
    learned.across_mean[row, 0] = 0.8
    plain = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL, response=learned)
    assert found.long_m[0] == pytest.approx(1.25 * plain.law_long_m[0] - 2.0, abs=1e-9)
    assert found.right_m[0] == pytest.approx(0.8 * plain.law_right_m[0], abs=1e-9)
    assert found.plays_m[0] - plain.plays_m[0] == pytest.approx(found.long_m[0] - plain.long_m[0])
    assert plain.long_m[0] == pytest.approx(plain.law_long_m[0])
    assert found.law_long_m[0] == plain.law_long_m[0]
    assert found.half_long_m[0] == pytest.approx(1.6448536 * found.sd_long_m[0], rel=1e-6)
    assert found.half_right_m[0] == pytest.approx(1.6448536 * found.sd_right_m[0], rel=1e-6)
    assert 1.0 < found.sd_right_m[0] < found.sd_long_m[0] < 6.0


def test_a_ball_scales_the_wind_of_either_law(charted: KitRack) -> None:
    for club, yards in (("6-iron", 140.0), ("hybrid", 170.0)):
        keys = [(club, "ash", "plover"), (club, "ash", "tern")]
        asked = shots(keys, kit_rack=charted, yards=[yards] * 2, mph=8.0, from_deg=270.0)
        plain, less = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL).right_m
        assert plain < less < 0
        assert less / plain == pytest.approx(0.85, abs=0.015)
        found = allow(rack=charted.rack, shots=asked, over_full=OVER_FULL)
        told = found.situations.wind_mps / MPS_PER_MPH
        assert told == pytest.approx([8.0, 6.8]), "what is learned is asked in the ball's own wind"


FIVE = ("5-iron", "ash", "plover")  # 107 to 165 yd, to 184.8 with 12% over full
NINE = ("9-iron", "ash", "plover")  # 75 to 116 yd


@pytest.mark.parametrize(
    ("key", "yards", "height_yd", "mph", "from_deg", "verdict"),
    [
        (FIVE, 106.9, 0.0, 0.0, 0.0, Verdict.TOO_SHORT),
        (FIVE, 107.0, 0.0, 0.0, 0.0, Verdict.FINE),
        (FIVE, 165.4, 0.0, 0.0, 0.0, Verdict.FINE),
        (FIVE, 184.7, 0.0, 0.0, 0.0, Verdict.FINE),
        (FIVE, 185.0, 0.0, 0.0, 0.0, Verdict.TOO_LONG),
        (FIVE, 165.0, 0.0, 11.0, 0.0, Verdict.FINE),
        (FIVE, 165.0, 0.0, 15.0, 0.0, Verdict.TOO_LONG),
        (FIVE, 188.0, 0.0, 15.0, 180.0, Verdict.FINE),
        (FIVE, 188.0, 0.0, 15.0, 90.0, Verdict.TOO_LONG),
        (FIVE, 104.0, 0.0, 15.0, 0.0, Verdict.FINE),
        (FIVE, 160.0, 0.0, 120.0, 0.0, Verdict.UNSOLVED),
        (FIVE, 700.0, 0.0, 0.0, 0.0, Verdict.TOO_LONG),
        (FIVE, 120.0, 60.0, 0.0, 0.0, Verdict.TOO_HIGH),
        (FIVE, 120.0, 60.0, 9.0, 70.0, Verdict.TOO_HIGH),
        (NINE, 60.0, 22.0, 0.0, 0.0, Verdict.TOO_HIGH),
        (FIVE, 1.0, 0.8, 0.0, 0.0, Verdict.TOO_HIGH),
        (FIVE, 2.0, 0.0, 0.0, 0.0, Verdict.TOO_SHORT),
        (NINE, 1.0, -2.0, 12.0, 40.0, Verdict.TOO_SHORT),
        (FIVE, 184.8, 0.0, 120.0, 0.0, Verdict.UNSOLVED),
        (NINE, 76.0, 0.0, 20.0, 180.0, Verdict.TOO_SHORT),
        (NINE, 78.0, -12.0, 0.0, 0.0, Verdict.TOO_LOW),
        (NINE, 70.0, -2.0, 0.0, 0.0, Verdict.TOO_SHORT),
        (NINE, 76.0, -900.0, 0.0, 0.0, Verdict.TOO_LOW),
    ],
)
def test_verdicts_are_those_of_the_games_limits_on_what_a_shot_plays(
    key: tuple[str, str, str],
    yards: float,
    height_yd: float,
    mph: float,
    from_deg: float,
    verdict: Verdict,
) -> None:
    kit_rack = demo_caddie().kit_rack
    asked = shots(
        [key], kit_rack=kit_rack, yards=[yards], height_yd=height_yd, mph=mph, from_deg=from_deg
    )
    found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    assert Verdict(found.verdict[0]) == verdict, found.plays_m / METRES_PER_YARD
    full_yd = 165 if key == FIVE else 116
    assert found.most_m[0] == pytest.approx(1.12 * full_yd * METRES_PER_YARD)
    assert found.full_m[0] == pytest.approx(full_yd * METRES_PER_YARD)
    if verdict == Verdict.FINE:
        assert found.answered[0] and found.plays_m[0] <= found.most_m[0]


def test_the_share_and_the_set_up_speak_of_the_same_swing() -> None:
    kit_rack = demo_caddie().kit_rack
    asked = shots([FIVE, NINE], kit_rack=kit_rack, yards=[150.0, 100.0], mph=12.0, from_deg=20.0)
    found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    full_m = np.array([165.0, 116.0]) * METRES_PER_YARD
    assert found.swing_share == pytest.approx(1 + found.setup_m / full_m)
    assert found.setup_m == pytest.approx(found.plays_m - full_m)
    assert (found.swing_share > asked.distance_m / full_m + 0.05).all()
    off_m = np.hypot(found.long_m, found.right_m)
    assert found.aim_marks == pytest.approx(off_m / found.mark_m)


def test_a_question_without_an_aim_has_no_allowance_and_spoils_no_other() -> None:
    kit_rack = demo_caddie().kit_rack
    yards = [150.0, 400.0, 140.0, 300.0]
    asked = shots([FIVE, FIVE, NINE, NINE], kit_rack=kit_rack, yards=yards, mph=9.0, from_deg=40.0)
    asked.height_m[2] = 70.0
    found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    alone = allow(rack=kit_rack.rack, shots=asked.take(np.array([0])), over_full=OVER_FULL)
    assert found.answered.tolist() == [True, False, False, False]
    assert found.verdict.tolist() == [
        Verdict.FINE,
        Verdict.TOO_LONG,
        Verdict.TOO_HIGH,
        Verdict.TOO_LONG,
    ]
    assert found.long_m[0] == pytest.approx(alone.long_m[0], abs=1e-7)
    assert found.long_m[1:].tolist() == found.law_right_m[1:].tolist() == [0.0, 0.0, 0.0]
    assert found.law_long_m[1:].tolist() == found.right_m[1:].tolist() == [0.0, 0.0, 0.0]
    # beyond the longest set-up by what that lands short: level and in still air, the difference
    over_yd = (found.plays_m / METRES_PER_YARD)[[1, 3]]
    assert over_yd == pytest.approx([400.0, 300.0], abs=0.01)


def test_a_club_answers_only_within_its_reach_and_the_games_marks() -> None:
    kit_rack = demo_caddie().kit_rack
    keys = [FIVE, FIVE, FIVE]
    asked = shots(keys, kit_rack=kit_rack, yards=[150.0, 150.0, 188.0], mph=8.0, from_deg=70.0)
    asked.wind_mps[1] = 14.0
    found = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    first, second = found.aim_marks[:2]
    assert found.verdict.tolist() == [Verdict.FINE, Verdict.FINE, Verdict.TOO_LONG]
    assert 2 < first < second
    assert answers(found, most_marks=(first + second) / 2).tolist() == [True, False, False]
    assert answers(found, most_marks=float(second)).tolist() == [True, True, False]


def test_where_more_help_takes_no_more_off_is_told() -> None:
    kit_rack = demo_caddie().kit_rack
    mph, from_deg = (
        np.array([2.0, 30.0, 30.0, 30.0, 30.0, 30.0]),
        np.array([180, 180, 0, 155, 95, 210]),
    )
    asked = shots([FIVE] * 6, kit_rack=kit_rack, yards=[130.0] * 6)
    asked = asked.with_wind(wind_mps=mph * MPS_PER_MPH, wind_from_deg=from_deg.astype(float))
    windier = asked.with_wind(
        wind_mps=asked.wind_mps + MPS_PER_MPH, wind_from_deg=asked.wind_from_deg
    )
    here = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    there = allow(rack=kit_rack.rack, shots=windier, over_full=OVER_FULL)
    told = help_turns(here, there, wind_from_deg=asked.wind_from_deg)
    assert told.tolist() == [False, True, False, True, False, True]
    assert here.long_m[0] < 0 and there.long_m[0] < here.long_m[0]
    assert there.long_m[1] > here.long_m[1]
    lost = shots([FIVE], kit_rack=kit_rack, yards=[700.0], mph=5.0, from_deg=180.0)
    none = allow(rack=kit_rack.rack, shots=lost, over_full=OVER_FULL)
    assert not help_turns(none, none, wind_from_deg=lost.wind_from_deg).any()


def test_a_wind_helps_within_sixty_degrees_of_straight_behind() -> None:
    """Told by the same answers twice: where more of it takes no more off is then everywhere."""
    kit_rack = demo_caddie().kit_rack
    from_deg = np.array([180.0, 121.0, 239.0, 119.0, 241.0, 95.0, 61.0, 0.0])
    asked = shots([FIVE] * 8, kit_rack=kit_rack, yards=[130.0] * 8, mph=9.0)
    asked = asked.with_wind(wind_mps=asked.wind_mps, wind_from_deg=from_deg)
    same = allow(rack=kit_rack.rack, shots=asked, over_full=OVER_FULL)
    told = help_turns(same, same, wind_from_deg=from_deg)
    assert told.tolist() == [True, True, True, False, False, False, False, False]


def test_every_verdict_is_one_of_its_own() -> None:
    assert len(set(Verdict)) == len(Verdict.__members__) == 7


def test_a_centimetre_beyond_a_limit_is_let_be_and_two_are_not() -> None:
    """Limits of 40 and 90 m; a target under the shortest itself is too short, not too low."""
    plays_m = np.array([90.0 + 0.01, 90.012, 40.0 - 0.01, 39.988, 39.988, 39.988, 90.012])
    found = verdicts(
        plays_m=plays_m,
        distance_m=np.array([80.0, 80.0, 50.0, 50.0, 40.0, 39.9, 80.0]),
        height_m=np.array([0.0, 0.0, -3.0, -3.0, -0.1, -0.1, -3.0]),
        short_m=np.full(7, 40.0),
        most_m=np.full(7, 90.0),
    )
    fine, low = Verdict.FINE, Verdict.TOO_LOW
    long, short = Verdict.TOO_LONG, Verdict.TOO_SHORT
    assert found.tolist() == [fine, long, fine, low, low, short, long]


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
    assert found.verdict.tolist() == [Verdict.TOO_SHORT, Verdict.TOO_LONG, Verdict.UNSOLVED]
    for name, value in vars(found).items():
        if isinstance(value, np.ndarray):
            assert np.isfinite(value).all(), name


def test_spin_steps_multiply_the_clubs_backspin() -> None:
    steps = np.array([0.0, 3.0, -4.0])
    assert spin_factor(backspin_steps=steps, share_per_step=0.08) == pytest.approx([1, 1.24, 0.68])
    with pytest.raises(EngineError, match="topspin"):
        spin_factor(backspin_steps=np.array([1.0, -5.0]), share_per_step=0.2)
