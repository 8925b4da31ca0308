"""What players say that the grammar has no words for: read, or asked back with one press.

The same rule as the generated corpus of questions: what is offered is what was meant.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ShotTextError
from shared.shot import Shot
from shared.shot_text import parse
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
