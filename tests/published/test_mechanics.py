"""Exact mechanics: closed forms, and scipy's DOP853 as the reference integrator."""

from dataclasses import replace

import numpy as np
import pytest

from engine.aerodynamics import (
    BALL_AREA_M2,
    BALL_MASS_KG,
    FITTED,
    GRAVITY_MPS2,
    NO_AIR,
    SMITS_SMITH,
    Aerodynamics,
    terminal_speed_mps,
)
from engine.flight import fly
from engine.motion import Air, Launch, launch_from
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.reference import Shot
from tests.shots import flown, mixed_shots, references

CENTIMETRE = 0.01


def test_without_air_a_shot_lands_where_the_closed_form_says() -> None:
    """v^2 sin(2 a) / g: 120 mph at 16.3 deg carries 172.90 yd.

    It happens to sit beside a real 7-iron's 172 yd, so it proves nothing about the air.
    """
    launch = launch_from(
        speed_mps=np.array([120 * MPS_PER_MPH]),
        elevation_rad=np.radians([16.3]),
        azimuth_rad=np.zeros(1),
        spin_radps=np.array([743.0]),
        tilt_rad=np.zeros(1),
    )
    landing = fly(
        launch=launch, wind_mps=np.zeros((3, 1)), height_m=np.zeros(1), air=Air(law=NO_AIR)
    )
    speed = 120 * MPS_PER_MPH
    assert landing.long_m[0] / METRES_PER_YARD == pytest.approx(172.90, abs=0.005)
    assert landing.long_m[0] == pytest.approx(
        speed**2 * np.sin(np.radians(32.6)) / GRAVITY_MPS2, abs=1e-9
    )
    rise = speed * np.sin(np.radians(16.3))
    assert landing.apex_m[0] == pytest.approx(rise**2 / (2 * GRAVITY_MPS2), abs=1e-9)
    assert landing.time_s[0] == pytest.approx(2 * rise / GRAVITY_MPS2, abs=1e-9)
    assert landing.descent_deg[0] == pytest.approx(16.3, abs=1e-9)


@pytest.mark.parametrize(("drag", "density"), [(0.25, 1.225), (0.4, 1.0066)])
def test_terminal_speed(drag: float, density: float) -> None:
    """sqrt(2 m g / (rho A CD)), and a ball dropped far enough falls at it."""
    wanted = np.sqrt(2 * BALL_MASS_KG * GRAVITY_MPS2 / (density * BALL_AREA_M2 * drag))
    assert terminal_speed_mps(drag_coefficient=drag, density_kgpm3=density) == pytest.approx(wanted)
    law = Aerodynamics(drag0=drag, drag1=0.0, drag2=0.0, lift=0.0, lift_power=1.0)
    dropped = Launch(
        velocity_mps=np.array([[1.0, 1.0], [0.0, 0.0], [0.0, 0.0]]),
        spin_axis=np.array([[0.0, 0.0], [0.0, 0.0], [1.0, 1.0]]),
        spin_radps=np.zeros(2),
    )
    depths = np.array([-600.0, -640.0])
    air = Air(density_kgpm3=density, law=law)
    landing = fly(launch=dropped, wind_mps=np.zeros((3, 1)), height_m=depths, air=air)
    speed = 40 / (landing.time_s[1] - landing.time_s[0])
    assert landing.reached.all()
    assert speed == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize(
    ("law", "exponent"),
    [
        (FITTED, None),
        (SMITS_SMITH, None),
        (replace(FITTED, spin_decay=2e-5), None),
        (FITTED, 1 / 7),
        (SMITS_SMITH, 0.25),
    ],
    ids=["fitted", "smits-smith", "fitted-decaying", "fitted-seventh-root", "decaying-profile"],
)
def test_landings_agree_with_dop853_within_a_centimetre(
    law: Aerodynamics, exponent: float | None
) -> None:
    """scipy solve_ivp (DOP853, rtol 1e-10) is the reference integrator: within 1 cm."""
    shots = mixed_shots(count=39, seed=20, law=law, profile_exponent=exponent, density_kgpm3=1.17)
    there = references(shots)
    here = flown(shots)
    known = np.array([place is not None for place in there])
    assert known.sum() > 25
    assert (here.reached == known).all()
    for row in np.flatnonzero(known):
        place = there[row]
        assert place is not None
        off = np.hypot(here.long_m[row] - place.long_m, here.right_m[row] - place.right_m)
        assert off < CENTIMETRE, shots[row]


def test_the_reference_itself_meets_the_closed_form() -> None:
    """The reference has to stand on its own: without air it gives v^2 sin(2 a) / g too."""
    shot = Shot(speed_mps=53.6448, elevation_rad=0.2845, spin_radps=743.0, law=NO_AIR)
    place = references([shot])[0]
    assert place is not None
    assert place.long_m == pytest.approx(53.6448**2 * np.sin(0.569) / 9.80665, abs=1e-6)
