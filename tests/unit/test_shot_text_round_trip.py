"""Writing a shot and reading it undo each other, for every shot and every kit."""

from collections.abc import Sequence

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shared.kit import Kit
from shared.kit_file import unreadable_names
from shared.quantities import Curve, Height, Length, Speed, Wind
from shared.shot import Shot
from shared.shot_text import format_shot, parse
from tests.unit.test_shot_text import KIT, kit_of

AWKWARD = (
    *("up", "into", "8", "12.5", "5 mph", "from 2", "draw 4", "m", "the", "calm", "hole", "club"),
    *("oak", "B", "b+", "B+", "B-", "5i", "I", "Übereisen", "long-iron", "iron", "level 4"),
    *("ball", "3 wood", "3-wood", "wood 3", "no. 7", "five", "鉄", "عصا", "o'clock", "5+ iron"),
)


def amounts(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


speeds = st.one_of(
    st.builds(lambda v: Speed(value=v, unit="mph"), amounts(0, 134)),
    st.builds(lambda v: Speed(value=v, unit="m/s"), amounts(0, 60)),
    st.builds(lambda v: Speed(value=v, unit="km/h"), amounts(0, 216)),
    st.builds(lambda v: Speed(value=v, unit="kn"), amounts(0, 116)),
)
turns = st.one_of(amounts(0, 360), st.integers(0, 24).map(lambda half: 15.0 * half))
winds = st.one_of(
    st.builds(lambda s, d: Wind(speed=s, from_deg=d), speeds, turns),
    st.builds(lambda s, c, b: Wind(speed=s, compass_deg=c, bearing_deg=b), speeds, turns, turns),
)
heights = st.builds(
    lambda v, u: Height(value=v, unit=u),
    amounts(-1000, 1000),
    st.sampled_from(["yd", "m", "ft", "%"]),
)
lengths = st.builds(
    lambda v, u: Length(value=v, unit=u), amounts(0.001, 1000), st.sampled_from(["yd", "m", "ft"])
)
curves = st.builds(
    lambda k, t: Curve(kind=k, tilt_deg=t),
    st.sampled_from(["draw", "fade"]),
    st.none() | amounts(0.001, 45),
)


@st.composite
def shots(draw: st.DrawFn, kit: Kit) -> Shot:
    club = draw(st.none() | st.sampled_from(kit.clubs))
    grades = (club or kit.clubs[0]).grades
    return Shot(
        wind=draw(st.none() | winds),
        club=club.name if club else None,
        grade=draw(st.none() | st.sampled_from([grade.name for grade in grades])),
        distance=draw(st.none() | lengths),
        height=draw(st.none() | heights),
        ball=draw(st.none() | st.sampled_from([ball.name for ball in kit.balls])),
        backspin=draw(st.just(0.0) | amounts(-20, 20)),
        sidespin=draw(st.just(0.0) | amounts(-20, 20)),
        curve=draw(st.none() | curves),
    )


@given(shot=shots(KIT))
@settings(max_examples=400, deadline=None)
def test_reading_what_was_written_gives_the_same_shot(shot: Shot) -> None:
    text = format_shot(shot)
    assume(text)  # a shot that says nothing is written as nothing, and nothing is refused
    assert parse(text, kit=KIT) == shot
    assert parse(text, kit=KIT, units="metric") == shot
    assert parse(text, kit=KIT, bearing_deg=123.4) == shot


@given(shot=shots(KIT), data=st.data())
@settings(max_examples=200, deadline=None)
def test_order_case_and_kind_of_comma_do_not_matter(shot: Shot, data: st.DataObject) -> None:
    parts = format_shot(shot).split(", ")
    assume(parts != [""])
    shuffled: Sequence[str] = data.draw(st.permutations(parts))
    comma = data.draw(st.sampled_from([", ", "; ", " | ", "\n", " - "]))
    text = comma.join(shuffled)
    assert parse(text, kit=KIT) == shot
    assert parse(text.upper(), kit=KIT) == shot


awkward_names = st.one_of(
    st.sampled_from(AWKWARD),
    st.builds("{}{}".format, st.sampled_from("ab5é"), st.text("ab5 .+-é", max_size=5)),
)


@given(data=st.data())
@settings(max_examples=300, deadline=None)
def test_the_round_trip_holds_for_every_kit_that_a_kit_file_may_hold(data: st.DataObject) -> None:
    def names(most: int) -> list[str]:
        return data.draw(st.lists(awkward_names, min_size=1, max_size=most, unique_by=str.casefold))

    kit = kit_of(names(4), names(4), names(3))
    assume(not list(unreadable_names(kit)))
    shot = data.draw(shots(kit))
    text = format_shot(shot)
    assume(text)
    assert parse(text, kit=kit) == shot
