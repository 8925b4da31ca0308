"""The chart law: what a coach measured, in marks per mph at several shares of full carry.

    along  = chart(into or helping, share) * wind in mph * cos(from) * (1 - height over distance)
    across = chart(across, share)          * wind in mph * sin(from) * (1 - height over distance)

linear in wind speed, interpolated in share and held at the ends. Wind and height work the same way
round as in flight: a ball that comes down earlier, on higher ground, has been blown less. Common
practice among coaches of such games; no published source.
"""

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Direction(IntEnum):
    """Winds that a chart tells apart."""

    INTO = 0
    HELPING = 1
    ACROSS = 2


def marks_per_mph(*, chart_share: Array, chart_marks_per_mph: Array, share: Array) -> Array:
    """Marks per mph at ``share`` (n,) from charts of k points (n, k), padded at their ends.

    Charts (n, 3, k), by ``Direction``, give (n, 3); charts (n, k) hold for every wind.
    """
    if chart_marks_per_mph.ndim == 3:
        each = [
            marks_per_mph(
                chart_share=chart_share, chart_marks_per_mph=chart_marks_per_mph[:, i], share=share
            )
            for i in Direction
        ]
        return np.stack(each, axis=1)
    value = chart_marks_per_mph[:, 0].copy()
    for low in range(chart_share.shape[1] - 1):
        start, end = chart_share[:, low], chart_share[:, low + 1]
        part = np.clip((share - start) / np.where(end > start, end - start, np.inf), 0.0, 1.0)
        value += part * (chart_marks_per_mph[:, low + 1] - chart_marks_per_mph[:, low])
    return value


def chart_marks(
    *, per_mph: Array, wind_mph: Array, wind_from_deg: Array, height_fraction: Array
) -> tuple[Array, Array]:
    """Allowance (long, right) in marks: the chart's marks upwind; arrays (n,), ``per_mph`` (n,) or
    by ``Direction`` (n, 3)."""
    angle = np.radians(wind_from_deg)
    upwind = np.cos(angle)
    along, across = per_mph, per_mph
    if per_mph.ndim == 2:
        into, helping = per_mph[:, Direction.INTO], per_mph[:, Direction.HELPING]
        along, across = np.where(upwind < 0.0, helping, into), per_mph[:, Direction.ACROSS]
    wind = wind_mph * (1 - height_fraction)
    return along * wind * upwind, across * wind * np.sin(angle)
