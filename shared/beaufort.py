"""The Beaufort scale: the force and the name of a wind, from its speed."""

from bisect import bisect_right

# World Meteorological Organization: lower bounds of forces 1 to 12 in m/s
LOWER_BOUNDS_MPS = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
NAMES = (
    "calm",
    "light air",
    "light breeze",
    "gentle breeze",
    "moderate breeze",
    "fresh breeze",
    "strong breeze",
    "near gale",
    "gale",
    "strong gale",
    "storm",
    "violent storm",
    "hurricane",
)


def force(speed_mps: float) -> int:
    """Beaufort force, 0 to 12, of a wind speed in m/s."""
    return bisect_right(LOWER_BOUNDS_MPS, speed_mps)


def name(speed_mps: float) -> str:
    """The scale's name of a wind speed in m/s."""
    return NAMES[force(speed_mps)]
