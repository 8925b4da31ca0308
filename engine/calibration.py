"""Chances put right by what went in: a game's hole may take more, or less, than computed.

What is computed of a shot orders shots well and is off in level wherever a game's ground, hole or
hits work otherwise than the model. So the chance that is given is the computed one, recalibrated on
the logit by the group's own tries (logistic recalibration: Cox, Biometrika 45:562, 1958; status M),

    logit p = m + a + exp(b) (x - m),   x = logit of what was computed, m its mean over the tries,

with a ~ N(0, LEVEL_SD^2) and b ~ N(0, SLOPE_LOG_SD^2): without tries it is the computed one, and
where what is computed tells nothing the slope goes to nothing and all get the group's rate. The
slope is above nothing, so that the order of shots stays. What is computed itself changes as hits
are learned, and games change, so older tries count less.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.intervals import CONFIDENCE, two_sided_z
from shared.errors import EngineError

Array = NDArray[np.float64]

LEVEL_SD = 2.0  # seven times the odds, or a seventh, is likely; a judgement
SLOPE_LOG_SD = 0.7  # of the logarithm of the slope; a judgement
HALF_LIFE = 300.0  # tries after which one counts half; a judgement
LEAST_CHANCE = 1e-4  # below it a sampled chance is noise
FIRST = 50  # tries before anything is put right by them
REFIT_EVERY = 25  # tries
STEPS = 50
SETTLED = 1e-9


@dataclass(frozen=True)
class Calibration:
    """``level`` and ``log_slope`` about ``around``, a logit, with their covariance (2, 2)."""

    around: float
    level: float
    log_slope: float
    cov: Array

    def of(self, chance: Array) -> "Calibrated":
        """Computed chances (n,) put right, with the 90% interval of the level and slope.

        It holds for the group's tries together; one line may lie off it.
        """
        apart = _logit(chance) - self.around
        slope = np.exp(self.log_slope)
        middle = self.around + self.level + slope * apart
        towards = np.stack((np.ones_like(apart), slope * apart), axis=-1)
        sd = np.sqrt(np.einsum("ni,ij,nj->n", towards, self.cov, towards))
        half = two_sided_z(CONFIDENCE) * sd
        return Calibrated(_chance(middle), _chance(middle - half), _chance(middle + half))


@dataclass(frozen=True)
class Calibrated:
    """Chances and the ends of their 90% intervals, (n,) each."""

    chance: Array
    low: Array
    high: Array


def calibrate(*, chance: Array, tries: Array, went_in: Array) -> Calibration:
    """The recalibration from n results of ``tries`` each, oldest first, and their chances, (n,).

    The mode of the posterior and its curvature there. Errors: EngineError for chances outside 0 to
    1, arrays that do not pair up, or more in than tried.
    """
    _check(chance, tries, went_in)
    counts = 0.5 ** ((tries.sum() - np.cumsum(tries)) / HALF_LIFE)
    tries, went_in = counts * tries, counts * went_in
    x, total = _logit(chance), float(tries.sum())
    around = float((tries * x).sum() / total) if total else 0.0
    apart = x - around
    prior = np.diag([LEVEL_SD**-2, SLOPE_LOG_SD**-2])

    def logarithm(at: Array) -> float:
        middle = around + at[0] + np.exp(at[1]) * apart
        likelihood = (went_in * middle - tries * np.logaddexp(0.0, middle)).sum()
        return float(likelihood - at @ prior @ at / 2)

    at, curvature = np.zeros(2), prior
    for _ in range(STEPS):
        slope = np.exp(at[1])
        p = _chance(around + at[0] + slope * apart)
        towards = np.stack((np.ones_like(apart), slope * apart))
        curvature = (towards * (tries * p * (1 - p))) @ towards.T + prior
        step = np.linalg.solve(curvature, towards @ (went_in - tries * p) - prior @ at)
        before = logarithm(at)
        while logarithm(at + step) < before and np.abs(step).max() > SETTLED:
            step = step / 2
        at = at + step
        if np.abs(step).max() <= SETTLED:
            break
    return Calibration(
        around, float(at[0]), float(at[1]), np.linalg.inv(curvature).astype(np.float64)
    )


def calibrated_before(*, chance: Array, tries: Array, went_in: Array) -> Array:
    """Each result's chance put right by the results before it alone, oldest first, (n,).

    Refitted after every ``REFIT_EVERY`` tries; nan for those among the ``FIRST``. So what is held
    against what went in was never fitted to it. Errors: as ``calibrate``.
    """
    _check(chance, tries, went_in)
    given = np.full(chance.shape, np.nan)
    before = np.cumsum(tries) - tries
    block = before // REFIT_EVERY
    for number in np.unique(block[before >= FIRST]):
        now = block == number
        start = int(np.argmax(now))
        fitted = calibrate(chance=chance[:start], tries=tries[:start], went_in=went_in[:start])
        given[now] = fitted.of(chance[now]).chance
    return given


def _check(chance: Array, tries: Array, went_in: Array) -> None:
    if not chance.shape == tries.shape == went_in.shape or chance.ndim != 1:
        raise EngineError("every result needs its chance, its tries and how many went in")
    if not ((chance >= 0) & (chance <= 1)).all():
        raise EngineError("a chance lies from 0 to 1")
    if not ((went_in >= 0) & (went_in <= tries)).all():
        raise EngineError("no more go in than are tried")


def _logit(chance: Array) -> Array:
    inside = np.clip(chance, LEAST_CHANCE, 1 - LEAST_CHANCE)
    return np.log(inside) - np.log1p(-inside)


def _chance(logit: Array) -> Array:
    return np.exp(-np.logaddexp(0.0, -logit))
