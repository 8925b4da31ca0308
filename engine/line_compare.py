"""What lines come to beside each other, and how sure that is: no difference from noise.

Lines played at the same points (``engine.line_chance.lines_chances``) differ by D, the mean of
their outcomes' difference at each point. Its variance is the sampling's, from the scrambles, plus
that of what nobody knows yet, by first- and second-order propagation (JCGM 100:2008, 5.1): how
wide hits spread, how the response is off, what the ground is like. No line is played anew for it:
the derivative of a mean by a parameter of what is drawn is a mean with its score (Glynn,
Commun. ACM 33(10):75, 1990, M), so that with z the point's coordinate

    shift by one standard deviation   E[D z],  second order  E[D (z^2 - 1)] / sqrt 2
    logarithm of a spread             E[D (z_long^2 + z_right^2 - 2)] times its standard deviation

Lines that share a club share what is not known of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.holing import Draws
from shared.errors import EngineError

Array = NDArray[np.float64]

CLEAR = 1.645  # standard deviations: right nineteen times in twenty, one-sided
SLOWING, FIRMNESS = 2, 3  # common coordinates of the ground
LONG, RIGHT, RESPONSE_LONG, RESPONSE_RIGHT = 0, 1, 3, 4  # of a shot


@dataclass(frozen=True)
class LegDoubt:
    """What is not known of a leg's hits: one standard deviation of the logarithm of their spread,
    in ``common`` with all clubs and its ``own``. Legs of the same ``club`` share it."""

    club: tuple[str, ...]
    common: float
    own: float


@dataclass(frozen=True)
class Outcomes:
    """What became of a line at each point, (points,): 1 where it did, 0 where it did not; and what
    is not known of its legs, the last leg last."""

    values: Array
    legs: tuple[LegDoubt, ...]


@dataclass(frozen=True)
class Estimate:
    """A mean or a difference of means, the sampling's standard error, and the standard deviation
    of what is not known."""

    value: float
    sampling_se: float
    model_sd: float

    @property
    def sd(self) -> float:
        """Both together."""
        return float(np.hypot(self.sampling_se, self.model_sd))

    @property
    def clear(self) -> bool:
        """Whether its sign is beyond doubt."""
        return abs(self.value) > CLEAR * self.sd

    @property
    def half_width(self) -> float:
        """Half of the 90% interval."""
        return CLEAR * self.sd


def estimate(outcomes: Outcomes, draws: Draws) -> Estimate:
    """How often it is, with what is not known. Errors: EngineError for other points."""
    return _propagated([(1.0, outcomes)], draws)


def difference(first: Outcomes, second: Outcomes, draws: Draws) -> Estimate:
    """How much oftener the first is than the second. Errors: EngineError for other points."""
    return _propagated([(1.0, first), (-1.0, second)], draws)


def in_order(lines: Sequence[Outcomes], draws: Draws) -> list[list[int]]:
    """Lines by how often they are, the first group first; a group's are not clearly fewer than its
    first."""
    often = np.array([line.values.mean() for line in lines])
    groups: list[list[int]] = []
    order: list[int] = np.argsort(-often, kind="stable").tolist()
    for number in order:
        first = groups[-1][0] if groups else None
        if first is not None and not difference(lines[first], lines[number], draws).clear:
            groups[-1].append(number)
        else:
            groups.append([number])
    return groups


def _propagated(terms: Sequence[tuple[float, Outcomes]], draws: Draws) -> Estimate:
    if any(line.values.shape != (len(draws),) for _, line in terms):
        raise EngineError("compare lines at the points they were played at")
    total = np.sum([sign * line.values for sign, line in terms], axis=0)
    variance = sum(_shifted(total, draws.common[row]) for row in (SLOWING, FIRMNESS))
    common, own = 0.0, dict[tuple[str, ...], float]()
    response = dict[tuple[tuple[str, ...], int], Array]()
    for sign, line in terms:
        for leg, shot in zip(reversed(line.legs), draws.shots[::-1], strict=False):
            apart = line.values - line.values.mean()  # else the score's own sampling error counts
            score = float((apart * (shot[LONG] ** 2 + shot[RIGHT] ** 2 - 2)).mean())
            common += sign * score * leg.common
            own[leg.club] = own.get(leg.club, 0.0) + sign * score * leg.own
            for row in (RESPONSE_LONG, RESPONSE_RIGHT):
                before = response.get((leg.club, row), np.zeros(2))
                response[leg.club, row] = before + sign * _moments(line.values, shot[row])
    variance += common**2 + sum(value**2 for value in own.values())
    variance += sum(float(np.square(value).sum()) for value in response.values())
    return Estimate(
        float(total.mean()), float(draws.standard_error(total)), float(np.sqrt(variance))
    )


def _shifted(values: Array, normal: Array) -> float:
    return float(np.square(_moments(values, normal)).sum())


def _moments(values: Array, normal: Array) -> Array:
    """First- and second-order effect (2,) of one standard deviation of a coordinate."""
    apart = values - values.mean()
    second = (apart * (normal**2 - 1)).mean() / np.sqrt(2.0)
    return np.array([(apart * normal).mean(), second], dtype=np.float64)
