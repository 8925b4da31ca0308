"""Lines and shots of the book in words."""

from bot.services.book.reading import ShotReading
from shared.book import Hole, LineShot, Room, Status, Worked
from shared.text import plain
from shared.units import METRES_PER_YARD, UnitSystem, distance_number
from shared.wording import aim_words, length, offset

STATUS_MARK: dict[Status, str] = {
    "recommended": "★ recommended",
    "tested": "tested",
    "idea": "idea",
    "retired": "retired",
}


def worked_words(worked: Worked, mark: str) -> str:
    """An allowance in words: '5.2 marks right, 2.0 long'; 'straight' for none."""
    unit = f"{mark}s" if worked.unit == "marks" else "yd"
    words = offset(right=worked.right, long=worked.long, unit=unit)
    return "straight" if words == "none" else words


def shot_words(reading: ShotReading, *, units: UnitSystem, mark: str) -> list[str]:
    """What to do with a shot, then what is computed, the room, what it leaves; one line each."""
    shot, answer = reading.shot, reading.answer
    said: list[str] = []
    if shot.worked is not None:
        said.append(f"**Aim {worked_words(shot.worked, mark)}** (worked)")
    if answer is None:
        said.append(f"Not computed: {plain(reading.trouble)}")
    else:
        aim = aim_words(answer.allowance, units=units, mark=mark)
        aim = "straight" if aim == "none" else aim
        said.append(f"Computed {aim}" if shot.worked else f"**Aim {aim}** (computed)")
        carry, plays = length(answer.distance_yd, units, 0), length(answer.plays_yd, units, 0)
        said.append(f"Carry {carry}, plays {plays} · {answer.club} {answer.grade}")
    said += _around(shot, units)
    return said


def _around(shot: LineShot, units: UnitSystem) -> list[str]:
    said: list[str] = []
    room = _room(shot.room, units) if shot.room else ""
    if room:
        said.append(f"Room {room}")
    if shot.leaves_yd:
        least, most = shot.leaves_yd
        start = "" if least == most else f"{_bare(least, units)} to "
        said.append(f"Leaves {start}{length(most, units, 0)}")
    return said


def _room(room: Room, units: UnitSystem) -> str:
    sides = (
        ("short", room.short_yd),
        ("long", room.long_yd),
        ("left", room.left_yd),
        ("right", room.right_yd),
    )
    return ", ".join(
        f"{length(yards, units, 0)} {way}" for way, yards in sides if yards is not None
    )


def _bare(yards: float, units: UnitSystem) -> str:
    return f"{distance_number(yards * METRES_PER_YARD, units):.0f}"


def lines_words(hole: Hole, division: str | None) -> str:
    """Which lines a division (None: all) plays: 'For Sail, hole 1 has lines A, C.'"""
    letters = [line.variant for line in hole.in_use if line.is_for(division)]
    noun = "line" if len(letters) == 1 else "lines"
    has = f"has {noun} {', '.join(letters)}" if letters else "has no line yet"
    start = "Hole" if division is None else f"For {division}, hole"
    return f"{start} {hole.number} {has}."
