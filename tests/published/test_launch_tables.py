"""The published launch tables: fitted on one, held to the others."""

from dataclasses import replace

import numpy as np
import pytest

from engine.aerodynamics import FITTED
from engine.launch import full_shots, launch_row
from engine.launch_tables import MEN, WOMEN
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM
from tests.fit_aerodynamics import Table, errors, fit
from tests.published.launch_tables import MEN_2023

# TrackMan tour averages, not normalised for weather or site. Older edition, men and women (three
# transcriptions agree); 2023 edition, published 2 May 2024 (two transcriptions agree).
FITTED_CARRY, HELD_OUT_CARRY = 0.03, 0.05
LANDING_BIAS_DEG, APEX_BIAS_YD = 2.0, 2.0


@pytest.mark.parametrize("table", [MEN, WOMEN, MEN_2023], ids=["men", "women", "men-2023"])
def test_tables_hold_what_a_bag_must(table: Table) -> None:
    """A mistyped row would break an order all three tables have: longer clubs fly faster, start
    lower but for the driver's tee, and carry farther."""
    rows = np.array(list(table.values()), dtype=float)
    assert (np.diff(rows[:, 0]) < 0).all() and (np.diff(rows[:, 5]) < 0).all()
    assert (np.diff(rows[1:, 1]) > 0).all()
    apex_yd, landing_deg, carry_yd = rows[:, 3], rows[:, 4], rows[:, 5]
    # a path that only ever bends down lies below its two end tangents: apex under their crossing
    rise, fall = np.tan(np.radians(rows[:, 1])), np.tan(np.radians(landing_deg))
    assert (apex_yd < carry_yd * rise * fall / (rise + fall)).all()


def test_the_fit_reproduces_the_coefficients_in_use() -> None:
    """That the numbers written down are the fit's own, on the men's table alone."""
    found = fit()
    for name, value in vars(FITTED).items():
        assert getattr(found, name) == pytest.approx(value, abs=2e-4), name


@pytest.mark.parametrize("club", MEN)
def test_carry_on_the_table_fitted(club: str) -> None:
    assert abs(errors({club: MEN[club]}, FITTED)[0][0]) < FITTED_CARRY


@pytest.mark.parametrize("club", WOMEN)
def test_carry_on_the_held_out_womens_table(club: str) -> None:
    assert abs(errors({club: WOMEN[club]}, FITTED)[0][0]) < HELD_OUT_CARRY


@pytest.mark.parametrize("club", MEN_2023)
def test_carry_on_the_held_out_2023_table(club: str) -> None:
    assert abs(errors({club: MEN_2023[club]}, FITTED)[0][0]) < HELD_OUT_CARRY


@pytest.mark.parametrize("table", [MEN, WOMEN, MEN_2023], ids=["men", "women", "men-2023"])
def test_landing_angles_and_tops_are_unbiased(table: Table) -> None:
    """On average over the printed clubs: landing within 2 deg, apex within 2 yd."""
    _, apex_yd, landing_deg = errors(table, FITTED)
    assert abs(landing_deg.mean()) < LANDING_BIAS_DEG
    assert abs(apex_yd.mean()) < APEX_BIAS_YD


def test_without_the_rise_of_drag_the_same_law_lands_too_flat() -> None:
    """What the drag crisis (Bearman & Harvey 1976) is in the law for."""
    _, _, landing_deg = errors(MEN, replace(FITTED, drag_rise=0.0))
    assert landing_deg.mean() < -2 * LANDING_BIAS_DEG


@pytest.mark.parametrize("table", [MEN, WOMEN], ids=["men", "women"])
def test_a_club_of_a_printed_carry_launches_much_as_that_table_says(table: Table) -> None:
    """Solved for the printed carry: ball speed within 4%, angle within .7 deg, spin within 5%.

    Not the 3-wood: its women's row takes no part in the launch. Nor the 7-wood, only in theirs.
    """
    names = [name for name in table if name in MEN and name != "3-wood"]
    printed = np.array([table[name] for name in names], dtype=float).T
    found = full_shots(rows=names, carry_m=printed[5] * METRES_PER_YARD)
    assert found.speed_mps == pytest.approx(printed[0] * MPS_PER_MPH, rel=0.04)
    assert np.degrees(found.elevation_rad) == pytest.approx(printed[1], abs=0.7)
    assert found.spin_radps == pytest.approx(printed[2] * RADPS_PER_RPM, rel=0.05)


def test_wedges_beyond_the_table_go_on_by_its_last_step() -> None:
    """An extrapolation, no published value: 9-iron to pitching wedge, once and twice more."""
    speed_mps, angle_rad, spin_radps = launch_row("sand wedge")
    assert speed_mps / MPS_PER_MPH == pytest.approx(102 - 2 * 7, abs=1e-9)
    assert np.degrees(angle_rad) == pytest.approx(24.2 + 2 * 3.8, abs=1e-9)
    assert spin_radps / RADPS_PER_RPM == pytest.approx(9304 + 2 * 657, abs=1e-6)
