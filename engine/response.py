"""The learned response: what the group's own shots say the wind does, beside what the law says.

On each axis (along, across) observed effect = phi' beta + spread, with features phi of the shot
(``engine.response_features``), weights beta pooled over group -> family -> club -> grade, and
Student-t spread so that a mishit or a typing error does not move them. The allowance is minus the
effect, its variance phi' V phi. Two doors, one result: ``shot_weight`` and
``posterior_from_sums`` when results come one at a time, ``full_pass`` over all of them.
"""

from dataclasses import dataclass, fields
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from engine.batch import Batch
from engine.response_features import Array, Features
from engine.response_learn import (
    DEFAULT_PRIOR,
    Learned,
    Problem,
    ResponsePrior,
    learn,
    start,
)
from engine.response_sums import (
    SET_ASIDE,
    W2,
    Results,
    Sums,
    W,
    hole_out_information,
    on_weight_grid,
)
from engine.response_tree import GRADE, Belief, GradeTree, Ints, index
from engine.robust import CLEAN_COST, CLEAN_SCALE, Floats, student_weight
from shared.errors import EngineError

HALF_WIDTH_90: Final = 1.6448536269514722
"""Standard normal quantile of .95: a 90% interval is this many standard errors either way."""

MISFIT_SHARE: Final = 0.2
"""Which part of the variance of hits may be the game's own shape that the features cannot draw
(a wind felt in steps, a corner at some speed), and so is an error of the answer. Ours, for such
games of tests/bench/worlds.py."""

MISFIT_WIND_M: Final = 6.0
"""The size of a wind's effect at which all of that part counts; less in less wind, more in more."""

MISFIT_MOST: Final = 1.5
"""In the strongest winds so many times that part counts."""

TESTED_SPREAD_M: Final = 1.0
TESTED_SHOTS: Final = 12.0
"""The spread of a line's hits before the group logged any, in metres, counted as so many shots.
Smaller than the prior of the noise, which has to bear mishits: a line somebody holed and wrote down
was aimed with care. Ours."""

LEARN_PASSES: Final = 3
"""Passes that learn spreads and noise from given sums (tests/bench/worlds.py)."""

SURPRISE_D2: Final = 9.0
"""Squared standardised distance from the expectation beyond which a new result counts nothing at
first. A clean one lies there once in ninety; a full pass, which sees all results together, takes
in what turns out to agree. So garbage cannot bend an aim while nobody looks."""

MOST_BEND: Final = 0.8
"""How much of its 90% margin one new result may bend an answer; the rest is left for what the
result changes in the spread that is believed of hits."""

FULL_PASSES: Final = 40
"""Limit on passes over the results; usually a dozen or two are enough."""

SETTLED: Final = 0.01
"""A full pass ends when no grade's weight moves by more than this many prior standard errors."""


@dataclass(frozen=True)
class Response(Batch):
    """The response of n rows (of a rack, or grades): by axis the weights' means (n, K) and
    covariances (n, K, K), ``along_apart`` and ``across_apart`` (n, K) by how much (variance) a
    grade's weights differ from its club's, ``spread_m`` (n, 2), the standard deviation of hits,
    and ``tested_m`` (n, 2), that of an aim which worked once from the one that is right."""

    along_mean: Array
    along_cov: Array
    across_mean: Array
    across_cov: Array
    along_apart: Array
    across_apart: Array
    spread_m: Array
    tested_m: Array

    @property
    def axes(self) -> tuple[tuple[Array, Array, Array], tuple[Array, Array, Array]]:
        """(mean, covariance, apart) along and across."""
        along = (self.along_mean, self.along_cov, self.along_apart)
        return along, (self.across_mean, self.across_cov, self.across_apart)

    def put(self, rows: ArrayLike, other: "Response") -> "Response":
        """This response with ``other``'s k rows in place of ``rows`` (k,): a coach holds them."""
        at = np.asarray(rows, dtype=np.intp)
        parts: dict[str, Array] = {}
        for each in fields(self):
            values: Array = getattr(self, each.name).copy()
            values[at] = getattr(other, each.name)
            parts[each.name] = values
        return Response(**parts)


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the wind does to n shots: ``effect_m`` (n, 2) and its standard error ``sd_m`` (n, 2),
    without the spread of the hits themselves. The allowance is minus the effect."""

    effect_m: Floats
    sd_m: Floats

    @property
    def half_m(self) -> Floats:
        """Half the width of the 90% interval of each, (n, 2) in metres."""
        return HALF_WIDTH_90 * self.sd_m


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of every grade (index as in the tree).

    ``along`` and ``across`` are the weights' beliefs, ``noise_m`` (grades, 2) the scale of the
    Student-t spread of hits. ``shots`` (grades, 4) counts the results behind a grade: its own, its
    club's, its family's, its group's, each including the nearer, hole-outs and measured misses
    alike; ``set_aside`` (grades,) those that count nothing, ``missed`` (grades,) the misses nobody
    measured. ``effective`` (grades,) is how many equally weighted shots its own are worth.
    ``goes_in`` (grades,) is the part of a grade's shots that went in, below 1.
    ``along_apart`` and ``across_apart`` (grades, K) are variances as in ``Response``.
    """

    along: Belief
    across: Belief
    noise_m: Floats
    shots: Ints
    set_aside: Ints
    missed: Ints
    effective: Floats
    goes_in: Floats
    along_apart: Floats
    across_apart: Floats
    spread_sd: Floats

    @property
    def hit_sd_m(self) -> Floats:
        """Standard deviation of hits neither mishit nor mistyped, (grades, 2) in metres."""
        return self.noise_m / CLEAN_SCALE

    def response(self, grade: ArrayLike) -> Response:
        """The response of rows with these grades (n,); EngineError for a grade not in the tree."""
        at = index(grade, name="grade", below=len(self.noise_m))
        along, across = self.along.take(at), self.across.take(at)
        count = self.shots[at, 3:].astype(np.float64)
        tested2 = TESTED_SHOTS * TESTED_SPREAD_M**2 + count * self.hit_sd_m[at] ** 2
        return Response(
            along_mean=along.mean,
            along_cov=along.cov,
            across_mean=across.mean,
            across_cov=across.cov,
            along_apart=self.along_apart[at],
            across_apart=self.across_apart[at],
            spread_m=self.hit_sd_m[at],
            tested_m=np.sqrt(tested2 / (TESTED_SHOTS + count)),
        )


@dataclass(frozen=True, slots=True)
class FullPass:
    """A full pass: the posterior, the weight of every result (n,) and their sums.

    ``posterior`` is ``posterior_from_sums(sums, tree)``; storing ``weight`` and ``sums`` makes the
    next results go on from here. A weight of 0 means set aside.
    """

    posterior: Posterior
    weight: Floats
    sums: Sums
    passes: int


def prior_response(*, rows: int, prior: ResponsePrior = DEFAULT_PRIOR) -> Response:
    """The response of ``rows`` rows before any shot was logged: the one ``posterior_from_sums``
    gives without results."""
    tree = GradeTree(*(np.zeros(1, dtype=np.int64) for _ in range(3)))
    nothing = posterior_from_sums(Sums.zero(grades=1), tree, prior=prior)
    return nothing.response(np.zeros(rows, dtype=np.int64))


def posterior_from_sums(
    sums: Sums, tree: GradeTree, *, prior: ResponsePrior = DEFAULT_PRIOR
) -> Posterior:
    """The weights of every grade from the sums alone; the number of results does not matter.

    Without results it is the prior. A group's answer does not depend on which other groups are in
    the tree. Raises EngineError when sums and tree differ in size.
    """
    problem = Problem.of(sums, tree, prior)
    return _posterior(sums, problem, learn(problem, start(problem), passes=LEARN_PASSES))


def full_pass(
    results: Results,
    tree: GradeTree,
    *,
    missed: Floats | None = None,
    prior: ResponsePrior = DEFAULT_PRIOR,
) -> FullPass:
    """All results weighed again: Student-t weights and posterior in turn until they settle.

    Iterated weighted regression (expectation-maximisation of the multivariate t over both axes).
    ``missed`` (grades, 5) are the sums of misses nobody measured. Run it off the event loop.
    Raises EngineError when a grade is not in the tree.
    """
    extra = Sums.zero(grades=tree.grades)
    if missed is not None:
        extra = Sums(extra.measured, extra.holed, missed)

    def weighed(weight: Floats) -> Sums:
        return Sums.of(results, weight, grades=tree.grades) + extra

    weight = np.ones(len(results))
    sums = weighed(weight)
    problem = Problem.of(sums, tree, prior)
    learned = start(problem)
    posterior = _posterior(sums, problem, learned)
    passes = 0
    while passes < FULL_PASSES:
        passes += 1
        learned = learn(problem, learned, passes=1)
        before, posterior = posterior, _posterior(sums, problem, learned)
        weight = _weights_in_sample(posterior, results)
        sums = weighed(weight)
        problem = Problem.of(sums, tree, prior)
        # The first pass changes the noise only: its means say nothing about the weights yet.
        if passes > 1 and moved(before, posterior).max() <= SETTLED:
            break
    return FullPass(posterior_from_sums(sums, tree, prior=prior), weight, sums, passes)


def shot_weight(posterior: Posterior, new: Results) -> Floats:
    """The weight (n,) with which new results enter the sums, for good until the next full pass.

    Student-t in the distance from what was expected, where the expectation's own uncertainty
    counts as well: early on, when little is known, a large miss is not held against a result.
    0: set aside, beyond ``SURPRISE_D2``. And no more than bends any answer by ``MOST_BEND`` of its
    90% margin: with V the variance of what was expected a weight w moves it by w V / (w V + noise)
    of the surprise, and every other answer, in its own standard errors, by no more than that
    (Cauchy-Schwarz). Raises EngineError when a grade is not in the posterior.
    """
    expected = predict(posterior.response(new.grade), new.features)
    variance = posterior.noise_m[new.grade] ** 2 + expected.sd_m**2
    miss = np.abs(new.observed_m - expected.effect_m)
    distance2 = _given_the_hole(posterior, new, miss, variance)
    weight = student_weight(distance2, beyond=SURPRISE_D2)
    known = np.maximum(expected.sd_m**2, 1e-12)
    most = MOST_BEND * HALF_WIDTH_90 * np.sqrt(known)
    beyond = np.maximum(miss - most, 1e-12)
    bent = CLEAN_COST * posterior.noise_m[new.grade] ** 2 / known * most / beyond
    return on_weight_grid(np.minimum(weight, np.where(miss > most, bent, np.inf).min(axis=1)))


def predict(response: Response, shots: Features) -> Prediction:
    """What the wind does to n shots, row by row: phi' beta with variance phi' V phi and misfit.

    Raises EngineError where ``response`` and ``shots`` differ in length.
    """
    if len(response.along_mean) != len(shots):
        raise EngineError("a prediction needs one row of the response for every shot")
    effect, variance = np.empty((len(shots), 2)), misfit2(response, shots)
    for axis, (phi, (mean, cov, _)) in enumerate(zip(shots.axes, response.axes, strict=True)):
        effect[:, axis] = (phi * mean).sum(axis=1)
        variance[:, axis] += np.maximum(np.einsum("ni,nij,nj->n", phi, cov, phi), 0.0)
    return Prediction(effect, np.sqrt(variance))


def misfit2(response: Response, shots: Features) -> Floats:
    """The variance (n, 2) in m^2 of what the features cannot draw: ``MISFIT_SHARE``."""
    felt = np.hypot(shots.wind_m[:, 0], shots.wind_m[:, 1]) / MISFIT_WIND_M
    felt = np.minimum(felt, MISFIT_MOST)
    return MISFIT_SHARE * response.spread_m**2 * felt[:, None]


class Source(IntEnum):
    """Where an answer comes from, the nearest shots first."""

    OWN = 0
    CLUB = 1
    FAMILY = 2
    GROUP = 3
    COMPUTED = 4


def provenance(posterior: Posterior, grade: ArrayLike) -> tuple[Ints, Ints]:
    """Of grades (n,) where the answer comes from (``Source``), and from how many shots: its own, or
    else those of its club, its family, its group; computed, from none."""
    at = index(grade, name="grade", below=len(posterior.noise_m))
    counts = posterior.shots[at]
    nearest = np.where(counts.any(axis=1), np.argmax(counts > 0, axis=1), int(Source.COMPUTED))
    padded = np.column_stack((counts, np.zeros(len(at), dtype=np.int64)))
    return nearest.astype(np.int64), padded[np.arange(len(at)), nearest]


def differences(response: Response, now: Features, was: Response, then: Features) -> Floats:
    """The variance (n, 2) in m^2 of what ``response`` says of ``now`` less what ``was`` said of
    ``then``: of phi(now) - phi(then) under V, with what two grades' weights may differ where the
    row is another (``apart``), and the misfit of the move."""
    step = Features(now.along - then.along, now.across - then.across)
    variance = misfit2(response, step)
    axes = zip(step.axes, then.axes, response.axes, was.axes, strict=True)
    for axis, (move, before, (mean, cov, apart), (old_mean, _, old_apart)) in enumerate(axes):
        variance[:, axis] += np.maximum(np.einsum("ni,nij,nj->n", move, cov, move), 0.0)
        other = (mean != old_mean).any(axis=1)
        between = (before**2 * (apart + old_apart)).sum(axis=1)
        variance[:, axis] += np.where(other, between, 0.0)
    return variance


def moved(before: Posterior, after: Posterior) -> Floats:
    """The largest move of a grade's weights in standard errors of ``after``, (grades,).

    Raises EngineError when the two are of different trees.
    """
    if before.noise_m.shape != after.noise_m.shape:
        raise EngineError("the two posteriors are of different trees")
    steps = [
        np.abs(new.mean - old.mean) / np.sqrt(np.diagonal(new.cov, axis1=1, axis2=2))
        for old, new in ((before.along, after.along), (before.across, after.across))
    ]
    return np.column_stack(steps).max(axis=1)


def _weights_in_sample(posterior: Posterior, results: Results) -> Floats:
    """Weights of results that the posterior has already seen: their residuals are small enough."""
    effect = predict(posterior.response(results.grade), results.features).effect_m
    variance = posterior.noise_m[results.grade] ** 2
    miss = results.observed_m - effect
    return on_weight_grid(student_weight(_given_the_hole(posterior, results, miss, variance)))


def _given_the_hole(
    posterior: Posterior, results: Results, miss_m: Floats, variance: Floats
) -> Floats:
    """Squared standardised distance (n,) of a result, given that it went in or that it did not.

    ``miss_m`` and ``variance`` (n, 2) are what it is off and how much of that was to be expected.
    Where a part p goes in, misses come
    down beyond r^2 = -2 s^2 ln(1 - p) alone, and d^2 - r^2 / s^2 of theirs is spread as d^2 of all
    hits is (exponentially, for normal hits in two directions): a miss is no surprise for being
    one. And a hole-out was not in the middle: to its d^2 comes what ``hole_out_information``
    leaves of s^2 each way.
    """
    goes_in = posterior.goes_in[results.grade]
    hit2 = (posterior.hit_sd_m[results.grade] ** 2 / variance).sum(axis=1)
    missing = np.where(results.holed, 1.0 - hole_out_information(goes_in), np.log1p(-goes_in))
    return np.maximum((miss_m**2 / variance).sum(axis=1) + missing * hit2, 0.0)


def _posterior(sums: Sums, problem: Problem, learned: Learned) -> Posterior:
    pooled, tree = problem.pool(learned), problem.tree
    beliefs: list[Belief] = []
    aparts: list[Floats] = []
    spread = learned.spread[tree.group_of[GRADE]]
    parts = zip(pooled, problem.prior.sd, problem.prior.shape, strict=True)
    for axis, sd, shape in parts:
        grades = axis.beliefs[GRADE]
        beliefs.append(Belief(grades.mean * sd, grades.cov * sd[:, None] * sd))
        aparts.append(spread[:, [GRADE]] * shape * sd**2)
    rows = sums.measured + sums.holed
    shots = tree.per_node(rows[:, [0]])
    at_club = tree.club_of_grade
    at_family = tree.family_of_club[at_club]
    counts = (shots[3], shots[2][at_club], shots[1][at_family], shots[0][tree.group_of[GRADE]])
    w, w2 = rows[:, W], rows[:, W2]
    return Posterior(
        along=beliefs[0],
        across=beliefs[1],
        noise_m=np.sqrt(learned.noise2),
        shots=np.rint(np.column_stack(counts)).astype(np.int64),
        set_aside=np.rint(rows[:, SET_ASIDE]).astype(np.int64),
        missed=np.rint(sums.missed[:, 0]).astype(np.int64),
        effective=np.divide(w * w, w2, out=np.zeros_like(w), where=w2 > 0.0),
        goes_in=sums.goes_in(tree),
        along_apart=aparts[0],
        across_apart=aparts[1],
        spread_sd=np.sqrt(learned.spread),
    )
