"""Measuring a club on purpose: which shot to hit next, what is known after it, and the charts.

A series is hit into, helping and across, in winds the game offers, at a few shares of full carry.
On each axis the unknowns are the weights of the learned response and, for each direction and
share, how far the effect there departs from it, straight lines between shares. All normal, closed
form. The charts are what that says of a wind in each direction, without offset and height.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from engine.batch import Batch
from engine.chart import Direction
from engine.response import HALF_WIDTH_90, Posterior
from engine.response_features import ACROSS, ALONG, Features
from engine.response_sums import effects
from engine.response_tree import Ints, inverse
from engine.robust import CLEAN_COST, Floats, finite, student_weight
from shared.errors import EngineError

SHARE_SD: Final = 0.1
"""How far the effect at one share may depart from the response (standard deviation, in parts of
the linear wind): as far as clubs of a family may lie from one another."""

NOISE_SHOTS: Final = 6.0
"""How many shots' worth the spread of hits known before the series counts."""

STILL: Final = frozenset(("height", "offset", "share"))
"""Features that are not the wind's: a chart has none of them."""

FIT_PASSES: Final = 50
FIT_SETTLED: Final = 1e-6
MAX_SHARES: Final = 12
MAX_SERIES: Final = 60


@dataclass(frozen=True)
class Setups(Batch):
    """Shots of a series, hit or offered: ``share`` (n,) and their features."""

    share: Floats
    features: Features

    def __len__(self) -> int:
        return len(self.share)


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What is known of a club at ``shares`` (K,), rising.

    By axis, along and across, means (U,) and covariances (U, U) of the unknowns: the response's
    weights, then the departures at each share (along: into, then helping). ``noise_m`` (2,) is the
    Student-t scale of hits. Raises EngineError on shares and spreads.
    """

    shares: Floats
    mean: tuple[Floats, Floats]
    cov: tuple[Floats, Floats]
    noise_m: Floats

    def __post_init__(self) -> None:
        shares = finite(self.shares, name="shares", shape=(None,))
        size = len(shares)
        if not 1 <= size <= MAX_SHARES or shares.min() <= 0.0 or (np.diff(shares) <= 0.0).any():
            raise EngineError(f"shares must be 1 to {MAX_SHARES} rising numbers above 0")
        if finite(self.noise_m, name="noise_m", shape=(2,)).min() <= 0.0:
            raise EngineError("the spread of hits must be above 0")


@dataclass(frozen=True, slots=True)
class Measured:
    """A series so far: ``knowledge`` after it and the weight (n,) each shot got; 0: set aside."""

    knowledge: Knowledge
    weight: Floats


@dataclass(frozen=True, slots=True)
class NextShots:
    """``ranked`` (m,) candidates from most to least telling as the next shot, ``worth`` (m,) by how
    much each is expected to lessen the variance of the answers, in m^2, by candidate; ``series``
    (count,) the shots to hit in turn, ``margin_after_m`` (count,) the margin expected after each,
    ``margin_now_m`` the present. A margin is as in ``margin_m``."""

    ranked: Ints
    worth: Floats
    series: Ints
    margin_now_m: float
    margin_after_m: Floats


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A point of a measured chart, with half the width of its 90% interval."""

    direction: Direction
    share: float
    marks_per_mph: float
    half_marks_per_mph: float


def begin(posterior: Posterior, *, grade: int, shares: ArrayLike) -> Knowledge:
    """What is known before the series: the grade's response, within ``SHARE_SD`` at every share."""
    if not 0 <= grade < len(posterior.noise_m):
        raise EngineError(f"there is no grade {grade} in this posterior")
    at = finite(shares, name="shares", shape=(None,))
    means: list[Floats] = []
    covs: list[Floats] = []
    for belief, directions in ((posterior.along, 2), (posterior.across, 1)):
        known, more = len(belief.mean[grade]), directions * len(at)
        cov = np.zeros((known + more, known + more))
        cov[:known, :known] = belief.cov[grade]
        cov[known:, known:] = SHARE_SD**2 * np.eye(more)
        means.append(np.concatenate((belief.mean[grade], np.zeros(more))))
        covs.append(cov)
    return Knowledge(at, (means[0], means[1]), (covs[0], covs[1]), posterior.noise_m[grade])


def offered(*, shares: ArrayLike, speeds_mps: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """The shots a game offers: (share, speed m/s, from degrees), each (3 K,), by ``Direction`` and
    then share. ``speeds_mps`` (3,) is how strong it blows into, helping and across; a wind across
    comes from the right."""
    at = finite(shares, name="shares", shape=(None,))
    speeds = finite(speeds_mps, name="speeds_mps", shape=(3,))
    if speeds.min() <= 0.0:
        raise EngineError("a series is measured in wind: every speed must be above 0")
    return (
        np.tile(at, 3),
        np.repeat(speeds, len(at)),
        np.repeat(np.array([0.0, 180.0, 90.0]), len(at)),
    )


def measure(before: Knowledge, shots: Setups, observed_m: ArrayLike) -> Measured:
    """Knowledge after ``shots`` that landed ``observed_m`` (n, 2) from where still air puts them.

    ``before`` is the knowledge at the start of the series and ``shots`` all of it, in any order,
    so a series can be left and taken up again. Student-t weights and the spread of hits, which
    starts as ``NOISE_SHOTS`` shots' worth of what was known, are renewed until they settle.
    """
    observed = effects(observed_m, name="observed_m", shots=len(shots))
    rows = _rows(before, shots)
    weight = np.ones(len(shots))
    noise2 = before.noise_m**2
    for _ in range(FIT_PASSES):
        known = _updated(before, rows, observed, weight, noise2)
        said = np.column_stack([row @ mean for row, mean in zip(rows, known.mean, strict=True)])
        miss2 = (observed - said) ** 2
        renewed = student_weight((miss2 / noise2).sum(axis=1))
        step = float(np.abs(renewed - weight).max(initial=0.0))
        weight = renewed
        total = (weight[:, None] * (miss2 + _variances(rows, known.cov).T)).sum(axis=0)
        used = float(np.count_nonzero(weight))
        noise2 = (NOISE_SHOTS * before.noise_m**2 + total) / (NOISE_SHOTS + used)
        if step <= FIT_SETTLED:
            break
    return Measured(_updated(before, rows, observed, weight, noise2), weight)


def next_shots(knowledge: Knowledge, candidates: Setups, *, count: int = 1) -> NextShots:
    """The candidates whose result is expected to narrow the margins most, one after another.

    A shot with design row x lessens the variance of the answer at t by
    (t' C x)^2 / (x' C x + noise^2); its worth is the mean over all candidates, both axes together.
    The same candidate may come again. Raises EngineError without candidates or for a ``count``
    outside 1..60.
    """
    if len(candidates) == 0 or not 1 <= count <= MAX_SERIES:
        raise EngineError(f"a series needs candidates and 1 to {MAX_SERIES} shots")
    rows, noise2 = _rows(knowledge, candidates), knowledge.noise_m**2 * CLEAN_COST
    covs = [cov.copy() for cov in knowledge.cov]
    first = _worth(rows, covs, noise2)
    series, margins = np.empty(count, dtype=np.int64), np.empty(count)
    for turn in range(count):
        best = int(np.argmax(_worth(rows, covs, noise2)))
        for axis, (row, noise) in enumerate(zip(rows, noise2, strict=True)):
            along = covs[axis] @ row[best]
            covs[axis] = covs[axis] - np.outer(along, along) / (noise + along @ row[best])
        series[turn], margins[turn] = best, _margin(rows, covs)
    ranked = np.argsort(-first, kind="stable").astype(np.int64)
    return NextShots(ranked, first, series, _margin(rows, knowledge.cov), margins)


def margin_m(knowledge: Knowledge, setups: Setups) -> float:
    """Half the width of the 90% interval of the allowance, both axes together, root mean square
    over ``setups``, in metres."""
    if len(setups) == 0:
        raise EngineError("a margin needs at least one shot")
    return _margin(_rows(knowledge, setups), knowledge.cov)


def chart_points(
    knowledge: Knowledge, references: Setups, *, wind_mph: ArrayLike, mark_m: ArrayLike
) -> tuple[ChartPoint, ...]:
    """The measured charts, one for each direction, at ``references`` (3 K,) as ``offered``.

    ``wind_mph`` and ``mark_m`` (3 K,) are the speed and the metres of a mark there. Raises
    EngineError on shapes, and where a series does not show that a wind moves the ball into or
    across.
    """
    count = 3 * len(knowledge.shares)
    mph = finite(wind_mph, name="wind_mph", shape=(count,))
    mark = finite(mark_m, name="mark_m", shape=(count,))
    if len(references) != count:
        raise EngineError("the charts need every share in every direction")
    along, across = _rows(knowledge, references, still=False)
    points: list[ChartPoint] = []
    for i in range(count):
        direction = Direction(i // len(knowledge.shares))
        axis = int(direction == Direction.ACROSS)
        row = (along, across)[axis][i]
        upwind = -np.sign(references.features.wind_m[i, axis]) / (mph[i] * mark[i])
        value = float(upwind * (row @ knowledge.mean[axis]))
        if value <= 0.0 and direction != Direction.HELPING:
            raise EngineError("the series does not show that the wind moves the ball: hit more")
        error = float(abs(upwind) * np.sqrt(row @ knowledge.cov[axis] @ row))
        share = float(references.share[i])
        points.append(ChartPoint(direction, share, value, HALF_WIDTH_90 * error))
    return tuple(points)


def _rows(knowledge: Knowledge, setups: Setups, *, still: bool = True) -> tuple[Floats, Floats]:
    """Design rows of each axis, (n, U); without the features ``STILL`` where not ``still``."""
    shares, wind = knowledge.shares, setups.features.wind_m
    corners = np.eye(len(shares))
    parts = np.column_stack([np.interp(setups.share, shares, corner) for corner in corners])
    into, helping = np.maximum(wind[:, :1], 0.0), np.minimum(wind[:, :1], 0.0)
    along = np.concatenate((setups.features.along, into * parts, helping * parts), axis=1)
    across = np.concatenate((setups.features.across, wind[:, 1:] * parts), axis=1)
    if not still:
        for row, names in ((along, ALONG), (across, ACROSS)):
            row[:, [i for i, name in enumerate(names) if name in STILL]] = 0.0
    return along, across


def _updated(
    before: Knowledge,
    rows: tuple[Floats, Floats],
    observed: Floats,
    weight: Floats,
    noise2: Floats,
) -> Knowledge:
    """The normal posterior of both axes under given weights and noise."""
    means: list[Floats] = []
    covs: list[Floats] = []
    for axis, row in enumerate(rows):
        prior = inverse(before.cov[axis])
        weighted = row * weight[:, None] / (noise2[axis] * CLEAN_COST)
        cov = inverse(prior + row.T @ weighted)
        means.append(cov @ (prior @ before.mean[axis] + weighted.T @ observed[:, axis]))
        covs.append(cov)
    return Knowledge(before.shares, (means[0], means[1]), (covs[0], covs[1]), np.sqrt(noise2))


def _variances(rows: tuple[Floats, Floats], covs: tuple[Floats, Floats] | list[Floats]) -> Floats:
    """Variance of the answer by axis and shot, (2, n)."""
    pairs = zip(rows, covs, strict=True)
    return np.stack([np.einsum("np,pq,nq->n", row, cov, row) for row, cov in pairs])


def _worth(rows: tuple[Floats, Floats], covs: list[Floats], noise2: Floats) -> Floats:
    worth = np.zeros(len(rows[0]))
    for row, cov, noise in zip(rows, covs, noise2, strict=True):
        shared = row @ cov @ row.T
        worth += (shared**2).mean(axis=0) / (np.diagonal(shared) + noise)
    return worth


def _margin(rows: tuple[Floats, Floats], covs: tuple[Floats, Floats] | list[Floats]) -> float:
    return float(HALF_WIDTH_90 * np.sqrt(_variances(rows, covs).sum(axis=0).mean()))
