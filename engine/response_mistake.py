"""Misses that a known mistake explains: the wind typed from the other side.

Each reading of the wind predicts an effect; the one under which the ball came down where the
group's response expects it is the likelier. Only a question to the author comes of it, never a
correction.
"""

from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from engine.response import Posterior, predict
from engine.response_features import Features, Situations, features
from engine.response_sums import Results
from engine.response_tree import Ints
from engine.robust import TAIL_DF, Floats
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
assumption of ours; a larger one asks more often, also about mishits (tests/bench/worlds.py)."""

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


def misread_from_deg(from_deg: Floats) -> Floats:
    """Where a wind typed from ``from_deg`` (n,) really came from under each mistake, (3, n)."""
    return np.stack((-from_deg, 180.0 - from_deg, 180.0 + from_deg)) % 360.0


def misread(situations: Situations) -> Features:
    """The features of n shots under each mistake, (3 n,), mistake by mistake.

    The law's effect changes sign, which is close across but not along, where into takes more than
    helping gives; who has the law at hand asks it for ``misread_from_deg`` instead.
    """
    signs = np.repeat(np.array(MISTAKE_SIGNS[1:]), len(situations), axis=0)
    thrice = situations.take(np.tile(np.arange(len(situations)), len(signs) // len(situations)))
    turned = replace(
        thrice,
        law_long_m=thrice.law_long_m * signs[:, 0],
        law_right_m=thrice.law_right_m * signs[:, 1],
        from_deg=misread_from_deg(situations.from_deg).ravel(),
    )
    return features(turned)


def explain_misses(posterior: Posterior, results: Results, readings: Features) -> Explanations:
    """Which mistake explains each of n results best.

    ``readings`` (3 n,) are the features for the wind mirrored, swapped and reversed, mistake by
    mistake (``misread``). The likelihood is the Student-t of ``engine.response`` around what the
    response expects. Raises EngineError on lengths and grades not in the posterior.
    """
    count, ways = len(results), len(Mistake)
    if len(readings) != (ways - 1) * count:
        raise EngineError("every result needs its features under each mistake")
    response = posterior.response(np.tile(results.grade, ways))
    expected = predict(response, results.features.joined(readings))
    effect = np.swapaxes(expected.effect_m.reshape(ways, count, 2), 0, 1)
    sd = np.swapaxes(expected.sd_m.reshape(ways, count, 2), 0, 1)
    miss = results.observed_m[:, None, :] - effect
    noise = posterior.noise_m[results.grade][:, None, :]
    return _judged(_log_density(miss, noise**2 + sd**2), miss)


def explain_miss(posterior: Posterior, result: Results, readings: Features) -> Explanation:
    """``explain_misses`` for one result; ``readings`` (3,)."""
    found = explain_misses(posterior, result, readings)
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
