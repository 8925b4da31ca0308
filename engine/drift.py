"""Has the game changed? A change-point test over a club's residuals in time order.

A residual is observed effect minus what is believed of it. After an update of the game the effect
differs; residuals then lean with the wind or all to one side from then on. Any results in time
order will do: one club's, or a whole group's, where a change shows sooner. The test compares
everything before a moment with everything after, at every moment, within each grade, and judges the
largest difference against the same shots in an order shuffled within each grade: its false alarm
rate holds whatever the shape of the errors and however grades differ, as long as their order means
nothing while the game stays the same.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.response import Posterior, predict
from engine.response_sums import Results, effects
from engine.response_tree import Ints, index
from engine.robust import HUBER_K, NORMAL_MAD, Floats, huber_fit, theil_sen
from shared.errors import EngineError

FALSE_ALARM: Final = 0.01
"""How often a club that did not change is said to have: a coach looks at a dozen clubs a week."""

LEAST_SHOTS: Final = 24
"""With fewer nothing is said."""

EDGE_SHARE: Final = 0.1
"""A change is looked for where at least this share of the shots (and ``EDGE_SHOTS``) lies on
either side; nearer the ends the test mostly sees noise (Andrews, Econometrica 61:821, 1993)."""

EDGE_SHOTS: Final = 8
MOMENTS: Final = 64
"""Moments at which a change is looked for; between them it would look much the same."""

LATEST: Final = 3000
"""Older results are not looked at: a change further back is in the gain already."""

SHUFFLES: Final = 999
SHUFFLES_AT_ONCE: Final = 111
TREND_CLIP: Final = 5.0
"""For the slow trend residuals count up to this many robust standard deviations; for the test up
to ``HUBER_K``, so that mishits drown little else and a jump of any size still shows."""

TREND_BLOCK: Final = 12
"""Shots in a block for the slow trend, at least."""

TREND_BLOCKS: Final = 60


@dataclass(frozen=True, slots=True)
class Drift:
    """What the test found; pairs are (long, right).

    ``changed``: yes at ``FALSE_ALARM``. ``p_value``: how often shuffled shots differ as much.
    ``first``: index of the first shot after the likeliest moment. ``gain_change`` (no unit) and
    ``bias_change_m``: after minus before that moment, estimated robustly.
    ``gain_trend_per_100``: slow drift of the gain per hundred shots, the median slope.
    """

    changed: bool
    p_value: float
    statistic: float
    first: int
    shots: int
    gain_change: tuple[float, float]
    bias_change_m: tuple[float, float]
    gain_trend_per_100: tuple[float, float]


def find_response_change(
    posterior: Posterior, results: Results, *, used: NDArray[np.bool_] | None = None
) -> Drift | None:
    """``find_change`` over logged results in time order, what is believed taken off, by grade.

    Results where ``used`` (n,) is False are not looked at: after a reset the game of before is
    forgotten here too. ``first`` counts all results. Errors as there.
    """
    looked = np.arange(len(results)) if used is None else np.flatnonzero(used)
    part = results.take(looked)
    believed = predict(posterior.response(part.grade), part.features).effect_m
    law_m, residual_m = part.features.law_effect_m, part.observed_m - believed
    found = find_change(law_m, residual_m, grade=part.grade)
    return None if found is None else replace(found, first=int(looked[found.first]))


def find_change(
    predicted_m: ArrayLike, residual_m: ArrayLike, *, grade: ArrayLike | None = None
) -> Drift | None:
    """Looks for one moment of change in results (n, 2) in time order, oldest first.

    Statistic: the largest sum over both axes of the score test for a change of (gain, bias),
    T' V^-1 T, with T the sum up to the moment of clipped residual x (effect, 1), tied down at both
    ends within each ``grade`` (n,), both over the spread of residuals in such a wind. The same
    input gives the same answer (the shuffles have a fixed seed). It takes a tenth of a second or
    more: not for the event loop. None: fewer than ``LEAST_SHOTS``. Raises EngineError on shapes and
    numbers that are not finite.
    """
    predicted = effects(predicted_m, name="predicted_m", shots=None)
    residual = effects(residual_m, name="residual_m", shots=len(predicted))
    kinds = _kinds(grade, len(predicted))
    skipped = max(0, len(predicted) - LATEST)
    predicted, residual, kinds = predicted[skipped:], residual[skipped:], kinds[skipped:]
    shots = len(predicted)
    if shots < LEAST_SHOTS:
        return None
    moments, scale = _moments(shots), _scale(predicted, residual)
    design = _design(predicted, scale)
    standard = (residual - _medians(residual, kinds)) / scale
    design = _within(design, kinds)
    score = np.clip(standard, -HUBER_K, HUBER_K)
    weight = _score_weights(design, moments)
    curve = _curve(score[None], design, moments, weight)[0]
    best = int(np.argmax(curve))
    shuffled = _shuffled_peaks(score, design, moments, weight, kinds)
    # The slack keeps ties ties when sums differ in the last place.
    as_large = int((shuffled >= curve[best] * (1.0 - 1e-9)).sum())
    p_value = (1 + as_large) / (1 + SHUFFLES)
    first = int(moments[best])
    gain_change, bias_change = _change(predicted, residual, first)
    return Drift(
        changed=p_value <= FALSE_ALARM,
        p_value=p_value,
        statistic=float(curve[best]),
        first=first + skipped,
        shots=shots,
        gain_change=gain_change,
        bias_change_m=bias_change,
        gain_trend_per_100=_trend(predicted, np.clip(standard, -TREND_CLIP, TREND_CLIP) * scale),
    )


def _kinds(grade: ArrayLike | None, shots: int) -> Ints:
    """Numbers 0, 1, ... for the grades of shots (n,)."""
    if grade is None:
        return np.zeros(shots, dtype=np.int64)
    grades = index(grade, name="grade", below=None)
    if len(grades) != shots:
        raise EngineError("grade needs one number for every result")
    return np.unique(grades, return_inverse=True)[1].ravel().astype(np.int64)


def _medians(values: Floats, kinds: Ints) -> Floats:
    """The median of each shot's own grade, (n, 2)."""
    found = np.empty_like(values)
    for kind in np.unique(kinds):
        found[kinds == kind] = np.median(values[kinds == kind], axis=0)
    return found


def _within(design: Floats, kinds: Ints) -> Floats:
    """(n, 2 axes, 2) as (n, 2 axes, 2 grades): each grade has columns of its own."""
    own = np.eye(int(kinds.max()) + 1)[kinds]
    return (own[:, None, :, None] * design[:, :, None, :]).reshape(len(design), 2, -1)


def _moments(shots: int) -> NDArray[np.int64]:
    edge = max(EDGE_SHOTS, int(np.ceil(EDGE_SHARE * shots)))
    spaced = np.linspace(edge, shots - edge, min(MOMENTS, shots - 2 * edge + 1))
    return np.unique(np.rint(spaced).astype(np.int64))


def _design(predicted: Floats, scale: Floats) -> Floats:
    """(n, 2 axes, 2): effect and 1, both over the spread there, the effect in its own size."""
    size = np.sqrt((predicted**2).mean(axis=0))
    effect = predicted / np.where(size > 0.0, size, 1.0)
    return np.stack([effect, np.ones_like(effect)], axis=-1) / scale[..., None]


def _scale(predicted: Floats, residual: Floats) -> Floats:
    """Robust standard deviation of each residual (n, 2), in metres, rising with the wind.

    A straight line in the size of the predicted effect, by median slope, held between half and
    twice the overall spread. Without it a windy week would look like a change.
    """
    size = np.sqrt((predicted**2).sum(axis=1))
    apart = np.abs(residual - np.median(residual, axis=0))
    scale = np.empty_like(residual)
    for axis in range(2):
        overall = float(np.median(apart[:, axis]))
        if overall == 0.0:
            scale[:, axis] = 1.0
            continue
        rise = theil_sen(apart[:, axis], size) if np.ptp(size) > 1e-6 else 0.0
        line = overall + max(rise, 0.0) * (size - np.median(size))
        scale[:, axis] = np.clip(line, overall / 2.0, overall * 2.0) / NORMAL_MAD
    return scale


def _score_weights(design: Floats, moments: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """By moment and axis: the share J_k J_n^-1 of the total score that is due, and V^-1.

    Where all shots had one wind, effect and bias cannot be told apart; the pseudo-inverse then
    tests what can be told.
    """
    squares = np.cumsum(design[..., :, None] * design[..., None, :], axis=0)
    whole = squares[-1]
    part = squares[moments - 1]
    due = part @ _pseudo_inverse(whole)
    variance = _summed(_summed(part - due @ part, -1), -2)
    return due, _pseudo_inverse(0.5 * (variance + np.swapaxes(variance, -1, -2)))


def _summed(values: Floats, place: int) -> Floats:
    """Effect and bias summed over the grades, along one of the last two places."""
    parts = [
        np.take(values, [start, start + 1], axis=place)
        for start in range(0, values.shape[place], 2)
    ]
    return np.sum(parts, axis=0)


def _pseudo_inverse(matrix: Floats) -> Floats:
    return np.linalg.pinv(matrix, rcond=1e-8, hermitian=True).astype(np.float64)


def _curve(
    score: Floats, design: Floats, moments: NDArray[np.int64], weight: tuple[Floats, Floats]
) -> Floats:
    """The statistic at every moment for each ordering of scores: (b, n, 2) to (b, moments)."""
    due, inverse = weight
    terms = score[..., None] * design
    starts = np.concatenate([[0], moments])
    total = np.cumsum(np.add.reduceat(terms, starts, axis=1), axis=1)
    tied = total[:, :-1] - np.einsum("kaij,baj->bkai", due, total[:, -1])
    spread = np.mean(score**2, axis=1)
    spread = np.where(spread > 0.0, spread, 1.0)
    tied = _summed(tied, -1)
    squared = np.einsum("bkai,kaij,bkaj->bka", tied, inverse, tied)
    return (squared / spread[:, None, :]).sum(axis=-1)


def _shuffled_peaks(
    score: Floats,
    design: Floats,
    moments: NDArray[np.int64],
    weight: tuple[Floats, Floats],
    kinds: Ints,
) -> Floats:
    """The largest statistic of each of ``SHUFFLES`` orders of the residuals, random in a grade."""
    random = np.random.default_rng(0)
    peaks: list[Floats] = []
    place = np.argsort(kinds, kind="stable")
    order = np.empty((SHUFFLES_AT_ONCE, len(score)), dtype=np.int64)
    for _ in range(SHUFFLES // SHUFFLES_AT_ONCE):
        order[:, place] = np.argsort(kinds + random.random(order.shape), axis=1)
        peaks.append(_curve(score[order], design, moments, weight).max(axis=1))
    return np.concatenate(peaks)


def _change(
    predicted: Floats, residual: Floats, first: int
) -> tuple[tuple[float, float], tuple[float, float]]:
    gains, biases = [0.0, 0.0], [0.0, 0.0]
    for axis in range(2):
        before = _line(predicted[:first, axis], residual[:first, axis])
        after = _line(predicted[first:, axis], residual[first:, axis])
        gains[axis], biases[axis] = after[0] - before[0], after[1] - before[1]
    return (gains[0], gains[1]), (biases[0], biases[1])


def _line(effect: Floats, residual: Floats) -> tuple[float, float]:
    """Robust (slope, level); slope 0 where the winds were too alike to show one."""
    if np.ptp(effect) < 1e-6:
        return 0.0, float(np.median(residual))
    try:
        fit = huber_fit(np.column_stack([effect, np.ones_like(effect)]), residual)
    except EngineError:
        return 0.0, float(np.median(residual))
    return float(fit.coefficients[0]), float(fit.coefficients[1])


def _trend(predicted: Floats, clipped_m: Floats) -> tuple[float, float]:
    """Median slope of the blocks' gains over shots, per hundred shots."""
    size = max(TREND_BLOCK, -(-len(predicted) // TREND_BLOCKS))
    blocks = len(predicted) // size
    latest = len(predicted) - blocks * size
    effect = predicted[latest:].reshape(blocks, size, 2)
    residual = clipped_m[latest:].reshape(blocks, size, 2)
    effect = effect - effect.mean(axis=1, keepdims=True)
    weight = (effect**2).sum(axis=1)
    slope = np.divide(
        (effect * residual).sum(axis=1), weight, out=np.zeros_like(weight), where=weight > 1e-6
    )
    at = np.arange(blocks) * size / 100.0
    return theil_sen(slope[:, 0], at), theil_sen(slope[:, 1], at)
