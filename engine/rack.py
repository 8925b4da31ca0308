"""The rack: every club, grade and ball of a kit as rows of arrays, ready for a batch."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch
from engine.launch import FullShot

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rack(Batch):
    """n ways to hit (club, grade, ball); arrays (n,) but for the charts (n, k).

    ``full_m`` and ``short_m`` are the still-air carries a set-up can have, ``mark_full_m`` and
    ``mark_short_m`` the metres of one mark there, ``wind_share`` the part of the wind that reaches
    the ball. A row without a chart has ``charted`` False; the points of the others are padded at
    the end with their last one.
    """

    full: FullShot
    full_m: Array
    short_m: Array
    mark_full_m: Array
    mark_short_m: Array
    wind_share: Array
    charted: NDArray[np.bool_]
    chart_share: Array
    chart_marks_per_mph: Array

    def __len__(self) -> int:
        return self.full_m.shape[0]

    def mark_m(self, carry_m: Array) -> Array:
        """Metres of one mark at ``carry_m`` (n,): linear from short to full carry, held outside."""
        fullness = np.clip((carry_m - self.short_m) / (self.full_m - self.short_m), 0.0, 1.0)
        return self.mark_short_m + (self.mark_full_m - self.mark_short_m) * fullness
