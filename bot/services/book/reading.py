"""A line as it stands, with what the engine makes of each of its shots. Knows no Discord.

Plain computation of a few milliseconds a shot; callers on an event loop hand it to a thread.
"""

from dataclasses import dataclass

from bot.services.caddie.adapt import read_line, said_for, shot_said
from bot.services.caddie.caddie import Caddie
from shared.answer import Answer
from shared.book import Hole, Line, LineShot
from shared.errors import LeewardError
from shared.units import UnitSystem
from shared.wording import error_sentence


@dataclass(frozen=True)
class ShotReading:
    """A shot and its answer in the wind it was tested in; None and why not in ``trouble``."""

    shot: LineShot
    answer: Answer | None
    trouble: str = ""
    said: str = ""

    @property
    def words(self) -> str:
        """The shot in the reader's units; as it stands where it can't be read."""
        return self.said or self.shot.shot


@dataclass(frozen=True)
class LineReading:
    """A line with the readings of its shots, in their order."""

    line: Line
    shots: tuple[ShotReading, ...]
    said: str = ""

    @property
    def wind(self) -> str:
        """The tested wind in the reader's units; as it stands where it can't be read."""
        return self.said or self.line.wind


def read_through(
    *, caddie: Caddie, line: Line, bearing_deg: float | None, units: UnitSystem = "yards"
) -> LineReading:
    """What the engine makes of a line as tested; what it can't compute is said shot by shot."""
    return LineReading(
        line,
        tuple(_read(caddie, line, shot, bearing_deg, units) for shot in line.shots),
        said_for(line.wind, kit=caddie.kit, bearing_deg=bearing_deg, units=units),
    )


def read_hole(*, caddie: Caddie, hole: Hole, units: UnitSystem = "yards") -> list[LineReading]:
    """``read_through`` for every line of a hole."""
    return [
        read_through(caddie=caddie, line=line, bearing_deg=hole.bearing_deg, units=units)
        for line in hole.lines
    ]


def _read(
    caddie: Caddie, line: Line, shot: LineShot, bearing_deg: float | None, units: UnitSystem
) -> ShotReading:
    alone = line.model_copy(update={"shots": (shot,)})
    try:
        read = read_line(line=alone, kit=caddie.kit, bearing_deg=bearing_deg).shots[0]
        said = shot_said(read, shot.shot, units)
    except LeewardError as error:
        return ShotReading(shot, None, error_sentence(error, units))
    try:
        return ShotReading(shot, caddie.answer(shot=read.shot, given=shot.shot), said=said)
    except LeewardError as error:
        return ShotReading(shot, None, error_sentence(error, units), said)
