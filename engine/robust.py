"""Estimates that a few bad shots cannot move: Student-t weights, Huber regression, median slope.

Units are the caller's. Nothing here knows golf.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shared.errors import EngineError

Floats = NDArray[np.float64]

TAIL_DF: Final = 4.0
"""Degrees of freedom of the Student-t weights (no unit): the customary robust choice (common
practice). A clean result counts up to 1.5, one five standard deviations out about a fifth."""

SET_ASIDE_D2: Final = 25.0
"""Squared standardised miss beyond which a result counts nothing at all (5 standard deviations:
a normal spread in two directions reaches it 4 times in a million). Without it, mishits that all
fall short pull the bias by 13% of the spread; with it by 2% (computed for one in ten)."""

CLEAN_W2: Final = 1.09
"""Mean squared weight of clean normal results in two directions (their mean weight is 1; tested by
quadrature)."""

CLEAN_SCALE: Final = 0.853
"""Student-t scale of clean normal results over their standard deviation (tested likewise)."""

HUBER_K: Final = 1.345
"""Huber's corner in standard deviations: 95% efficient on clean normal errors (Huber 1981)."""

NORMAL_MAD: Final = 0.6744897501960817
"""Median absolute deviation of a standard normal (its .75 quantile)."""

HUBER_PASSES: Final = 500
HUBER_TOLERANCE: Final = 1e-10
MAX_SLOPE_POINTS: Final = 2000
"""Points beyond which ``theil_sen`` would hold over two million pairs."""


def finite(values: ArrayLike, *, name: str, shape: tuple[int | None, ...]) -> Floats:
    """An array of floats with the wanted shape (None: any length) and nothing that is not a number.

    Raises EngineError naming ``name`` otherwise.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise EngineError(f"{name} must be numbers") from None
    if array.ndim != len(shape) or any(
        want is not None and want != have for want, have in zip(shape, array.shape, strict=True)
    ):
        wanted = ", ".join("n" if size is None else str(size) for size in shape)
        raise EngineError(f"{name} must have the shape ({wanted}), not {array.shape}")
    if not np.isfinite(array).all():
        raise EngineError(f"{name} holds a value that is not a finite number")
    return array


def student_weight(
    distance2: Floats, *, directions: int = 2, beyond: float = SET_ASIDE_D2
) -> Floats:
    """How much a result counts, from its squared standardised distance.

    w = (df + p) / (df + d2) for p directions, the weight of the multivariate t; 0 where d2
    is ``beyond``. On a clean t sample its mean is 1. Any shape in, the same out.
    """
    weight = (TAIL_DF + directions) / (TAIL_DF + distance2)
    return np.where(distance2 > beyond, 0.0, weight)


def student_cost(weight_sum: Floats, weight2_sum: Floats) -> Floats:
    """How many times the Student-t scale squared one unit of weight really costs.

    Weighted regression taken at its word is too sure of itself. With psi = w r the variance of
    such an estimate per shot is E[psi^2] / E[psi']^2 (Huber 1981, chapter 6); both follow from
    the sums of w and w^2 in two directions, because a t weight gives its own distance away:
    w d2 = (df + 2) - df w.
    """
    psi2 = ((TAIL_DF + 2.0) * weight_sum - TAIL_DF * weight2_sum) / 2.0
    slope = weight_sum - 2.0 * psi2 / (TAIL_DF + 2.0)
    return psi2 * weight_sum / slope**2


CLEAN_COST: Final = float(student_cost(np.array(1.0), np.array(CLEAN_W2)))
"""That cost on clean normal results: 1.55."""


@dataclass(frozen=True, slots=True)
class HuberFit:
    """A Huber regression: ``coefficients`` (p,), ``scale`` of errors, ``weight`` (n,) in 0..1."""

    coefficients: Floats
    scale: float
    weight: Floats


def huber_fit(design: ArrayLike, target: ArrayLike, *, corner: float = HUBER_K) -> HuberFit:
    """Linear regression in which errors beyond ``corner`` standard deviations pull less.

    ``design`` (n, p) with its own column of ones where a constant is wanted, ``target`` (n,).
    Iterated weighted least squares; the scale is the median absolute residual over .6745, again
    at every pass (Huber, Robust Statistics, 1981, section 7.8).

    Raises EngineError on shapes, values that are not finite, fewer rows than columns, columns
    that depend on one another, or when the passes do not settle.
    """
    x = finite(design, name="design", shape=(None, None))
    y = finite(target, name="target", shape=(x.shape[0],))
    if x.shape[1] == 0 or x.shape[0] < x.shape[1] or np.linalg.matrix_rank(x) < x.shape[1]:
        raise EngineError("the shots do not determine every coefficient")
    coefficients = _least_squares(x, y, np.ones(len(y)))
    for _ in range(HUBER_PASSES):
        residual = np.abs(y - x @ coefficients)
        scale = float(np.median(residual)) / NORMAL_MAD
        floor = 1e-12 * (1.0 + float(np.abs(y).max()))
        weight = corner * scale / np.maximum(residual, max(corner * scale, floor))
        if scale <= floor:
            # Half the points or more lie exactly on the line: they decide.
            weight = np.where(residual <= floor, 1.0, 0.0)
            return HuberFit(_least_squares(x, y, weight), 0.0, weight)
        moved = _least_squares(x, y, weight)
        step = float(np.abs(x @ (moved - coefficients)).max())
        coefficients = moved
        if step <= HUBER_TOLERANCE * scale:
            return HuberFit(coefficients, scale, weight)
    raise EngineError("the robust fit did not settle")


def _least_squares(x: Floats, y: Floats, weight: Floats) -> Floats:
    root = np.sqrt(weight)
    return np.linalg.lstsq(x * root[:, None], y * root, rcond=None)[0].astype(np.float64)


def theil_sen(values: ArrayLike, at: ArrayLike | None = None) -> float:
    """Median of the slopes through every pair of points; three in ten may be wild (29%).

    ``values`` (n,), ``at`` (n,) their places, by default 0, 1, 2, ...; pairs at one place are
    left out. The unit is that of values per place. Source: Sen, J. Am. Stat. Assoc. 63:1379,
    1968. Long series are thinned to medians of equal blocks so that memory stays bounded.

    Raises EngineError on shapes, values that are not finite, or no two different places.
    """
    y = finite(values, name="values", shape=(None,))
    x = np.arange(len(y), dtype=np.float64) if at is None else finite(at, name="at", shape=y.shape)
    if len(y) > MAX_SLOPE_POINTS:
        order = np.argsort(x, kind="stable")
        x, y = _block_medians(x[order]), _block_medians(y[order])
    first, second = np.triu_indices(len(y), k=1)
    apart = x[second] - x[first]
    usable = apart != 0.0
    if not usable.any():
        raise EngineError("a slope needs two points at different places")
    return float(np.median((y[second] - y[first])[usable] / apart[usable]))


def _block_medians(values: Floats) -> Floats:
    """Medians of neighbouring blocks of equal size, at most ``MAX_SLOPE_POINTS`` of them."""
    size = -(-len(values) // MAX_SLOPE_POINTS)
    whole = len(values) // size * size
    return np.median(values[:whole].reshape(-1, size), axis=1)
