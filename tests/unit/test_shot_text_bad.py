"""What a shot text can't say is met with one sentence, its place and a right example."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import ShotTextError
from shared.shot import Shot
from shared.shot_text import format_shot, missing, parse, require_question
from shared.shot_text.source import MAX_TEXT
from shared.units import UnitSystem
from tests.unit.test_shot_text import KIT, WHOLE, kit_of

FULL_STOP_INSIDE = re.compile(r"[.!?] [A-Z]")
Units = st.sampled_from(["yards", "metric"])


def refused(text: str, *, units: UnitSystem = "yards") -> ShotTextError:
    """The error that ``text`` meets, checked for what every error must have."""
    with pytest.raises(ShotTextError) as caught:
        parse(text, kit=KIT, units=units)
    check(caught.value, text, units)
    return caught.value


def check(error: ShotTextError, text: str, units: UnitSystem) -> None:
    assert error.sentence.endswith(".") and error.sentence[0] in f"“{error.sentence[0].upper()}"
    assert not FULL_STOP_INSIDE.search(re.sub("“[^”]*”", "", error.sentence)), error.sentence
    assert len(error.sentence) < 250
    assert error.given[:MAX_TEXT] == text[:MAX_TEXT] and len(error.given) <= MAX_TEXT + 1
    assert 0 <= error.start <= error.end <= len(error.given)
    assert missing(parse(error.example, kit=KIT, units=units)) == ()
    assert len(error.suggestions) <= 3
    for suggestion in error.suggestions:
        assert suggestion != text and parse(suggestion, kit=KIT, units=units) != Shot()


@pytest.mark.parametrize(
    ("text", "place", "sentence"),
    [
        ("", "", "There is nothing in the text that says a shot."),
        ("  \t ", "  \t ", "There is nothing in the text that says a shot."),
        ("please, the", "", "There is nothing in the text that says a shot."),
        (
            "8 into, 6 helping, 165",
            "6 helping",
            "There are two winds, “8 into” and “6 helping”, where a shot has one.",
        ),
        (
            "8 mph from 2, calm",
            "calm",
            "There are two winds, “8 mph from 2” and “calm”, where a shot has one.",
        ),
        (
            "8 mph from 2 helping",
            "helping",
            "There are two directions of the wind, “8 mph from 2” and “helping”,"
            " where a shot has one.",
        ),
        (
            "5-iron, 165, 7 iron",
            "7 iron",
            "There are two clubs, “5-iron” and “7 iron”, where a shot has one.",
        ),
        (
            "165 yd, 150 m",
            "150 m",
            "There are two distances, “165 yd” and “150 m”, where a shot has one.",
        ),
        (
            "8.4, 5-iron, 165",
            "8.4",
            "“8.4” does not say where the wind comes from.",
        ),
        (
            "150, 5-iron, 165",
            "165",
            "There are two distances, “150” and “165”; one is enough, and a wind also needs where"
            " it comes from.",
        ),
        ("tern, heron", "heron", "There are two balls, “tern” and “heron”, where a shot has one."),
        (
            "up 5, down 3",
            "down 3",
            "There are two heights, “up 5” and “down 3”, where a shot has one.",
        ),
        ("draw, fade 3", "fade 3", "There are two shapes, “draw” and “fade 3”, where a shot has"),
        ("back 2, top 1", "top 1", "There are two amounts of backspin or topspin, “back 2” and"),
        ("5i yew oak", "oak", "There are two grades, “yew” and “oak”, where a shot has one."),
        (
            "-8 mph from 2",
            "-8 mph from 2",
            "The wind “-8 mph” is negative; turn its direction round instead.",
        ),
        (
            "400 mph from 2",
            "400 mph",
            "The wind “400 mph” is stronger than any that is played in (134 mph).",
        ),
        (
            "61 m/s into",
            "61 m/s",
            "The wind “61 m/s” is stronger than any that is played in (60 m/s).",
        ),
        ("8 mph, 5-iron, 165", "8 mph", "“8 mph” does not say where the wind comes from."),
        ("from 2, 5i", "from 2", "“from 2” says where a wind comes from, but not how strong."),
        ("nan into", "nan", "“nan” is not a number a shot can have."),
        ("-Infinity yd", "Infinity", "“Infinity” is not a number a shot can have."),
        ("inf, 5-iron", "inf", "“inf” is not a number a shot can have."),
        ("1e309", "1e309", "“1e309” is not a number a shot can have."),
        ("9" * 250, "9" * 250, f"The distance “{'9' * 40}…” is longer than any hole (1000 yd)."),
        ("0", "0", "The distance “0” is nothing to hit."),
        ("5-iron, 0 yd, calm", "0 yd", "The distance “0 yd” is nothing to hit."),
        ("0.0004 m", "0.0004 m", "The distance “0.0004 m” is nothing to hit."),
        ("-165", "-165", "The distance “-165” is negative."),
        ("1001 ft", "1001 ft", "The distance “1001 ft” is longer than any hole (1000 ft)."),
        ("up 2000", "up 2000", "The height “up 2000” is more than any hole has."),
        ("down -5", "down -5", "“down -5” has both a minus and a word for up or down."),
        ("165 yd, up", "up", "“up” does not say by how much."),
        ("10%", "10%", "“10%” does not say whether the target is up or down."),
        ("+5, 165", "+5", "“+5” has a sign but does not say of what."),
        ("back 21", "back 21", "The spin “back 21” is more than 20 steps."),
        ("top -1", "top -1", "The spin “top -1” has a minus; the other way has its own word."),
        ("side 1", "side", "“side” needs the steps of sidespin, and left or right."),
        ("spin 2", "spin 2", "“spin 2” does not say back, top or side."),
        ("8 mph left", "left", "“left” needs “off the” before it for a wind, or “side 1” for a"),
        ("draw 50 deg", "draw 50 deg", "“draw 50 deg” is not a tilt of above 0 and at most 45"),
        ("fade 0", "fade 0", "“fade 0” is not a tilt of above 0 and at most 45 degrees."),
        (
            "8 from 300",
            "300",
            "“from 300” is past the 12 hours of a clock face; degrees need their unit.",
        ),
        (
            "8 from SW",
            "from SW",
            "“from SW” is a compass direction, which needs the bearing of the hole.",
        ),
        (
            "8 from 2 hole 40",
            "2",
            "With a bearing of the hole, “from 2” could be 2 o'clock or 2 degrees.",
        ),
        (
            "8 from 361",
            "from 361",
            "“from 361” is no direction; a clock face has 12 hours and a compass 360 degrees.",
        ),
        ("8 from 14:30", "from 14:30", "“from 14:30” is not on a clock face of 12 hours."),
        ("8 from 2:75", "2:75", "“2:75” is not a time on a clock face."),
        (
            "8 from 300 hole 400",
            "hole 400",
            "The bearing “hole 400” is not from 0 to 360 degrees.",
        ),
        ("hole 4", "", "There is nothing in the text that says a shot."),
        ("8 into hole 4 hole 5", "hole 5", "There are two bearings, “hole 4” and “hole 5”."),
        (
            "2-iron, 165",
            "2-iron",
            "The kit has no club “2-iron”; the nearest are 4-iron, 5-iron and 6-iron.",
        ),
        ("9 wood", "9 wood", "The kit has no club “9 wood”; the nearest are 5-wood and 3-wood."),
        ("wedge", "wedge", "“wedge” could be pitching wedge, gap wedge or sand wedge."),
        ("iron, 5", "iron", "“iron” could be 4-iron, 5-iron, 6-iron or another."),
        ("hern, 165", "hern", "“hern” could be heron or tern."),
        ("5-iron pine", "pine", "“pine” was not understood; the 5-iron has the grades ash, oak"),
        ("165x", "165x", "“165x” was not understood."),
        ("10² into", "10²", "“10²” was not understood."),
        ("8 mph in, 5i", "in", "“in” is read before “off the left” only, a wind against you is"),
        ("mph 8", "mph", "“mph” stands without a number."),
        ("8.4.5", "8.4.5", "“8.4.5” is not one number."),
        ("5-10 mph", "5-10", "“5-10” is a range or a sum, where one number is needed."),
        (
            "165,8,4 mph",
            "165,8,4",
            "“165,8,4” can be split into numbers in two ways; put a blank behind a comma that is"
            " not a decimal comma.",
        ),
        ("1,000 ft", "1,000", "“1,000” has a comma for thousands, which is left out here."),
        ("🏌🏽 165", "🏌🏽", "“🏌🏽” was not understood."),
        ("165 @everyone", "@everyone", "“@everyone” is a mention or a link, which no shot has."),
        ("<@123> 165", "<@123>", "“<@123>” is a mention or a link, which no shot has."),
        ("<:golf:1> 165", "<:golf:1>", "“<:golf:1>” is a mention or a link, which no shot has."),
        ("see https://x.example 5i", "see", "“see” was not understood."),
        ("שלום 165", "שלום", "“שלום” was not understood."),
        ("165 \x07 5i", "\x07", "The character at place 5 (U+0007) can't be read."),
        ("165 \ud83d 5i", "\ud83d", "The character at place 5 (U+D83D) can't be read."),
    ],
)
def test_what_is_not_understood_is_named_with_its_place(
    text: str, place: str, sentence: str
) -> None:
    error = refused(text)
    assert error.sentence.startswith(sentence)
    assert error.given[error.start : error.end] == place if place else error.start == 0


@pytest.mark.parametrize("text", ["8 into " * 7143, "9" * 50_000, "🏌" * 50_000, "(" * 50_000])
def test_a_long_text_is_refused_by_its_length_and_given_back_cut(text: str) -> None:
    error = refused(text)
    assert error.sentence == (
        f"The text has {len(text):,} characters, where a shot takes at most {MAX_TEXT}."
    )
    assert error.given == text[:MAX_TEXT] + "…"


def test_the_longest_text_allowed_is_read() -> None:
    text = "5-iron, 165".ljust(MAX_TEXT)
    assert format_shot(parse(text, kit=KIT)) == "5-iron, 165 yd"
    assert "characters" in refused(text + " ").sentence


def test_right_to_left_marks_and_other_invisible_signs_change_nothing() -> None:
    plain = parse("8.4 mph from 2, 5-iron, 165", kit=KIT)
    assert parse("\u200f8.4\u200b mph\u2067 from 2\u2069, 5-\ufeffiron, 165", kit=KIT) == plain


def test_an_error_shows_no_control_characters() -> None:
    assert refused("5i \u202eabc\x1b[31m").sentence.isprintable()


def test_metric_examples_are_metric() -> None:
    assert refused("up", units="metric").example == "4 m/s from 2, 6-iron, 135 m, up 5"
    assert refused("up").example == "8.4 mph from 2, 6-iron, 150 yd, up 5"


def test_the_example_keeps_the_wind_that_was_typed() -> None:
    assert refused("7 m/s from 300, 5i").example == "7 m/s from 300 deg, 6-iron, 150 yd"
    assert refused("7 km/h, 5i").example == "7 km/h from 2, 6-iron, 150 yd"


def test_a_name_that_is_a_grade_and_a_ball_is_asked_back_unless_its_place_tells() -> None:
    kit = kit_of(["5-iron"], ["oak", "ash"], ["tern", "oak"])
    with pytest.raises(ShotTextError) as caught:
        parse("oak, 165", kit=kit)
    assert caught.value.sentence == "“oak” could be the ball oak or the grade oak."
    assert parse("5-iron oak", kit=kit) == Shot(club="5-iron", grade="oak")
    assert parse("5-iron, ball oak", kit=kit) == Shot(club="5-iron", ball="oak")


def reads_or_refuses(text: str, units: UnitSystem) -> None:
    try:
        shot = parse(text, kit=KIT, units=units)
    except ShotTextError as error:
        check(error, text, units)
        assert error.sentence.isprintable()
    else:
        if shot != Shot():
            assert parse(format_shot(shot), kit=KIT, units=units) == shot


@given(text=st.text(max_size=MAX_TEXT + 20), units=Units)
@settings(max_examples=500, deadline=None)
def test_any_text_is_read_or_refused(text: str, units: UnitSystem) -> None:
    reads_or_refuses(text, units)


WORDS = (
    *("8", "165", "0", "-3", "+2", "2:30", "8,4", "1e309", ".5", "½", "²", "5-iron", "pw", "7i"),
    *("oak", "tern", "iron", "wedge", "ploverr", "from", "off", "into", "helping", "left", "right"),
    *("the", "mph", "m/s", "kn", "yd", "m", "ft", "%", "°", "deg", "hole", "line", "NW", "calm"),
    *("wind", "up", "down", "height", "back", "top", "side", "spin", "draw", "fade", "ball"),
    *("club", "grade", "nan", "o'clock", "a", "two", "(", ")", ",", ";", "-", ".", "@x", "\x00"),
)


@given(
    words=st.lists(st.sampled_from(WORDS), min_size=1, max_size=30),
    blank=st.sampled_from([" ", " ", ""]),
    units=Units,
)
@settings(max_examples=1000, deadline=None)
def test_any_row_of_words_is_read_or_refused(
    words: list[str], blank: str, units: UnitSystem
) -> None:
    reads_or_refuses(blank.join(words), units)


# What a question lacks ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "lacking"),
    [
        ("165", ("wind", "club")),
        ("8 into, 165", ("club",)),
        ("tern", ("wind", "club", "distance")),
        ("8.4 mph from 2, 5-iron, 165", ()),
    ],
)
def test_missing(text: str, lacking: tuple[str, ...]) -> None:
    assert missing(parse(text, kit=KIT)) == lacking


@pytest.mark.parametrize(
    ("text", "sentence", "example"),
    [
        ("165", "a wind and a club", "8.4 mph from 2, 5-iron, 165 yd"),
        ("112 yd, 6 helping", "a club", "6 mph from 6, 9-iron, 112 yd"),
        ("300, 6 helping", "a club", "6 mph from 6, driver, 300 yd"),
        ("gap oak, 6 into, up 4", "a distance", "6 mph from 12, gap wedge (oak), 90 yd, up 4 yd"),
        ("5-iron", "a wind and a distance", "8.4 mph from 2, 5-iron, 165 yd"),
    ],
)
def test_a_question_that_lacks_something_is_completed_from_what_was_given(
    text: str, sentence: str, example: str
) -> None:
    with pytest.raises(ShotTextError) as caught:
        require_question(parse(text, kit=KIT), text, kit=KIT)
    error = caught.value
    assert error.sentence == f"A wind question also needs {sentence}."
    assert error.example == example
    assert error.given == text
    assert missing(parse(error.example, kit=KIT)) == ()


def test_a_whole_question_lacks_nothing_and_metric_examples_are_metric() -> None:
    require_question(WHOLE, "as typed", kit=KIT)
    with pytest.raises(ShotTextError) as caught:
        require_question(Shot(club="7-iron"), "7-iron", kit=KIT, units="metric")
    assert caught.value.example == "4 m/s from 2, 7-iron, 125 m"  # 140 yd are 128.0 m
