"""The parts of a hole's note: for each division its wind and the lines moved to that wind."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.services.caddie.adapt import AdaptedLine, Case, ReadLine, adapt, read_line, read_wind
from bot.services.caddie.caddie import Caddie
from shared.bag import Bag
from shared.book import Hole, Line
from shared.errors import LeewardError
from shared.kit import Kit
from shared.quantities import Wind
from shared.units import UnitSystem
from shared.wording import error_sentence

SAME_MPS, SAME_DEG = 0.02, 0.5  # what a reader could not tell apart


@dataclass(frozen=True)
class PartLine:
    """A line in a part's wind; ``moved`` None and why not in ``trouble``.

    ``tested`` is the wind it was tested in, None where that can't be read.
    """

    line: Line
    tested: Wind | None
    moved: AdaptedLine | None
    trouble: str = ""

    @property
    def noted(self) -> tuple[bool, ...]:
        """Of every shot, whether an allowance that worked was noted for it."""
        return tuple(shot.worked is not None for shot in self.line.shots)


@dataclass(frozen=True)
class Part:
    """What some divisions play: ``wind`` None where it is not known, ``trouble`` why it isn't.

    Without a wind the lines stand in those they were tested in. ``lines`` are the best first;
    ``par`` and ``yards`` are those of their tee.
    """

    divisions: tuple[str, ...]
    wind: Wind | None
    trouble: str
    lines: tuple[PartLine, ...]
    par: int
    yards: float

    def as_tested(self, line: PartLine) -> bool:
        """Whether a line stands in the wind it was tested in."""
        return self.wind is None or (line.tested is not None and same_wind(self.wind, line.tested))


def same_wind(one: Wind, other: Wind) -> bool:
    """Whether a reader would call two winds the same."""
    apart = abs(one.relative_deg - other.relative_deg + 180.0) % 360.0 - 180.0
    calm = max(one.speed.mps, other.speed.mps) < SAME_MPS
    return abs(one.speed.mps - other.speed.mps) < SAME_MPS and (calm or abs(apart) < SAME_DEG)


@dataclass(frozen=True)
class _Frame:
    """A part before its lines are moved."""

    divisions: tuple[str, ...]
    wind: Wind | None
    trouble: str
    lines: tuple[Line, ...]
    par: int
    yards: float

    def shares(self, other: "_Frame") -> bool:
        """Whether two divisions can be told the same."""
        if self.lines != other.lines or self.trouble != other.trouble:
            return False
        if (self.par, self.yards) != (other.par, other.yards):
            return False
        if self.wind is None or other.wind is None:
            return self.wind is other.wind
        return same_wind(self.wind, other.wind)


def parts_of(
    *,
    caddie: Caddie,
    holes: Sequence[Hole],
    divisions: Sequence[str],
    round_: str,
    units: UnitSystem = "yards",
) -> list[tuple[Part, ...]]:
    """The parts of every hole's note, all lines of all divisions and holes moved in one batch."""
    framed = [_frames(hole, divisions, round_, caddie.kit, units) for hole in holes]
    reads = [_reads(hole, caddie.kit, units) for hole in holes]
    cases = [
        Case(read, Bag(), wind=frame.wind, own_bag=False)
        for frames, known in zip(framed, reads, strict=True)
        for frame in frames
        for line in frame.lines
        if isinstance(read := known[line.variant], ReadLine)
    ]
    moved = iter(adapt(caddie=caddie, cases=cases))

    def placed(frame: _Frame, known: dict[str, ReadLine | str]) -> Part:
        lines: list[PartLine] = []
        for line in frame.lines:
            read = known[line.variant]
            if isinstance(read, str):
                lines.append(PartLine(line, None, None, read))
            else:
                lines.append(PartLine(line, read.wind, next(moved)))
        about = frame.divisions, frame.wind, frame.trouble
        return Part(*about, tuple(lines), frame.par, frame.yards)

    return [
        tuple(placed(frame, known) for frame in frames)
        for frames, known in zip(framed, reads, strict=True)
    ]


def _frames(
    hole: Hole, divisions: Sequence[str], round_: str, kit: Kit, units: UnitSystem
) -> list[_Frame]:
    frames: list[_Frame] = []
    for division in divisions:
        wind, trouble = _wind(hole, division, round_, kit, units)
        tee, lines = hole.from_tee(division), tuple(hole.lines_for(division))
        fresh = _Frame((division,), wind, trouble, lines, tee.par, tee.yards)
        for place, frame in enumerate(frames):
            if frame.shares(fresh):
                frames[place] = replace(frame, divisions=(*frame.divisions, division))
                break
        else:
            frames.append(fresh)
    return frames


def _wind(
    hole: Hole, division: str, round_: str, kit: Kit, units: UnitSystem
) -> tuple[Wind | None, str]:
    text = hole.wind(division=division, round_=round_)
    if text is None:
        return None, "wind not known yet"
    try:
        return read_wind(text=text, kit=kit, bearing_deg=hole.bearing_deg), ""
    except LeewardError as error:
        return None, error_sentence(error, units)


def _reads(hole: Hole, kit: Kit, units: UnitSystem) -> dict[str, ReadLine | str]:
    """Every line read, or why it can't be, by letter."""
    found: dict[str, ReadLine | str] = {}
    for line in hole.in_use:
        try:
            found[line.variant] = read_line(line=line, kit=kit, bearing_deg=hole.bearing_deg)
        except LeewardError as error:
            found[line.variant] = error_sentence(error, units)
    return found
