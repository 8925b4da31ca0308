"""Fit drag and lift to the carries of one published table and show the errors on the others.

    python -m tests.fit_aerodynamics

Least squares on the older men's table with no spin decay: carry in units of 1%, apex of 3 yd and
landing angle of 6 deg, for the carries alone leave drag and lift free to trade against each other.
The women's and the 2023 tables take no part.
``fit()`` is also asserted by tests/published/test_launch_tables.py.
"""

from collections.abc import Mapping

import numpy as np
from scipy.optimize import least_squares

from engine.aerodynamics import Aerodynamics
from engine.flight import Air, Landing, fly, launch_from
from engine.launch_tables import MEN, WOMEN
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM
from tests.published.launch_tables import MEN_2023

CARRY_UNIT, APEX_UNIT_YD, DESCENT_UNIT_DEG = 0.01, 3.0, 6.0
START = (0.2, 0.5, -0.2, 0.5, 0.45)
Table = Mapping[str, tuple[float, float, float, float, float, float]]


def fly_table(table: Table, law: Aerodynamics) -> Landing:
    """Fly every row of a table in still standard air over level ground."""
    rows = np.array(list(table.values()), dtype=float).T
    count = rows.shape[1]
    launch = launch_from(
        speed_mps=rows[0] * MPS_PER_MPH,
        elevation_rad=np.radians(rows[1]),
        azimuth_rad=np.zeros(count),
        spin_radps=rows[2] * RADPS_PER_RPM,
        tilt_rad=np.zeros(count),
    )
    return fly(launch=launch, wind_mps=np.zeros((3, 1)), height_m=np.zeros(count), air=Air(law=law))


def carry_errors(table: Table, law: Aerodynamics) -> np.ndarray:
    """Relative carry errors of a table's rows."""
    printed = np.array([row[5] for row in table.values()]) * METRES_PER_YARD
    return fly_table(table, law).long_m / printed - 1


def fit() -> Aerodynamics:
    """The coefficients of least squared error on the older men's table."""
    printed = np.array(list(MEN.values()), dtype=float).T

    def residuals(guess: np.ndarray) -> np.ndarray:
        law = Aerodynamics(*guess)
        landing = fly_table(MEN, law)
        carry = carry_errors(MEN, law) / CARRY_UNIT
        apex = (landing.apex_m / METRES_PER_YARD - printed[3]) / APEX_UNIT_YD
        descent = (landing.descent_deg - printed[4]) / DESCENT_UNIT_DEG
        return np.concatenate((carry, apex, descent))

    found = least_squares(
        residuals,
        START,
        bounds=((0.05, 0, -2, 0.1, 0.1), (0.4, 2, 2, 2, 1)),
        xtol=1e-12,
        ftol=1e-12,
    )
    return Aerodynamics(*(float(round(value, 4)) for value in found.x))


def main() -> None:
    """Print the fit and its worst errors table by table."""
    law = fit()
    print(law)
    for name, table in (("fitted men", MEN), ("women", WOMEN), ("men 2023", MEN_2023)):
        landing = fly_table(table, law)
        printed = np.array(list(table.values()), dtype=float).T
        print(
            f"{name:11} carry {100 * np.abs(carry_errors(table, law)).max():.2f}%",
            f"apex {np.abs(landing.apex_m / METRES_PER_YARD - printed[3]).max():.1f} yd",
            f"landing {np.abs(landing.descent_deg - printed[4]).max():.1f} deg",
        )


if __name__ == "__main__":
    main()
