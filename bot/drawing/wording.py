"""Lengths, winds and directions in the words that pictures and their alt texts share."""

import math

from shared.units import DEGREES_PER_HOUR, LENGTH_UNIT_OF, METRES_PER, METRES_PER_YARD, UnitSystem
from shared.wording import length

HALF_HOURS = 24
NEAR_DEG = 0.06  # a typed direction is kept to tenths of a degree
SLANT = 0.26  # the sine of 15 degrees: half an hour off an axis is still along it


def metres(value_m: float, units: UnitSystem, digits: int = 1) -> str:
    """A length of metres in the reader's unit: '8.2 yd'."""
    return length(value_m / METRES_PER_YARD, units, digits)


def unit_m(units: UnitSystem) -> float:
    """Metres in one of the reader's units of length."""
    return METRES_PER[LENGTH_UNIT_OF[units]]


def unit_name(units: UnitSystem) -> str:
    """The reader's unit of length."""
    return LENGTH_UNIT_OF[units]


def clock(from_deg: float) -> str:
    """A direction as an hour where it is a whole or half one, else in degrees: '2 o'clock'."""
    halves = from_deg / (DEGREES_PER_HOUR / 2)
    near = round(halves)
    if abs(halves - near) * DEGREES_PER_HOUR / 2 > NEAR_DEG:
        return f"{from_deg:.0f}°"
    hour, half = divmod(near % HALF_HOURS, 2)
    return f"{hour or 12}:30" if half else f"{hour or 12} o'clock"


def downwind(from_deg: float) -> float:
    """Where a wind blows to."""
    return (from_deg + 180.0) % 360.0


def manner(from_deg: float) -> str:
    """How a wind meets the line of play: 'into and off the right'."""
    head, side = math.cos(math.radians(from_deg)), math.sin(math.radians(from_deg))
    parts: list[str] = []
    if abs(head) >= SLANT:
        parts.append("into" if head > 0 else "helping")
    if abs(side) >= SLANT:
        parts.append("off the right" if side > 0 else "off the left")
    return " and ".join(parts)
