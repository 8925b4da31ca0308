"""A part of a note in rows: where its aims come from, and what can't be played or computed."""

import pytest

from bot.commands.notes.part_rows import part_name, part_rows
from bot.services.notes.parts import Part, parts_of, same_wind
from shared.book import Hole, HoleWind, Line, LineShot, Worked
from shared.quantities import Speed, Wind
from tests.kits import demo_caddie

CADDIE = demo_caddie()
DRIVE = LineShot(shot="driver (oak), 226 yd", worked=Worked(right=5.4, long=2.5))
PITCH = LineShot(shot="7-iron (oak), 140 yd, up 3 yd, back 2")


def line(letter: str = "A", *shots: LineShot, **given: object) -> Line:
    fields: dict[str, object] = {
        "variant": letter,
        "status": "recommended",
        "author": "Rosalind",
        "wind": "8 mph from 2",
        "shots": shots or (DRIVE, PITCH),
    }
    return Line.model_validate(fields | given)


HOLE = Hole(number=4, par=4, yards=388, bearing_deg=250.0)


def parts(*lines: Line, **winds: str) -> tuple[Part, ...]:
    blow = tuple(HoleWind(division=name, round="First", wind=wind) for name, wind in winds.items())
    hole = HOLE.model_copy(update={"winds": blow, "lines": lines})
    (found,) = parts_of(
        caddie=CADDIE, holes=[hole], divisions=("Sail", "Oar", "Punt"), round_="First"
    )
    return found


def test_a_line_in_its_own_wind_stands_as_tested_and_an_unnoted_shot_is_marked() -> None:
    sail, oar, punt = parts(line(), Sail="8 mph from 2", Oar="5 mph from 2", Punt="5 mph from 4")
    rows = part_rows(sail, "yards")
    assert rows[:2] == ["★ **A** · as tested", "1 driver (oak) 226: **5.4 right, 2.5 long**"]
    assert rows[2].startswith("2 7-iron (oak) 140 up 3 yd, back 2: **")
    assert rows[2].endswith("** (computed)") and len(rows) == 3
    assert part_rows(oar, "yards")[0] == "★ **A** · moved from 8 mph"
    assert part_rows(punt, "yards")[0] == "★ **A** · moved from 8 mph from 2"
    metres = part_rows(oar, "metric")
    assert metres[0] == "★ **A** · moved from 3.6 m/s"
    assert metres[1].startswith("1 driver (oak) 207: **")


def test_a_line_moved_to_a_lesser_wind_from_the_same_side_aims_less_far_off() -> None:
    sail, oar, _ = parts(line(), Sail="8 mph from 2", Oar="4 mph from 2", Punt="calm")
    tested, moved = (part.lines[0].moved for part in (sail, oar))
    assert tested is not None and moved is not None
    assert tested.shots[0].allowance.right_marks == pytest.approx(5.4)
    assert 1.0 < moved.shots[0].allowance.right_marks < 3.5


def test_a_line_without_a_noted_aim_is_computed_and_an_idea_says_so() -> None:
    (part,) = parts(
        line("A"),
        line("B", PITCH, status="idea", title="over *all*"),
        line("C", PITCH, status="tested"),
        Sail="8 mph from 2",
        Oar="8 mph from 2",
        Punt="8 mph from 2",
    )
    assert part.divisions == ("Sail", "Oar", "Punt")
    assert part_name(part, "yards", HOLE) == "Sail, Oar, Punt · 8 mph from 2"
    tested, idea = part_rows(part, "yards")[3:]
    assert tested.startswith("**C**: ") and tested.endswith(" · computed")
    assert idea.startswith(r"**B** over \*all\* (idea): ") and idea.endswith(" · computed")


def test_divisions_part_by_their_lines_in_one_wind() -> None:
    both = {"Sail": "8 mph from 2", "Oar": "8 mph from 2", "Punt": "8 mph from 2"}
    shared, alone = parts(line(divisions=("Sail", "Punt")), line("B", divisions=()), **both)
    assert (shared.divisions, alone.divisions) == (("Sail", "Punt"), ("Oar",))
    assert [each.line.variant for each in alone.lines] == ["B"]


def test_without_a_wind_a_line_stands_as_tested_and_says_in_which() -> None:
    (part,) = parts(line())
    assert part_name(part, "yards", HOLE) == "Sail, Oar, Punt · wind not known yet"
    assert part_rows(part, "yards")[0] == "★ **A** · as tested in 8 mph from 2"
    assert part_rows(part, "metric")[0] == "★ **A** · as tested in 3.6 m/s from 2"
    (none,) = parts()
    assert part_rows(none, "yards") == ["No line yet; a coach adds one with /line add."]


def test_what_cant_be_read_or_played_is_said_in_its_row() -> None:
    shot = LineShot(shot="9-iron (oak), 300 yd")
    (part,) = parts(
        line("A", LineShot(shot="spoon (oak), 200 yd")),
        line("B", shot, status="tested"),
        Sail="8 mph from 2",
        Oar="8 mph from 2",
        Punt="8 mph from 2",
    )
    first, second = part_rows(part, "yards")
    assert first.startswith("★ **A**: “spoon” was not understood")
    assert second.startswith("**B**: ") and "⚠ " in second


def test_winds_are_alike_where_a_reader_would_call_them_the_same() -> None:
    def wind(mps: float, deg: float) -> Wind:
        return Wind(speed=Speed(value=mps, unit="m/s"), from_deg=deg)

    assert same_wind(wind(3.0, 359.8), wind(3.01, 0.1))
    assert not same_wind(wind(3.0, 30.0), wind(3.0, 31.0))
    assert not same_wind(wind(3.0, 30.0), wind(3.1, 30.0))
    assert same_wind(wind(0.0, 30.0), wind(0.01, 200.0))
