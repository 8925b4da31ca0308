"""Bounce, roll and the hole, against the published formulas and figures."""

import numpy as np
import pytest

from engine.aerodynamics import BALL_RADIUS_M
from engine.bounce import Contact, Surface, bounce, restitution, slip_mps, turf_tilt_rad
from engine.ground import stimp_deceleration_mps2
from engine.roll import capture_speed_mps, free_fall_capture_mps, roll_from
from shared.kit import Surface as KitSurface
from shared.units import METRES_PER_FOOT

GRAVITY_MPS2 = 9.80665  # CGPM 1901


def penner(*, speed_mps: float, from_vertical_deg: float, backspin_radps: list[float]) -> Contact:
    """Balls that come in along the first axis onto Penner's green."""
    angle = np.radians(from_vertical_deg)
    count = len(backspin_radps)
    none = np.zeros(count)
    contact = Contact(
        np.stack((np.full(count, speed_mps * np.sin(angle)), none)),
        np.full(count, speed_mps * np.cos(angle)),
        np.stack((none, none, np.array(backspin_radps, dtype=float))),
    )
    return bounce(contact, Surface(np.ones(count), np.full(count, 0.40), np.full(count, 0.5)))


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


def test_one_bounce() -> None:
    """Penner 2002 (S) formulas, figures X: 18.6 m/s at 44.4 deg, friction .40, in m/s."""
    found = penner(speed_mps=18.6, from_vertical_deg=44.4, backspin_radps=[0.0, 800.0])
    assert found.along_mps[0] == pytest.approx([5.610, 0.948], abs=6e-4)
    assert found.off_mps == pytest.approx([3.889, 2.605], abs=6e-4)
    assert found.along_mps[1] == pytest.approx([0.0, 0.0], abs=1e-12)


def test_the_friction_at_which_a_ball_grips() -> None:
    """Penner 2002 (S): grips where friction exceeds 2 (u + r omega) / (7 (1 + e) v)."""
    tilt, angle = np.radians(15.4), np.radians(44.4)
    along, into = 18.6 * np.sin(angle - tilt), 18.6 * np.cos(angle - tilt)
    spring = 0.510 - 0.0375 * into + 0.000903 * into**2
    critical = (0.40 * 7 * (1 + spring) * into / 2 - along) / BALL_RADIUS_M  # rad/s at .40
    found = penner(
        speed_mps=18.6, from_vertical_deg=44.4, backspin_radps=[critical - 9, critical + 9]
    )
    along = found.along_mps[0] * np.cos(tilt) + found.off_mps * np.sin(tilt)
    slip = along + BALL_RADIUS_M * found.spin_radps[2]
    assert slip[0] == pytest.approx(0.0, abs=1e-9)
    assert slip[1] == pytest.approx(9 * BALL_RADIUS_M, abs=1e-9)


def test_sidespin_pushes_a_ball_to_the_side_it_turns() -> None:
    """Spin about the line of travel slips sideways only, and friction works against the slip."""
    contact = Contact(
        np.array([[0.0], [0.0]]), np.array([6.0]), np.array([[-120.0], [30.0], [0.0]])
    )
    found = bounce(contact, Surface(np.ones(1), np.full(1, 0.9), np.full(1, 0.5)))
    assert found.along_mps[1, 0] == pytest.approx(-2 / 7 * BALL_RADIUS_M * 120, rel=1e-12)
    assert found.along_mps[0, 0] == 0.0
    assert found.spin_radps[1, 0] == pytest.approx(30.0, rel=1e-12)
    slip = slip_mps(along_mps=found.along_mps, spin_radps=found.spin_radps)
    assert slip == pytest.approx(np.zeros((2, 1)), abs=1e-12)


def test_so_much_backspin_draws_a_steep_ball_back() -> None:
    found = penner(speed_mps=16.0, from_vertical_deg=20.0, backspin_radps=[900.0, 150.0])
    assert found.along_mps[0, 0] < 0 < found.along_mps[0, 1]


@pytest.mark.parametrize(("stimp_ft", "deceleration_mps2"), [(8, 0.687), (10, 0.549), (12, 0.458)])
def test_stimpmeter(stimp_ft: float, deceleration_mps2: float) -> None:
    """USGA Stimpmeter (S): release 1.83 m/s, deceleration v^2 / (2 S); it rolls S and no more."""
    found = stimp_deceleration_mps2(stimp_m=np.array([stimp_ft * METRES_PER_FOOT]))
    assert found[0] == pytest.approx(deceleration_mps2, abs=6e-4)
    roll = roll_from(
        start_m=np.zeros((2, 1)),
        velocity_mps=np.array([[-1.83 * 0.6], [1.83 * 0.8]]),
        slowing_mps2=found,
        pull_mps2=np.zeros((2, 1)),
    )
    end = roll.end_m()[:, 0]
    assert end == pytest.approx(stimp_ft * METRES_PER_FOOT * np.array([-0.6, 0.8]), rel=1e-9)


def test_a_fairway_slows_a_rolling_ball_by_penners_share_of_gravity() -> None:
    """Penner 2002 (S): rolling friction .131; the kit's default says it as a green speed."""
    stimp_m = KitSurface(kind="fairway").stimp_ft * METRES_PER_FOOT
    found = stimp_deceleration_mps2(stimp_m=np.array([stimp_m]))[0]
    assert found / GRAVITY_MPS2 == pytest.approx(0.131, abs=5e-4)


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
