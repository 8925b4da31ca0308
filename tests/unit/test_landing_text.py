"""Where a ball came down and where it ended, as players type it."""

import pytest

from shared.errors import InputError
from shared.landing_text import LANDING_EXAMPLE, Landing, parse_landing
from shared.miss_text import HOLED, MAX_OUTCOME, Component, Miss, MissUnit, Side


def read(text: str) -> Landing:
    return parse_landing(text, units="yards", mark="notch")


def miss(long: float | None = None, right: float | None = None, unit: MissUnit = "yd") -> Miss:
    def way(value: float | None) -> Component | None:
        if value is None:
            return None
        side: Side = 0 if value == 0 else 1 if value > 0 else -1
        return Component(side, abs(value), unit)

    return Miss(False, way(long), way(right))


@pytest.mark.parametrize(
    ("text", "came_down", "ended"),
    [
        ("ended 2 long 1 right", None, miss(2, 1)),
        ("came down 3 short", miss(-3), None),
        ("came down 3 short, ended 2 long", miss(-3), miss(2)),
        ("Ended up 2 long, came down 3 short and 4 left", miss(-3, -4), miss(2)),
        ("landed 12 short then stopped 1.5 left", miss(-12), miss(None, -1.5)),
        ("it came down 12 short 2 right and it ended 1 long.", miss(-12, 2), miss(1)),
        ("3 short, ended 2 long", miss(-3), miss(2)),
        ("2 long; came down 5 short", miss(-5), miss(2)),
        ("came down 3 m short, ended 2 notches long", miss(-3, unit="m"), miss(2, unit="marks")),
        ("landed 3 short rolled 5 past", miss(-3), miss(5)),
        ("pitched 3 short and ran 5 past", miss(-3), miss(5)),
        ("landed 12 short, rolled in", miss(-12), HOLED),
        ("came down 12 short, in", miss(-12), HOLED),
        ("came down 12 short and went in", miss(-12), HOLED),
        ("came down 12 short, then it rolled in the hole", miss(-12), HOLED),
        ("came down 9 short, ended in", miss(-9), HOLED),
        ("came down at the hole, ended 4 long", miss(0, 0), miss(4)),
        ("came down pin high 3 right, ended 1 short", miss(0, 3), miss(-1)),
    ],
)
def test_either_or_both_are_read(text: str, came_down: Miss | None, ended: Miss | None) -> None:
    assert read(text) == Landing(came_down=came_down, ended=ended)


@pytest.mark.parametrize("text", ["5 short, 3 right", "in", "", "a bit left", "2l", "went in"])
def test_a_text_that_names_neither_is_a_plain_miss(text: str) -> None:
    found = read(text)
    assert found.plain is not None and found.came_down is None and found.ended is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("came down", "where it came down, and by how much"),
        ("came down short, ended 2 long", "where it came down, and by how much"),
        ("came down 3 short, ended a bit long", "where it ended, and by how much"),
        ("came down 3 short, landed 2 long", "twice where it came down"),
        ("came down 3 short, ended -2", "no minus"),
        ("came down in, ended 2 long", "where it came down"),
        ("came down 3 furlongs short", "furlongs"),
        ("ended 3", "which way"),
    ],
)
def test_what_cannot_be_read_is_said_with_the_whole_text_and_an_example(
    text: str, said: str
) -> None:
    with pytest.raises(InputError) as refused:
        read(text)
    assert said in refused.value.sentence
    assert (refused.value.example, refused.value.given) == (LANDING_EXAMPLE, text)
    assert read(LANDING_EXAMPLE) == Landing(miss(-3), miss(2))


def test_the_longest_that_is_written_back_fits_a_form() -> None:
    longest = "came down 112.5 yd short, 103.5 right, ended 112.5 yd long, 103.5 right"
    assert len(longest) <= MAX_OUTCOME
    assert read(longest) == Landing(miss(-112.5, 103.5), miss(112.5, 103.5))
