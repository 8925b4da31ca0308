"""What a member types of a miss: sides with and without numbers, in the member's units."""

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import InputError
from shared.miss_text import HOLED, MAX_MISS_TEXT, NOT_MEASURED, Component, Miss, parse_miss
from shared.units import UnitSystem


def read(text: str, units: UnitSystem = "yards") -> Miss:
    return parse_miss(text, units=units, mark="notch")


@pytest.mark.parametrize(
    "text",
    [
        "in",
        " In. ",
        "went in",
        "HOLED",
        "It went in!",
        "holed it",
        "hole in one",
        "holed out",
        "dropped",
        "drained it",
        "sank it",
        "✓",
        "bottom of the cup",
    ],
)
def test_holed(text: str) -> None:
    assert read(text) == HOLED


@pytest.mark.parametrize(
    "text",
    [
        *(
            "",
            "  ",
            "missed",
            "no",
            "not in",
            "didn't go in",
            "lipped out",
            "rimmed out",
            "lip out",
        ),
        *("hit the pin", "so close", "just missed", "nearly", "in the water", "bunker", "x"),
    ],
)
def test_a_miss_nobody_measured(text: str) -> None:
    found = read(text)
    assert found == NOT_MEASURED
    assert found.along_m(mark_m=1.5) is None and found.across_m(mark_m=1.5) is None


@pytest.mark.parametrize(
    ("text", "along", "across", "unit"),
    [
        ("5 short, 3 right", (-1, 5.0), (1, 3.0), "yd"),
        ("3 short 2 r", (-1, 3.0), (1, 2.0), "yd"),
        ("2l", None, (-1, 2.0), "yd"),
        ("2 l", None, (-1, 2.0), "yd"),
        ("1.5r 4s", (-1, 4.0), (1, 1.5), "yd"),
        ("long 2", (1, 2.0), None, "yd"),
        ("long 2 right 3", (1, 2.0), (1, 3.0), "yd"),
        ("short", (-1, None), None, "yd"),
        ("a bit left", None, (-1, None), "yd"),
        ("way long", (1, None), None, "yd"),
        ("just short and right", (-1, None), (1, None), "yd"),
        ("short, 3 right", (-1, None), (1, 3.0), "yd"),
        ("short 3, right", (-1, 3.0), (1, None), "yd"),
        ("a bit left 2 short", (-1, 2.0), (-1, None), "yd"),
        ("missed 2 left", None, (-1, 2.0), "yd"),
        ("it was short by 2 m", (-1, 2.0), None, "m"),
        ("2.5yd long and 1 yd left", (1, 2.5), (-1, 1.0), "yd"),
        ("two short", (-1, 2.0), None, "yd"),
        ("a yard short", (-1, 1.0), None, "yd"),
        ("6 ft right", None, (1, 6.0), "ft"),
        ("1,5 marks right", None, (1, 1.5), "marks"),
        ("3 notches short", (-1, 3.0), None, "marks"),
        (".5 left", None, (-1, 0.5), "yd"),
        ("3' short", (-1, 3.0), None, "ft"),
        ('6" left', None, (-1, 0.5), "ft"),
        ("9 inches long 3 left", (1, 0.75), (-1, 0.25), "ft"),
        ("40 cm left", None, (-1, 0.4), "m"),
        ("half a yard left", None, (-1, 0.5), "yd"),
        ("1 1/2 short", (-1, 1.5), None, "yd"),
        ("2½ short", (-1, 2.5), None, "yd"),
        ("a couple left", None, (-1, None), "yd"),
        ("wide left 2", None, (-1, 2.0), "yd"),
        ("came up 3 short", (-1, 3.0), None, "yd"),
        ("3 yards past the hole", (1, 3.0), None, "yd"),
        ("went long by 3 and right by 1", (1, 3.0), (1, 1.0), "yd"),
        ("good line, 2 short", (-1, 2.0), (0, 0.0), "yd"),
        ("good distance 2 left", (0, 0.0), (-1, 2.0), "yd"),
        ("2 long ; .5 notch left", (1, 2.0), (-1, 0.5), "marks"),
    ],
)
def test_a_miss(
    text: str,
    along: tuple[int, float | None] | None,
    across: tuple[int, float | None] | None,
    unit: str,
) -> None:
    found = read(text)
    assert not found.is_holed
    for component, expected in ((found.along, along), (found.across, across)):
        if expected is None:
            assert component is None
        else:
            assert component is not None
            assert (component.side, component.amount) == expected
            assert component.amount is None or component.unit == unit


def test_pin_high_is_neither_long_nor_short() -> None:
    found = read("pin high, 3 right")
    assert found.along_m(mark_m=2.0) == 0.0
    assert found.across == Component(1, 3.0, "yd")


def test_a_plain_number_is_in_the_readers_own_unit_and_marks_are_as_long_as_the_kit_says() -> None:
    yards, metric = read("7 long 2 left"), read("7 long 2 left", "metres mph")
    assert yards.along_m(mark_m=1.3) == pytest.approx(6.4008)
    assert yards.across_m(mark_m=1.3) == pytest.approx(-1.8288)
    assert (metric.along_m(mark_m=1.3), metric.across_m(mark_m=1.3)) == (7.0, -2.0)
    assert read("2 marks long 1 left").along_m(mark_m=1.5) == 3.0
    assert read("2 marks long 1 left").across_m(mark_m=1.5) == -1.5


@pytest.mark.parametrize(
    "text",
    [
        *(
            "sideways",
            "5",
            "5 short 3 short",
            "5 short 3 left of the tree",
            "in 5 short",
            "long 2 3",
        ),
        *(
            "5 yd short 3 m left",
            "301 long",
            "400 m right",
            "@everyone",
            "\u202e5 short",
            "-5 long",
        ),
        *("1e9 left", "2-3 left", "2 or 3 short", "5'6\" left", "3 up", "2 off", "😀", "שלום"),
        *("short 3 right", "left right", "🏌 left", "nan short", "<@123> short", "5 short 2"),
        "l" * (MAX_MISS_TEXT + 1),
    ],
)
def test_anything_else_is_refused_with_a_right_example(text: str) -> None:
    with pytest.raises(InputError) as refused:
        read(text)
    assert refused.value.given == text and refused.value.sentence.endswith(".")
    assert refused.value.sentence.isprintable()
    assert read(refused.value.example).along == Component(-1, 5.0, "yd")


def as_typed(number: float) -> list[str]:
    """A number, and a half, as players type it."""
    plain = f"{number:g}"
    whole, half = divmod(number, 1)
    halves = [f"{whole:g} 1/2", f"{whole:g}½"] if half == 0.5 and whole else []
    return [plain, plain.removeprefix("0"), plain.replace(".", ","), *halves]


NUMBERS = st.integers(1, 250) | st.integers(1, 400).map(lambda quarter: quarter / 4)
SAID = {1: ["long", "LONG", "over"], -1: ["short", "s", "sh"]}
SAID_ACROSS = {1: ["right", "r", "Right"], -1: ["left", "l", "to the left"]}


@given(
    along=st.none() | st.tuples(st.sampled_from([1, -1]), st.none() | NUMBERS),
    across=st.none() | st.tuples(st.sampled_from([1, -1]), st.none() | NUMBERS),
    data=st.data(),
)
@settings(max_examples=500, deadline=None)
def test_what_was_meant_is_read_in_either_order(
    along: tuple[int, float | None] | None,
    across: tuple[int, float | None] | None,
    data: st.DataObject,
) -> None:
    parts: list[str] = []
    for meant, words in ((along, SAID), (across, SAID_ACROSS)):
        if meant is None:
            continue
        word = data.draw(st.sampled_from(words[meant[0]]))
        number = "" if meant[1] is None else data.draw(st.sampled_from(as_typed(meant[1])))
        before = data.draw(st.booleans())
        parts.append(f"{number} {word}".strip() if before else f"{word} {number}".strip())
    if not parts:
        return
    ordered: Sequence[str] = data.draw(st.permutations(parts))
    for comma, must_be_read in ((", ", True), (" ", False)):
        try:
            found = read(comma.join(ordered))
        except InputError:
            assert not must_be_read, ordered
            continue
        for component, meant in ((found.along, along), (found.across, across)):
            said = None if component is None else (component.side, component.amount)
            assert said == meant, (comma, ordered)


@given(text=st.text(max_size=40))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        read(text)
    except InputError as error:
        assert error.given == text and error.sentence.isprintable()
