"""How far balls roll in the group's game, learned from "came down" against "ended".

For each surface, apart from the wind, which is over once a ball has come down:

    run seen - bounces foreseen = g x roll foreseen + scatter

A rolling distance goes with 1 / deceleration, so g divides the surface's deceleration. With the
prior g ~ N(1, .5^2) the answer is in closed form from sums that add and subtract.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shared.errors import EngineError

Array = NDArray[np.float64]

PRIOR_SD = 0.5  # of g, a judgement
PRIOR_SCATTER_M, PRIOR_RUNS = 2.0, 4.0  # scatter, known as from so many runs; a judgement
LEAST_FACTOR = 0.1


@dataclass(frozen=True)
class RunSums:
    """Sums by surface, (surfaces,): runs, roll^2, roll x rest, rest^2; rest is run less bounces."""

    runs: Array
    roll2: Array
    roll_rest: Array
    rest2: Array

    def __add__(self, other: "RunSums") -> "RunSums":
        return RunSums(
            self.runs + other.runs,
            self.roll2 + other.roll2,
            self.roll_rest + other.roll_rest,
            self.rest2 + other.rest2,
        )


@dataclass(frozen=True)
class RollFactor:
    """By surface: what a roll is multiplied by, its standard error, the scatter of runs in m."""

    factor: Array
    sd: Array
    scatter_m: Array


def run_sums(
    *, surfaces: int, surface: NDArray[np.intp], run_m: Array, bounced_m: Array, rolled_m: Array
) -> RunSums:
    """Sums of n results: the run seen, and bounces and roll that the model foresees for it, along
    the line of travel; the model with the surface's stated deceleration. Errors: EngineError for
    numbers that are not finite."""
    if not all(np.isfinite(part).all() for part in (run_m, bounced_m, rolled_m)):
        raise EngineError("a run needs finite numbers")
    rest = run_m - bounced_m

    def total(values: Array) -> Array:
        return np.bincount(surface, values, surfaces).astype(np.float64)

    return RunSums(
        total(np.ones_like(run_m)), total(rolled_m**2), total(rolled_m * rest), total(rest**2)
    )


def learn_roll(sums: RunSums) -> RollFactor:
    """The factor of each surface's roll; without results 1 give or take a half."""
    scatter2 = np.full(sums.runs.shape, PRIOR_SCATTER_M**2)
    factor = np.ones_like(scatter2)
    for _ in range(20):  # scatter and factor in turn; a handful settles them
        precision = sums.roll2 / scatter2 + 1 / PRIOR_SD**2
        factor = (sums.roll_rest / scatter2 + 1 / PRIOR_SD**2) / precision
        residual2 = sums.rest2 - 2 * factor * sums.roll_rest + factor**2 * sums.roll2
        # the part of a run that the fit of the factor uses up
        used = sums.roll2 / scatter2 / precision
        left = PRIOR_RUNS + np.maximum(sums.runs - used, 0.0)
        scatter2 = (PRIOR_RUNS * PRIOR_SCATTER_M**2 + np.maximum(residual2, 0.0)) / left
    precision = sums.roll2 / scatter2 + 1 / PRIOR_SD**2
    return RollFactor(np.maximum(factor, LEAST_FACTOR), 1 / np.sqrt(precision), np.sqrt(scatter2))
