"""Bounce, roll and the hole, against the published formulas and figures."""

import numpy as np
import pytest

from engine.aerodynamics import BALL_RADIUS_M
from engine.green import (
    bounce,
    capture_speed_mps,
    free_fall_capture_mps,
    restitution,
    stimp_deceleration_mps2,
    turf_tilt_rad,
)
from shared.errors import EngineError
from shared.units import METRES_PER_FOOT


@pytest.mark.parametrize(
    ("normal_mps", "share"), [(1, 0.4734), (5, 0.3451), (10, 0.2253), (20, 0.1212), (27, 0.120)]
)
def test_restitution(normal_mps: float, share: float) -> None:
    """Penner, Can. J. Phys. 80:931-940, 2002 (S): .510 - .0375 v + .000903 v^2 to 20 m/s, .120."""
    assert restitution(normal_mps=np.array([normal_mps]))[0] == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize(
    ("speed_mps", "from_vertical_deg", "tilt_deg"), [(18.6, 44.4, 15.4), (9.3, 22.2, 3.85)]
)
def test_turf_tilt(speed_mps: float, from_vertical_deg: float, tilt_deg: float) -> None:
    """Penner 2002 (S): 15.4 deg (v / 18.6 m/s) (phi / 44.4 deg), phi from the vertical."""
    tilt = turf_tilt_rad(
        speed_mps=np.array([speed_mps]), from_vertical_rad=np.radians([from_vertical_deg])
    )
    assert np.degrees(tilt[0]) == pytest.approx(tilt_deg, abs=1e-9)


@pytest.mark.parametrize(
    ("backspin_radps", "along_mps", "up_mps"), [(0.0, 5.610, 3.889), (800.0, 0.948, 2.605)]
)
def test_one_bounce(backspin_radps: float, along_mps: float, up_mps: float) -> None:
    """Penner 2002 (S): at 18.6 m/s and 44.4 deg, friction .40; in m/s, to the printed digit."""
    found = bounce(
        speed_mps=np.array([18.6]),
        from_vertical_rad=np.radians([44.4]),
        backspin_radps=np.array([backspin_radps]),
    )
    assert found.along_mps[0] == pytest.approx(along_mps, abs=6e-4)
    assert found.up_mps[0] == pytest.approx(up_mps, abs=6e-4)


def test_a_ball_that_grips_leaves_rolling_and_one_that_slides_keeps_backspin() -> None:
    """In the tilted frame a gripping ball's rim moves as the ball does; 800 rad/s still slides."""
    found = bounce(
        speed_mps=np.full(2, 18.6),
        from_vertical_rad=np.radians([44.4, 44.4]),
        backspin_radps=np.array([0.0, 800.0]),
    )
    tilt = np.radians(15.4)
    along = found.along_mps * np.cos(tilt) + found.up_mps * np.sin(tilt)
    slip = along + BALL_RADIUS_M * found.backspin_radps
    assert slip[0] == pytest.approx(0.0, abs=1e-9)
    assert slip[1] > 0.05


def test_so_much_backspin_draws_a_steep_ball_back() -> None:
    found = bounce(
        speed_mps=np.array([16.0, 16.0]),
        from_vertical_rad=np.radians([20.0, 20.0]),
        backspin_radps=np.array([900.0, 150.0]),
    )
    assert found.along_mps[0] < 0 < found.along_mps[1]


@pytest.mark.parametrize(("stimp_ft", "deceleration_mps2"), [(8, 0.687), (10, 0.549), (12, 0.458)])
def test_stimpmeter(stimp_ft: float, deceleration_mps2: float) -> None:
    """USGA Stimpmeter (S): release 1.83 m/s, deceleration v^2 / (2 S)."""
    found = stimp_deceleration_mps2(stimp_m=np.array([stimp_ft * METRES_PER_FOOT]))[0]
    assert found == pytest.approx(deceleration_mps2, abs=6e-4)


def test_capture_through_the_centre_and_by_free_fall() -> None:
    """Holmes, Am. J. Phys. 59:129-136, 1991 (S): 1.63 m/s; 1.31 m/s = (2R - r) sqrt(g / 2r)."""
    assert capture_speed_mps(off_centre_m=np.zeros(1))[0] == 1.63
    assert free_fall_capture_mps() == pytest.approx(1.31, abs=5e-3)


@pytest.mark.parametrize(("share", "speed_mps"), [(0.25, 1.528), (0.5, 1.2225), (0.75, 0.713)])
def test_capture_off_centre(share: float, speed_mps: float) -> None:
    """Penner, Can. J. Phys. 80:83-96, 2002 (S): 1.63 (1 - (d / R)^2), hole of 108 mm."""
    for side in (-1, 1):
        found = capture_speed_mps(off_centre_m=np.array([side * share * 0.054]))[0]
        assert found == pytest.approx(speed_mps, abs=2e-4)
    assert capture_speed_mps(off_centre_m=np.array([0.06]))[0] == 0.0


@pytest.mark.parametrize(
    ("speed_mps", "from_vertical_deg", "backspin_radps"),
    [
        (float("nan"), 30, 0),
        (15, float("inf"), 0),
        (15, 30, float("nan")),
        (-2, 30, 0),
        (15, 95, 0),
    ],
)
def test_what_cannot_bounce_is_refused(
    speed_mps: float, from_vertical_deg: float, backspin_radps: float
) -> None:
    with pytest.raises(EngineError, match="bounce"):
        bounce(
            speed_mps=np.array([speed_mps]),
            from_vertical_rad=np.radians([from_vertical_deg]),
            backspin_radps=np.array([backspin_radps], dtype=float),
        )
