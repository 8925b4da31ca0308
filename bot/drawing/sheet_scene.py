"""What a wind sheet shows, as plain values in SI, and the same as comma-separated values."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from io import StringIO

from bot.drawing.wording import clock, metres
from shared.units import DEGREES_PER_HOUR, UNITS, UnitSystem, distance_number, speed_number
from shared.wording import speed

HOURS = 12
HALF_CLOCK = 7  # hours from 12 to 6: the others mirror them
MIRRORED_MARKS = 0.05  # left and right show the same below this


@dataclass(frozen=True)
class Block:
    """One set-up: rows of 12 hours (12, 1, ... 11), a tuple per wind speed in each.

    Marks are None where the shot can't be set up in that wind.
    """

    club: str
    grade: str
    carry_m: float
    mark_m: float
    right_marks: tuple[tuple[float | None, ...], ...]
    long_marks: tuple[tuple[float | None, ...], ...]
    plays_m: tuple[tuple[float | None, ...], ...]

    @property
    def mirrored(self) -> bool:
        """Whether the left hours are the right ones with left for right, as shown."""
        pairs = [
            (first, second)
            for hour in range(1, HALF_CLOCK - 1)
            for first, second in zip(
                (*self.right_marks[hour], *self.long_marks[hour]),
                (*_negated(self.right_marks[HOURS - hour]), *self.long_marks[HOURS - hour]),
                strict=True,
            )
        ]
        return all(
            a is None and b is None if a is None or b is None else abs(a - b) < MIRRORED_MARKS
            for a, b in pairs
        )


@dataclass(frozen=True)
class SheetScene:
    """The sheet of one bag, all in one ball."""

    title: str
    subtitle: str
    mark: str
    ball: str
    speeds_mps: tuple[float, ...]
    blocks: tuple[Block, ...]
    units: UnitSystem = "yards"

    def read_out(self) -> str:
        """The first cell off the right that can be played, as a sentence; else nothing."""
        for block in self.blocks:
            for hour in (2, 3, 1, 4, 5):
                for count, wind_mps in enumerate(self.speeds_mps):
                    right, long = block.right_marks[hour][count], block.long_marks[hour][count]
                    if right is not None and long is not None:
                        way = "long" if long > 0 else "short"
                        return (
                            f"For example the {block.club} for "
                            f"{metres(block.carry_m, self.units, 0)} in "
                            f"{speed(wind_mps, self.units)} from {clock(hour * DEGREES_PER_HOUR)}: "
                            f"{abs(right):.1f} right, {abs(long):.1f} {way}."
                        )
        return ""

    def csv(self) -> str:
        """Every number as comma-separated values, one wind a row."""
        stream = StringIO()
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(columns(self.units))
        for block in self.blocks:
            for hour in range(HOURS):
                for count, wind_mps in enumerate(self.speeds_mps):
                    writer.writerow(self._row(block, hour, count, wind_mps))
        return stream.getvalue()

    def _row(self, block: Block, hour: int, count: int, wind_mps: float) -> list[str]:
        right, long = block.right_marks[hour][count], block.long_marks[hour][count]
        plays = block.plays_m[hour][count]
        mark = distance_number(block.mark_m, self.units)
        values = (
            *(right, long),
            *(None if each is None else each * mark for each in (right, long)),
            None if plays is None else distance_number(plays, self.units),
        )
        digits = (2, 2, 2, 2, 1)
        return [
            *(_safe(block.club), _safe(block.grade), _safe(self.ball)),
            f"{distance_number(block.carry_m, self.units):.1f}",
            f"{speed_number(wind_mps, self.units):.2f}",
            f"{hour or HOURS}",
            f"{hour * DEGREES_PER_HOUR:.0f}",
            "no" if right is None else "yes",
            *(
                "" if value is None else f"{value + 0.0:.{places}f}"
                for value, places in zip(values, digits, strict=True)
            ),
        ]


def columns(units: UnitSystem) -> tuple[str, ...]:
    """The heads of the columns, which name the reader's units: "carry_yd", "wind_mph"."""
    distance = UNITS[units].distance
    wind = UNITS[units].speed.replace("m/s", "mps").replace("km/h", "kmh")
    return (
        *("club", "grade", "ball", f"carry_{distance}", f"wind_{wind}"),
        *("from_clock", "from_deg", "playable", "right_marks", "long_marks"),
        *(f"right_{distance}", f"long_{distance}", f"plays_{distance}"),
    )


def _negated(row: tuple[float | None, ...]) -> tuple[float | None, ...]:
    return tuple(None if value is None else -value for value in row)


def _safe(name: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{name}" if name[:1] in "=+-@" else name


def sheets_csv(scenes: Sequence[SheetScene]) -> str:
    """The numbers of several sheets under one head."""
    tables = [scene.csv().partition("\n") for scene in scenes]
    return "".join([f"{tables[0][0]}\n", *(rows for _, _, rows in tables)])
