"""What the sums teach beside weights: spreads between nodes, noise of the hits, cost of the tails.

Empirical Bayes on the sums of ``engine.response_sums``: each pass pools the tree with the present
variances and re-estimates them in closed form, drawn to a prior of stated weight. All weights are
in units of their prior standard deviations here, so that one variance serves a level.
"""

import math
from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from engine.response_features import ACROSS, ACROSS_SD, ALONG, ALONG_SD, OF_THE_GAME
from engine.response_sums import SHOTS, W2, Sums, W, squares
from engine.response_tree import (
    CLUB,
    FAMILY,
    GRADE,
    GROUP,
    LEVELS,
    Belief,
    GradeTree,
    Pooled,
    gather,
    pool,
)
from engine.robust import CLEAN_W2, Floats, student_cost
from shared.errors import EngineError


@dataclass(frozen=True, slots=True)
class ResponsePrior:
    """What is assumed before any shot; places of ``level_sd`` are group, family, club and grade.

    The spreads below the group, the noise and the tails are where learning starts: each counts as
    much as the number said beside it, then the group's own results decide.
    """

    along_sd: tuple[float, ...] = ALONG_SD
    across_sd: tuple[float, ...] = ACROSS_SD
    level_sd: tuple[float, float, float, float] = (0.90, 0.20, 0.20, 0.10)
    """Parts of a weight's prior standard deviation; their squares add to .90. How the game treats
    wind is common to all clubs, only an upgrade step is a grade's own. Ours."""

    of_the_game: float = 0.25
    """What the spreads below the group are multiplied by for features ``OF_THE_GAME``."""

    noise_m: tuple[float, float] = (3.0, 2.5)
    """Metres, Student-t scale of hits (long, right) at first; counted as so many shots' worth in
    the group, and the group's in its families, theirs in their clubs, those in their grades."""

    noise_shots: tuple[float, float, float, float] = (2.0, 6.0, 6.0, 6.0)
    spread_weights: float = 12.0
    """How many settled weights' worth the spreads below the group count."""

    tail_shots: float = 30.0
    """Shots' worth of clean normal hits with which the cost of the tails starts."""

    learn_spread: bool = True
    tail_factor: float | None = None
    """None: learned from the weights. A number fixes it (1: weights are taken at face value)."""

    def __post_init__(self) -> None:
        parts = (self.along_sd, self.across_sd, self.level_sd, self.noise_shots, self.noise_m)
        if tuple(map(len, parts)) != (len(ALONG), len(ACROSS), LEVELS, LEVELS, 2):
            raise EngineError("a prior needs a spread for every feature, level and axis")
        positive = (*self.along_sd, *self.across_sd, *self.level_sd, *self.noise_m)
        counts = (*self.noise_shots, self.of_the_game, self.spread_weights, self.tail_shots)
        if not all(math.isfinite(value) and value > 0.0 for value in (*positive, *counts)):
            raise EngineError("the prior's spreads and counts must be positive numbers")
        if self.tail_factor is not None and not 0.0 < self.tail_factor < math.inf:
            raise EngineError("the prior's tail factor must be a positive number")

    @property
    def sd(self) -> tuple[Floats, Floats]:
        """Standard deviations of the weights of each axis, the whole tree's."""
        return np.array(self.along_sd), np.array(self.across_sd)

    @property
    def shape(self) -> tuple[Floats, Floats]:
        """What a variance below the group is multiplied by, weight by weight of each axis."""
        along, across = (
            np.array([self.of_the_game**2 if name in OF_THE_GAME else 1.0 for name in names])
            for names in (ALONG, ACROSS)
        )
        return along, across


DEFAULT_PRIOR: Final = ResponsePrior()


@dataclass(frozen=True, slots=True)
class Learned:
    """Variances that the sums teach: ``spread`` (groups, 4) by level in units of the prior's
    squared standard deviations, ``noise2`` (grades, 2) in m^2."""

    spread: Floats
    noise2: Floats


@dataclass(frozen=True, slots=True)
class Problem:
    """What stays the same over the passes: by axis the sums of phi phi' (grades, K, K), phi y
    (grades, K) and y y (grades,), features scaled by their prior standard deviations; the tail
    factor of each grade, and the results at every node of each level."""

    tree: GradeTree
    prior: ResponsePrior
    squares: tuple[Floats, Floats]
    products: tuple[Floats, Floats]
    totals: tuple[Floats, Floats]
    tail: Floats
    shots: tuple[Floats, ...]

    @classmethod
    def of(cls, sums: Sums, tree: GradeTree, prior: ResponsePrior) -> Self:
        """Raises EngineError when sums and tree differ in size."""
        if len(sums.measured) != tree.grades:
            raise EngineError(f"{len(sums.measured)} rows of sums do not fit {tree.grades} grades")
        rows = sums.joined(tree)
        square, product, total = list[Floats](), list[Floats](), list[Floats]()
        for matrix, sd in zip(squares(rows), prior.sd, strict=True):
            square.append(matrix[:, :-1, :-1] * sd[:, None] * sd)
            product.append(matrix[:, :-1, -1] * sd)
            total.append(matrix[:, -1, -1])
        return cls(
            tree=tree,
            prior=prior,
            squares=(square[0], square[1]),
            products=(product[0], product[1]),
            totals=(total[0], total[1]),
            tail=_tail_factor(rows, tree, prior),
            shots=tree.per_node(rows[:, SHOTS]),
        )

    def pool(self, learned: Learned) -> tuple[Pooled, Pooled]:
        """Scaled weights of every node on both axes, the variances taken as given."""
        groups = self.tree.group_of
        spread = [learned.spread[group, level] for level, group in enumerate(groups)]
        found: list[Pooled] = []
        for axis, (sd, shape) in enumerate(zip(self.prior.sd, self.prior.shape, strict=True)):
            variance = learned.noise2[:, axis] * self.tail
            centre = np.zeros(len(sd))
            centre[0] = 1.0 / sd[0]
            precision = self.squares[axis] / variance[:, None, None]
            shift = self.products[axis] / variance[:, None]
            found.append(pool(self.tree, precision, shift, spread, centre=centre, shape=shape))
        return found[0], found[1]


def start(problem: Problem) -> Learned:
    """The prior's variances."""
    prior, tree = problem.prior, problem.tree
    spread = np.tile(np.square(prior.level_sd), (tree.groups, 1))
    return Learned(spread, np.tile(np.square(prior.noise_m), (tree.grades, 1)))


def learn(problem: Problem, learned: Learned, *, passes: int) -> Learned:
    """``passes`` more passes from what is learned."""
    for _ in range(passes):
        pooled = problem.pool(learned)
        spread = _spread(problem, pooled) if problem.prior.learn_spread else learned.spread
        beliefs = (pooled[0].beliefs[GRADE], pooled[1].beliefs[GRADE])
        learned = Learned(spread, _noise2(problem, learned, beliefs))
    return learned


def _tail_factor(rows: Floats, tree: GradeTree, prior: ResponsePrior) -> Floats:
    """What one unit of weight costs in each grade's group, (grades,): ``robust.student_cost``."""
    if prior.tail_factor is not None:
        return np.full(tree.grades, prior.tail_factor)
    group = tree.group_of[GRADE]
    w = gather(rows[:, W], group, tree.groups) + prior.tail_shots
    w2 = gather(rows[:, W2], group, tree.groups) + prior.tail_shots * CLEAN_W2
    return student_cost(w, w2)[group]


def _spread(problem: Problem, pooled: tuple[Pooled, Pooled]) -> Floats:
    """Variances around the parent below the group, (groups, 4).

    Squared deviations over the number of weights that the results settle (MacKay, Neural
    Computation 4:415, 1992), which gets there in a few passes where plain expectation-maximisation
    creeps. Nodes without results settle nothing and so count nothing.
    """
    tree, count = problem.tree, problem.prior.spread_weights
    spread = start(problem).spread
    for level in (FAMILY, CLUB, GRADE):
        group = tree.group_of[level]
        deviation2, settled = (
            sum(np.bincount(group, axis.deviations[level - 1][part]) for axis in pooled)
            for part in range(2)
        )
        spread[:, level] = (spread[:, level] * count + deviation2) / (count + settled)
    return spread


def _noise2(problem: Problem, learned: Learned, beliefs: tuple[Belief, Belief]) -> Floats:
    """Noise of each grade (grades, 2): squared residuals over the degrees of freedom that the fit
    leaves, drawn to the club's, that to the family's, that to the group's, that to the prior's."""
    prior, tree = problem.prior, problem.tree
    noise2 = np.empty((tree.grades, 2))
    for axis, belief in enumerate(beliefs):
        mean, square = belief.mean, problem.squares[axis]
        fit = np.einsum("gi,gij,gj->g", mean, square, mean)
        residual2 = problem.totals[axis] - 2.0 * (mean * problem.products[axis]).sum(axis=1) + fit
        variance = learned.noise2[:, axis] * problem.tail
        fitted = np.einsum("gij,gij->g", belief.cov, square) / variance
        total, lost = tree.per_node(np.maximum(residual2, 0.0)), tree.per_node(fitted)
        drawn = np.full(tree.groups, prior.noise_m[axis] ** 2)
        for level in range(LEVELS):
            if level != GROUP:
                drawn = drawn[tree.parents[level - 1]]
            count = prior.noise_shots[level]
            left = count + np.maximum(problem.shots[level] - lost[level], 0.0)
            drawn = (count * drawn + total[level]) / left
        noise2[:, axis] = drawn
    return noise2
