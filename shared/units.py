"""Units, axes and signs, said once for every room.

SI inside; a member's units only at the edges. Axes are right-handed from the ball: x downrange,
y up, z right. A wind direction is where the wind comes *from*, in degrees clockwise from the line
of play seen from above: 0 into, 90 from the right, 180 helping, 270 from the left. On a clock face
12 is into. An allowance or a miss is (long, right): long + beyond the target, right + to its right.
"""

from typing import Literal

METRES_PER_YARD = 0.9144  # exact, NIST SP 811
METRES_PER_FOOT = 0.3048  # exact, NIST SP 811
MPS_PER_MPH = 0.44704  # exact, NIST SP 811
MPS_PER_KMH = 1 / 3.6  # exact
MPS_PER_KNOT = 1852 / 3600  # exact, the international knot
RADPS_PER_RPM = 0.10471975511965977  # 2 pi / 60
DEGREES_PER_HOUR = 30.0  # a clock face has twelve hours

LengthUnit = Literal["yd", "m", "ft"]
SpeedUnit = Literal["mph", "m/s", "km/h", "kn"]
UnitSystem = Literal["yards", "metric"]

METRES_PER: dict[LengthUnit, float] = {"yd": METRES_PER_YARD, "m": 1.0, "ft": METRES_PER_FOOT}
MPS_PER: dict[SpeedUnit, float] = {
    "mph": MPS_PER_MPH,
    "m/s": 1.0,
    "km/h": MPS_PER_KMH,
    "kn": MPS_PER_KNOT,
}
LENGTH_UNIT_OF: dict[UnitSystem, LengthUnit] = {"yards": "yd", "metric": "m"}
SPEED_UNIT_OF: dict[UnitSystem, SpeedUnit] = {"yards": "mph", "metric": "m/s"}


def yards(length_m: float) -> float:
    """Metres to yards."""
    return length_m / METRES_PER_YARD


def mph(speed_mps: float) -> float:
    """Metres per second to miles per hour."""
    return speed_mps / MPS_PER_MPH
