"""Keys of the book: each text is one key and back, and stands as it did in rows kept before."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.keys import (
    MEASURED,
    EventKey,
    HoleKey,
    LineKey,
    hole_played,
    measured_line,
    note_key,
    outcome_key,
    share_key,
)

names = st.text(max_size=80)
numbers = st.integers(1, 99)
letters = st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
lines = st.builds(
    lambda name, number, letter: EventKey.of(name).hole(number).line(letter),
    names,
    numbers,
    letters,
)


@given(lines)
def test_a_key_read_from_its_text_is_the_same_key(line: LineKey) -> None:
    assert LineKey.parse(str(line)) == line
    assert HoleKey.parse(str(line.hole)) == line.hole
    assert EventKey(str(line.hole.event)) == line.hole.event
    assert hole_played(str(line.hole)) == line.hole


@given(lines, lines)
def test_two_texts_are_the_same_only_where_the_keys_are(one: LineKey, other: LineKey) -> None:
    assert (str(one) == str(other)) == (one == other)
    assert str(one).startswith(other.hole.prefix) == (one.hole == other.hole)
    assert str(one).startswith(other.hole.event.prefix) == (one.hole.event == other.hole.event)


@given(names, numbers, numbers)
def test_keys_sort_as_the_holes_do(name: str, one: int, other: int) -> None:
    event = EventKey.of(name)
    assert (str(event.hole(one)) < str(event.hole(other))) == (one < other)


def test_the_text_is_that_of_rows_kept_before() -> None:
    """``printf 'windlass cup' | sha256sum`` begins with these ten digits."""
    event = EventKey.of("  Windlass   CUP ")
    assert str(event) == "windlass-cup-1be39d8c46"
    assert event.slug == "windlass-cup"
    line = event.hole(4).line("B")
    assert str(line) == "windlass-cup-1be39d8c46/04/B"
    assert (event.kind, line.hole.kind, line.kind) == ("event", "hole", "line")
    assert note_key(line.hole) == "note/windlass-cup-1be39d8c46/04"
    assert share_key(line) == "share/windlass-cup-1be39d8c46/04/B"
    assert outcome_key(17) == "poll/17/outcome"


def test_a_measured_shot_is_played_on_no_hole() -> None:
    assert hole_played(MEASURED) is None
    assert measured_line("8-iron") == "measure/8-iron"


@pytest.mark.parametrize(
    "text", ["", "cup", "cup/4", "cup/004", "cup/00", "a/cup/04", "/04", "cup/04/A", "cup/x4"]
)
def test_other_texts_are_no_hole(text: str) -> None:
    with pytest.raises(ValueError, match=r"^no "):
        HoleKey.parse(text)


@pytest.mark.parametrize("text", ["cup/04", "cup/04/", "cup/04/a", "cup/04/AB", "cup/4/A", "A"])
def test_other_texts_are_no_line(text: str) -> None:
    with pytest.raises(ValueError, match=r"^no "):
        LineKey.parse(text)
