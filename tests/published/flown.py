"""Flights of published launches, for the tests of this folder."""

import numpy as np

from engine.flight import Landing, fly
from engine.motion import STANDARD_AIR, Air, launch_from, wind_vector
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM

Row = tuple[float, float, float, float, float, float]


def flown(
    row: Row, *, wind_mph: float = 0.0, from_deg: float = 0.0, air: Air = STANDARD_AIR
) -> Landing:
    """A row of a launch table flown over level ground."""
    launch = launch_from(
        speed_mps=np.array([row[0] * MPS_PER_MPH]),
        elevation_rad=np.radians([row[1]]),
        azimuth_rad=np.zeros(1),
        spin_radps=np.array([row[2] * RADPS_PER_RPM]),
        tilt_rad=np.zeros(1),
    )
    wind = wind_vector(speed_mps=np.array([wind_mph * MPS_PER_MPH]), from_deg=np.array([from_deg]))
    return fly(launch=launch, wind_mps=wind, height_m=np.zeros(1), air=air)


def carry_yd(row: Row, *, head_mph: float = 0.0) -> float:
    """Carry against a headwind, or with a helping one where negative."""
    landing = flown(row, wind_mph=abs(head_mph), from_deg=0.0 if head_mph >= 0 else 180.0)
    return float(landing.long_m[0]) / METRES_PER_YARD
