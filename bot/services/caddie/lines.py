"""Lines of the book, read once: texts become shots, the worked allowance becomes metres."""

from dataclasses import dataclass

from shared.book import Line, LineShot, Room
from shared.errors import InputError
from shared.kit import Kit
from shared.quantities import Wind
from shared.shot import Shot
from shared.shot_text import parse

Noted = tuple[float, float, str]  # right, long, unit


@dataclass(frozen=True)
class ReadShot:
    """One shot of a line, complete, in the wind it was tested in.

    ``worked`` is the allowance that worked as (right, long, unit), None where none was noted.
    """

    shot: Shot
    worked: Noted | None
    room: Room
    leaves_yd: tuple[float, float] | None
    note: str


@dataclass(frozen=True)
class ReadLine:
    """A line whose every shot has a wind, a club and a distance."""

    line: Line
    wind: Wind
    shots: tuple[ReadShot, ...]


def read_line(*, line: Line, kit: Kit, bearing_deg: float | None = None) -> ReadLine:
    """Read a line's texts.

    Errors: ShotTextError, InputError for a shot without club or distance.
    """
    wind = read_wind(text=line.wind, kit=kit, bearing_deg=bearing_deg)
    shots = tuple(_read_shot(each, wind, kit, bearing_deg) for each in line.shots)
    return ReadLine(line, wind, shots)


def read_wind(*, text: str, kit: Kit, bearing_deg: float | None = None) -> Wind:
    """The wind a text names. Errors: ShotTextError, InputError where it names something else."""
    shot = parse(text, kit=kit, bearing_deg=bearing_deg)
    if shot.wind is None or shot != Shot(wind=shot.wind):
        raise InputError("This should be a wind and nothing else.", "8.4 mph from 2", text)
    return shot.wind


def _read_shot(each: LineShot, wind: Wind, kit: Kit, bearing_deg: float | None) -> ReadShot:
    shot = parse(each.shot, kit=kit, bearing_deg=bearing_deg)
    for noun, value in (("club", shot.club), ("distance", shot.distance)):
        if value is None:
            raise InputError(
                f"A shot of a line needs a {noun}.", "5-iron oak, 165, up 5", each.shot
            )
    if shot.wind is None:
        shot = shot.model_copy(update={"wind": wind})
    worked = each.worked and (each.worked.right, each.worked.long, each.worked.unit)
    return ReadShot(shot, worked or None, each.room or Room(), each.leaves_yd, each.note)
