"""The published launch tables: fitted on one, held to the others."""

import numpy as np
import pytest

from engine.aerodynamics import FITTED
from engine.launch import full_shots, launch_row
from engine.launch_tables import MEN, WOMEN
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM
from tests.fit_aerodynamics import Table, carry_errors, fit, fly_table
from tests.published.launch_tables import MEN_2023

# TrackMan tour averages, not normalised for weather or site. Older edition, men and women (three
# transcriptions agree); 2023 edition, published 2 May 2024 (two transcriptions agree).
FITTED_CARRY, HELD_OUT_CARRY = 0.03, 0.05
APEX_YD, LANDING_DEG = 5.0, 9.0


def test_tables_are_as_printed() -> None:
    """A row of each table against the source, and how many rows it has."""
    assert (len(MEN), len(WOMEN), len(MEN_2023)) == (12, 11, 12)
    assert MEN["6-iron"] == (127, 14.1, 6231, 30, 50, 183)
    assert WOMEN["7-wood"] == (123, 12.7, 4693, 25, 46, 174)
    assert MEN_2023["8-iron"] == (118, 17.8, 8078, 33, 51, 164)
    carries = [sum(row[5] for row in table.values()) for table in (MEN, WOMEN, MEN_2023)]
    assert carries == [2381, 1751, 2446]


def test_the_fit_reproduces_the_coefficients_in_use() -> None:
    found = fit()
    for name, value in vars(FITTED).items():
        assert getattr(found, name) == pytest.approx(value, abs=2e-4), name


@pytest.mark.parametrize("club", MEN)
def test_carry_on_the_table_fitted(club: str) -> None:
    assert abs(carry_errors({club: MEN[club]}, FITTED)[0]) < FITTED_CARRY


@pytest.mark.parametrize("club", WOMEN)
def test_carry_on_the_held_out_womens_table(club: str) -> None:
    assert abs(carry_errors({club: WOMEN[club]}, FITTED)[0]) < HELD_OUT_CARRY


@pytest.mark.parametrize("club", MEN_2023)
def test_carry_on_the_held_out_2023_table(club: str) -> None:
    assert abs(carry_errors({club: MEN_2023[club]}, FITTED)[0]) < HELD_OUT_CARRY


@pytest.mark.parametrize(
    ("table", "carry", "apex_yd", "landing_deg"),
    [(MEN, 0.0161, 4.4, 7.8), (WOMEN, 0.0433, 3.7, 8.8), (MEN_2023, 0.0208, 3.9, 8.3)],
    ids=["men", "women", "men-2023"],
)
def test_worst_errors_are_those_the_engine_states(
    table: Table, carry: float, apex_yd: float, landing_deg: float
) -> None:
    """What engine/aerodynamics.py says beside the coefficients, to the last digit it says."""
    printed = np.array(list(table.values()), dtype=float).T
    landing = fly_table(table, FITTED)
    apex_error = np.abs(landing.apex_m / METRES_PER_YARD - printed[3]).max()
    landing_error = np.abs(landing.descent_deg - printed[4]).max()
    assert np.abs(carry_errors(table, FITTED)).max() == pytest.approx(carry, abs=1e-4)
    assert apex_error == pytest.approx(apex_yd, abs=0.05) and apex_error < APEX_YD
    assert landing_error == pytest.approx(landing_deg, abs=0.05) and landing_error < LANDING_DEG


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
