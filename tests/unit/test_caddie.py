"""The caddie: what fills in a shot, the answer's parts, and what it refuses."""

import math

import numpy as np
import pytest

from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.rack import Choice
from engine.response_features import features
from shared.answer import Answer
from shared.bag import Bag
from shared.errors import (
    InputError,
    LeewardError,
    TargetHeightError,
    TooStrongWindError,
    UnreachableShotError,
)
from shared.shot_text import parse
from tests.kits import demo_caddie, kit_with


def ask(text: str, *, bag: Bag | None = None, caddie: Caddie | None = None) -> Answer:
    asked = caddie or demo_caddie()
    return asked.answer(shot=parse(text, kit=asked.kit), bag=bag, given=text)


def test_a_wind_from_the_right_and_ahead_aims_right_and_long() -> None:
    answer = ask("8.4 mph from 2, 5-iron, 165")
    assert answer.allowance.right_yd > 1.5 * answer.allowance.long_yd > 4
    assert answer.plays_yd == pytest.approx(165 + answer.allowance.long_yd, abs=0.4)
    assert answer.share == 1.0
    assert answer.setup_yd == pytest.approx(answer.plays_yd - 165, abs=1e-6)
    assert (answer.law, answer.kit, answer.grade, answer.ball) == (
        "flight",
        "Leeward demo",
        "ash",
        "plover",
    )


def test_marks_are_yards_over_the_size_of_a_mark_at_that_carry() -> None:
    full, part = ask("9 off the right, 7-iron, 140"), ask("9 off the right, 7-iron, 95")
    assert full.allowance.right_marks == pytest.approx(full.allowance.right_yd / 1.6, abs=2e-3)
    assert part.allowance.right_marks == pytest.approx(
        part.allowance.right_yd / (0.8 + 0.8 * 4 / 49), abs=2e-3
    )


def test_what_the_wind_would_change_is_the_difference_of_two_answers() -> None:
    here, more = ask("8 mph from 4, 6-iron, 140"), ask("9 mph from 4, 6-iron, 140")
    turned = ask("8 mph from 130 off line, 6-iron, 140")
    change = here.if_wind.per_mph
    assert change.right_yd == pytest.approx(
        more.allowance.right_yd - here.allowance.right_yd, abs=5e-3
    )
    assert change.long_yd == pytest.approx(
        more.allowance.long_yd - here.allowance.long_yd, abs=5e-3
    )
    assert here.if_wind.per_10_deg.right_yd == pytest.approx(
        turned.allowance.right_yd - here.allowance.right_yd, abs=5e-3
    )


def test_drift_is_what_the_allowance_makes_good() -> None:
    answer = ask("11 mph from 10, hybrid, 170")
    assert answer.flight is not None
    assert answer.flight.drift_right_yd == -answer.allowance.right_yd > 3
    assert answer.flight.drift_long_yd == -answer.allowance.long_yd < -2


def test_the_margin_is_the_90_percent_interval_of_the_prediction() -> None:
    answer = ask("12 mph from 1, 4-iron, 160")
    caddie, choice = demo_caddie(), Choice("4-iron", "ash", "plover")
    shot = parse("12 mph from 1, 4-iron, 160", kit=caddie.kit)
    asked = batch(shots=[shot], choices=[choice], kit=caddie.kit, kit_rack=caddie.kit_rack)
    found = caddie.allow(asked)
    phi = features(found.situations)
    response = caddie.response.take(asked.row)
    felt = min(1.5, float(np.hypot(*phi.wind_m[0])) / 6.0)
    for axis, (values, (_, cov, _)) in enumerate(zip(phi.axes, response.axes, strict=True)):
        variance = values[0] @ cov[0] @ values[0] + 0.2 * felt * response.spread_m[0, axis] ** 2
        half_yd = 1.6448536 * variance**0.5 / 0.9144
        told = (answer.margin.long_yd, answer.margin.right_yd)[axis]
        assert told == pytest.approx(half_yd, abs=2e-3)
    assert answer.margin_yd == pytest.approx(
        math.hypot(answer.margin.right_yd, answer.margin.long_yd), abs=2e-3
    )
    assert answer.margin.source == "computed: no shots logged yet"


def test_a_margin_does_not_vanish_where_the_law_cancels_or_the_air_is_still() -> None:
    assert ask("20 mph helping, 5-iron, 108").margin.long_yd > 3.0
    assert 1.0 < ask("calm, 5-iron, 160").margin.long_yd < ask("9 into, 5-iron, 160").margin.long_yd


def test_calm_needs_no_allowance_and_negative_zero_never_shows() -> None:
    answer = ask("calm, 9-iron, 110")
    assert answer.allowance.model_dump() == {
        "right_yd": 0.0,
        "long_yd": 0.0,
        "right_marks": 0.0,
        "long_marks": 0.0,
    }
    assert "-0.0" not in answer.model_dump_json()


def test_the_shot_goes_before_the_bag_and_the_bag_before_the_default() -> None:
    bag = Bag(grades={"5-iron": "yew"}, ball="tern")
    assert ask("6 into, 5-iron, 150", bag=bag).grade == "yew"
    assert ask("6 into, 5-iron oak, 150", bag=bag).grade == "oak"
    assert ask("6 into, 6-iron, 140", bag=bag).grade == "ash"
    assert ask("6 into, 5-iron, 150", bag=bag).ball == "tern"
    assert ask("6 into, 5-iron, 150, heron", bag=bag).ball == "heron"


def test_a_grade_the_kit_no_longer_has_falls_back_and_says_so() -> None:
    answer = ask("6 into, 5-iron, 150", bag=Bag(grades={"5-iron": "elm"}, ball="dunlin"))
    assert (answer.grade, answer.ball) == ("ash", "plover")
    assert [note.split(":")[0] for note in answer.notes] == [
        "the kit no longer has the grade elm of the 5-iron",
        "the kit no longer has the ball dunlin",
    ]


def test_a_ball_that_feels_less_wind_needs_less_allowance() -> None:
    plain, less = ask("10 off the left, 5-wood, 180"), ask("10 off the left, 5-wood, 180, tern")
    ratio = less.allowance.right_yd / plain.allowance.right_yd
    assert ratio == pytest.approx(0.85, abs=0.02)


def test_a_ball_that_carries_more_is_set_up_for_less() -> None:
    plain, more = ask("calm, 8-iron, 120"), ask("calm, 8-iron, 120, heron")
    assert plain.setup_yd - more.setup_yd == pytest.approx(0.02 * 128, abs=0.02)


@pytest.mark.parametrize(
    ("text", "reaching"),
    [
        ("calm, 7-iron, 165", "5-iron (ash)"),
        ("calm, 5-iron, 186", "hybrid (ash)"),
        ("calm, driver, 100", "pitching wedge (ash)"),
    ],
)
def test_beyond_or_below_what_a_club_carries_says_what_would_reach(
    text: str, reaching: str
) -> None:
    with pytest.raises(UnreachableShotError) as caught:
        ask(text)
    assert caught.value.reaching[0] == reaching


def test_a_helping_wind_may_bring_a_target_beyond_full_carry_into_reach() -> None:
    answer = ask("15 helping, 5-iron, 188")
    assert answer.plays_yd < 184.8 < answer.distance_yd


def test_one_limit_holds_for_what_a_shot_plays() -> None:
    """165.4 yd in a calm is no harder than 165 into 10 mph, which plays more."""
    calm, windy = ask("calm, 5-iron, 165.4"), ask("10 into, 5-iron, 165")
    assert calm.setup_yd == pytest.approx(0.4, abs=2e-3)
    assert windy.setup_yd > 10
    assert windy.swing_share == pytest.approx(windy.plays_yd / 165, abs=1e-3)
    assert windy.swing_share > windy.share == 1.0


def test_where_more_help_changes_nothing_the_answer_says_so() -> None:
    assert not ask("4 helping, 5-iron, 150").help_turns
    assert ask("30 helping, 5-iron, 130").help_turns
    assert not ask("8 into, 5-iron, 150").help_turns


@pytest.mark.parametrize(
    ("text", "height_yd", "reaching"),
    [
        ("calm, 7-iron, 120, up 40", 40, ()),
        ("calm, 7-iron, 85, up 25", 25, ("9-iron (ash)", "pitching wedge (ash)")),
    ],
)
def test_a_target_too_high_is_told_as_that(
    text: str, height_yd: float, reaching: tuple[str, ...]
) -> None:
    with pytest.raises(TargetHeightError) as caught:
        ask(text)
    assert caught.value.height_m == pytest.approx(height_yd * 0.9144)
    assert (caught.value.club, caught.value.grade) == (text.split(", ")[1], "ash")
    assert caught.value.reaching == reaching


def test_under_the_shortest_club_in_a_calm_no_wind_is_blamed() -> None:
    with pytest.raises(UnreachableShotError) as caught:
        ask("calm, sand wedge, 25")
    assert caught.value.needed_m == pytest.approx(25 * 0.9144, abs=0.01)
    assert caught.value.needed_m < caught.value.least_m
    assert caught.value.reaching == () and not caught.value.windy


@pytest.mark.parametrize(
    "text",
    [
        "20 into, 5-iron, 150",
        "24 into, 5-iron, 150",
        "28 into, 5-iron, 150",
        "25 from 12, 5-iron, 165",
        "24 into, sand wedge, 75",
        "40 off the left, 9-iron, 112",
        "calm, driver, 100",
        "calm, 7-iron, 85, up 25",
    ],
)
def test_a_club_that_would_reach_answers_when_it_is_asked(text: str) -> None:
    with pytest.raises(LeewardError) as caught:
        ask(text)
    club = parse(text, kit=demo_caddie().kit).club
    assert club is not None
    for named in getattr(caught.value, "reaching", ()):
        assert ask(text.replace(club, named.split(" (")[0])).allowance.right_marks is not None


def test_the_bag_decides_what_would_reach() -> None:
    with pytest.raises(UnreachableShotError) as caught:
        ask("calm, 7-iron, 157", bag=Bag(grades={"6-iron": "yew"}))
    assert caught.value.reaching[0] == "6-iron (yew)"


def test_spin_and_curve_beyond_the_kit_are_refused() -> None:
    with pytest.raises(InputError, match="5 steps of back or top spin, not 7"):
        ask("8 into, 7-iron, 130, back 7")
    with pytest.raises(InputError, match="15 degrees of tilt"):
        ask("8 into, 7-iron, 130, fade 9, side 4 right")


def test_a_wind_nothing_holds_against_is_an_error_not_a_number() -> None:
    with pytest.raises(TooStrongWindError) as caught:
        ask("130 mph into, sand wedge, 75")
    assert caught.value.reaching == ()


def test_a_wind_one_club_cannot_hold_names_those_that_can() -> None:
    with pytest.raises(TooStrongWindError) as caught:
        ask("24 mph into, pitching wedge, 100")
    assert caught.value.reaching == ("5-iron (ash)", "4-iron (ash)")
    assert ask("24 mph into, 5-iron, 100").allowance.long_yd > 15


def test_draw_and_fade_mirror_each_other_in_a_calm() -> None:
    draw, fade = ask("calm, 6-iron, 140, draw 7"), ask("calm, 6-iron, 140, fade 7")
    assert draw.plays_yd == pytest.approx(fade.plays_yd, abs=1e-3)
    assert draw.plays_yd > ask("calm, 6-iron, 140").plays_yd + 0.05
    assert draw.allowance.right_yd == fade.allowance.right_yd == 0.0


def test_a_chart_answers_by_the_coachs_points() -> None:
    kit = kit_with(club="7-iron", chart=((0.6, 0.5), (0.9, 0.95), (1.0, 1.0)))
    answer = ask("10 mph from 1:30, 7-iron, 105", caddie=Caddie(kit))
    per_mph = 0.5 + (0.95 - 0.5) * (0.75 - 0.6) / 0.3
    assert answer.law == "chart"
    assert answer.allowance.right_marks == pytest.approx(
        10 * per_mph * math.sin(math.radians(45)), abs=2e-3
    )
    assert answer.allowance.long_marks == pytest.approx(answer.allowance.right_marks, abs=1e-6)


def test_at_half_share_the_chart_gives_the_coachs_rule() -> None:
    # Common practice: 9.24 mph needs 8.4 marks where the chart says .909 and the target is level.
    kit = kit_with(club="sand wedge", chart=((0.3, 0.8), (0.5, 0.909), (1.0, 1.3)))
    answer = ask("9.24 mph into, sand wedge, 38.5", caddie=Caddie(kit))
    assert answer.share == 0.5
    assert answer.allowance.long_marks == pytest.approx(8.4, abs=5e-3)


def test_the_demo_reaches_165_with_the_5_iron_and_140_with_the_7_iron() -> None:
    assert ask("calm, 5-iron, 165").setup_yd == pytest.approx(0, abs=2e-3)
    assert ask("calm, 7-iron, 140").setup_yd == pytest.approx(0, abs=2e-3)


def test_onto_a_ground_the_answer_says_where_to_come_down_and_the_run_adds_up() -> None:
    """The swing carries as far as the answer for that carry, but for what the wind does there."""
    text = "8.4 mph from 2, 5-iron, 165"
    answer, plain = ask(f"{text}, onto green"), ask(text)
    ground = answer.ground
    assert plain.ground is None and ground is not None and ground.onto == "green"
    assert answer.distance_yd == plain.distance_yd == 165
    assert ground.total_yd == pytest.approx(165, abs=0.02)
    assert ground.carry_yd + ground.run_yd == pytest.approx(ground.total_yd, abs=0.01)
    assert 8 < ground.run_yd < 20 and 0 < ground.first_bounce_yd < ground.run_yd
    landed = math.hypot(165 + ground.comes_down.long_yd, ground.comes_down.right_yd)
    assert landed == pytest.approx(ground.carry_yd, abs=0.01)
    assert answer.allowance.long_yd < plain.allowance.long_yd - 5
    shorter = ask(f"8.4 mph from 2, 5-iron, {ground.carry_yd:.3f}")
    assert answer.plays_yd == pytest.approx(shorter.plays_yd, abs=0.5)
    assert answer.flight is not None and shorter.flight is not None
    # its drift is the wind's alone
    assert answer.flight.drift_long_yd == pytest.approx(shorter.flight.drift_long_yd, abs=0.5)


def test_what_is_out_of_reach_is_what_it_plays_and_not_where_it_ends() -> None:
    assert ask("calm, 5-iron, 189 yd, onto green").setup_yd > 0  # 185 at most without the run
    with pytest.raises(UnreachableShotError) as caught:
        ask("calm, 5-iron, 215 yd, onto green")
    assert caught.value.distance_m < 215 * 0.9144 - 5
    assert caught.value.example.endswith("onto green")
