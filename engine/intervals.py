"""How sure one can be of a rate: intervals and the tries a comparison needs.

scipy is imported where it is used, so that nobody who asks for no interval waits for it.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shared.errors import EngineError

Floats = NDArray[np.float64]

CONFIDENCE = 0.9  # of every interval a person reads, and of every test unless told otherwise
POWER = 0.8  # chance to see a difference that is there, common practice
LEAST_PARAMETER, MOST_PARAMETER = 0.1, 1e9  # of a beta distribution, the range that is tested


@dataclass(frozen=True)
class Intervals:
    """Intervals for rates: ``low``, ``high`` and a ``centre`` that is defined with no try too.

    Shapes: those of the counts. ``centre`` is the Wilson midpoint or the posterior mean.
    """

    low: Floats
    high: Floats
    centre: Floats
    confidence: float


def numbers(
    values: ArrayLike, what: str, *, least: float = -math.inf, most: float = math.inf
) -> Floats:
    """The values as floats, or an error that names them.

    Raises EngineError when there are none, or one is no number, not finite or out of range.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise EngineError(f"{what} must be numbers") from error
    if array.size == 0:
        raise EngineError(f"{what} must hold at least one number")
    if not np.all(np.isfinite(array)):
        raise EngineError(f"{what} must be finite numbers")
    if np.any(array < least) or np.any(array > most):
        worst = float(array.min() if np.any(array < least) else array.max())
        allowed = f"from {least:g} to {most:g}" if math.isfinite(most) else f"at least {least:g}"
        raise EngineError(f"{what} must be {allowed}, not {worst:g}")
    return array


def counts(holed: ArrayLike, tries: ArrayLike) -> tuple[Floats, Floats]:
    """Holed and tries (weighted ones need not be whole), broadcast against each other.

    Raises EngineError when negative, not finite, empty, or more holed than tried.
    """
    made = numbers(holed, "holed", least=0)
    tried = numbers(tries, "tries", least=0)
    try:
        made, tried = np.broadcast_arrays(made, tried)
    except ValueError as error:
        raise EngineError(
            f"holed {made.shape} and tries {tried.shape} must pair up one to one"
        ) from error
    if np.any(made > tried):
        raise EngineError("no more can be holed than were tried")
    return made, tried


def two_sided_z(confidence: float = CONFIDENCE) -> float:
    """Standard normal quantile with ``confidence`` between minus and plus itself.

    Raises EngineError unless 0 < confidence < 1.
    """
    level = float(numbers(confidence, "confidence"))
    if not 0 < level < 1:
        raise EngineError("confidence must be between 0 and 1, such as 0.9")
    return NormalDist().inv_cdf(0.5 + level / 2)


def wilson_interval(
    holed: ArrayLike, tries: ArrayLike, *, confidence: float = CONFIDENCE
) -> Intervals:
    """Wilson's score interval, which stays inside 0 to 1 and is sensible with few tries.

    (x + z^2/2 +- z sqrt(x (n - x) / n + z^2/4)) / (n + z^2); with no try it is 0 to 1.
    Source: Wilson 1927; method 3 of Newcombe 1998, Statist. Med. 17:857. Errors: see counts.
    """
    made, tried = counts(holed, tries)
    z = two_sided_z(confidence)
    missed_share = (tried - made) / np.where(tried > 0, tried, 1.0)
    half = z * np.sqrt(made * missed_share + z * z / 4)
    middle, whole = made + z * z / 2, tried + z * z
    low = np.where(made == 0, 0.0, np.maximum((middle - half) / whole, 0.0))
    high = np.where(made == tried, 1.0, np.minimum((middle + half) / whole, 1.0))
    return Intervals(low, high, middle / whole, confidence)


def beta_parameters(a: ArrayLike, b: ArrayLike) -> tuple[Floats, Floats]:
    """Two parameter arrays of beta distributions, checked and broadcast against each other."""
    first = numbers(a, "a of a beta distribution", least=LEAST_PARAMETER, most=MOST_PARAMETER)
    second = numbers(b, "b of a beta distribution", least=LEAST_PARAMETER, most=MOST_PARAMETER)
    try:
        first, second = np.broadcast_arrays(first, second)
    except ValueError as error:
        raise EngineError(f"a {first.shape} and b {second.shape} must pair up") from error
    return first, second


def effect_size(rate_a: ArrayLike, rate_b: ArrayLike) -> Floats:
    """Cohen's h, 2 asin sqrt(b) - 2 asin sqrt(a): the difference on a scale of even noise."""
    one = numbers(rate_a, "a rate", least=0, most=1)
    other = numbers(rate_b, "a rate", least=0, most=1)
    return np.asarray(2 * np.arcsin(np.sqrt(other)) - 2 * np.arcsin(np.sqrt(one)), np.float64)


def _separation(power: float, confidence: float) -> float:
    """Standard errors between two means for a two-sided test to have this power.

    Root of Phi(s - z) + Phi(-s - z) = power, which grows with s.
    """
    from scipy.optimize import brentq  # pyright: ignore

    normal, z = NormalDist(), two_sided_z(confidence)
    wanted = float(numbers(power, "power"))
    if not 1 - confidence < wanted < 1:
        raise EngineError(
            f"power must be between {1 - confidence:g} (the chance of a false alarm) and 1"
        )

    def lacking(separation: float) -> float:
        return normal.cdf(separation - z) + normal.cdf(-separation - z) - wanted

    most = z + normal.inv_cdf(wanted) + 1.0
    return float(brentq(lacking, 0.0, most, xtol=1e-12))  # pyright: ignore


def tries_to_tell_apart(
    rate_a: ArrayLike, rate_b: ArrayLike, *, power: float = POWER, confidence: float = CONFIDENCE
) -> Floats:
    """Tries each of two variants needs before a two-sided test tells their rates apart.

    n = 2 (s / h)^2, h Cohen's effect size, s from the normal approximation (Cohen 1988, chapter
    6; statsmodels NormalIndPower). Not rounded. Arguments broadcast.
    Raises EngineError for rates outside 0 to 1, or equal ones, which nothing tells apart.
    """
    try:
        effect = effect_size(rate_a, rate_b)
    except ValueError as error:
        raise EngineError("the two sets of rates must pair up") from error
    if np.any(np.abs(effect) < 1e-6):
        raise EngineError("equal rates cannot be told apart by any number of tries")
    return np.asarray(2 * (_separation(power, confidence) / effect) ** 2, np.float64)
