"""The chart law: what a coach measured, in marks per mph at several shares of full carry.

    marks = chart(share) * wind in mph * (1 + height allowance), upwind

linear in wind speed, interpolated in share and held at the ends, the height allowance being height
over distance. Common practice among coaches of such games; no published source.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def marks_per_mph(*, chart_share: Array, chart_marks_per_mph: Array, share: Array) -> Array:
    """Marks per mph at ``share`` (n,) from charts of k points (n, k), padded at their ends."""
    value = chart_marks_per_mph[:, 0].copy()
    for low in range(chart_share.shape[1] - 1):
        start, end = chart_share[:, low], chart_share[:, low + 1]
        part = np.clip((share - start) / np.where(end > start, end - start, np.inf), 0.0, 1.0)
        value += part * (chart_marks_per_mph[:, low + 1] - chart_marks_per_mph[:, low])
    return value


def chart_marks(
    *, per_mph: Array, wind_mph: Array, wind_from_deg: Array, height_fraction: Array
) -> tuple[Array, Array]:
    """Allowance (long, right) in marks: the chart's marks upwind; arrays (n,)."""
    marks = per_mph * wind_mph * (1 + height_fraction)
    angle = np.radians(wind_from_deg)
    return marks * np.cos(angle), marks * np.sin(angle)
