"""Launches: the rows a club can fly like, full shots solved for a carry, part shots."""

import numpy as np
import pytest

from engine.flight import fly
from engine.launch import FullShot, full_shots, launch_row, launch_rows, part_shot
from engine.launch_tables import MEN
from engine.motion import Air
from shared.errors import EngineError, NotConvergedError
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM
from tests.kits import demo_caddie, demo_kit

TENTH_MILLIMETRE = 1e-4


def carried(
    full: FullShot, *, factor: float = 1.0, along_mps: float = 0.0, air: Air | None = None
) -> np.ndarray:
    count = len(full.speed_mps)
    launch = part_shot(
        full=full,
        speed_factor=np.full(count, factor),
        azimuth_rad=np.zeros(count),
        spin_factor=np.ones(count),
        tilt_rad=np.zeros(count),
    )
    level, wind = np.zeros(count), np.array([[along_mps], [0.0], [0.0]])
    return fly(launch=launch, wind_mps=wind, height_m=level, air=air or Air()).long_m


def test_rows_are_the_table_and_two_more_wedges() -> None:
    assert launch_rows() == (*MEN, "gap wedge", "sand wedge")
    assert launch_row("driver") == pytest.approx(
        (167 * MPS_PER_MPH, np.radians(10.9), 2686 * RADPS_PER_RPM)
    )
    gap, sand = launch_row("gap wedge"), launch_row("sand wedge")
    assert gap[0] > sand[0] and gap[1] < sand[1] and gap[2] < sand[2]
    with pytest.raises(KeyError):
        launch_row("2-wood")


def test_a_full_shot_carries_what_its_grade_says() -> None:
    carry_m = np.array([232.0, 199.0, 165.0, 116.0, 77.0]) * METRES_PER_YARD
    rows = ["driver", "5-wood", "5-iron", "9-iron", "sand wedge"]
    full = full_shots(rows=rows, carry_m=carry_m)
    assert carried(full) == pytest.approx(carry_m, abs=TENTH_MILLIMETRE)
    assert (np.diff(full.elevation_rad) != 0).all()


def test_every_row_of_the_demo_kit_carries_its_full_carry() -> None:
    rack = demo_caddie().kit_rack.rack
    balls = {ball.name: 1 + ball.carry_gain for ball in demo_kit().balls}
    for row, (club, grade, ball) in enumerate(demo_caddie().kit_rack.keys):
        full_yd = demo_kit().club(club).grade(grade).full_yd * balls[ball]
        assert rack.full_m[row] == pytest.approx(full_yd * METRES_PER_YARD)
    assert carried(rack.full) == pytest.approx(rack.full_m, abs=TENTH_MILLIMETRE)


def test_a_longer_grade_is_struck_faster_and_starts_lower_with_more_spin() -> None:
    """The step from the men's 7-iron (120 mph, 16.3 deg, 7097 rpm) to 104 mph, 19 deg, 6699 rpm."""
    full = full_shots(rows=["7-iron", "7-iron"], carry_m=np.array([128.0, 133.0]))
    faster_mph = (full.speed_mps[1] - full.speed_mps[0]) / MPS_PER_MPH
    assert faster_mph > 1
    lower_deg = np.degrees(full.elevation_rad[0] - full.elevation_rad[1])
    more_rpm = (full.spin_radps[1] - full.spin_radps[0]) / RADPS_PER_RPM
    assert lower_deg == pytest.approx(faster_mph * (19.0 - 16.3) / 16)
    assert more_rpm == pytest.approx(faster_mph * (7097 - 6699) / 16)


def test_the_women_s_launch_stands_on_the_line_from_the_mens() -> None:
    five = full_shots(rows=["5-iron"], carry_m=np.array([150.0]))
    elevation_rad, spin_radps = five.at(np.array([112 * MPS_PER_MPH]))
    assert np.degrees(elevation_rad[0]) == pytest.approx(14.8, abs=1e-9)
    assert spin_radps[0] / RADPS_PER_RPM == pytest.approx(5081, abs=1e-6)


def test_clubs_the_womens_table_lacks_take_a_neighbours_steps() -> None:
    names = ["hybrid", "4-iron", "gap wedge", "pitching wedge", "3-wood", "5-wood"]
    full = full_shots(rows=names, carry_m=np.array([170.0, 160.0, 82.0, 94.0, 190.0, 180.0]))
    for lacking in (0, 2, 4):
        assert full.rise_per_mps[lacking] == full.rise_per_mps[lacking + 1] < 0
        assert full.spin_per_mps[lacking] == full.spin_per_mps[lacking + 1]


def test_thin_air_needs_less_speed_for_the_same_carry() -> None:
    carry_m = np.array([210.0])
    low = full_shots(rows=["driver"], carry_m=carry_m)
    thin = Air(density_kgpm3=1.0)
    high = full_shots(rows=["driver"], carry_m=carry_m, air=thin)
    assert high.speed_mps[0] < low.speed_mps[0]
    assert carried(high, air=thin)[0] == pytest.approx(210.0, abs=TENTH_MILLIMETRE)


def test_a_part_shot_starts_higher_with_less_spin_and_the_spin_has_its_own_factor() -> None:
    full = full_shots(rows=["8-iron"], carry_m=np.array([117.0]))
    part = part_shot(
        full=full,
        speed_factor=np.array([0.8]),
        azimuth_rad=np.array([0.05]),
        spin_factor=np.array([1.3]),
        tilt_rad=np.array([-0.1]),
    )
    assert np.linalg.norm(part.velocity_mps[:, 0]) == pytest.approx(0.8 * full.speed_mps[0])
    slower_mph = 0.2 * full.speed_mps[0] / MPS_PER_MPH
    rise = part.velocity_mps[1, 0] / np.linalg.norm(part.velocity_mps[:, 0])
    higher_deg = np.degrees(np.arcsin(rise) - full.elevation_rad[0])
    assert higher_deg == pytest.approx(slower_mph * (20.8 - 18.1) / 15)
    plain_radps = full.spin_radps[0] - slower_mph * (7998 - 7494) / 15 * RADPS_PER_RPM
    assert part.spin_radps[0] == pytest.approx(1.3 * plain_radps)
    assert np.dot(part.velocity_mps[:, 0], part.spin_axis[:, 0]) == pytest.approx(0, abs=1e-12)
    assert np.linalg.norm(part.spin_axis[:, 0]) == pytest.approx(1, abs=1e-12)
    assert part.velocity_mps[2, 0] > 0  # azimuth to the right
    assert 0.5 < carried(full, factor=0.8)[0] / 117.0 < 0.8


@pytest.mark.parametrize("bad", [0.0, -12.0, float("nan"), float("inf")])
def test_a_carry_that_is_no_distance_is_refused(bad: float) -> None:
    with pytest.raises(EngineError, match="positive"):
        full_shots(rows=["driver", "7-iron"], carry_m=np.array([200.0, bad]))


def test_a_carry_no_speed_reaches_says_how_far_it_got() -> None:
    with pytest.raises(NotConvergedError) as lost:
        full_shots(rows=["driver", "sand wedge"], carry_m=np.array([210.0, 400.0]))
    assert lost.value.iterations > 5
    assert 150 < lost.value.miss_m < 400


@pytest.mark.parametrize("row", launch_rows())
def test_a_wind_ahead_costs_carry_and_one_behind_gives_some_at_every_share(row: str) -> None:
    """At an unchanged angle slow shots went farther into a wind: the sign has to hold for all."""
    carry_m = (
        np.array([232, 212, 199, 187, 181, 175, 165, 153, 140, 128, 116, 103, 90, 77]) * 0.9144
    )
    full = full_shots(rows=[row], carry_m=carry_m[[launch_rows().index(row)]])
    for factor in (1.0, 0.9, 0.8):
        still, into, helped = (
            carried(full, factor=factor, along_mps=wind)[0] for wind in (0.0, -4.0, 4.0)
        )
        assert into < still - 0.5
        assert helped > still + 0.1
        assert still - into > helped - still
