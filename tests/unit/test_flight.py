"""The batch flight: its accuracy, its symmetries, and what it does with the impossible."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from engine.aerodynamics import FITTED
from engine.aim import COARSE_STEP_S
from engine.flight import STEP_S, Landing, fly
from engine.motion import Air, Launch, launch_from, wind_vector
from shared.errors import EngineError
from tests.reference import Shot
from tests.shots import column, flown, mixed_shots, references

MILLIMETRE = 1e-3
SEVEN_IRON = Shot(speed_mps=53.6, elevation_rad=0.2845, spin_radps=743.0)
DRIVER = Shot(speed_mps=74.7, elevation_rad=0.1902, spin_radps=281.0, azimuth_rad=0.03)


def _finite(landing: Landing) -> bool:
    return all(np.isfinite(array).all() for array in vars(landing).values())


@pytest.mark.parametrize("seed", [3, 44])
def test_a_step_of_a_fifth_of_a_second_lands_within_a_millimetre(seed: int) -> None:
    """Against DOP853 at rtol 1e-10, with every club, tilt, height and winds to 15 m/s."""
    assert STEP_S == 0.2
    shots = mixed_shots(count=60, seed=seed)
    here, there = flown(shots), references(shots)
    assert here.reached.tolist() == [place is not None for place in there]
    for row, place in enumerate(there):
        if place is None:
            continue
        off = np.hypot(here.long_m[row] - place.long_m, here.right_m[row] - place.right_m)
        assert off < MILLIMETRE, shots[row]
        assert here.time_s[row] == pytest.approx(place.time_s, abs=1e-4)
        assert here.apex_m[row] == pytest.approx(place.apex_m, abs=2 * MILLIMETRE)
        assert here.descent_deg[row] == pytest.approx(place.descent_deg, abs=1e-3)


@pytest.mark.parametrize("seed", [3, 44])
def test_the_coarse_step_of_a_search_lands_within_three_centimetres(seed: int) -> None:
    shots = mixed_shots(count=60, seed=seed)
    fine, coarse = flown(shots), flown(shots, step_s=COARSE_STEP_S)
    both = fine.reached & coarse.reached
    off = np.hypot(coarse.long_m - fine.long_m, coarse.right_m - fine.right_m)[both]
    assert both.sum() > 50
    assert off.max() < 0.03 and np.median(off) < 0.002


def test_a_landing_holds_position_velocity_and_spin() -> None:
    """Velocity by the landings a little lower and higher, spin along its own axis throughout."""
    shot = replace(SEVEN_IRON, tilt_rad=0.12, azimuth_rad=0.2, wind_mps=6.0, from_deg=65.0)
    low, high = (flown([replace(shot, height_m=height)]) for height in (-2.005, -1.995))
    here = flown([replace(shot, height_m=-2.0)])
    assert here.position_m[0] == pytest.approx([here.long_m[0], -2.0, here.right_m[0]], abs=1e-6)
    moved = (low.position_m - high.position_m)[0] / (low.time_s - high.time_s)[0]
    assert here.velocity_mps[0] == pytest.approx(moved, rel=1e-3)
    level = np.hypot(here.velocity_mps[0, 0], here.velocity_mps[0, 2])
    fall = np.degrees(np.arctan2(-here.velocity_mps[0, 1], level))
    assert here.descent_deg[0] == pytest.approx(fall, abs=1e-9)
    spin = here.spin_radps[0]
    assert np.linalg.norm(spin) == pytest.approx(743.0)
    assert spin[2] > 700 and spin[1] < -50  # backspin about z, tilted right by the fade


@pytest.mark.parametrize("exponent", [None, 1 / 7])
def test_a_spin_that_decays_is_that_of_the_landing(exponent: float | None) -> None:
    """The time constant is r / (c U): what is left lies between its slowest and fastest."""
    law = replace(FITTED, spin_decay=3e-5)
    shots = [
        replace(SEVEN_IRON, law=law, height_m=height, profile_exponent=exponent, wind_mps=0.1)
        for height in (0.0, -30.0)
    ]
    landing = flown(shots)
    left = np.linalg.norm(landing.spin_radps, axis=1) / 743.0
    rate = -np.log(left) / landing.time_s * 0.021335 / 3e-5  # the mean speed through the air
    assert left[1] < left[0] < 1
    assert ((rate > 22) & (rate < 45)).all()
    assert -np.log(left[1] / left[0]) == pytest.approx(
        3e-5 / 0.021335 * np.linalg.norm(np.diff(landing.position_m, axis=0)), rel=0.02
    )


def test_halving_the_step_divides_the_error_as_a_fourth_order_method_does() -> None:
    shots = mixed_shots(count=40, seed=9)
    finest = flown(shots, step_s=0.0125)
    down = finest.reached

    def error(step_s: float) -> float:
        off = flown(shots, step_s=step_s)
        return float(np.hypot(off.long_m - finest.long_m, off.right_m - finest.right_m)[down].max())

    assert 10 < error(0.4) / error(0.2) < 30
    assert 10 < error(0.2) / error(0.1) < 30


def test_a_batch_lands_where_its_shots_land_alone() -> None:
    shots = mixed_shots(count=26, seed=1)
    together = flown(shots)
    for row, shot in enumerate(shots):
        alone = flown([shot])
        assert together.reached[row] == alone.reached[0]
        assert together.long_m[row] == pytest.approx(alone.long_m[0], abs=1e-9)
        assert together.right_m[row] == pytest.approx(alone.right_m[0], abs=1e-9)
        assert together.apex_m[row] == pytest.approx(alone.apex_m[0], abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(
    azimuth=st.floats(-0.4, 0.4),
    tilt=st.floats(-0.35, 0.35),
    wind=st.floats(0, 18),
    from_deg=st.floats(0, 360),
    exponent=st.sampled_from([None, 1 / 7]),
)
def test_left_and_right_are_mirror_images(
    azimuth: float, tilt: float, wind: float, from_deg: float, exponent: float | None
) -> None:
    shot = replace(
        SEVEN_IRON,
        azimuth_rad=azimuth,
        tilt_rad=tilt,
        wind_mps=wind,
        from_deg=from_deg,
        height_m=-4.0,
        profile_exponent=exponent,
    )
    other = replace(shot, azimuth_rad=-azimuth, tilt_rad=-tilt, from_deg=360 - from_deg)
    landing = flown([shot, other])
    assert landing.right_m[1] == pytest.approx(-landing.right_m[0], abs=1e-9)
    assert landing.long_m[1] == pytest.approx(landing.long_m[0], abs=1e-9)
    assert landing.time_s[1] == pytest.approx(landing.time_s[0], abs=1e-9)


def test_turning_the_whole_shot_turns_the_landing() -> None:
    """Azimuth is a rotation about the vertical: shot, wind and landing turn together."""
    straight = replace(SEVEN_IRON, tilt_rad=0.1, wind_mps=6.0, from_deg=70.0)
    turned = replace(straight, azimuth_rad=np.radians(25), from_deg=95.0)
    landing = flown([straight, turned])
    angle = np.arctan2(landing.right_m, landing.long_m)
    assert np.degrees(angle[1] - angle[0]) == pytest.approx(25, abs=1e-9)
    distance = np.hypot(landing.long_m, landing.right_m)
    assert distance[1] == pytest.approx(distance[0], abs=1e-9)


@pytest.mark.parametrize(("tilt_deg", "side"), [(-6.0, -1), (6.0, 1)])
def test_a_draw_curves_left_and_a_fade_right(tilt_deg: float, side: int) -> None:
    curved = flown([replace(SEVEN_IRON, tilt_rad=float(np.radians(tilt_deg)))])
    assert 4 < side * curved.right_m[0] < 15


def test_a_profile_drifts_a_low_shot_less_than_the_wind_at_ten_metres() -> None:
    low = replace(SEVEN_IRON, elevation_rad=0.07, spin_radps=150.0, wind_mps=8.0, from_deg=90.0)
    high = replace(SEVEN_IRON, wind_mps=8.0, from_deg=90.0)
    uniform, profile = (
        flown([replace(shot, profile_exponent=exponent) for shot in (low, high)])
        for exponent in (None, 1 / 7)
    )
    assert uniform.apex_m[0] < 6 < 20 < uniform.apex_m[1]
    share = profile.right_m / uniform.right_m
    assert uniform.right_m[0] < 0 and 0.7 < share[0] < 0.95
    assert share[1] > 1.0  # most of a high shot's flight is above the forecast's ten metres


def test_heavier_air_holds_a_driver_back_and_bends_it_more_in_a_crosswind() -> None:
    blown = replace(DRIVER, azimuth_rad=0.0, wind_mps=7.0, from_deg=270.0)
    thin = flown([replace(blown, density_kgpm3=1.0)])
    thick = flown([replace(blown, density_kgpm3=1.3)])
    assert thick.long_m[0] < thin.long_m[0] - 5
    assert thick.right_m[0] > thin.right_m[0] + 2


def test_a_target_the_shot_never_rises_to_is_flagged_and_spoils_no_other() -> None:
    rows = [DRIVER, replace(DRIVER, height_m=300.0), replace(SEVEN_IRON, height_m=20.0)]
    together = flown(rows)
    assert together.reached.tolist() == [True, False, True]
    assert together.long_m[0] == pytest.approx(flown([DRIVER]).long_m[0], abs=1e-9)
    assert _finite(together)


def test_a_chip_comes_down_on_what_it_rises_to_alone() -> None:
    """It leaves at 1.9 m/s upwards, over within one step: 1.9^2 / 2g = .18 m without lift."""
    chip = Shot(speed_mps=9.0, elevation_rad=float(np.arcsin(1.9 / 9.0)), spin_radps=0.0)
    landing = flown([replace(chip, height_m=height) for height in (1.0, 0.15, -0.4)])
    assert landing.reached.tolist() == [False, True, True]
    assert landing.apex_m == pytest.approx(np.full(3, 1.9**2 / (2 * 9.80665)), abs=0.01)


def test_one_wind_for_all_is_each_shots_own() -> None:
    """Under a profile too, and for shots that come down at very different times."""
    shots = [replace(SEVEN_IRON, speed_mps=speed) for speed in (12.0, 53.6, 31.0, 20.0, 44.0)]
    launch = launch_from(
        speed_mps=column(shots, "speed_mps"),
        elevation_rad=column(shots, "elevation_rad"),
        azimuth_rad=column(shots, "azimuth_rad"),
        spin_radps=column(shots, "spin_radps"),
        tilt_rad=column(shots, "tilt_rad"),
    )
    wind = wind_vector(speed_mps=np.array([6.0]), from_deg=np.array([55.0]))
    for air in (Air(), Air(profile_exponent=0.2)):
        one, each = (
            fly(launch=launch, wind_mps=given, height_m=np.full(5, -0.5), air=air)
            for given in (wind, np.tile(wind, 5))
        )
        np.testing.assert_allclose(one.position_m, each.position_m, atol=1e-12)
        assert one.reached.all() and (one.right_m < -0.1).all()


def test_a_target_just_below_the_top_is_reached_and_just_above_it_is_not() -> None:
    apex_m = float(flown([SEVEN_IRON]).apex_m[0])
    heights = [apex_m - 0.01, apex_m + 0.01]
    grazing = flown([replace(SEVEN_IRON, height_m=height) for height in heights])
    assert grazing.reached.tolist() == [True, False]
    top_m = flown([replace(SEVEN_IRON, height_m=apex_m - 1.0)]).long_m[0]
    assert 0.5 * flown([SEVEN_IRON]).long_m[0] < grazing.long_m[0] < top_m


def test_a_shot_that_stays_up_for_half_a_minute_is_lost_and_spoils_no_other() -> None:
    rows = [replace(SEVEN_IRON, speed_mps=290.0, elevation_rad=1.4, height_m=-9000.0), SEVEN_IRON]
    together = flown(rows)
    assert together.reached.tolist() == [False, True]
    assert together.long_m[1] == pytest.approx(flown([SEVEN_IRON]).long_m[0], abs=1e-9)
    assert _finite(together)


@example(speed=1e-308, elevation=-1.0, spin=0.0, tilt=0.0, wind=0.0, from_deg=0.0, height=1.0)
@settings(max_examples=40, deadline=None)
@given(
    speed=st.floats(0, 300),
    elevation=st.floats(-1.5, 1.5),
    spin=st.floats(0, 10_000),
    tilt=st.floats(-1.5, 1.5),
    wind=st.floats(0, 100),
    from_deg=st.floats(0, 360),
    height=st.floats(-1e6, 1e6),
)
def test_whatever_is_flown_comes_back_finite(
    speed: float,
    elevation: float,
    spin: float,
    tilt: float,
    wind: float,
    from_deg: float,
    height: float,
) -> None:
    shot = Shot(
        speed_mps=speed,
        elevation_rad=elevation,
        spin_radps=spin,
        tilt_rad=tilt,
        wind_mps=wind,
        from_deg=from_deg,
        height_m=height,
    )
    for step_s in (STEP_S, COARSE_STEP_S):
        assert _finite(flown([shot, SEVEN_IRON], step_s=step_s))


def test_a_ball_at_rest_in_the_wind_has_no_force_but_its_weight() -> None:
    """Wind and ball alike: the spin ratio is 0 over 0, and nothing but gravity is left."""
    launch = Launch(
        velocity_mps=np.array([[9.0], [0.0], [0.0]]),
        spin_axis=np.array([[0.0], [0.0], [1.0]]),
        spin_radps=np.array([0.0]),
    )
    no_drag = Air(law=replace(FITTED, drag0=0.0, drag1=0.0, drag2=0.0, drag_rise=0.0))
    wind = np.array([[9.0], [0.0], [0.0]])
    landing = fly(launch=launch, wind_mps=wind, height_m=np.array([-20.0]), air=no_drag)
    time = np.sqrt(40 / 9.80665)
    assert landing.time_s[0] == pytest.approx(time, abs=1e-9)
    assert landing.long_m[0] == pytest.approx(9 * time, abs=1e-9)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
@pytest.mark.parametrize(
    "field", ["speed_mps", "spin_radps", "height_m", "wind_mps", "azimuth_rad"]
)
@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
def test_numbers_that_are_not_finite_are_refused(field: str, bad: float) -> None:
    with pytest.raises(EngineError, match="finite"):
        flown([DRIVER, replace(SEVEN_IRON, **{field: bad})])


@pytest.mark.parametrize(
    ("field", "most"), [("speed_mps", 300.0), ("wind_mps", 100.0), ("spin_radps", 10_000.0)]
)
def test_what_no_step_is_stable_for_is_refused(field: str, most: float) -> None:
    straight = replace(SEVEN_IRON, elevation_rad=0.0, from_deg=0.0)
    assert _finite(flown([replace(straight, **{field: most})]))
    with pytest.raises(EngineError, match=f"beyond {most:g}"):
        flown([replace(straight, **{field: most * 1.001})])


def test_a_negative_spin_and_a_wind_that_blows_up_are_refused() -> None:
    with pytest.raises(EngineError, match="never negative"):
        flown([replace(DRIVER, spin_radps=-3.0)])
    shots = [DRIVER]
    launch = launch_from(
        speed_mps=column(shots, "speed_mps"),
        elevation_rad=column(shots, "elevation_rad"),
        azimuth_rad=column(shots, "azimuth_rad"),
        spin_radps=column(shots, "spin_radps"),
        tilt_rad=column(shots, "tilt_rad"),
    )
    with pytest.raises(EngineError, match="level"):
        fly(launch=launch, wind_mps=np.array([[0.0], [2.0], [1.0]]), height_m=np.zeros(1))


def test_a_calm_has_no_wind_whatever_its_direction() -> None:
    wind = wind_vector(speed_mps=np.zeros(3), from_deg=np.array([0.0, 77.0, 301.0]))
    assert not wind.any()
