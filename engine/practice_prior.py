"""What computed chances add to what is known of lines before they are tried.

A computed chance says which line of a hole is likelier to go in and how sure that is, not how
likely: its level is the model's. So on the logit, each chance counts by its distance from the mean
of its hole's, added to the mean that is believed of them, with the variance

    (sd / (c (1 - c)))^2 + DISCREPANCY^2

of its own uncertainty (delta method) and of what the model leaves out; precisions add up. A line
whose chance is least sure so keeps the widest belief, and there a try has most to show
(``engine.practice`` weighs it). ``tests/unit/test_practice_prior.py`` plays it in worlds in which
the chances are right and in worlds in which they say nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.intervals import LEAST_PARAMETER
from engine.practice import PracticeHole
from shared.errors import EngineError

Array = NDArray[np.float64]

DISCREPANCY = 0.5  # of a logit: lies, luck, the lip, what no model holds; a judgement
LEAST_CHANCE = 0.002  # below it the number of points is too small to tell chances apart


@dataclass(frozen=True)
class ComputedChance:
    """A line's chance of going in, and one standard deviation of what is not known of it."""

    chance: float
    sd: float

    @property
    def logit(self) -> float:
        """The logit of the chance."""
        chance = self._held
        return float(np.log(chance / (1 - chance)))

    @property
    def logit_sd(self) -> float:
        """How unsure the logit is."""
        chance = self._held
        return float(np.hypot(max(self.sd, LEAST_CHANCE) / (chance * (1 - chance)), DISCREPANCY))

    @property
    def _held(self) -> float:
        return min(max(self.chance, LEAST_CHANCE), 1 - LEAST_CHANCE)


def with_computed(hole: PracticeHole, computed: Sequence[ComputedChance | None]) -> PracticeHole:
    """A hole whose lines' beta posteriors also hold their computed chances, None where a line has
    none. One such line alone says nothing. Errors: EngineError where lines and chances don't pair.
    """
    a, b = np.atleast_1d(np.asarray(hole.a, float)), np.atleast_1d(np.asarray(hole.b, float))
    if a.size != len(computed):
        raise EngineError("every line needs its computed chance, or None")
    known = [(place, each) for place, each in enumerate(computed) if each is not None]
    if len(known) < 2:
        return hole
    rows = np.array([place for place, _ in known])
    mean = a / (a + b)
    slope = mean * (1 - mean)  # of the rate by its logit; the rate's variance is it / (a + b + 1)
    logit, variance = np.log(mean / (1 - mean)), 1 / (slope * (a + b + 1))
    said = np.array([each.logit for _, each in known])
    said += logit[rows].mean() - said.mean()
    precision = 1 / np.array([each.logit_sd for _, each in known]) ** 2
    own = 1 / variance[rows]
    logit[rows] = (own * logit[rows] + precision * said) / (own + precision)
    variance[rows] = 1 / (own + precision)
    return replace(hole, **_beta(logit, variance, (a, b), rows))


def _beta(
    logit: Array, variance: Array, before: tuple[Array, Array], rows: NDArray[np.intp]
) -> dict[str, Array]:
    """The beta posteriors of these logits at ``rows``, those ``before`` elsewhere."""
    mean = 1 / (1 + np.exp(-logit))
    spread = variance * (mean * (1 - mean)) ** 2
    size = np.maximum(mean * (1 - mean) / spread - 1, 2 * LEAST_PARAMETER)
    a, b = before[0].copy(), before[1].copy()
    a[rows] = np.maximum(mean * size, LEAST_PARAMETER)[rows]
    b[rows] = np.maximum((1 - mean) * size, LEAST_PARAMETER)[rows]
    return {"a": a, "b": b}
