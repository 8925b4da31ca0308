"""Whether chances have earned to be shown: how often what was given a chance went in.

A reliability diagram (Murphy & Winkler, Appl. Statist. 26:41, 1977): tries sorted by the chance
they were given, in bins of equally many; each bin's mean chance against the share that went in.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from engine.intervals import wilson_interval
from shared.errors import EngineError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_BINS = 8
LEAST_IN_BIN = 25
LEAST_TRIES, LEAST_HOLED = 100, 10  # to give a chance at all; a judgement
SHOWN_CONFIDENCE = 0.9  # of every interval that a person reads
HELD_CONFIDENCE = 0.9  # that a right model is not refused, over all bins together


class Standing(Enum):
    """Whether a chance may be shown."""

    TOO_FEW = "not enough tries to give a chance"
    OFF = "the chances do not agree with what went in"
    EARNED = "earned"


@dataclass(frozen=True)
class Reliability:
    """The diagram: per bin (k,) tries, mean chance given, share holed with its 90% interval.

    ``inside`` says whether the diagonal lies within the interval that all bins of a right model
    keep together nine times in ten, wider than the one shown. ``brier`` is the mean squared error
    of the chances, ``brier_of_rate`` that of giving every try the overall share.
    """

    tries: Array
    given: Array
    holed: Array
    low: Array
    high: Array
    inside: Flags
    brier: float
    brier_of_rate: float
    standing: Standing


def reliability(*, chance: Array, holed: Flags) -> Reliability:
    """The diagram of n logged tries and the chances they were given, (n,) each.

    Errors: EngineError for chances outside 0 to 1 and arrays that do not pair up.
    """
    if chance.shape != holed.shape or chance.ndim != 1:
        raise EngineError("every try needs its chance")
    if not ((chance >= 0) & (chance <= 1)).all():
        raise EngineError("a chance lies from 0 to 1")
    tries = chance.size
    if not tries:
        none = np.zeros(0)
        flags = np.zeros(0, dtype=np.bool_)
        return Reliability(none, none, none, none, none, flags, 0.0, 0.0, Standing.TOO_FEW)
    order = np.argsort(chance, kind="stable")
    bins = int(np.clip(tries // LEAST_IN_BIN, 1, MOST_BINS))
    parts = np.array_split(order, bins)
    size = np.array([part.size for part in parts], dtype=np.float64)
    given = np.array([chance[part].mean() for part in parts])
    went_in = np.array([holed[part].sum() for part in parts], dtype=np.float64)
    shown = wilson_interval(went_in, size, confidence=SHOWN_CONFIDENCE)
    each = float(HELD_CONFIDENCE ** (1 / bins))
    held = wilson_interval(went_in, size, confidence=each)
    inside = (given >= held.low) & (given <= held.high)
    rate = holed.mean()
    if tries < LEAST_TRIES or holed.sum() < LEAST_HOLED:
        standing = Standing.TOO_FEW
    else:
        standing = Standing.EARNED if inside.all() else Standing.OFF
    return Reliability(
        size,
        given,
        went_in / size,
        shown.low,
        shown.high,
        inside,
        float(((chance - holed) ** 2).mean()),
        float(((rate - holed) ** 2).mean()),
        standing,
    )
