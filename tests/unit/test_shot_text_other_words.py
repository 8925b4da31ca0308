"""What players say that the grammar has no words for: read, or asked back with one press.

The same rule as the generated corpus of questions: what is offered is what was meant.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ShotTextError
from shared.quantities import Height
from shared.shot import Shot
from shared.shot_text import missing, parse, require_question
from shared.units import UnitSystem
from tests.unit.test_shot_text import KIT
from tests.unit.test_shot_text_corpus import SETTINGS


def offered(text: str, units: UnitSystem) -> list[Shot]:
    """What is one press away: the text as it is read, or what its refusal offers."""
    try:
        return [parse(text, kit=KIT, units=units)]
    except ShotTextError as error:
        return [parse(each, kit=KIT, units=units) for each in error.suggestions]


@st.composite
def gusts(draw: st.DrawFn) -> tuple[str, int, int, UnitSystem]:
    """A question whose wind has two speeds."""
    units: UnitSystem = draw(st.sampled_from(["yards", "metres mph"]))
    low = draw(st.integers(2, 20))
    high = low + draw(st.integers(1, 9))
    unit = draw(st.sampled_from(["", " mph", "mph"]))
    speeds = draw(
        st.sampled_from(
            [
                f"gusting {low} to {high}{unit}",
                f"{low}{unit} gusting {high}{unit}",
                f"{low} gusting to {high}{unit}",
                f"{low}-{high}{unit}",
                f"{low} to {high}{unit}",
                f"{low}{unit} gusts {high}",
                f"{low}{unit} gusts up to {high}{unit}",
            ]
        )
    )
    link = draw(st.sampled_from([" ", ", "]))
    return link.join([f"{speeds} from 2", "5-iron", "140"]), low, high, units


@given(gust=gusts())
@SETTINGS
def test_a_gusting_wind_is_asked_back_with_its_middle_first(
    gust: tuple[str, int, int, UnitSystem],
) -> None:
    text, low, high, units = gust
    found = [shot.wind.speed.value for shot in offered(text, units) if shot.wind is not None]
    assert found == [(low + high) / 2, high, low], text
    for shot in offered(text, units):
        assert shot.wind is not None and shot.distance is not None
        assert (shot.wind.from_deg, shot.club, shot.distance.value) == (60, "5-iron", 140)


@given(
    hour=st.integers(1, 12),
    half=st.sampled_from(["{} and a half", "{} 1/2", "{}½", "{}.5", "half past {}", "{}:30"]),
    parts=st.permutations(["5-iron", "140 yd"]),
)
@SETTINGS
def test_half_an_hour_is_read_or_one_press_away(hour: int, half: str, parts: list[str]) -> None:
    text = ", ".join(["8 mph from " + half.format(hour), *parts])
    found = [shot.wind.from_deg for shot in offered(text, "yards") if shot.wind is not None]
    assert found == [(hour * 30 + 15) % 360], text


@given(
    most=st.sampled_from(["max {}spin", "full {}spin", "maximum {} spin", "max {}", "{}spin max"]),
    way=st.sampled_from(["back", "top"]),
    parts=st.permutations(["5-iron", "140 yd", "8 mph from 2"]),
)
@SETTINGS
def test_as_much_spin_as_there_is_is_one_press_away(most: str, way: str, parts: list[str]) -> None:
    text = ", ".join([*parts, most.format(way)])
    steps = KIT.limits.spin_steps if way == "back" else -KIT.limits.spin_steps
    assert [shot.backspin for shot in offered(text, "yards")] == [steps], text


@pytest.mark.parametrize("between", ["/", " / ", ", ", " "])
def test_a_speed_and_an_hour_without_from_are_offered_with_it(between: str) -> None:
    with pytest.raises(ShotTextError) as caught:
        parse(f"8{between}2 5i 165", kit=KIT)
    assert caught.value.suggestions == ("8 from 2 5i 165",)


# Each habit with the words it stands for; the rest of the question is the same.
HABITS = [
    ("8 → 5-iron 140", "8 mph from 9, 5-iron, 140 yd"),
    ("8 -> 5-iron 140", "8 mph from 9, 5-iron, 140 yd"),
    ("8 <-- 5-iron 140", "8 mph from 3, 5-iron, 140 yd"),
    ("8 ⬅️ 5-iron 140", "8 mph from 3, 5-iron, 140 yd"),
    ("8 ↑ 5-iron 140", "8 mph from 6, 5-iron, 140 yd"),
    ("8 ↓ 5-iron 140", "8 mph from 12, 5-iron, 140 yd"),
    ("8 ↗ 5-iron 140", "8 mph from 7:30, 5-iron, 140 yd"),
    ("8 ↙ 5-iron 140", "8 mph from 1:30, 5-iron, 140 yd"),
    ("140 left 5-iron 8 from 2", "8 mph from 2, 5-iron, 140 yd"),
    ("5-iron from 140, 8 from 2", "8 mph from 2, 5-iron, 140 yd"),
    ("8 from 7 30 5-iron 140", "8 mph from 7:30, 5-iron, 140 yd"),
    ("8 from 7h30 5-iron 140", "8 mph from 7:30, 5-iron, 140 yd"),
    ("8 between 1 and 2 5-iron 140", "8 mph from 1:30, 5-iron, 140 yd"),
    ("8 from 12/1 5-iron 140", "8 mph from 12:30, 5-iron, 140 yd"),
    ("three quarter 5-iron 8 from 2", "8 mph from 2, 5-iron, 123.8 yd"),
    ("3/4 5-iron, 140, 8 from 2", "8 mph from 2, 5-iron, 140 yd"),
    ("half 5-iron 8 from 2", "8 mph from 2, 5-iron, 82.5 yd"),
    ("8 from 2 5-iron 140 +3", "8 mph from 2, 5-iron, 140 yd, up 3 yd"),
    ("8 from 2 5-iron 140 -10ft", "8 mph from 2, 5-iron, 140 yd, down 10 ft"),
    ("6mph down 5-iron 140", "6 mph from 6, 5-iron, 140 yd"),
    ("20k from 10 5-iron 140", "20 km/h from 10, 5-iron, 140 yd"),
    ("5-iron,140,8@2", "8 mph from 2, 5-iron, 140 yd"),
    ("8 from 2 5-iron 140 small fade", "8 mph from 2, 5-iron, 140 yd, fade"),
    ("pure 8 off the right 5-iron 140", "8 mph from 3, 5-iron, 140 yd"),
]


@pytest.mark.parametrize(("typed", "meant"), HABITS)
def test_what_is_said_otherwise_is_refused_and_offered_in_the_grammars_words(
    typed: str, meant: str
) -> None:
    with pytest.raises(ShotTextError) as caught:
        parse(typed, kit=KIT)
    offers = [parse(each, kit=KIT) for each in caught.value.suggestions]
    assert parse(meant, kit=KIT) in offers, (typed, caught.value.suggestions)
    assert missing(parse(caught.value.example, kit=KIT)) == ()


@pytest.mark.parametrize("point", ["N", "e", "S", "w"])
def test_a_letter_of_the_compass_is_offered_where_the_bearing_is_known(point: str) -> None:
    text = f"8 {point} 5-iron 140"
    with pytest.raises(ShotTextError) as caught:
        parse(text, kit=KIT, bearing_deg=40)
    assert caught.value.suggestions == (f"8 from {point} 5-iron 140",)
    with pytest.raises(ShotTextError) as caught:
        parse(text, kit=KIT)
    assert not [each for each in caught.value.suggestions if "from" in each]


def test_down_alone_may_be_a_wind_or_a_height() -> None:
    shot = parse("8 down 5-iron 140", kit=KIT)
    with pytest.raises(ShotTextError) as caught:
        require_question(shot, "8 down 5-iron 140", kit=KIT)
    assert caught.value.suggestions == ("8 helping 5-iron 140", "calm, 8 down 5-iron 140")


def test_a_foot_mark_counts_feet_and_a_quotation_or_inches_do_not() -> None:
    said = parse("8 from 2, 5-iron, 140, 9' up", kit=KIT)
    assert said.height == Height(value=9, unit="ft")
    quoted = parse("'8 from 2, 5-iron, 140'", kit=KIT)
    assert (
        quoted
        == parse("8 from 2, 5-iron, 140", kit=KIT)
        == parse('"8 from 2, 5-iron, 140"', kit=KIT)
    )
    for text in ('8 from 2, 5-iron, 140, up 6"', "8 from 2, 5-iron, 140, up 5'6\""):
        with pytest.raises(ShotTextError, match="inches"):
            parse(text, kit=KIT)
