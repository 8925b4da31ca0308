"""Which of a hole's lines somebody sees, and which comes first."""

from typing import get_args

from shared.book import BEST_FIRST, STATUSES, Hole, Line, LineShot, Status


def line(variant: str, status: Status, *divisions: str) -> Line:
    shots = (LineShot(shot="8-iron, 128"),)
    return Line(
        variant=variant, status=status, divisions=divisions, wind="8 mph from 1", shots=shots
    )


HOLE = Hole(
    number=4,
    par=4,
    yards=388,
    lines=(
        line("A", "idea"),
        line("B", "retired"),
        line("C", "tested", "Sail"),
        line("D", "recommended", "Oar"),
        line("E", "tested"),
        line("F", "recommended", "Oar", "Sail"),
        line("G", "retired", "Oar"),
    ),
)


def letters(division: str | None) -> str:
    return "".join(each.variant for each in HOLE.lines_for(division))


def test_a_division_sees_its_lines_and_those_for_all_best_status_first() -> None:
    assert letters("Oar") == "DFEA"
    assert letters("Sail") == "FCEA"
    assert letters("Keel") == "EA"
    assert letters(None) == "DFCEA"


def test_lines_in_use_stand_by_letter() -> None:
    assert "".join(each.variant for each in HOLE.in_use) == "ACDEF"
    assert [each.variant for each in HOLE.lines if each.retired] == ["B", "G"]


def test_a_retired_line_is_the_last_of_all_and_still_for_its_division() -> None:
    found = sorted(HOLE.lines, key=lambda each: each.order)
    assert "".join(each.variant for each in found) == "DFCEABG"
    assert found[-1].is_for("Oar")
    assert not found[-1].is_for("Sail")
    assert found[-1].is_for(None)


def test_every_status_has_one_rank() -> None:
    assert STATUSES == ("idea", "tested", "recommended", "retired")
    assert sorted(BEST_FIRST) == sorted(get_args(Status))
