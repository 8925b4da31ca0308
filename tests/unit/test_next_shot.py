"""The next shot: what is read, and that the ball of each way ends at the hole."""

from dataclasses import replace

import numpy as np
import pytest

from bot.services.caddie.believed import Believed, unlearned
from bot.services.caddie.caddie import Caddie
from bot.services.next_shot.reading import read_next
from bot.services.next_shot.ways import NextWay, next_ways
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import SURFACE_KINDS, SurfaceKind
from shared.shot_text import parse
from shared.units import METRES_PER_YARD
from tests.kits import demo_caddie, demo_kit


def ways(text: str, *, bag: Bag | None = None, caddie: Caddie | None = None) -> list[NextWay]:
    owned = bag or Bag()
    question = read_next(text, onto="green", kit=demo_kit(), bag=owned)
    return next_ways(caddie=caddie or demo_caddie(), question=question, bag=owned)


@pytest.mark.parametrize(
    ("text", "yards", "lie", "mph", "hour"),
    [
        ("171 left, rough, wind 6 from 4", 171, "rough", 6, 4),
        ("rough, 6 mph from 4, 171 to go", 171, "rough", 6, 4),
        ("from the bunker, 62, 9 from 10", 62, "sand", 9, 10),
        ("In The Fringe , 143, 3 from 7", 143, "fringe", 3, 7),
    ],
)
def test_what_is_left_is_read(text: str, yards: float, lie: str, mph: float, hour: int) -> None:
    asked = read_next(text, onto="green", kit=demo_kit(), bag=Bag())
    assert asked.shot.distance is not None and asked.shot.wind is not None
    assert asked.shot.distance.m == pytest.approx(yards * METRES_PER_YARD)
    assert (asked.lie, asked.lie_said) == (lie, True)
    assert asked.shot.wind.speed.value == mph and asked.shot.wind.from_deg == hour * 30


def test_without_lie_and_wind_it_is_the_fairway_and_calm() -> None:
    asked = read_next("171", onto="green", kit=demo_kit(), bag=Bag(units="metric"))
    assert asked.shot.distance is not None and asked.shot.distance.m == pytest.approx(171)
    assert (asked.lie, asked.lie_said) == ("fairway", False)
    assert asked.shot.wind is not None and asked.shot.wind.speed.mps == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("rough", "How far is left was not said"),
        ("", "How far is left was not said"),
        ("171 banana", "“banana” was not understood. A lie is one of tee, fairway"),
        ("171, rough, sand", "Two lies: rough and sand"),
        ("🏌️", "A lie is one of"),
        ("100000 yd, rough", "longer than any hole (1000 yd)."),
    ],
)
def test_what_cannot_be_read_is_said_with_an_example(text: str, words: str) -> None:
    with pytest.raises(InputError, match="/next left:171, rough") as refused:
        read_next(text, onto="green", kit=demo_kit(), bag=Bag())
    assert words in refused.value.sentence and refused.value.given == text


@pytest.mark.parametrize("text", ["900, calm", "4, fairway"])
def test_what_no_club_plays_is_said(text: str) -> None:
    with pytest.raises(InputError, match="No club of yours"):
        ways(text)


def test_in_a_calm_every_way_is_straight_and_what_runs_is_left_short() -> None:
    found = ways("150, calm")
    assert len(found) >= 4
    for way in found:
        assert way.allowance.right_yd == pytest.approx(0, abs=0.02)
        assert way.margin.long_yd > 0
        # Where there is no wind the aim is where the ball comes down, and all of the rest is run.
        assert way.allowance.long_yd == pytest.approx(way.carry_yd - 150, abs=0.1)
        assert way.carry_yd + way.run_yd == pytest.approx(150, abs=0.1)
        assert 0 <= way.bounce_yd <= way.run_yd + 0.1


def test_left_and_right_are_mirrored() -> None:
    left, right = ways("150, 9 from 10:30"), ways("150, 9 from 1:30")
    assert [way.choice.club for way in left] == [way.choice.club for way in right]
    for one, other in zip(left, right, strict=True):
        assert one.allowance.right_yd == pytest.approx(-other.allowance.right_yd, abs=0.02)
        assert one.allowance.right_yd < -1
        assert one.allowance.long_yd == pytest.approx(other.allowance.long_yd, abs=0.02)


def test_the_carry_is_that_of_the_law_asked_for_where_it_comes_down() -> None:
    """What is said of the air agrees with /wind for the distance at which the ball comes down."""
    way = next(each for each in ways("138, 8 into, 7-iron"))
    asked = parse(f"8 into, 7-iron, {way.carry_yd:.3f}", kit=demo_kit())
    air = demo_caddie().answer(shot=asked)
    assert way.allowance.long_yd + 138 - way.carry_yd == pytest.approx(
        air.allowance.long_yd, abs=0.05
    )
    assert way.swing_share == pytest.approx(air.swing_share, abs=0.002)


def test_from_the_rough_it_takes_more_club_and_runs_farther() -> None:
    clean, rough = ways("150, calm, 7-iron")[0], ways("150, rough, calm, 7-iron")[0]
    assert rough.run_yd > clean.run_yd + 3  # less spin
    assert rough.leaves_yd > clean.leaves_yd  # hits spread more widely


def test_what_was_learned_moves_the_aim_by_as_much() -> None:
    plain = demo_caddie()
    nothing = unlearned(plain.kit, plain.kit_rack)
    offset = np.zeros_like(nothing.response.across_mean)
    offset[:, -1] = 1.0
    bent = replace(nothing.response, across_mean=nothing.response.across_mean + offset)
    caddie = Caddie(
        plain.kit,
        kit_rack=plain.kit_rack,
        believed=Believed(bent, nothing.sources, nothing.spreads),
    )
    before, after = ways("138, 8 into, 7-iron")[0], ways("138, 8 into, 7-iron", caddie=caddie)[0]
    asked = next_wind(plain, before.carry_yd), next_wind(caddie, before.carry_yd)
    assert asked[1] - asked[0] != pytest.approx(0, abs=0.3)
    assert after.allowance.right_yd - before.allowance.right_yd == pytest.approx(
        asked[1] - asked[0], abs=0.05
    )


def next_wind(caddie: Caddie, carry_yd: float) -> float:
    """Yards right that /wind answers for that carry."""
    shot = parse(f"8 into, 7-iron, {carry_yd:.3f}", kit=demo_kit())
    return caddie.answer(shot=shot).allowance.right_yd


def test_the_fullest_swing_leads_among_those_that_leave_alike() -> None:
    found = ways("171, rough, 6 from 4")
    key = [(round(way.leaves_yd), abs(1 - way.swing_share)) for way in found]
    assert key == sorted(key)
    assert all(way.choice.club != "driver" for way in found)
    assert any(way.choice.club == "driver" for way in ways("230, tee, calm"))


def test_every_kind_of_lie_is_known() -> None:
    for kind in SURFACE_KINDS:
        lie: SurfaceKind = kind
        asked = read_next(f"120, {lie}", onto="green", kit=demo_kit(), bag=Bag())
        assert asked.lie == lie
