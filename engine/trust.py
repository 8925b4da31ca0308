"""How far the law is trusted: gain and bias of every row of a rack, along and across.

The law says the wind moves the ball by e = -(law's allowance). What the group's shots say:

    observed effect = gain * e + bias        along and across apart

so the allowance that lands on the target is gain * law - bias. Learned by ``engine.gain``; before
any shot a gain is 1 give or take a quarter, and the bias nothing.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch

Array = NDArray[np.float64]

PRIOR_GAIN_SD = 0.25  # design: the prior of a gain is N(1, .25)


@dataclass(frozen=True)
class Trust(Batch):
    """Means (n, 2, 2) by axis (0 long, 1 right) and (gain, bias m), covariances (n, 2, 2, 2)."""

    mean: Array
    cov: Array


@dataclass(frozen=True)
class Corrected:
    """Allowances after the gain, and one standard error of each; (n,) in metres."""

    long_m: Array
    right_m: Array
    sd_long_m: Array
    sd_right_m: Array


def prior_trust(*, rows: int) -> Trust:
    """Trust in ``rows`` rows before any shot was logged."""
    mean = np.tile(np.array([1.0, 0.0]), (rows, 2, 1))
    cov = np.zeros((rows, 2, 2, 2))
    cov[:, :, 0, 0] = PRIOR_GAIN_SD**2
    return Trust(mean, cov)


def correct(*, trust: Trust, law_long_m: Array, law_right_m: Array) -> Corrected:
    """What the law's allowances (n,) become under the trust of their rows."""
    law = np.stack((law_long_m, law_right_m), axis=1)
    value = trust.mean[:, :, 0] * law - trust.mean[:, :, 1]
    gain, both, bias = trust.cov[:, :, 0, 0], trust.cov[:, :, 0, 1], trust.cov[:, :, 1, 1]
    error = np.sqrt(np.maximum(gain * law**2 - 2 * both * law + bias, 0.0))
    return Corrected(value[:, 0], value[:, 1], error[:, 0], error[:, 1])
