"""Frame, symbols and units: exact values and the conventions every room relies on."""

import math

import numpy as np
import pytest

from engine.aerodynamics import (
    BALL_DIAMETER_M,
    BALL_MASS_KG,
    BALL_RADIUS_M,
    GRAVITY_MPS2,
)
from engine.flight import fly
from engine.motion import launch_from, wind_vector
from shared import units
from shared.quantities import Length, Speed, Wind

POUND_KG = 0.45359237  # exact, NIST SP 811
INCH_M = 0.0254  # exact, NIST SP 811


def test_yard_foot_and_mile_per_hour_are_exact() -> None:
    """NIST SP 811: 1 yd = 0.9144 m, 1 ft = 0.3048 m, 1 mi/h = 0.44704 m/s, all exact."""
    assert units.METRES_PER_YARD == 0.9144
    assert units.METRES_PER_FOOT == 0.3048
    assert units.MPS_PER_MPH == 0.44704
    assert pytest.approx(36 * INCH_M, abs=1e-15) == units.METRES_PER_YARD
    assert pytest.approx(1760 * 0.9144 / 3600, abs=1e-15) == units.MPS_PER_MPH


def test_knot_and_kilometre_per_hour() -> None:
    """The international knot is 1852 m an hour (NIST SP 811); 36 km/h are 10 m/s."""
    assert pytest.approx(1852, abs=1e-9) == 3600 * units.MPS_PER_KNOT
    assert pytest.approx(10, abs=1e-12) == 36 * units.MPS_PER_KMH


def test_turns_per_minute_and_hours_of_the_clock() -> None:
    assert pytest.approx(2 * math.pi, abs=1e-14) == 60 * units.RADPS_PER_RPM
    assert 12 * units.DEGREES_PER_HOUR == 360


def test_typed_quantities_convert_both_ways() -> None:
    assert Length(value=165, unit="yd").m == pytest.approx(150.876, abs=1e-9)
    assert units.yards(Length(value=151, unit="m").m) == pytest.approx(165.1356, abs=1e-4)
    assert Speed(value=8.4, unit="mph").mps == pytest.approx(3.755136, abs=1e-9)
    assert units.mph(Speed(value=5, unit="m/s").mps) == pytest.approx(11.18468, abs=1e-5)


def test_the_ball_is_the_heaviest_and_smallest_the_rules_allow() -> None:
    """R&A/USGA Equipment Rules: mass at most 1.620 oz, diameter at least 1.680 in."""
    assert pytest.approx(1.620 * POUND_KG / 16, abs=5e-6) == BALL_MASS_KG
    assert pytest.approx(1.680 * INCH_M, abs=5e-6) == BALL_DIAMETER_M
    assert 2 * BALL_RADIUS_M == BALL_DIAMETER_M


def test_standard_gravity() -> None:
    """CGPM 1901: 9.80665 m/s2."""
    assert GRAVITY_MPS2 == 9.80665


def _struck(*, azimuth_deg: float = 0.0, tilt_deg: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    launch = launch_from(
        speed_mps=np.array([50.0]),
        elevation_rad=np.radians([16.0]),
        azimuth_rad=np.radians([azimuth_deg]),
        spin_radps=np.array([700.0]),
        tilt_rad=np.radians([tilt_deg]),
    )
    landing = fly(launch=launch, wind_mps=np.zeros((3, 1)), height_m=np.zeros(1))
    return landing.long_m, landing.right_m


def test_axes_are_right_handed_and_backspin_lifts() -> None:
    """x downrange, y up, z right is right-handed: x cross y = z; so backspin turns about +z."""
    x, y, z = np.eye(3)
    assert np.array_equal(np.cross(x, y), z)
    level = launch_from(
        speed_mps=np.array([50.0]),
        elevation_rad=np.zeros(1),
        azimuth_rad=np.zeros(1),
        spin_radps=np.array([700.0]),
        tilt_rad=np.zeros(1),
    )
    lift = np.cross(level.spin_axis[:, 0], level.velocity_mps[:, 0])
    assert lift == pytest.approx([0.0, 50.0, 0.0], abs=1e-12)


def test_azimuth_and_tilt_are_positive_to_the_right() -> None:
    long_m, right_m = _struck(azimuth_deg=7.0)
    assert right_m[0] / long_m[0] == pytest.approx(math.tan(math.radians(7.0)), abs=1e-12)
    assert _struck(tilt_deg=6.0)[1][0] > 3.0
    assert _struck(tilt_deg=-4.0)[1][0] < -2.0


@pytest.mark.parametrize(
    ("from_deg", "blows_long", "blows_right"),
    [
        (0, -6.0, 0.0),  # into
        (90, 0.0, -6.0),  # from the right
        (180, 6.0, 0.0),  # helping
        (270, 0.0, 6.0),  # from the left
        (60, -3.0, -6.0 * math.sqrt(3) / 2),  # from 2 on a clock face
    ],
)
def test_wind_is_named_by_where_it_comes_from(
    from_deg: float, blows_long: float, blows_right: float
) -> None:
    wind = wind_vector(speed_mps=np.array([6.0]), from_deg=np.array([float(from_deg)]))
    assert wind[:, 0] == pytest.approx([blows_long, 0.0, blows_right], abs=1e-12)


def test_a_compass_wind_turns_with_the_hole() -> None:
    wind = Wind(speed=Speed(value=5, unit="m/s"), compass_deg=300, bearing_deg=250)
    assert wind.relative_deg == 50
    across_north = Wind(speed=Speed(value=5, unit="m/s"), compass_deg=20, bearing_deg=310)
    assert across_north.relative_deg == 70
