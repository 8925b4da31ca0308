"""Misses that a known mistake explains: the wind typed from the other side.

Each reading of the wind predicts an effect; the one under which the ball came down where the
group's gain expects it is the likelier. Only a question to the author comes of it, never a
correction.
"""

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.gain import Posterior, predict
from engine.gain_sums import MAX_EFFECT_M, Ints, Results, index
from engine.robust import TAIL_DF, Floats, finite
from shared.errors import EngineError


class Mistake(IntEnum):
    """What may have been typed: off the other side, into for helping, or both."""

    NONE = 0
    MIRRORED = 1
    SWAPPED = 2
    REVERSED = 3


MISTAKE_SIGNS: Final = ((1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0))
"""By ``Mistake``: what the law's effect (long, right) is multiplied by, roughly."""

MISTAKE_RATE: Final = 0.02
"""How often each mistake is assumed to happen before the miss is seen: once in fifty results. An
assumption of ours; a larger one asks more often, also about mishits (tests/bench/gain.py)."""

ASK_FROM: Final = 0.5
"""A question is worth asking when a mistake is likelier than not."""


@dataclass(frozen=True, slots=True)
class Explanations:
    """Of n results: ``mistake`` the likeliest reading (0: as typed), ``log_ratio`` how much better
    the best other reading fits than the typed one (natural logarithm of the likelihood ratio,
    negative when worse), ``probability`` that it is the right one, ``ask`` whether to ask, and the
    miss as typed and read so, (n, 2) in metres."""

    mistake: NDArray[np.int64]
    log_ratio: Floats
    probability: Floats
    ask: NDArray[np.bool_]
    miss_m: Floats
    miss_read_so_m: Floats


@dataclass(frozen=True, slots=True)
class Explanation:
    """One result's; fields as in ``Explanations``."""

    mistake: Mistake
    log_ratio: float
    probability: float
    ask: bool
    miss_m: tuple[float, float]
    miss_read_so_m: tuple[float, float]


def explain_misses(
    posterior: Posterior, results: Results, readings_m: ArrayLike | None = None
) -> Explanations:
    """Which mistake explains each result best.

    ``readings_m`` (n, 3, 2): the law's effect for the wind mirrored, swapped and reversed. Without
    it the typed effect changes sign, which is close across but not along: into takes more than
    helping gives. The likelihood is the Student-t of ``engine.gain`` around gain x effect + bias.
    Raises EngineError on shapes, numbers that are not finite, grades not in the posterior.
    """
    count, readings = len(results), len(Mistake)
    typed = results.predicted_m
    if readings_m is None:
        effect = typed[:, None, :] * np.array(MISTAKE_SIGNS)
    else:
        others = finite(np.asarray(readings_m), name="readings_m", shape=(count, readings - 1, 2))
        if (np.abs(others) > MAX_EFFECT_M).any():
            raise EngineError("readings_m holds an effect no wind has")
        effect = np.concatenate([typed[:, None, :], others], axis=1)
    expected = predict(posterior, np.repeat(results.grade, readings), effect.reshape(-1, 2))
    miss = results.observed_m[:, None, :] - expected.effect_m.reshape(count, readings, 2)
    noise = posterior.noise_m[results.grade][:, None, :]
    variance = noise**2 + expected.sd_m.reshape(count, readings, 2) ** 2
    likelihood = _log_density(miss, variance)
    return _judged(likelihood, miss)


def explain_miss(
    posterior: Posterior,
    *,
    grade: int,
    predicted_m: tuple[float, float],
    observed_m: tuple[float, float],
    readings_m: ArrayLike | None = None,
) -> Explanation:
    """``explain_misses`` for one result; ``readings_m`` (3, 2)."""
    where: Ints = index(np.array([grade]), name="grade", below=len(posterior.noise_m))
    one = Results(where, np.array([predicted_m]), np.array([observed_m]))
    found = explain_misses(posterior, one, None if readings_m is None else np.array([readings_m]))
    return Explanation(
        mistake=Mistake(int(found.mistake[0])),
        log_ratio=float(found.log_ratio[0]),
        probability=float(found.probability[0]),
        ask=bool(found.ask[0]),
        miss_m=(float(found.miss_m[0, 0]), float(found.miss_m[0, 1])),
        miss_read_so_m=(float(found.miss_read_so_m[0, 0]), float(found.miss_read_so_m[0, 1])),
    )


def _log_density(miss: Floats, variance: Floats) -> Floats:
    """Logarithm of the Student-t density in two directions, up to a constant: (n, readings)."""
    distance2 = (miss**2 / variance).sum(axis=-1)
    tails = -0.5 * (TAIL_DF + 2.0) * np.log1p(distance2 / TAIL_DF)
    return tails - 0.5 * np.log(variance).sum(axis=-1)


def _judged(likelihood: Floats, miss: Floats) -> Explanations:
    count, readings = len(likelihood), len(Mistake)
    before = np.full(readings, MISTAKE_RATE)
    before[Mistake.NONE] = 1.0 - MISTAKE_RATE * (readings - 1)
    belief = before * np.exp(likelihood - likelihood.max(axis=1, keepdims=True))
    belief /= belief.sum(axis=1, keepdims=True)
    rows: Ints = np.arange(count)
    best = 1 + np.argmax(likelihood[:, 1:], axis=1)
    probability = belief[rows, best]
    # Straight across, mirrored and reversed are one: what counts is that it is not as typed.
    ask = 1.0 - belief[:, Mistake.NONE] >= ASK_FROM
    return Explanations(
        mistake=np.where(ask, best, int(Mistake.NONE)),
        log_ratio=likelihood[rows, best] - likelihood[:, Mistake.NONE],
        probability=probability,
        ask=ask,
        miss_m=miss[:, Mistake.NONE],
        miss_read_so_m=miss[rows, best],
    )
