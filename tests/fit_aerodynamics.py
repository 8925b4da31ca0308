"""Fit drag and lift to the carries of one published table and show the errors on the others.

    python -m tests.fit_aerodynamics

Least squares on the older men's table with no spin decay: carry in units of 1%, apex of 1.5 yd,
landing angle of 1.5 deg, for the carries alone leave drag and lift free to trade against each
other. The women's and the 2023 tables take no part. The critical Reynolds number is chosen, not
fitted.
``fit()`` and the errors are also asserted by tests/published/test_launch_tables.py.
"""

from collections.abc import Mapping

import numpy as np
from scipy.optimize import least_squares

from engine.aerodynamics import Aerodynamics
from engine.flight import Landing, fly
from engine.launch_tables import MEN, WOMEN
from engine.motion import Air, launch_from
from shared.units import METRES_PER_YARD, MPS_PER_MPH, RADPS_PER_RPM
from tests.published.launch_tables import MEN_2023

CARRY_UNIT, APEX_UNIT_YD, DESCENT_UNIT_DEG = 0.01, 1.5, 1.5
NAMES = ("drag0", "drag1", "drag2", "lift", "lift_power", "drag_rise")
START = (0.2, 0.5, -0.2, 0.5, 0.45, 0.3)
LEAST, MOST = (0.05, 0.0, -2.0, 0.1, 0.1, 0.0), (0.4, 2.0, 2.0, 2.0, 1.0, 3.0)
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


def errors(table: Table, law: Aerodynamics) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Errors of a table's rows under a law: carry (relative), apex (yd), landing angle (deg)."""
    printed = np.array(list(table.values()), dtype=float).T
    landing = fly_table(table, law)
    return (
        landing.long_m / (printed[5] * METRES_PER_YARD) - 1,
        landing.apex_m / METRES_PER_YARD - printed[3],
        landing.descent_deg - printed[4],
    )


def fit() -> Aerodynamics:
    """The coefficients of least squared error on the older men's table."""

    def residuals(guess: np.ndarray) -> np.ndarray:
        carry, apex_yd, descent_deg = errors(MEN, _law(guess))
        return np.concatenate(
            (carry / CARRY_UNIT, apex_yd / APEX_UNIT_YD, descent_deg / DESCENT_UNIT_DEG)
        )

    found = least_squares(residuals, START, bounds=(LEAST, MOST), xtol=1e-12, ftol=1e-12)
    return _law(found.x.round(4))


def _law(values: np.ndarray) -> Aerodynamics:
    return Aerodynamics(**dict(zip(NAMES, values.tolist(), strict=True)))


def main() -> None:
    """Print the fit and its errors table by table."""
    law = fit()
    print(law)
    for name, table in (("fitted men", MEN), ("women", WOMEN), ("men 2023", MEN_2023)):
        carry, apex_yd, descent_deg = errors(table, law)
        print(
            f"{name:11} worst / mean:",
            f"carry {100 * np.abs(carry).max():.2f} / {100 * carry.mean():+.2f}%",
            f"apex {np.abs(apex_yd).max():.1f} / {apex_yd.mean():+.1f} yd",
            f"landing {np.abs(descent_deg).max():.1f} / {descent_deg.mean():+.1f} deg",
        )


if __name__ == "__main__":
    main()
