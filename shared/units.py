"""Units, axes and signs, said once for every room.

SI inside; a member's units only at the edges. Axes are right-handed from the ball: x downrange,
y up, z right. A wind direction is where the wind comes *from*, in degrees clockwise from the line
of play seen from above: 0 into, 90 from the right, 180 helping, 270 from the left. On a clock face
12 is into. An allowance or a miss is (long, right): long + beyond the target, right + to its right.

A unit system is a person's choice of a unit of distance and one of wind speed, each of which may be
mixed with each of the other. It is kept by its name: "yards" is yards with miles an hour, "metric"
metres with metres per second, and the others say both units.
"""

from dataclasses import dataclass
from typing import Literal

METRES_PER_YARD = 0.9144  # exact, NIST SP 811
METRES_PER_FOOT = 0.3048  # exact, NIST SP 811
MPS_PER_MPH = 0.44704  # exact, NIST SP 811
MPS_PER_KMH = 1 / 3.6  # exact
MPS_PER_KNOT = 1852 / 3600  # exact, the international knot
RADPS_PER_RPM = 0.10471975511965977  # 2 pi / 60
DEGREES_PER_HOUR = 30.0  # a clock face has twelve hours

LengthUnit = Literal["yd", "m", "ft"]
DistanceUnit = Literal["yd", "m"]
SpeedUnit = Literal["mph", "m/s", "km/h", "kn"]
UnitSystem = Literal[
    "yards",
    "yards m/s",
    "yards km/h",
    "yards knots",
    "metric",
    "metres mph",
    "metres km/h",
    "metres knots",
]

METRES_PER: dict[LengthUnit, float] = {"yd": METRES_PER_YARD, "m": 1.0, "ft": METRES_PER_FOOT}
MPS_PER: dict[SpeedUnit, float] = {
    "mph": MPS_PER_MPH,
    "m/s": 1.0,
    "km/h": MPS_PER_KMH,
    "kn": MPS_PER_KNOT,
}


@dataclass(frozen=True, slots=True)
class Units:
    """What a person's distances and wind speeds are read and written in."""

    distance: DistanceUnit
    speed: SpeedUnit


UNITS: dict[UnitSystem, Units] = {
    "yards": Units("yd", "mph"),
    "yards m/s": Units("yd", "m/s"),
    "yards km/h": Units("yd", "km/h"),
    "yards knots": Units("yd", "kn"),
    "metric": Units("m", "m/s"),
    "metres mph": Units("m", "mph"),
    "metres km/h": Units("m", "km/h"),
    "metres knots": Units("m", "kn"),
}
LENGTH_UNIT_OF: dict[UnitSystem, DistanceUnit] = {
    system: units.distance for system, units in UNITS.items()
}
SPEED_UNIT_OF: dict[UnitSystem, SpeedUnit] = {
    system: units.speed for system, units in UNITS.items()
}


def unit_system(*, distance: DistanceUnit, speed: SpeedUnit) -> UnitSystem:
    """The unit system that has these two units. Errors: KeyError for a unit there is none of."""
    by_units: dict[Units, UnitSystem] = {units: system for system, units in UNITS.items()}
    return by_units[Units(distance, speed)]


def distance_number(distance_m: float, units: UnitSystem) -> float:
    """Metres as a number of the person's unit of distance."""
    return distance_m / METRES_PER[UNITS[units].distance]


def speed_number(speed_mps: float, units: UnitSystem) -> float:
    """Metres per second as a number of the person's unit of speed."""
    return speed_mps / MPS_PER[UNITS[units].speed]


def distance_text(distance_m: float, units: UnitSystem, *, digits: int = 1) -> str:
    """A distance with the person's unit: "8.2 yd"."""
    return f"{distance_number(distance_m, units):.{digits}f} {UNITS[units].distance}"


def speed_text(speed_mps: float, units: UnitSystem) -> str:
    """A wind speed with the person's unit, in tenths where it needs them: "8.4 mph", "30 mph"."""
    return f"{round(speed_number(speed_mps, units), 1):g} {UNITS[units].speed}"


def yards(length_m: float) -> float:
    """Metres to yards."""
    return length_m / METRES_PER_YARD


def mph(speed_mps: float) -> float:
    """Metres per second to miles per hour."""
    return speed_mps / MPS_PER_MPH
