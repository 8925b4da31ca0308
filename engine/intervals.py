"""How sure one can be of a rate: intervals, quantiles and the tries a comparison needs.

The beta distribution is handled in log odds u = log(x / (1 - x)). There its density is smooth and
log-concave on the whole line whatever its parameters, so that one set of Gauss-Legendre panels
integrates a rate known from one try and a rate known from a million equally well.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shared.errors import EngineError

Floats = NDArray[np.float64]

CONFIDENCE = 0.95  # of every interval unless told otherwise, common practice
POWER = 0.8  # chance to see a difference that is there, common practice
LEAST_PARAMETER, MOST_PARAMETER = 0.1, 1e9  # of a beta distribution, the range that is tested
LEAST_CHANCE = 1e-12  # quantiles nearer to 0 or 1 are cut off by the panels' reach
NODES_PER_PANEL = 16
PANELS_PER_SIDE = 8
REACH = 45.0  # panels end where the density has fallen to exp(-45), 3e-20 of its peak
NEWTON_STEPS = 100  # bisection alone would need 50
DISC_NODES = 48  # of the disc sum while the disc is not large beside the spread
DISC_NODES_PER_RATIO = 20  # a Fourier term n falls as exp(-n^2 / (2 ratio^2)); half of 20 is 9 sd
MOST_DISC_RATIO = 300.0  # sqrt(radius offset) / spread; 6000 nodes, beyond it memory would go


def _panel_rule() -> tuple[Floats, Floats, Floats]:
    """Gauss-Legendre nodes and weights, and the matrix of integrals from -1 up to each node."""
    rule = np.polynomial.legendre.leggauss(NODES_PER_PANEL)
    nodes, weights = np.asarray(rule[0], np.float64), np.asarray(rule[1], np.float64)
    orders = np.arange(NODES_PER_PANEL)
    legendre = np.asarray(np.polynomial.legendre.legvander(nodes, NODES_PER_PANEL), np.float64)
    antiderivative = np.empty((NODES_PER_PANEL, NODES_PER_PANEL))
    antiderivative[:, 0] = nodes + 1.0
    antiderivative[:, 1:] = (legendre[:, 2:] - legendre[:, :-2]) / (2 * orders[1:] + 1)
    to_coefficients = (orders[:, None] + 0.5) * legendre[:, :-1].T * weights
    return nodes, weights, antiderivative @ to_coefficients


PANEL_NODES, PANEL_WEIGHTS, PANEL_PARTIALS = _panel_rule()


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
        raise EngineError("confidence must be between 0 and 1, such as 0.95")
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


def beta_shape(a: Floats, b: Floats, log_odds: Floats) -> Floats:
    """Density of a beta rate in log odds, relative to its peak, which is at log(a / b).

    exp(-w e - (a + b) log1p(w / (a + b) expm1(-e))), e the distance from the peak and w = a below
    it, b above: no difference of large numbers, no overflow. Arguments broadcast.
    """
    offset = log_odds - np.log(a / b)
    distance = np.abs(offset)
    side = np.where(offset < 0, a, b)
    whole = a + b
    return np.exp(-side * distance - whole * np.log1p(side / whole * np.expm1(-distance)))


def beta_breaks(a: Floats, b: Floats) -> Floats:
    """Ends of the panels that resolve beta_shape, in log odds; shape (..., 2 panels + 1).

    Distances grow as sd sqrt(2 D) + D / a below the peak (b above) with D = REACH (k / panels)^2:
    even steps over a normal peak, growing ones along an exponential tail.
    """
    step = np.arange(1, PANELS_PER_SIDE + 1) / PANELS_PER_SIDE
    sd = np.sqrt(1 / a + 1 / b)[..., None]
    normal = sd * math.sqrt(2 * REACH) * step
    below = normal + REACH * step**2 / a[..., None]
    above = normal + REACH * step**2 / b[..., None]
    return np.log(a / b)[..., None] + np.concatenate(
        [-below[..., ::-1], np.zeros_like(sd), above], axis=-1
    )


def panel_points(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Nodes and weights of the panels from ``start`` to ``end``; adds one axis at the end."""
    half = (end - start)[..., None] / 2
    return start[..., None] + half * (PANEL_NODES + 1), half * PANEL_WEIGHTS


def _lower_log_odds(chance: Floats, a: Floats, b: Floats) -> Floats:
    """Log odds u with P(U <= u) = chance, for flat arrays and chance at most a half.

    The panel that holds the root comes from the sums over whole panels; inside it Newton's steps,
    replaced by bisection whenever they would leave the bracket, so that they cannot diverge.
    """
    breaks = beta_breaks(a, b)
    points, weights = panel_points(breaks[:, :-1], breaks[:, 1:])
    areas = np.sum(weights * beta_shape(a[:, None, None], b[:, None, None], points), axis=-1)
    below = np.concatenate([np.zeros((len(a), 1)), np.cumsum(areas, axis=-1)], axis=-1)
    target = chance * below[:, -1]
    row = np.arange(len(a))
    panel = np.clip(np.sum(below <= target[:, None], axis=-1) - 1, 0, areas.shape[1] - 1)
    start, missing = breaks[row, panel], target - below[row, panel]
    low, high = start.copy(), breaks[row, panel + 1]
    width = high - low
    guess = low + width * np.clip(missing / areas[row, panel], 0, 1)
    for _ in range(NEWTON_STEPS):
        points, weights = panel_points(start, guess)
        inside = np.sum(weights * beta_shape(a[:, None], b[:, None], points), axis=-1)
        low = np.where(inside < missing, guess, low)
        high = np.where(inside < missing, high, guess)
        slope = np.maximum(beta_shape(a, b, guess), np.finfo(np.float64).tiny)
        newton = guess + (missing - inside) / slope
        better = np.where((newton > low) & (newton < high), newton, (low + high) / 2)
        done = np.abs(better - guess) <= 1e-14 * width
        guess = better
        if np.all(done | (high - low <= 1e-14 * width)):
            break
    return guess


def beta_quantile(chance: ArrayLike, a: ArrayLike, b: ArrayLike) -> Floats:
    """Rate below which a Beta(a, b) rate lies with this chance; arguments broadcast.

    The inverse of the regularised incomplete beta function for parameters from 0.1 to 1e9; within
    1e-10 (relative) of scipy's for chances down to 1e-9. Chances 0 and 1 give 0 and 1.
    Raises EngineError for parameters out of range, or chances nearer to 0 or 1 than 1e-12.
    """
    first, second = beta_parameters(a, b)
    level = numbers(chance, "a chance", least=0, most=1)
    try:
        level, first, second = np.broadcast_arrays(level, first, second)
    except ValueError as error:
        raise EngineError(f"chances {level.shape} and a {first.shape} must pair up") from error
    edge = np.minimum(level, 1 - level)
    if np.any((edge > 0) & (edge < LEAST_CHANCE)):
        raise EngineError(f"a chance must be 0, 1 or at least {LEAST_CHANCE:g} from both")
    upper = level > 0.5
    tail = np.where(edge > 0, edge, 0.5).ravel()
    one, other = np.where(upper, second, first), np.where(upper, first, second)
    odds = _lower_log_odds(tail, one.ravel(), other.ravel()).reshape(level.shape)
    rate = np.exp(-np.logaddexp(0.0, np.where(upper, odds, -odds)))
    return np.where(edge > 0, rate, level)


def beta_interval(a: ArrayLike, b: ArrayLike, *, confidence: float = CONFIDENCE) -> Intervals:
    """Interval with equal tails of Beta(a, b) rates, around their means. Errors: beta_quantile."""
    first, second = beta_parameters(a, b)
    two_sided_z(confidence)
    tail = (1 - confidence) / 2
    return Intervals(
        beta_quantile(tail, first, second),
        beta_quantile(1 - tail, first, second),
        first / (first + second),
        confidence,
    )


def effect_size(rate_a: ArrayLike, rate_b: ArrayLike) -> Floats:
    """Cohen's h, 2 asin sqrt(b) - 2 asin sqrt(a): the difference on a scale of even noise."""
    one = numbers(rate_a, "a rate", least=0, most=1)
    other = numbers(rate_b, "a rate", least=0, most=1)
    return np.asarray(2 * np.arcsin(np.sqrt(other)) - 2 * np.arcsin(np.sqrt(one)), np.float64)


def _separation(power: float, confidence: float) -> float:
    """Standard errors between two means for a two-sided test to have this power.

    Root of Phi(s - z) + Phi(-s - z) = power, which grows with s; bisected to the last bit.
    """
    normal, z = NormalDist(), two_sided_z(confidence)
    wanted = float(numbers(power, "power"))
    if not 1 - confidence < wanted < 1:
        raise EngineError(
            f"power must be between {1 - confidence:g} (the chance of a false alarm) and 1"
        )
    low, high = 0.0, z + normal.inv_cdf(wanted) + 1.0
    while low < (middle := (low + high) / 2) < high:
        seen = normal.cdf(middle - z) + normal.cdf(-middle - z)
        low, high = (middle, high) if seen < wanted else (low, middle)
    return (low + high) / 2


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


def disc_hit_probability(
    *, offset_m: ArrayLike, radius_m: ArrayLike, spread_m: ArrayLike
) -> Floats:
    """Chance that a shot lands in a disc whose centre is ``offset_m`` from the mean shot.

    ``spread_m`` is the standard deviation along each axis. By Green's theorem the double integral
    is one around the rim: mean over angle t of (R^2 - R d cos t) / (2 s^2) * (1 - exp(-q)) / q,
    q = (R^2 + d^2 - 2 R d cos t) / (2 s^2); periodic and entire, so even steps converge faster
    than any power. Within 1e-12 of scipy's ncx2. Arguments broadcast.
    Raises EngineError for a radius or spread that is not positive, a negative offset, or a spread
    under a 300th of sqrt(radius offset).
    """
    offset = numbers(offset_m, "the offset", least=0)
    radius = numbers(radius_m, "the radius", least=0)
    spread = numbers(spread_m, "the spread", least=0)
    if np.any(radius == 0) or np.any(spread == 0):
        raise EngineError("the radius and the spread must be more than zero")
    try:
        d, r = (np.asarray(part / spread)[..., None] for part in (offset, radius))
        ratio = float(np.max(np.sqrt(d * r)))
    except ValueError as error:
        raise EngineError("offset, radius and spread must pair up") from error
    if ratio > MOST_DISC_RATIO:
        raise EngineError("the spread is too small beside the offset and the radius")
    steps = DISC_NODES + math.ceil(DISC_NODES_PER_RATIO * ratio)
    cosine = np.cos(2 * np.pi * (np.arange(steps) + 0.5) / steps)
    exponent = ((r - d) ** 2 + 2 * r * d * (1 - cosine)) / 2
    safe = np.where(exponent > 0, exponent, 1.0)
    share = np.where(exponent > 0, -np.expm1(-safe) / safe, 1.0)
    chance = np.mean((r * r - r * d * cosine) / 2 * share, axis=-1)
    return np.clip(chance, 0.0, 1.0)
