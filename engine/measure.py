"""Measuring a club on purpose: which shot to hit next, what is known after it, and the chart.

In a short series the gain may differ from share to share. On each axis (long, right) the unknowns
are a gain at every share of the chart, straight lines between them, and one bias: K gains and a
bias for K shares. A shot informs the gains on either side of its share. All normal, closed form.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from engine.gain import Posterior
from engine.gain_sums import Ints, effects
from engine.robust import CLEAN_COST, Floats, finite, student_weight
from shared.errors import EngineError

SHARE_SD: Final = 0.1
"""How far the gain at one share may lie from the club's (standard deviation, no unit): as far as
clubs of a family may lie from one another."""

NOISE_SHOTS: Final = 6.0
"""How many shots' worth the spread of hits known before the series counts."""

FIT_PASSES: Final = 50
FIT_SETTLED: Final = 1e-6
MAX_SHARES: Final = 12
MAX_SERIES: Final = 60


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What is known of a club at ``shares`` (K,), rising.

    ``mean`` (2, K + 1) by axis: K gains, then the bias in metres; ``cov`` (2, K + 1, K + 1);
    ``noise_m`` (2,) is the Student-t scale of hits. Raises EngineError on shapes and values.
    """

    shares: Floats
    mean: Floats
    cov: Floats
    noise_m: Floats

    def __post_init__(self) -> None:
        shares = finite(self.shares, name="shares", shape=(None,))
        size = len(shares)
        if not 1 <= size <= MAX_SHARES or shares.min() <= 0.0 or (np.diff(shares) <= 0.0).any():
            raise EngineError(f"shares must be 1 to {MAX_SHARES} rising numbers above 0")
        finite(self.mean, name="mean", shape=(2, size + 1))
        finite(self.cov, name="cov", shape=(2, size + 1, size + 1))
        if finite(self.noise_m, name="noise_m", shape=(2,)).min() <= 0.0:
            raise EngineError("the spread of hits must be above 0")


@dataclass(frozen=True, slots=True)
class Setups:
    """Shots of a series, hit or offered: ``share`` (n,), law's effect ``predicted_m`` (n, 2)."""

    share: Floats
    predicted_m: Floats

    def __post_init__(self) -> None:
        share = finite(self.share, name="share", shape=(None,))
        if len(share) and share.min() <= 0.0:
            raise EngineError("a share must be above 0")
        predicted = effects(self.predicted_m, name="predicted_m", shots=len(share))
        object.__setattr__(self, "share", share)
        object.__setattr__(self, "predicted_m", predicted)

    def __len__(self) -> int:
        return len(self.share)


@dataclass(frozen=True, slots=True)
class Measured:
    """A series so far: ``knowledge`` after it and the weight (n,) each shot got; 0: set aside."""

    knowledge: Knowledge
    weight: Floats


@dataclass(frozen=True, slots=True)
class NextShots:
    """``ranked`` (m,) candidates from most to least telling as the next shot, ``worth`` (m,) what
    each adds to log det of the precision, by candidate; ``series`` (count,) the shots to hit in
    turn, ``margin_after_m`` (count,) the margin expected after each, ``margin_now_m`` the present.

    The margin is the standard error of the allowance, root mean square over the candidates.
    """

    ranked: Ints
    worth: Floats
    series: Ints
    margin_now_m: float
    margin_after_m: Floats


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A point of a measured chart, with the standard error of its marks per mph."""

    share: float
    marks_per_mph: float
    sd_marks_per_mph: float


def begin(posterior: Posterior, *, grade: int, shares: ArrayLike) -> Knowledge:
    """What is known before the series: the grade's gain at every share, within ``SHARE_SD``."""
    if not 0 <= grade < len(posterior.noise_m):
        raise EngineError(f"there is no grade {grade} in this posterior")
    at = finite(shares, name="shares", shape=(None,))
    spread = np.ones((len(at) + 1, 2))
    spread[:-1, 1], spread[-1, 0] = 0.0, 0.0
    cov = spread @ posterior.grades.cov[grade] @ spread.T
    cov[:, :-1, :-1] += SHARE_SD**2 * np.eye(len(at))
    mean = posterior.grades.mean[grade] @ spread.T
    return Knowledge(at, mean, cov, posterior.noise_m[grade])


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
        knowledge = _updated(before, rows, observed, weight, noise2)
        miss2 = (observed - np.einsum("anp,ap->na", rows, knowledge.mean)) ** 2
        renewed = student_weight((miss2 / noise2).sum(axis=1))
        step = float(np.abs(renewed - weight).max(initial=0.0))
        weight = renewed
        noise2 = _renewed_noise2(before, rows, knowledge.cov, miss2, weight)
        if step <= FIT_SETTLED:
            break
    return Measured(_updated(before, rows, observed, weight, noise2), weight)


def next_shots(knowledge: Knowledge, candidates: Setups, *, count: int = 1) -> NextShots:
    """The candidates whose result would narrow the gains most: D-optimal, one after another.

    A shot with design row x adds log(1 + x' C x / noise^2) to log det of the precision on each
    axis; the sum over both axes decides. The same candidate may come again. Raises EngineError
    without candidates or for a ``count`` outside 1..60.
    """
    if len(candidates) == 0 or not 1 <= count <= MAX_SERIES:
        raise EngineError(f"a series needs candidates and 1 to {MAX_SERIES} shots")
    rows = _rows(knowledge, candidates)
    cov, noise2 = knowledge.cov, knowledge.noise_m**2 * CLEAN_COST
    first = _worth(rows, cov, noise2)
    series, margins = np.empty(count, dtype=np.int64), np.empty(count)
    for turn in range(count):
        best = int(np.argmax(_worth(rows, cov, noise2)))
        along = np.einsum("apq,aq->ap", cov, rows[:, best])
        total = noise2 + np.einsum("ap,ap->a", along, rows[:, best])
        cov = cov - along[:, :, None] * along[:, None, :] / total[:, None, None]
        series[turn], margins[turn] = best, _margin(rows, cov)
    ranked = np.argsort(-first, kind="stable").astype(np.int64)
    return NextShots(ranked, first, series, _margin(rows, knowledge.cov), margins)


def margin_m(knowledge: Knowledge, setups: Setups) -> float:
    """Standard error of the allowance, both axes together, root mean square over ``setups``."""
    if len(setups) == 0:
        raise EngineError("a margin needs at least one shot")
    return _margin(_rows(knowledge, setups), knowledge.cov)


def chart_points(knowledge: Knowledge, law_marks_per_mph: ArrayLike) -> tuple[ChartPoint, ...]:
    """The measured chart: the law's marks per mph at each share (K,) times the gain there.

    A chart has one number for every direction of the wind, so the gains along and across are
    averaged, the surer one counting more (by inverse variance). Raises EngineError on shapes and
    values, and when a gain is not above 0.
    """
    law = finite(law_marks_per_mph, name="law_marks_per_mph", shape=(len(knowledge.shares),))
    if law.min() <= 0.0:
        raise EngineError("the law's marks per mph must be above 0")
    precision = 1.0 / np.diagonal(knowledge.cov, axis1=1, axis2=2)[:, :-1]
    gain = (knowledge.mean[:, :-1] * precision).sum(axis=0) / precision.sum(axis=0)
    if gain.min() <= 0.0:
        raise EngineError("the series does not show that the wind moves the ball: hit more shots")
    error = 1.0 / np.sqrt(precision.sum(axis=0))
    points = zip(knowledge.shares, law * gain, law * error, strict=True)
    return tuple(ChartPoint(*(float(value) for value in point)) for point in points)


def _rows(knowledge: Knowledge, setups: Setups) -> Floats:
    """Design rows (2, n, K + 1): the effect shared between the neighbouring gains, and 1."""
    shares = knowledge.shares
    corners = np.eye(len(shares))
    parts = np.column_stack([np.interp(setups.share, shares, corner) for corner in corners])
    effect = setups.predicted_m.T[..., None] * parts
    return np.concatenate([effect, np.ones((2, len(setups), 1))], axis=-1)


def _updated(
    before: Knowledge, rows: Floats, observed: Floats, weight: Floats, noise2: Floats
) -> Knowledge:
    """The normal posterior of both axes under given weights and noise."""
    prior = _inverse(before.cov)
    weighted = rows * weight[None, :, None] / (noise2 * CLEAN_COST)[:, None, None]
    precision = prior + np.einsum("anp,anq->apq", weighted, rows)
    shift = np.einsum("apq,aq->ap", prior, before.mean)
    cov = _inverse(precision)
    mean = np.einsum("apq,aq->ap", cov, shift + np.einsum("anp,na->ap", weighted, observed))
    return Knowledge(before.shares, mean, cov, np.sqrt(noise2))


def _inverse(matrix: Floats) -> Floats:
    try:
        inverse = np.linalg.inv(matrix).astype(np.float64)
    except np.linalg.LinAlgError:
        raise EngineError("the covariance of a series must have an inverse") from None
    return 0.5 * (inverse + np.swapaxes(inverse, 1, 2))


def _renewed_noise2(
    before: Knowledge, rows: Floats, cov: Floats, miss2: Floats, weight: Floats
) -> Floats:
    """Squared spread of hits (2,): misses and what the fit hides of them, drawn to the prior's."""
    hidden = np.einsum("anp,apq,anq->na", rows, cov, rows)
    total = (weight[:, None] * (miss2 + hidden)).sum(axis=0)
    used = float(np.count_nonzero(weight))
    return (NOISE_SHOTS * before.noise_m**2 + total) / (NOISE_SHOTS + used)


def _worth(rows: Floats, cov: Floats, noise2: Floats) -> Floats:
    spread = np.einsum("anp,apq,anq->an", rows, cov, rows)
    return np.log1p(spread / noise2[:, None]).sum(axis=0)


def _margin(rows: Floats, cov: Floats) -> float:
    spread = np.einsum("anp,apq,anq->an", rows, cov, rows)
    return float(np.sqrt(spread.sum(axis=0).mean()))
