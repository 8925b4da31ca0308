"""Numbers of an answer, from the engine's arrays."""

import numpy as np

from engine.law import Allowances
from shared.answer import FlightFacts, Offset
from shared.units import METRES_PER_YARD


def flight_facts(
    found: Allowances, right_yd: np.ndarray, long_yd: np.ndarray
) -> FlightFacts | None:
    """How the first of them flies; None where no flight lands where it is to.

    Its drift is what the wind does, without the run where there is one.
    """
    if not found.aims.solved[0]:
        return None
    if found.runs is not None:
        long_yd = long_yd - found.runs.landed_long_m / METRES_PER_YARD
        right_yd = right_yd - found.runs.landed_right_m / METRES_PER_YARD
    flight = found.aims.flight
    return FlightFacts(
        time_s=tidy(flight.time_s[0]),
        apex_yd=tidy(flight.apex_m[0] / METRES_PER_YARD),
        landing_deg=tidy(flight.descent_deg[0]),
        drift_right_yd=tidy(-right_yd[0]),
        drift_long_yd=tidy(-long_yd[0]),
    )


def changed(right_yd: np.ndarray, long_yd: np.ndarray, other: int) -> Offset:
    """By how much the ``other`` allowance differs from the first."""
    return Offset(
        right_yd=tidy(right_yd[other] - right_yd[0]), long_yd=tidy(long_yd[other] - long_yd[0])
    )


def tidy(value: float) -> float:
    """Rounded to thousandths, as a plain float without a negative zero."""
    return round(float(value), 3) + 0.0
