"""Gain: what the group's own shots say a club's allowance law must be multiplied by.

Model, on each axis (long, right): observed effect = gain x predicted effect + bias + spread, with
Student-t spread so that a mishit or a typing error does not move it. Gains and biases of grades
are pooled over group -> family -> club -> grade (``engine.gain_tree``). Two doors, one result:
``shot_weight`` and ``posterior_from_sums`` when results come one at a time, ``full_pass`` over
all of them. Effects are in metres, gains have no unit.

How far the two doors part: weights fixed as results came, never refreshed, against a full pass of
the same results, with one in ten grossly wrong. Over all gains and biases of 100 groups of 480
results the difference is .19 standard errors (rms), 99 in 100 are within .6, the largest was 2;
the error of the allowance grows by 2% (tests/bench/gain.py). Bound held by tests/unit/test_gain.py:
rms .25, 99 in 100 within 1.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from engine.gain_learn import DEFAULT_PRIOR, GainPrior, Learned, Problem, learn, start
from engine.gain_sums import (
    SET_ASIDE,
    W2,
    GainSums,
    GradeTree,
    Ints,
    Results,
    W,
    effects,
    index,
    on_weight_grid,
)
from engine.gain_tree import CLUB, GRADE, Belief
from engine.robust import CLEAN_SCALE, Floats, finite, student_weight
from shared.errors import EngineError

LEARN_PASSES: Final = 6
"""Passes that learn spreads and noise from given sums. A hundred would move no mean further
than .05 standard errors in a hundred groups with 20 results each, .02 with 200
(tests/bench/gain.py)."""

FULL_PASSES: Final = 60
"""Limit on passes over the results; usually a dozen or two are enough."""

SETTLED: Final = 0.01
"""A full pass ends when no grade's mean moves by more than this many of its standard errors."""


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is known of every grade (index as in the tree) and every club.

    ``grades`` and ``clubs`` are means (nodes, 2, 2) by axis and (gain, bias in m) with their
    covariances. ``noise_m`` (grades, 2) is the scale of the Student-t spread of hits. ``shots``
    (grades, 4) counts the results behind a grade: its own, its club's, its family's, its group's,
    each including the nearer; ``set_aside`` (grades,) those that count nothing. ``effective``
    (grades,) is how many equally weighted shots its own are worth. ``sources`` (grades, 2, 5)
    says by axis how much of the estimate comes from where (``engine.gain_tree.SOURCES``); they
    add to one. ``spread_sd`` (groups, 4, 2) is how far nodes of each level lie from their
    parent, in gain and bias.
    """

    grades: Belief
    clubs: Belief
    noise_m: Floats
    shots: Ints
    set_aside: Ints
    effective: Floats
    sources: Floats
    spread_sd: Floats

    def of(self, grade: int) -> tuple[Floats, Floats]:
        """(gain long, gain right, bias long m, bias right m) of a grade, with covariance (4, 4)."""
        if not 0 <= grade < len(self.noise_m):
            raise EngineError(f"there is no grade {grade} in this posterior")
        mean, cov = self.grades.mean[grade].T.ravel(), np.zeros((4, 4))
        for axis in range(2):
            cov[axis::2, axis::2] = self.grades.cov[grade, axis]
        return mean, cov

    @property
    def hit_sd_m(self) -> Floats:
        """Standard deviation of hits neither mishit nor mistyped, (grades, 2) in metres."""
        return self.noise_m / CLEAN_SCALE


@dataclass(frozen=True, slots=True)
class Prediction:
    """What the wind does to shots by law and gain: ``effect_m`` (n, 2) and its standard error."""

    effect_m: Floats
    sd_m: Floats


@dataclass(frozen=True, slots=True)
class FullPass:
    """A full pass: the posterior, the weight of every result (n,) and their sums.

    ``posterior`` is ``posterior_from_sums(sums, tree)``; storing ``weight`` and ``sums`` makes
    the next results go on from here. A weight of 0 means set aside.
    """

    posterior: Posterior
    weight: Floats
    sums: GainSums
    passes: int


def posterior_from_sums(
    sums: GainSums, tree: GradeTree, *, prior: GainPrior = DEFAULT_PRIOR
) -> Posterior:
    """Gain and bias of every grade from the sums alone; the number of results does not matter.

    Without results it is the prior: gain 1, bias 0. The spreads between nodes (per group), the
    noise (per grade, drawn towards its club, family and group) and the tails (per group) are
    learned from the same sums (``engine.gain_learn``). A group's answer does not depend on which
    other groups are in the tree. Raises EngineError when sums and tree differ in size.
    """
    problem = Problem.of(sums, tree, prior)
    return _posterior(sums, problem, learn(problem, start(problem), passes=LEARN_PASSES))


def full_pass(results: Results, tree: GradeTree, *, prior: GainPrior = DEFAULT_PRIOR) -> FullPass:
    """All results weighed again: Student-t weights and posterior in turn until they settle.

    Iterated weighted regression (expectation-maximisation of the multivariate t over both axes).
    A million results on a thousand grades in one call; run it off the event loop. Raises
    EngineError when a grade is not in the tree.
    """
    index(results.grade, name="grade", below=tree.grades)
    weight = np.ones(len(results))
    sums = GainSums.of(results, weight, grades=tree.grades)
    problem = Problem.of(sums, tree, prior)
    learned = start(problem)
    posterior = _posterior(sums, problem, learned)
    passes = 0
    while passes < FULL_PASSES:
        passes += 1
        learned = learn(problem, learned, passes=1)
        before, posterior = posterior, _posterior(sums, problem, learned)
        weight = _weights_in_sample(posterior, results)
        sums = GainSums.of(results, weight, grades=tree.grades)
        problem = Problem.of(sums, tree, prior)
        # The first pass changes the noise only: its means say nothing about the weights yet.
        if passes > 1 and moved(before, posterior).max() <= SETTLED:
            break
    return FullPass(posterior_from_sums(sums, tree, prior=prior), weight, sums, passes)


def shot_weight(posterior: Posterior, new: Results) -> Floats:
    """The weight (n,) with which new results enter the sums, for good until the next full pass.

    Student-t in the distance from what was expected, where the expectation's own uncertainty
    counts as well: early on, when little is known, a large miss is not held against a result.
    0: set aside. Raises EngineError when a grade is not in the posterior.
    """
    expected = predict(posterior, new.grade, new.predicted_m)
    variance = posterior.noise_m[new.grade] ** 2 + expected.sd_m**2
    distance2 = ((new.observed_m - expected.effect_m) ** 2 / variance).sum(axis=1)
    return on_weight_grid(student_weight(distance2))


def predict(posterior: Posterior, grade: ArrayLike, predicted_m: ArrayLike) -> Prediction:
    """What the wind will do to shots with these grades: gain x law's effect + bias.

    ``grade`` (n,), ``predicted_m`` (n, 2). The allowance is minus ``effect_m``; ``sd_m`` is the
    standard error of the allowance, without the spread of the hits themselves.
    """
    grades = index(grade, name="grade", below=len(posterior.noise_m))
    effect = effects(predicted_m, name="predicted_m", shots=len(grades))
    mean, cov = posterior.grades.mean[grades], posterior.grades.cov[grades]
    variance = cov[..., 0, 0] * effect**2 + 2.0 * cov[..., 0, 1] * effect + cov[..., 1, 1]
    return Prediction(mean[..., 0] * effect + mean[..., 1], np.sqrt(np.maximum(variance, 0.0)))


def _weights_in_sample(posterior: Posterior, results: Results) -> Floats:
    """Weights of results that the posterior has already seen: their residuals are small enough."""
    mean = posterior.grades.mean[results.grade]
    residual = results.observed_m - mean[..., 0] * results.predicted_m - mean[..., 1]
    distance2 = ((residual / posterior.noise_m[results.grade]) ** 2).sum(axis=1)
    return on_weight_grid(student_weight(distance2))


def standard_errors(belief: Belief) -> Floats:
    """Standard errors (nodes, 2, 2) by axis of (gain, bias in m)."""
    return np.sqrt(np.diagonal(belief.cov, axis1=-2, axis2=-1))


def moved(before: Posterior, after: Posterior) -> Floats:
    """The largest move of a grade's gains and biases in standard errors of ``after``, (grades,).

    Raises EngineError when the two are of different trees.
    """
    if before.grades.mean.shape != after.grades.mean.shape:
        raise EngineError("the two posteriors are of different trees")
    step = np.abs(after.grades.mean - before.grades.mean) / standard_errors(after.grades)
    return step.max(axis=(-2, -1))


def _posterior(sums: GainSums, problem: Problem, learned: Learned) -> Posterior:
    pooled, tree = problem.pool(learned), problem.tree
    group, family, club, own = problem.shots
    at_club = tree.club_of_grade
    at_family = tree.family_of_club[at_club]
    shots = np.column_stack([own, club[at_club], family[at_family], group[tree.group_of[GRADE]]])
    w, w2 = sums.values[:, W], sums.values[:, W2]
    answer = Posterior(
        grades=pooled.beliefs[GRADE],
        clubs=pooled.beliefs[CLUB],
        noise_m=np.sqrt(learned.noise2),
        shots=np.rint(shots).astype(np.int64),
        set_aside=np.rint(sums.values[:, SET_ASIDE]).astype(np.int64),
        effective=np.divide(w * w, w2, out=np.zeros_like(w), where=w2 > 0.0),
        sources=pooled.sources,
        spread_sd=np.sqrt(learned.spread),
    )
    for values in (answer.grades.mean, standard_errors(answer.grades), answer.noise_m):
        finite(values.ravel(), name="the gain", shape=(None,))
    return answer
