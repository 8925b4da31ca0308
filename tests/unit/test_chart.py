"""The chart law: interpolation, wind, height, and what coaches commonly reckon with it."""

import numpy as np
import pytest

from bot.services.caddie.caddie import Caddie, batch, choose
from engine.chart import chart_marks, marks_per_mph
from engine.law import allow
from shared.answer import Answer
from shared.bag import Bag
from shared.kit import Grade, MarkSize
from shared.shot_text import parse
from tests.kits import demo_caddie, kit_with

CHART = ((0.5, 0.909), (0.75, 1.04), (1.0, 1.21))


def per_mph(share: float, points: tuple[tuple[float, float], ...] = CHART) -> float:
    shares, marks = np.array(points).T
    found = marks_per_mph(
        chart_share=shares[None], chart_marks_per_mph=marks[None], share=np.array([share])
    )
    return float(found[0])


def marks(*, share: float, mph: float, from_deg: float, height: float) -> tuple[float, float]:
    long, right = chart_marks(
        per_mph=np.array([per_mph(share)]),
        wind_mph=np.array([mph]),
        wind_from_deg=np.array([from_deg]),
        height_fraction=np.array([height]),
    )
    return float(long[0]), float(right[0])


@pytest.mark.parametrize(
    ("share", "marks_per"),
    [
        (0.5, 0.909),
        (0.75, 1.04),
        (1.0, 1.21),
        (0.6, 0.909 + 0.4 * 0.131),
        (0.95, 1.21 - 0.2 * 0.17),
    ],
)
def test_the_chart_is_met_at_its_points_and_linear_between(share: float, marks_per: float) -> None:
    assert per_mph(share) == pytest.approx(marks_per, abs=1e-12)


@pytest.mark.parametrize(("share", "marks_per"), [(0.2, 0.909), (1.13, 1.21)])
def test_the_chart_is_held_beyond_its_ends(share: float, marks_per: float) -> None:
    assert per_mph(share) == marks_per


def test_charts_of_different_length_share_a_batch() -> None:
    """The shorter is padded with its last point; one of a single point says the same always."""
    found = marks_per_mph(
        chart_share=np.array([[0.4, 0.7, 1.0], [0.5, 0.9, 0.9], [0.8, 0.8, 0.8]]),
        chart_marks_per_mph=np.array([[0.6, 0.9, 1.0], [0.8, 1.0, 1.0], [0.77, 0.77, 0.77]]),
        share=np.array([0.85, 0.7, 0.3]),
    )
    assert found == pytest.approx([0.95, 0.9, 0.77], abs=1e-12)


def test_marks_go_upwind() -> None:
    assert marks(share=0.75, mph=5.0, from_deg=0.0, height=0.0) == pytest.approx((5.2, 0.0))
    assert marks(share=0.75, mph=5.0, from_deg=90.0, height=0.0) == pytest.approx((0.0, 5.2))
    assert marks(share=0.75, mph=5.0, from_deg=180.0, height=0.0) == pytest.approx((-5.2, 0.0))
    long, right = marks(share=0.75, mph=5.0, from_deg=300.0, height=0.0)
    assert (long, right) == pytest.approx((2.6, -5.2 * np.sqrt(3) / 2))


def test_marks_are_linear_in_the_wind_and_nothing_in_a_calm() -> None:
    once = marks(share=0.6, mph=3.5, from_deg=40.0, height=0.05)
    thrice = marks(share=0.6, mph=10.5, from_deg=40.0, height=0.05)
    assert thrice == pytest.approx((3 * once[0], 3 * once[1]))
    assert marks(share=0.6, mph=0.0, from_deg=40.0, height=0.05) == (0.0, 0.0)


def test_half_share_needs_what_the_chart_says() -> None:
    """Common practice (C): chart .909 at half share, level, 9.24 mph needs 8.4 marks."""
    assert marks(share=0.5, mph=9.24, from_deg=90.0, height=0.0)[1] == pytest.approx(8.4, abs=0.005)


def test_a_fifth_of_height_takes_a_fifth_away() -> None:
    level, up = (marks(share=1.0, mph=6.5, from_deg=135.0, height=h) for h in (0.0, 0.2))
    assert up == pytest.approx((0.8 * level[0], 0.8 * level[1]), rel=1e-12)


CARRY = {"hybrid": 160, "6-iron": 135, "9-iron": 110}  # nine tenths of full: more help takes more


@pytest.mark.parametrize("from_deg", [0.0, 90.0, 180.0])
@pytest.mark.parametrize("club", ["hybrid", "6-iron", "9-iron"])
def test_height_works_the_same_way_round_in_chart_and_flight(club: str, from_deg: float) -> None:
    """A ball that comes down on higher ground has been blown less, by either law."""
    clock = f"10 mph from {from_deg / 30 or 12:.0f}"
    for caddie in (demo_caddie(), Caddie(kit_with(club=club, chart=CHART))):
        level, up, down = (
            size(caddie, f"{clock}, {club}, {CARRY[club]}{height}")
            for height in ("", ", up 6", ", down 6")
        )
        assert up < level < down


def size(caddie: Caddie, text: str) -> float:
    """How far the law itself aims off, yards."""
    shot = parse(text, kit=caddie.kit)
    choice = choose(shot=shot, bag=None, kit=caddie.kit)
    asked = batch(shots=[shot], choices=[choice], kit=caddie.kit, kit_rack=caddie.kit_rack)
    found = allow(rack=caddie.kit_rack.rack, shots=asked, over_full=0.3)
    return float(np.hypot(found.law_long_m[0], found.law_right_m[0]))


def test_three_charts_each_hold_in_their_own_wind() -> None:
    three = np.array([[[1.0, 1.4], [0.3, 0.5], [0.8, 1.2]]])
    per = marks_per_mph(
        chart_share=np.array([[0.5, 1.0]]), chart_marks_per_mph=three, share=np.array([0.75])
    )
    assert per.tolist() == [pytest.approx([1.2, 0.4, 1.0])]
    for from_deg, long, right in (
        (0.0, 6.0, 0.0),
        (180.0, -2.0, 0.0),
        (90.0, 0.0, 5.0),
        (270.0, 0.0, -5.0),
        (60.0, 3.0, 5.0 * 3**0.5 / 2),
        (120.0, -1.0, 5.0 * 3**0.5 / 2),
    ):
        found = chart_marks(
            per_mph=per,
            wind_mph=np.array([5.0]),
            wind_from_deg=np.array([from_deg]),
            height_fraction=np.zeros(1),
        )
        assert (found[0][0], found[1][0]) == pytest.approx((long, right), abs=1e-12)


def two_grades(*, full_yd: tuple[float, float], mark_yd: float, per_mph: float) -> Caddie:
    """The demo's kit with a charted 5-iron of two grades, the shorter named first."""
    grades = tuple(
        Grade(name=name, full_yd=full, short_yd=107)
        for name, full in zip(("near", "far"), full_yd, strict=True)
    )
    mark = MarkSize(full_yd=mark_yd, short_yd=mark_yd)
    return Caddie(kit_with(club="5-iron", chart=((1.0, per_mph),), grades=grades, mark=mark))


def ask(caddie: Caddie, text: str, grade: str) -> Answer:
    bag = Bag(grades={"5-iron": grade})
    return caddie.answer(shot=parse(text, kit=caddie.kit), bag=bag, given=text)


def test_a_charted_question_from_text_to_marks() -> None:
    """Common practice (C) again, the whole way: a club of 220 yd at half its carry."""
    caddie = Caddie(
        kit_with(club="5-iron", chart=CHART, grades=(Grade(name="ash", full_yd=220, short_yd=100),))
    )
    answer = ask(caddie, "9.24 mph off the right, 5-iron, 110", "ash")
    assert (answer.law, answer.share) == ("chart", 0.5)
    assert answer.allowance.right_marks == pytest.approx(8.4, abs=0.005)
    assert answer.allowance.long_marks == 0.0


@pytest.mark.parametrize(
    ("full_yd", "plays_yd", "shorter", "longer"),
    [
        ((165.0, 168.0), 173.0, 8.0, 5.0),
        ((165.0, 168.0), 169.0, 4.0, 1.0),
        ((165.0, 167.0), 173.0, 8.0, 6.0),
        ((165.0, 167.0), 179.0, 14.0, 12.0),
    ],
)
def test_grades_differ_by_their_full_carries_in_every_set_up_counted_from_full(
    full_yd: tuple[float, float], plays_yd: float, shorter: float, longer: float
) -> None:
    """Common practice (C): with 3 yd between them +5 on the longer is +8 on the shorter, +1 is +4;
    with 2 yd, +6 is +8 and +12 is +14.

    A headwind on a chart of one point, with marks of one size, makes a target of 160 yd play the
    carry wanted.
    """
    mark_yd, per_mph = 1.6, 1.25
    caddie = two_grades(full_yd=full_yd, mark_yd=mark_yd, per_mph=per_mph)
    wind = f"{(plays_yd - 160) / (mark_yd * per_mph):.2f} mph into"
    near, far = (ask(caddie, f"{wind}, 5-iron, 160", grade) for grade in ("near", "far"))
    assert near.plays_yd == pytest.approx(plays_yd, abs=0.02)
    assert near.setup_yd == pytest.approx(shorter, abs=0.02)
    assert far.setup_yd == pytest.approx(longer, abs=0.02)
    assert near.setup_yd - far.setup_yd == pytest.approx(full_yd[1] - full_yd[0], abs=1e-3)


def test_under_the_flight_law_two_grades_differ_by_their_full_carries_too() -> None:
    """Common practice (C), 3 yd apart in a wind: the grades' own flights differ by far less."""
    caddie = demo_caddie()
    near, far = (ask(caddie, "9 mph into, 5-iron, 158", grade) for grade in ("ash", "oak"))
    assert (near.law, near.grade, far.grade) == ("flight", "ash", "oak")
    assert near.setup_yd > 0.5
    assert near.setup_yd - far.setup_yd == pytest.approx(3.0, abs=0.25)
