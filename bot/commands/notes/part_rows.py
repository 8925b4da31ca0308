"""A part of a hole's note in rows: one a shot of the line played first, one for each other line."""

from bot.services.book.words import STATUS_MARK
from bot.services.caddie.adapt import AdaptedShot
from bot.services.notes.parts import Part, PartLine, same_wind
from engine.reach import Verdict
from shared.book import Hole
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.shot_text.write import in_units
from shared.text import plain
from shared.units import METRES_PER_YARD, UnitSystem, distance_number
from shared.wording import length, offset, speed, wind_words

LONGEST_TITLE = 30
REASONS = {
    Verdict.UNSOLVED: "not in this wind",
    Verdict.TOO_LONG: "out of reach",
    Verdict.TOO_SHORT: "under the shortest swing",
    Verdict.TOO_HIGH: "too high",
    Verdict.TOO_LOW: "too low",
    Verdict.AIM_LIMIT: "aim beyond the game's limit",
}


def part_name(part: Part, units: UnitSystem, hole: Hole) -> str:
    """'Sail · 10 mph from 11', with par and length where they are not the hole's own."""
    said = [", ".join(plain(each) for each in part.divisions)]
    said.append(plain(wind_words(part.wind, units)) if part.wind else plain(part.trouble))
    if part.par != hole.par:
        said.append(f"par {part.par}")
    if part.yards != hole.yards:
        said.append(length(part.yards, units, 0))
    return " · ".join(said)


def part_rows(part: Part, units: UnitSystem) -> list[str]:
    """The best line with a row a shot, then every other line in one row."""
    if not part.lines:
        return ["No line yet; a coach adds one with /line add."]
    first, *others = part.lines
    if first.moved is None:
        rows = [f"{_heading(first)}: {plain(first.trouble)}"]
    else:
        rows = [f"{_heading(first)} · {_origin(part, first, units)}"]
        rows += [
            f"{number} {_shot_words(shot, units)}: **{_aim(shot)}**{_computed(first, number)}"
            for number, shot in enumerate(first.moved.shots, start=1)
        ]
    return rows + [_row(part, line, units) for line in others]


def _heading(line: PartLine) -> str:
    its = line.line
    mark = "★ " if its.status == "recommended" else ""
    status = f" ({STATUS_MARK[its.status]})" if its.status == "idea" else ""
    title = f" {plain(its.title, LONGEST_TITLE)}" if its.title else ""
    return f"{mark}**{its.variant}**{title}{status}"


def _row(part: Part, line: PartLine, units: UnitSystem) -> str:
    if line.moved is None:
        return f"{_heading(line)}: {plain(line.trouble)}"
    aims = "; ".join(_aim(shot) for shot in line.moved.shots)
    return f"{_heading(line)}: {aims} · {_origin(part, line, units)}"


def _aim(shot: AdaptedShot) -> str:
    """'5.0 left, 9.0 long' in marks; what is wrong where the shot can't be played."""
    if not shot.answered or shot.fit == Verdict.UNSOLVED:
        return f"⚠ {REASONS[Verdict.UNSOLVED]}"
    words = offset(right=shot.allowance.right_marks, long=shot.allowance.long_marks)
    words = "straight" if words == "none" else words
    return words if shot.fit == Verdict.FINE else f"{words} ⚠ {REASONS[shot.fit]}"


def _computed(line: PartLine, number: int) -> str:
    """Which shots of a line that was tested in part are computed alone."""
    return " (computed)" if any(line.noted) and not line.noted[number - 1] else ""


def _origin(part: Part, line: PartLine, units: UnitSystem) -> str:
    """'as tested', or what it was moved from: the speed where the direction is the same.

    A line none of whose shots has an allowance that worked is computed in any wind.
    """
    tested = line.tested
    if tested is None:
        return "not moved"
    if not any(line.noted):
        return "computed"
    words = plain(wind_words(tested, units))
    untested = ", not tested" if line.line.copied else ""
    if part.wind is None:
        return f"copied as it was in {words}{untested}" if untested else f"as tested in {words}"
    if part.as_tested(line):
        return (
            f"copied from {plain(line.line.copied)}{untested}" if line.line.copied else "as tested"
        )
    at_speed = tested.model_copy(update={"speed": part.wind.speed})
    if tested.speed.mps and same_wind(part.wind, at_speed):
        return f"moved from {speed(tested.speed.mps, units)}{untested}"
    return f"moved from {words}{untested}"


def _shot_words(shot: AdaptedShot, units: UnitSystem) -> str:
    """'driver (yew) 226', and what else the shot is: height, ball, spin, shape."""
    distance = distance_number(shot.distance_yd * METRES_PER_YARD, units)
    club = f"{shot.choice.club} ({shot.choice.grade})"
    noted = shot.read.shot
    rest = in_units(
        Shot(
            height=noted.height,
            ball=noted.ball,
            backspin=noted.backspin,
            sidespin=noted.sidespin,
            curve=noted.curve,
        ),
        units,
    )
    more = format_shot(rest)
    said = f"{plain(club)} {distance:.0f}"
    return f"{said} {plain(more)}" if more else said
