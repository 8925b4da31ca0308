"""Suggestions while a shot text is typed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.bag import Bag
from shared.errors import ShotTextError
from shared.shot import Shot
from shared.shot_text import complete, missing, parse
from tests.unit.test_shot_text import KIT, kit_of
from tests.unit.test_shot_text_bad import WORDS

BAG = Bag(grades={"7-iron": "oak", "5-iron": "yew"})


def choices(text: str) -> list[str]:
    return complete(text, kit=KIT, bag=BAG)


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("8.4", ["8.4 mph into", "8.4 mph helping", "8.4 mph off the left"]),
        ("8.4 m", ["8.4 mph", "8.4 m/s"]),
        ("8.4 mph", ["8.4 mph into", "8.4 mph helping", "8.4 mph off the left"]),
        ("8.4 mph ", ["8.4 mph into", "8.4 mph helping", "8.4 mph off the left"]),
        ("8.4 mph fr", ["8.4 mph from"]),
        ("8.4 mph from", ["8.4 mph from 1", "8.4 mph from 2"]),
        ("8.4 mph from 1", ["8.4 mph from 10", "8.4 mph from 11", "8.4 mph from 12"]),
        ("8.4 mph of", ["8.4 mph off the left", "8.4 mph off the right"]),
        ("8.4 mph off", ["8.4 mph off the left", "8.4 mph off the right"]),
        ("into", ["into 2 mph", "into 4 mph"]),
        ("8 into, ", ["8 into, 5-iron", "8 into, 7-iron", "8 into, driver", "8 into, 3-wood"]),
        ("8 into,", ["8 into, 5-iron", "8 into, 7-iron"]),
        ("8 into, 5", ["8 into, 5-iron", "8 into, 5-wood"]),
        ("8 into, 7-i", ["8 into, 7-iron"]),
        ("8 into, sand w", ["8 into, sand wedge"]),
        ("8 into, WE", ["8 into, pitching wedge", "8 into, gap wedge", "8 into, sand wedge"]),
        ("8 into, hybird", ["8 into, hybrid, 185", "8 into, hybrid, 180"]),
        # The bag's 5-iron is the yew with 170 yd, the 4-iron is the kit's first with 175.
        ("8 into, 5-iron, ", ["8 into, 5-iron, 170", "8 into, 5-iron, 165"]),
        ("8 into, 4-iron, ", ["8 into, 4-iron, 175", "8 into, 4-iron, 170"]),
        ("8 into, 5-iron, 16", ["8 into, 5-iron, 165", "8 into, 5-iron, 160"]),
        ("8 into, 5-iron, 165, ", ["8 into, 5-iron, 165, up 5", "8 into, 5-iron, 165, down 5"]),
        ("8 into, 5-iron, 165, up", ["8 into, 5-iron, 165, up 3", "8 into, 5-iron, 165, up 5"]),
        ("165, 8 into, te", ["165, 8 into, tern"]),
        ("5-iron ye", ["5-iron yew"]),
        ("ball ", ["ball plover", "ball tern", "ball heron"]),
        ("165 side", ["165 side 1 left", "165 side 1 right"]),
    ],
)
def test_the_next_word_is_finished(text: str, first: list[str]) -> None:
    assert choices(text)[: len(first)] == first


def test_clubs_of_the_bag_come_before_the_others() -> None:
    clubs = [choice for choice in choices("8 into ") if choice.endswith(("iron", "wood", "wedge"))]
    assert clubs[:3] == ["8 into, 5-iron", "8 into, 7-iron", "8 into, 3-wood"]
    without = complete("8 into ", kit=KIT, bag=None)
    assert without[:2] == ["8 into, driver", "8 into, 3-wood"]


def test_an_empty_text_is_offered_a_whole_question_first() -> None:
    for text in ("", "  ", ", "):
        assert choices(text)[0] == "8 mph from 2, 5-iron, 170"
    whole = complete("", kit=KIT, units="metric")[0]
    assert whole == "4 m/s from 2, 6-iron, 135"
    assert missing(parse(whole, kit=KIT, units="metric")) == ()


def test_metric_members_are_offered_metres() -> None:
    found = complete("3 into, 5-iron, ", kit=KIT, bag=BAG, units="metric")
    assert found[0] == "3 into, 5-iron, 155"  # 170 yd are 155.4 m
    assert complete("4", kit=KIT, units="metric")[1] == "4 m/s into"


def test_what_is_said_is_not_offered_again() -> None:
    found = choices("8 into, 5-iron, 165, plover, up 5, draw, ")
    assert found
    for choice in found:
        shot = parse(choice, kit=KIT)  # two clubs, balls, heights or shapes would be refused
        assert shot.ball == "plover" and shot.club == "5-iron"


@pytest.mark.parametrize("text", ["@everyone", "zzz", "\x00", "שלום", "8 into 6 helping 7 q"])
def test_what_cannot_be_read_has_no_suggestions(text: str) -> None:
    assert choices(text) == []


def test_no_choice_is_longer_than_a_chat_allows() -> None:
    long = "8 into, 5-iron, 165" + " " * 70
    assert 0 < len(long) <= 100
    assert all(len(choice) <= 100 for choice in choices(long))
    assert choices("please " * 12 + "8") != []
    assert choices("please " * 15) == []


def test_a_big_kit_still_gives_at_most_25() -> None:
    names = [f"{number}-iron" for number in range(1, 60)]
    assert len(complete("8 into, ", kit=kit_of(names, ["ash"], ["tern"]))) == 25


def test_every_suggestion_after_a_whole_question_is_a_whole_question() -> None:
    text = "8 into, 5-iron, 165"
    for choice in choices(text):
        assert choice.startswith(text)
        assert parse(choice, kit=KIT) != Shot() and missing(parse(choice, kit=KIT)) == ()


texts = st.one_of(
    st.text(max_size=120),
    st.lists(st.sampled_from((*WORDS, *KIT.clubs[5].aliases)), max_size=9).map(" ".join),
    st.integers(1, 80).map(
        lambda end: "8.4 mph from 2, 5-iron yew, 165, up 5, ball tern, dra"[:end]
    ),
)


@given(text=texts, metric=st.booleans())
@settings(max_examples=500, deadline=None)
def test_any_text_has_at_most_25_short_suggestions(text: str, metric: bool) -> None:
    found = complete(text, kit=KIT, bag=BAG, units="metric" if metric else "yards")
    assert len(found) <= 25 and len(set(found)) == len(found)
    for choice in found:
        assert 1 <= len(choice) <= 100 and choice != text


@given(end=st.integers(1, 60))
@settings(max_examples=60, deadline=None)
def test_typing_a_question_always_shows_something(end: int) -> None:
    text = "8.4 mph from 2, 5-iron yew, 165, up 5, ball tern, draw"[:end]
    found = choices(text)
    try:
        parse(text, kit=KIT)
    except ShotTextError:
        assert found, text


def test_a_whole_question_goes_on_to_what_the_ball_is_to_end_on() -> None:
    asked = "8.4 mph from 2, 5-iron, 165"
    assert f"{asked}, onto green" in choices(asked)
    assert choices(f"{asked}, onto")[:2] == [f"{asked}, onto green", f"{asked}, onto tee"]
    assert f"{asked}, onto fringe" in choices(f"{asked}, onto fr")
    said = choices(f"{asked}, onto green, ")
    assert said and all(each.count("onto") == 1 for each in said)
