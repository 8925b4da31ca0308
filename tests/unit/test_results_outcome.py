"""What a member types of a try, read."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from bot.services.results.outcome import (
    EXAMPLE,
    HOLED,
    NOT_KNOWN,
    Outcome,
    outcome_words,
    read_outcome,
    side_words,
    typed_words,
)
from bot.services.results.shot import places
from shared.errors import InputError
from shared.miss_text import MAX_OUTCOME
from storage.played import Played


@pytest.mark.parametrize("text", ["in", " In. ", "went in", "HOLED", "It went in!"])
def test_went_in(text: str) -> None:
    assert read_outcome(text, units="yards", mark="notch") == HOLED


@pytest.mark.parametrize("text", ["", "  ", "missed", "no"])
def test_a_miss_nobody_measured(text: str) -> None:
    found = read_outcome(text, units="yards", mark="notch")
    assert found == NOT_KNOWN and found.miss_m(mark_m=1.0) is None


@pytest.mark.parametrize(
    ("text", "long", "right", "unit"),
    [
        ("5 short, 3 right", -5.0, 3.0, "yd"),
        ("2.5yd long and 1 yd left", 2.5, -1.0, "yd"),
        ("left 4", 0.0, -4.0, "yd"),
        ("long by 2 m", 2.0, 0.0, "m"),
        ("1,5 marks right", 0.0, 1.5, "marks"),
        ("3 notches short", -3.0, 0.0, "marks"),
        ("2 notch long; .5 notch left", 2.0, -0.5, "marks"),
        ("5 left 3 long", 3.0, -5.0, "yd"),
        ("2l", 0.0, -2.0, "yd"),
        ("3 short 2 r", -3.0, 2.0, "yd"),
        ("6 ft past", 6.0, 0.0, "ft"),
    ],
)
def test_a_miss_of_so_much(text: str, long: float, right: float, unit: str) -> None:
    assert read_outcome(text, units="yards", mark="notch") == Outcome(False, long, right, unit)


@pytest.mark.parametrize(
    ("text", "side", "words"),
    [
        ("short", (-1, 0), "short"),
        ("a bit left", (0, -1), "left"),
        ("long and way right", (1, 1), "long and right"),
        ("4 short, a bit right", (-1, 1), "short and right"),
    ],
)
def test_a_side_without_a_number_is_kept(text: str, side: tuple[int, int], words: str) -> None:
    found = read_outcome(text, units="yards", mark="notch")
    assert (found.holed, found.side, found.miss_m(mark_m=1.5)) == (False, side, None)
    again = read_outcome(words, units="metric", mark="notch")
    assert again.side == side and side_words(side) == words


def test_a_bare_number_is_in_the_readers_own_unit() -> None:
    yards = read_outcome("7 long 2 left", units="yards", mark="notch").miss_m(mark_m=1.5)
    metres = read_outcome("7 long 2 left", units="metric", mark="notch").miss_m(mark_m=1.5)
    assert yards == pytest.approx((6.4008, -1.8288))
    assert metres == (7.0, -2.0)


def test_marks_are_as_long_as_the_kit_says() -> None:
    found = read_outcome("2 marks long 1 mark left", units="yards", mark="notch")
    assert found.miss_m(mark_m=1.5) == (3.0, -1.5)


@pytest.mark.parametrize(
    "text",
    [
        "sideways",
        "5",
        "5 short 3 short",
        "5 short 3 left of the tree",
        "5 yd short 3 m left",
        "301 long",
        "400 m right",
        "in 5 short",
        "@everyone",
        "\u202e5 short",
    ],
)
def test_anything_else_is_refused_with_a_right_example(text: str) -> None:
    with pytest.raises(InputError) as refused:
        read_outcome(text, units="yards", mark="notch")
    assert refused.value.given == text and refused.value.example == EXAMPLE
    assert read_outcome(refused.value.example, units="yards", mark="notch").long == -5


@pytest.mark.parametrize(
    ("text", "several"),
    [
        ("10 tries, 2 in", (10, 2)),
        ("10 tries none", (10, 0)),
        ("made 2 of 9", (9, 2)),
        ("2 for 9", (9, 2)),
        ("10 tries: 2 went in.", (10, 2)),
        ("12 attempts 5 holed", (12, 5)),
        ("2 of 10", (10, 2)),
        ("3/7", (7, 3)),
        ("2 in of 10 tries", (10, 2)),
        ("4 out of 9 went in", (9, 4)),
        ("2 in, 8 missed", (10, 2)),
        ("5 missed and 1 in", (6, 1)),
        ("8 tries, none in", (8, 0)),
        ("8 tries, all in", (8, 8)),
        ("7 tries, 3 missed", (7, 4)),
        ("6 tries, all missed", (6, 0)),
    ],
)
def test_several_tries_at_once(text: str, several: tuple[int, int]) -> None:
    found = read_outcome(text, units="metric", mark="notch")
    assert found == Outcome(several[0] == several[1], known=False, several=several)
    assert found.miss_m(mark_m=1.5) is None


def test_one_try_told_as_several_is_a_single_one() -> None:
    assert read_outcome("1 of 1", units="yards", mark="notch") == HOLED
    assert read_outcome("1 try, 0 in", units="yards", mark="notch") == NOT_KNOWN


@pytest.mark.parametrize("text", ["10 tries, 11 in", "101 tries, 3 in", "5 of 4", "0 of 0"])
def test_tries_that_cannot_be_are_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_outcome(text, units="yards", mark="notch")
    assert caught.value.given == text and caught.value.example == "10 tries, 2 in"


@pytest.mark.parametrize(
    ("onto", "miss_cm", "ended_cm", "holed", "words"),
    [
        (
            "green",
            (-274, 91),
            (183, 0),
            False,
            "came down 1.0 yd right, 3.0 short, ended 2.0 yd long",
        ),
        ("green", None, (183, -46), False, "ended 0.5 yd left, 2.0 long"),
        ("sand", (-274, 0), None, False, "came down 3.0 yd short"),
        ("", (-274, 0), (183, 0), False, "came down 3.0 yd short, ended 2.0 yd long"),
        ("green", (0, 0), (366, 0), False, "came down at the hole, ended 4.0 yd long"),
        ("green", (-1097, 0), None, True, "came down 12.0 yd short, went in"),
        ("", (-1097, 0), None, True, "came down 12.0 yd short, went in"),
    ],
)
def test_both_places_are_said_and_typed_back_as_they_are_kept(
    onto: str,
    miss_cm: tuple[int, int] | None,
    ended_cm: tuple[int, int] | None,
    holed: bool,
    words: str,
) -> None:
    played = Played(*("hole", "line", "A", holed), miss_cm=miss_cm, ended_cm=ended_cm, onto=onto)
    assert outcome_words(played, "yards") == words
    typed = typed_words(played, "yards")
    again = read_outcome(typed, units="metric", mark="notch")
    came_m, ended_m = places(again, mark_m=1.5, finishes=bool(onto))
    assert again.holed == holed and len(typed) <= MAX_OUTCOME
    for kept, read in ((miss_cm, came_m), (ended_cm, ended_m)):
        assert (kept is None) == (read is None), typed
        assert kept is None or np.array(read) * 100 == pytest.approx(kept, abs=5)


def test_a_plain_miss_is_where_it_came_down_but_of_a_ball_that_finishes_where_it_ended() -> None:
    plain = read_outcome("5 short, 3 right", units="metric", mark="notch")
    assert places(plain, mark_m=1.5, finishes=False) == ((-5.0, 3.0), None)
    assert places(plain, mark_m=1.5, finishes=True) == (None, (-5.0, 3.0))
    assert places(HOLED, mark_m=1.5, finishes=False) == ((0.0, 0.0), None)
    assert places(HOLED, mark_m=1.5, finishes=True) == (None, None)
    both = read_outcome("came down 2 marks short, ended 1 long", units="metric", mark="mark")
    assert places(both, mark_m=1.5, finishes=True) == ((-3.0, 0.0), (1.0, 0.0))
    assert places(both, mark_m=1.5, finishes=False) == ((-3.0, 0.0), (1.0, 0.0))
    ended = read_outcome("ended 1 long", units="metric", mark="mark")
    assert places(ended, mark_m=1.5, finishes=False) == (None, (1.0, 0.0))


def test_how_far_it_missed_in_the_end() -> None:
    def missed(**fields: Any) -> tuple[int, int] | None:
        return replace(Played("hole", "line", "A", False), **fields).missed_by_cm

    assert missed(miss_cm=(-300, 20)) == (-300, 20)
    assert missed(miss_cm=(-300, 20), ended_cm=(90, 10)) == (90, 10)
    assert missed(miss_cm=(-300, 20), onto="green") is None  # nobody said where it ended
    assert missed(miss_cm=(-900, 20), onto="green", holed=True) == (0, 0)
    assert missed(miss_cm=(-900, 20), holed=True) == (0, 0)
    assert missed(holed=True) is None  # as results were kept before
