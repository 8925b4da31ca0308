"""A coach's rows: what is read, what is asked back, and that what is shown reads back the same."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.services.book.drafts import DraftReader, LineDraft, new_token
from bot.services.book.hole_rows import read_hole_row
from bot.services.book.shot_rows import RowReader, RowsError, format_rows
from shared.bag import Bag
from shared.book import LineShot, Room, Worked
from shared.errors import InputError
from shared.kit import Kit
from shared.units import UnitSystem
from tests.unit.book_kit import demo_kit

KIT = demo_kit()


def reader(units: UnitSystem = "yards") -> RowReader:
    return RowReader(units=units, mark="mark", shot=lambda text: text, example="x 9")


def one(row: str, units: UnitSystem = "yards") -> LineShot:
    (shot,) = reader(units).read(row)
    return shot


def refused(text: str) -> tuple[tuple[int, str], ...]:
    with pytest.raises(RowsError) as caught:
        reader().read(text)
    return tuple((error.row, error.sentence) for error in caught.value.errors)


def test_a_row_says_everything_about_a_shot() -> None:
    row = "driver oak 231, up 3  aim 5.2 right 2 short  room 8 short 12,5 left  leaves 95 to 110 note Past the bunker, low"  # noqa: E501
    assert one(row) == LineShot(
        shot="driver oak 231, up 3",
        worked=Worked(right=5.2, long=-2.0, unit="marks"),
        room=Room(short_yd=8, left_yd=12.5),
        leaves_yd=(95, 110),
        note="Past the bunker, low",
    )


@pytest.mark.parametrize(
    ("row", "worked"),
    [
        ("x aim 5.2 left", Worked(right=-5.2)),
        ("x aim long 3, right 1,5", Worked(right=1.5, long=3)),
        ("x aim 4 yd right 2 yd long", Worked(right=4, long=2, unit="yd")),
        ("x aim 4 m right", Worked(right=4.374, unit="yd")),
        ("x | AIM: 3 marks right and 1 mark long", None),
        ("x aim 3 marks right 1 marks long", Worked(right=3, long=1)),
        ("x aim none", Worked()),
        ("x aim straight", Worked()),
    ],
)
def test_an_allowance_is_read_in_marks_yards_and_metres(row: str, worked: Worked | None) -> None:
    if worked is None:
        assert refused(row) == ((1, "'mark' was not understood."),)
    else:
        assert one(row).worked == worked


def test_bare_numbers_are_in_the_coachs_units_but_marks_are_marks() -> None:
    shot = one("x aim 2 right room 10 long leaves 90-100", "metric")
    assert shot.worked == Worked(right=2, unit="marks")
    assert shot.room == Room(long_yd=10.936)
    assert shot.leaves_yd == (98.425, 109.361)


def test_a_window_is_the_same_from_either_end() -> None:
    assert one("x leaves 110 to 95").leaves_yd == (95, 110)


def test_rows_may_be_numbered_and_blank() -> None:
    shots = reader().read("1. driver 231\n\n  2) 8-iron 124\nshot 3: 7-iron 100\n")
    assert [shot.shot for shot in shots] == ["driver 231", "8-iron 124", "7-iron 100"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("driver 231 aim 5.2", "Give each number with its way."),
        ("driver 231 aim right", "Give each number with its way."),
        ("driver 231 aim 5 up", "'up' was not understood."),
        ("driver 231 aim 5 right 2 left", "aim can't be right and left at once."),
        ("driver 231 aim 5 right 2 right", "right stands twice."),
        ("driver 231 aim 1 right aim 2 right", "aim stands twice."),
        ("driver 231 leaves lots", "leaves takes the least and the most distance."),
        ("driver 231 leaves 110 to 1900", "leaves can be 900 at most."),
        ("driver 231 room 900 long", "long can be 200 at most."),
        ("driver 231 note \x07", "note can't be kept: the character U+0007 can't be shown."),
        ("aim 5 right", "The shot itself is missing."),
        ("driver 231 aim 1e9 right", "'e' was not understood."),
    ],
)
def test_a_row_that_cant_be_read_is_said(row: str, says: str) -> None:
    assert refused(row) == ((1, says),)


def test_every_bad_row_is_said_at_once() -> None:
    found = refused("driver 231 aim x\n8-iron 124\n7-iron 9 room\n")
    assert [row for row, _ in found] == [1, 3]


def test_a_line_has_one_to_eight_shots() -> None:
    assert refused("  \n , ")[0][1] == "Write one shot a row."
    ((row, sentence),) = refused("\n".join(["driver 231"] * 9))
    assert (row, sentence) == (9, "A line has 8 shots at most, and these are 9 rows.")


tenths = st.integers(-400, 400).map(lambda n: n / 10)
sides = st.none() | st.integers(0, 400).map(lambda n: n / 4)


@settings(max_examples=200, deadline=None)
@given(
    worked=st.none()
    | st.builds(Worked, right=tenths, long=tenths, unit=st.sampled_from(("marks", "yd"))),
    room=st.none() | st.builds(Room, short_yd=sides, long_yd=sides, left_yd=sides, right_yd=sides),
    leaves=st.none() | st.tuples(st.integers(0, 90), st.integers(91, 900)),
    note=st.text(alphabet="ab1 .:@💨ש", max_size=30).map(lambda text: " ".join(text.split())),
    units=st.sampled_from(("yards", "metric")),
)
def test_rows_written_for_one_coach_read_back_for_any(
    worked: Worked | None,
    room: Room | None,
    leaves: tuple[int, int] | None,
    note: str,
    units: UnitSystem,
) -> None:
    if room == Room():
        room = None
    shot = LineShot(
        shot="driver (oak), 231 yd", worked=worked, room=room, leaves_yd=leaves, note=note
    )
    rows = format_rows((shot, shot), mark="ring")
    again = RowReader(units=units, mark="ring", shot=lambda text: text, example="").read(rows)
    assert again == (shot, shot)


# A whole draft ----------------------------------------------------------------------------------


def draft(**changes: object) -> LineDraft:
    fields: dict[str, object] = {
        "token": new_token(),
        "event": "Small Cup",
        "hole": 4,
        "author": "Rosalind",
        "wind": "8 from 2",
        "rows": "driver 226\n7i 140 up 3",
    }
    return LineDraft.model_validate(fields | changes)


def kit_reader(bag: Bag | None = None, kit: Kit = KIT, bearing: float | None = None) -> DraftReader:
    return DraftReader(kit=kit, bearing_deg=bearing, bag=bag or Bag())


def test_a_line_is_kept_with_the_bag_it_was_tested_in() -> None:
    bag = Bag(grades={"driver": "yew", "7-iron": "oak"}, ball="tern")
    line = kit_reader(bag).line(draft())
    assert [shot.shot for shot in line.shots] == [
        "driver (yew), 226 yd, ball tern",
        "7-iron (oak), 140 yd, up 3 yd, ball tern",
    ]
    assert line.wind == "8 mph from 2"
    own = kit_reader(bag).line(draft(rows="driver ash 226 ball heron"))
    assert own.shots[0].shot == "driver (ash), 226 yd, ball heron"


def test_a_metric_coach_types_metres_and_they_are_kept_as_metres() -> None:
    line = kit_reader(Bag(units="metric")).line(draft(wind="5 from 2", rows="7-iron 128 up 2"))
    assert (line.wind, line.shots[0].shot) == ("5 m/s from 2", "7-iron (ash), 128 m, up 2 m")


def test_a_compass_wind_is_read_with_the_bearing_of_the_hole() -> None:
    assert kit_reader(bearing=250.0).line(draft(wind="8 from NW")).wind == "8 mph from 315 hole 250"
    with pytest.raises(InputError, match="bearing"):
        kit_reader().line(draft(wind="8 from NW"))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"wind": "driver 200"}, "a wind and nothing else"),
        ({"rows": "driver"}, "This shot needs a distance."),
        ({"rows": "226"}, "This shot needs a club."),
        ({"rows": "spoon 226"}, "spoon"),
        ({"notes": "a\x00b"}, "notes can't be kept"),
        ({"rows": "driver 226 @everyone"}, "mention"),
    ],
)
def test_what_a_draft_lacks_is_said(changes: dict[str, object], says: str) -> None:
    with pytest.raises(InputError) as caught:
        kit_reader().line(draft(**changes))
    assert says in caught.value.sentence


@pytest.mark.parametrize("units", ["metric", "metres mph", "metres km/h", "yards km/h"])
def test_a_holes_length_is_read_in_a_coachs_own_unit(units: UnitSystem) -> None:
    yards = read_hole_row("3 par 4, 370, The Groyne", units).yards
    assert yards == (404.6 if units.startswith("met") else 370.0)
    assert read_hole_row("3 par 4, 370 yd, The Groyne", units).yards == 370.0
