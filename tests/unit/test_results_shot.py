"""What a try comes to: predicted and observed effect, from the aim used and where it ended."""

import numpy as np
import pytest

from bot.services.caddie.adapt import ReadLine, read_line, read_wind
from bot.services.caddie.rack import Choice
from bot.services.members import ToldAim, wind_mmps
from bot.services.results.outcome import HOLED, NOT_KNOWN, Outcome, read_outcome
from bot.services.results.service import wind_of
from bot.services.results.shot import ShotFacts, effects, shot_facts
from shared.bag import Bag
from shared.book import Line, LineShot, Worked
from shared.quantities import Wind
from shared.shot_text import parse
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.kits import demo_caddie, demo_kit

CM_PER_YD = 100 * METRES_PER_YARD


def wind(text: str) -> Wind:
    return read_wind(text=text, kit=demo_kit())


def line(*shots: str, worked: Worked | None = None) -> ReadLine:
    rows = tuple(LineShot(shot=shot, worked=worked) for shot in shots)
    model = Line(variant="A", wind="8 mph from 2", shots=rows)
    return read_line(line=model, kit=demo_kit())


def facts(
    read: ReadLine,
    came: Outcome,
    *,
    played: str | None = "8 mph from 2",
    told: tuple[ToldAim, ...] = (),
    grades: dict[str, str] | None = None,
) -> ShotFacts:
    bag = Bag(grades=grades or {})
    blew = wind(played) if played else None
    caddie = demo_caddie()
    return shot_facts(caddie=caddie, line=read, bag=bag, wind=blew, outcome=came, told=told)


def law_cm(text: str) -> np.ndarray:
    found = demo_caddie().answer(shot=parse(text, kit=demo_kit())).allowance
    return CM_PER_YD * np.array([found.long_yd, found.right_yd])


def test_the_observed_effect_is_the_miss_less_the_aim_the_predicted_one_less_the_law() -> None:
    predicted, observed = effects(miss_m=(-3.0, 1.5), aim_m=(4.0, 6.0), law_m=(3.5, 5.0))
    assert predicted == (-3.5, -5.0)
    assert observed == (-7.0, -4.5)


def test_a_shot_aimed_by_the_law_that_went_in_saw_what_the_law_says() -> None:
    found = facts(line("5-iron, 160"), HOLED)
    expected = -law_cm("8 mph from 2, 5-iron, 160")
    assert found.effect_cm == pytest.approx(tuple(expected), abs=1.0)
    assert found.observed_cm == found.effect_cm
    assert found.miss_cm == (0, 0)


def test_a_noted_aim_beyond_the_law_that_went_in_saw_more_wind() -> None:
    law = law_cm("8 mph from 2, 5-iron, 160")
    noted = Worked(right=law[1] / CM_PER_YD + 2.0, long=law[0] / CM_PER_YD - 1.0, unit="yd")
    found = facts(line("5-iron, 160", worked=noted), HOLED)
    assert found.observed_cm is not None and found.effect_cm is not None
    long, right = np.subtract(found.observed_cm, found.effect_cm) / CM_PER_YD
    assert (long, right) == (pytest.approx(1.0, abs=0.02), pytest.approx(-2.0, abs=0.02))


def test_a_miss_is_in_whole_centimetres_long_and_right_and_moves_the_observed_effect() -> None:
    straight = facts(line("5-iron, 160"), HOLED)
    missed = facts(line("5-iron, 160"), Outcome(False, long=-5.0, right=3.0, unit="yd"))
    assert missed.miss_cm == (-457, 274)
    assert straight.observed_cm is not None and missed.observed_cm is not None
    moved = np.subtract(missed.observed_cm, straight.observed_cm)
    assert moved == pytest.approx((-457, 274), abs=1.0)


def test_what_was_aimed_by_is_what_was_told_not_what_would_be_told_now() -> None:
    choice = Choice("5-iron", "ash", "plover")
    told = ToldAim(choice, wind_mmps(wind("8 mph from 2")), 160.0, (2.0, 11.0))
    missed = Outcome(False, long=-1.0, right=4.0, unit="yd")
    found = facts(line("5-iron, 160"), missed, told=(told,))
    assert found.observed_cm is not None
    assert np.array(found.observed_cm) / CM_PER_YD == pytest.approx((-3.0, -7.0), abs=0.01)
    assert found.effect_cm == facts(line("5-iron, 160"), missed).effect_cm
    elsewhere = facts(line("5-iron, 158"), missed, told=(told,))
    assert elsewhere == facts(line("5-iron, 158"), missed)


def test_a_mark_is_as_long_as_the_shots_own() -> None:
    near = facts(line("5-iron, 140"), Outcome(False, right=2.0, unit="marks"))
    far = facts(line("5-iron, 160"), Outcome(False, right=2.0, unit="marks"))
    assert near.miss_cm is not None and far.miss_cm is not None
    answer = demo_caddie().answer(shot=parse("8 mph from 2, 5-iron, 160", kit=demo_kit()))
    mark_cm = CM_PER_YD * answer.allowance.right_yd / answer.allowance.right_marks
    assert far.miss_cm[1] == pytest.approx(2 * mark_cm, abs=1.0)
    assert near.miss_cm[1] < far.miss_cm[1]


def test_the_miss_is_that_of_the_last_shot_with_the_grade_in_the_bag() -> None:
    found = facts(line("driver, 225", "8-iron, 120"), NOT_KNOWN, grades={"8-iron": "yew"})
    assert (found.club, found.grade, found.ball) == ("8-iron", "yew", "plover")
    full = demo_kit().club("8-iron").grade("yew").full_yd
    assert found.share == pytest.approx(120 / full, abs=1e-4)


def test_a_miss_nobody_measured_keeps_what_the_law_said_and_its_side() -> None:
    found = facts(line("5-iron, 160"), read_outcome("missed, short", units="yards", mark="mark"))
    assert found.miss_cm is None and found.observed_cm is None
    assert found.effect_cm == facts(line("5-iron, 160"), HOLED).effect_cm
    assert found.situations is not None


def test_what_the_law_needs_to_be_asked_again_is_kept() -> None:
    found = facts(line("5-iron, 160 yd, up 7 yd, backspin 2"), HOLED)
    assert (found.carry_cm, found.height_cm, found.backspin) == (14630, 640, 2.0)
    assert found.aim_cm is not None and found.observed_cm is not None
    assert found.aim_cm == tuple(-each for each in found.observed_cm)


@pytest.mark.parametrize(
    ("shot", "came", "played"),
    [
        ("5-iron, 160", HOLED, None),  # nobody knows in which wind
        ("5-iron, 160", HOLED, "45 mph into"),  # the set-up was cut at its limit
    ],
)
def test_nothing_is_learned_where_law_and_shot_cannot_be_compared(
    shot: str, came: Outcome, played: str | None
) -> None:
    found = facts(line(shot), came, played=played)
    assert found.effect_cm is None and found.observed_cm is None
    assert found.club == "5-iron"


@pytest.mark.parametrize(
    ("text", "along", "right"),
    [
        ("10 mph into", -1.0, 0.0),
        ("10 mph helping", 1.0, 0.0),
        ("10 mph off the right", 0.0, -1.0),
        ("10 mph from 10", -0.5, 3**0.5 / 2),
    ],
)
def test_a_wind_is_the_airs_way_along_and_across(text: str, along: float, right: float) -> None:
    speed = 10_000 * MPS_PER_MPH
    assert wind_mmps(wind(text)) == (round(along * speed), round(right * speed))


@pytest.mark.parametrize("text", ["9 mph from 4", "7.5 mph from 11", "12 mph into", "3 helping"])
def test_a_wind_comes_back_as_it_was_typed(text: str) -> None:
    typed = wind(text)
    back = wind_of(wind_mmps(typed), "yards")
    assert back is not None
    assert back.speed.value == pytest.approx(typed.speed.value, abs=0.05)
    assert back.relative_deg == pytest.approx(typed.relative_deg, abs=0.1)


def test_of_a_ball_that_finishes_only_where_it_came_down_says_what_the_wind_did() -> None:
    """Meant to come down 12 yd short and right of the hole; the miss is counted from the hole."""
    read = line("5-iron, 160, onto green")
    ground = (
        demo_caddie()
        .answer(shot=parse("8 mph from 2, 5-iron, 160, onto green", kit=demo_kit()))
        .ground
    )
    assert ground is not None
    down = ground.comes_down
    ended = facts(read, read_outcome("3 long", units="yards", mark="mark"))
    assert (ended.miss_cm, ended.ended_cm, ended.onto) == (None, (274, 0), "green")
    assert ended.observed_cm is None and ended.effect_cm is not None
    text = f"came down {-down.long_yd:.4f} short {down.right_yd:.4f} right, ended 3 long"
    both = facts(read, read_outcome(text, units="yards", mark="mark"))
    assert both.ended_cm == (274, 0) and both.observed_cm is not None
    assert both.observed_cm == pytest.approx(both.effect_cm, abs=3)  # just where it was to
    further = facts(
        read,
        read_outcome(f"came down {-down.long_yd - 2:.4f} short", units="yards", mark="mark"),
    )
    assert further.observed_cm is not None and further.ended_cm is None
    moved = np.subtract(further.observed_cm, both.observed_cm)
    assert np.hypot(*moved) == pytest.approx(np.hypot(183, 91.44 * down.right_yd), abs=2)
    assert moved == pytest.approx((183, -91.44 * down.right_yd), abs=8)  # but for the line's turn
    assert both.carry_cm == pytest.approx(91.44 * ground.carry_yd, abs=2)
    assert facts(read, HOLED).observed_cm is None and facts(read, HOLED).ended_cm is None


def test_where_it_ended_is_kept_beside_and_never_taken_for_where_it_came_down() -> None:
    read = line("5-iron, 160")
    plain = facts(read, read_outcome("5 short", units="yards", mark="mark"))
    both = facts(read, read_outcome("came down 5 short, ended 2 long", units="yards", mark="mark"))
    assert both.observed_cm == plain.observed_cm and both.miss_cm == plain.miss_cm
    assert (plain.ended_cm, both.ended_cm) == (None, (183, 0))
    ended = facts(read, read_outcome("ended 2 long", units="yards", mark="mark"))
    assert (ended.miss_cm, ended.observed_cm, ended.ended_cm) == (None, None, (183, 0))
    went_in = facts(read, read_outcome("came down 9 short, in", units="yards", mark="mark"))
    assert (went_in.miss_cm, went_in.ended_cm) == ((-823, 0), None)
