"""The computed chances of a hole's lines: which have one, what is kept, how they are ordered."""

from dataclasses import replace
from typing import Any

import pytest

from bot.services.caddie.adapt import read_wind
from bot.services.caddie.caddie import Caddie
from bot.services.learning.chances import earned_by
from bot.services.line_chances import service
from bot.services.line_chances.order import computed, order_words, untried_words
from bot.services.line_chances.played import Asked, LinePlayed, play_lines, points
from bot.services.line_chances.service import LineChances
from engine.line_compare import Estimate
from shared.bag import Bag
from shared.book import Hole, Line, LineShot
from shared.quantities import Wind
from storage.results import ChanceGiven
from tests.kits import demo_caddie, demo_kit

NONE = earned_by([])
HELD = earned_by([ChanceGiven(0.3, 20, 6), ChanceGiven(0.05, 20, 1)] * 25)  # just as computed


def line(letter: str, *shots: str, wind: str = "9 mph from 2") -> Line:
    each = tuple(LineShot(shot=shot) for shot in shots)
    return Line(variant=letter, wind=wind, status="tested", shots=each)


def blowing(text: str = "9 mph from 2") -> Wind:
    return read_wind(text=text, kit=demo_kit())


def one(each: Line, wind: str = "9 mph from 2", bag: Bag | None = None) -> LinePlayed | None:
    return play_lines(
        caddie=demo_caddie(), lines=[Asked(each, None, blowing(wind))], bag=bag or Bag()
    )[0]


def hole_of(*lines: Line) -> Hole:
    return Hole(number=3, par=4, yards=330, lines=lines)


def test_a_line_has_a_chance_where_it_can_be_read_is_played_and_ends_on_a_green() -> None:
    said = one(line("A", "6-iron, 150, onto green"))
    assumed = one(line("A", "6-iron, 150"))
    assert said is not None and not said.assumed
    assert assumed is not None and assumed.assumed
    assert assumed.stays == said.stays  # what is assumed is what is said there
    assert 0.5 < said.stays.value < 1 and said.left_m < 12
    assert one(line("A", "6-iron, 150, onto fairway")) is None  # it is not to go in
    assert one(line("A", "6-iron, 150"), wind="60 mph into") is None
    assert one(line("A", "a stone, 150")) is None


def test_what_comes_before_the_last_shot_is_in_its_chance() -> None:
    short, long = one(line("A", "driver, 225", "9-iron, 100")), one(line("B", "9-iron, 100"))
    assert short is not None and long is not None
    assert len(short.on_green.legs) == 2 and len(long.on_green.legs) == 1
    assert short.on_green.legs[1].club == long.on_green.legs[0].club == ("9-iron", "ash")
    assert short.stays.value < long.stays.value  # a driver's leave is not a hundred yards
    into = one(line("A", "driver, 225", "9-iron, 100"), wind="18 mph from 3")
    assert into is not None and into.stays.value < short.stays.value


def test_another_bag_and_another_grade_have_another_chance() -> None:
    own = one(line("A", "6-iron, 150"), bag=Bag(grades={"6-iron": "yew"}))
    plain = one(line("A", "6-iron, 150"))
    assert own is not None and plain is not None
    assert own.on_green.legs[0].club == ("6-iron", "yew") and own.stays != plain.stays


class Counted:
    """``play_lines``, and how many lines each batch of it held."""

    def __init__(self) -> None:
        self.batches: list[int] = []

    def __call__(self, *, caddie: Caddie, lines: list[Asked], bag: Bag) -> list[LinePlayed | None]:
        self.batches.append(len(lines))
        return play_lines(caddie=caddie, lines=lines, bag=bag)


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    found = Counted()
    monkeypatch.setattr(service, "play_lines", found)
    return found


async def test_what_was_computed_is_kept_for_its_revision_wind_bag_and_belief(
    counted: Counted,
) -> None:
    lines = LineChances()
    first, second = line("A", "6-iron, 150"), line("B", "5-iron, 150")
    hole, caddie, wind = hole_of(first, second), demo_caddie(), blowing()
    assert lines.known(caddie, hole, hole.lines, bag=Bag(), wind=wind) is None
    both = await lines.of_hole(caddie, hole, hole.lines, bag=Bag(), wind=wind)
    again = await lines.of_hole(caddie, hole, hole.lines, bag=Bag(), wind=wind)
    assert counted.batches == [2] and all(a is b for a, b in zip(both, again, strict=True))
    assert lines.known(caddie, hole, [second], bag=Bag(), wind=wind) == [both[1]]
    edited = second.model_copy(update={"shots": (LineShot(shot="5-iron, 151"),)})
    changes: tuple[dict[str, Any], ...] = (
        {"lines": [first, edited]},
        {"bag": Bag(grades={"6-iron": "yew"})},
        {"wind": blowing("9 mph from 3")},
        {"caddie": caddie.believing(caddie.believed)},
    )
    plain: dict[str, Any] = {"caddie": caddie, "lines": hole.lines, "bag": Bag(), "wind": wind}
    for change in changes:
        asked = plain | change
        await lines.of_hole(
            asked["caddie"], hole, asked["lines"], bag=asked["bag"], wind=asked["wind"]
        )
    assert counted.batches == [2, 1, 2, 2, 2]


async def test_holes_are_computed_in_one_batch_and_memory_ends(
    counted: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(service, "KEPT", 3)
    lines, caddie = LineChances(), demo_caddie()
    holes = [
        (hole_of(line("A", f"6-iron, {yards}"), line("B", "9-iron, 100")), wind)
        for yards, wind in ((148, blowing()), (151, blowing("7 mph from 5")))
    ]
    asked = [(hole, hole.lines, wind) for hole, wind in holes]
    found = await lines.of_holes(caddie, asked, bag=Bag())
    assert counted.batches == [4] and [len(each) for each in found] == [2, 2]
    assert [each and each.variant for row in found for each in row] == ["A", "B", "A", "B"]
    oldest, wind = holes[0]
    assert lines.known(caddie, oldest, oldest.lines, bag=Bag(), wind=wind) is None
    newest, wind = holes[1]
    assert lines.known(caddie, newest, newest.lines, bag=Bag(), wind=wind) == found[1]


def played(letter: str, *, goes_in: float, stays: float) -> LinePlayed:
    """A line whose outcomes are those shares of the points, each with a club of its own."""
    base = one(line(letter, "6-iron, 150"))
    assert base is not None
    count = len(points())
    doubt = tuple(replace(leg, club=(letter,), common=0.0, own=0.0) for leg in base.in_.legs)
    in_, on = (
        replace(base.in_, values=(points().shots[-1, 2] < share).astype(float), legs=doubt)
        for share in (goes_in, stays)
    )
    assert in_.values.size == count
    return replace(
        base,
        in_=in_,
        on_green=on,
        goes_in=Estimate(goes_in, 0.004, 0.003),
        stays=Estimate(stays, 0.01, 0.02),
    )


def test_an_order_says_what_can_be_told_apart_and_by_what() -> None:
    a, b, c = (
        played("A", goes_in=0.02, stays=0.8),
        played("B", goes_in=0.3, stays=0.8),
        played("C", goes_in=0.021, stays=0.8),
    )
    by_holes = computed([a, None, b, c], NONE)
    assert by_holes is not None and by_holes.order == (("B",), ("A", "C"))
    words = order_words(by_holes)
    assert words.startswith("Computed: likeliest to go in **B**, then A = C (not enough tries")
    assert untried_words(by_holes, "A") == "computed to go in: after B, level with C"
    assert untried_words(by_holes, "B") == "computed to go in: before A and C"
    assert untried_words(by_holes, "D") == "" and by_holes.place("D") == 2
    greens = computed([a, played("D", goes_in=0.02, stays=0.95)], NONE)
    assert greens is not None and greens.order == (("D",), ("A",))
    assert "none clearly likelier to go in; likeliest to stay on the green **D**, then A" in (
        order_words(greens)
    )
    assert computed([a, None], NONE) is None and computed([None], HELD) is None


def test_chances_that_have_held_are_given_and_never_read_as_certain() -> None:
    b = played("B", goes_in=0.3, stays=0.8)
    alone = computed([b], HELD)
    assert alone is not None
    assert untried_words(alone, "B") == ("computed: goes in 30% ± 6, stays on the green 80% ± 4")
    assert "not enough" not in order_words(alone)
    ends = replace(b, goes_in=Estimate(0.0, 0.0, 0.001), stays=Estimate(1.0, 0.0, 0.0))
    sure = computed([ends], HELD)
    assert sure is not None
    assert untried_words(sure, "B") == "computed: goes in under 1%, stays on the green over 99%"
    vague = computed([replace(b, goes_in=Estimate(0.01, 0.0, 0.02))], HELD)
    assert vague is not None and "goes in at most 4.6%" in untried_words(vague, "B")
