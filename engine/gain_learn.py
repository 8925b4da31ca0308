"""What the sums teach beside gains: spreads between nodes, noise of the hits, weight of the tails.

Empirical Bayes on the sums of ``engine.gain_sums``: each pass pools the tree with the present
variances and re-estimates them in closed form, drawn to a prior of stated weight.
"""

import math
from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from engine.gain_sums import AXIS_COLUMNS, SHOTS, W2, GainSums, GradeTree, Ints, W
from engine.gain_tree import GRADE, GROUP, LEVELS, Belief, Pooled, pool
from engine.robust import CLEAN_W2, Floats, student_cost
from shared.errors import EngineError


@dataclass(frozen=True, slots=True)
class GainPrior:
    """What is assumed before any shot; the four places are group, family, club and grade.

    The spreads below the group, the noise and the tails are where learning starts: each counts
    as much as the number of nodes or shots said beside it, then the group's own results decide.
    """

    gain_sd: tuple[float, float, float, float] = (0.25, 0.14, 0.11, 0.07)
    """The group's around 1 is given by the design; what is common to all clubs (how the game
    treats wind) varies most, what only an upgrade step changes varies least. Ours, and on the wide
    side: intervals rather too wide where clubs differ little than too narrow where they differ
    much (figures in tests/bench/gain.py)."""

    bias_sd_m: tuple[float, float, float, float] = (2.0, 1.2, 1.0, 0.6)
    """Metres. An aim read two marks off, always to one side, is 2 m; between clubs half as much.
    Ours: wide enough for such biases, and not so wide that in a game without any a dozen results
    make the aim worse than the law alone (tests/bench/gain.py). Weighing this width against a
    tenth of it by their evidence was tried: in a game without biases the error after 30 results
    fell from .60 to .45 of uncorrected, but where there are biases 90% intervals held them 62-88%
    of the time. Honest margins go first."""

    noise_m: tuple[float, float] = (4.0, 3.0)
    """Metres, spread of hits (long, right) at first; counted as ``noise_shots``."""

    spread_nodes: float = 3.0
    """How many nodes' worth the spreads below the group count; a bag has some four families."""

    noise_shots: float = 6.0
    tail_shots: float = 30.0
    """Shots' worth of clean normal hits with which the cost of the tails starts."""

    learn_spread: bool = True
    tail_factor: float | None = None
    """None: learned from the weights. A number fixes it (1: weights are taken at face value)."""

    def __post_init__(self) -> None:
        positive = (*self.gain_sd, *self.bias_sd_m, *self.noise_m)
        if len(self.gain_sd) != LEVELS or len(self.bias_sd_m) != LEVELS or len(self.noise_m) != 2:
            raise EngineError("a prior needs four gain and bias spreads and two of noise")
        if not all(math.isfinite(value) and value > 0.0 for value in positive):
            raise EngineError("the prior's spreads must be positive numbers")
        counts = (self.spread_nodes, self.noise_shots, self.tail_shots)
        if not all(math.isfinite(value) and value > 0.0 for value in counts):
            raise EngineError("the prior's counts must be positive numbers")
        if self.tail_factor is not None and not 0.0 < self.tail_factor < math.inf:
            raise EngineError("the prior's tail factor must be a positive number")


DEFAULT_PRIOR: Final = GainPrior()


@dataclass(frozen=True, slots=True)
class Learned:
    """Variances that the sums teach: ``spread`` (groups, 4, 2) by level, ``noise2`` (grades, 2)."""

    spread: Floats
    noise2: Floats


@dataclass(frozen=True, slots=True)
class Problem:
    """What stays the same over the passes: sums by axis of x x', x y and y y with x = (effect, 1),
    the tail factor of each grade, and the results at every node of each level."""

    tree: GradeTree
    prior: GainPrior
    squares: Floats
    products: Floats
    totals: Floats
    tail: Floats
    shots: tuple[Floats, ...]

    @classmethod
    def of(cls, sums: GainSums, tree: GradeTree, prior: GainPrior) -> Self:
        """Raises EngineError when sums and tree differ in size."""
        values = sums.values
        if len(values) != tree.grades:
            raise EngineError(f"{len(values)} rows of sums do not fit {tree.grades} grades")
        e, e2, y, ey, y2 = (values[:, np.add(AXIS_COLUMNS, k)] for k in range(5))
        w = np.repeat(values[:, [W]], 2, axis=1)
        squares = np.stack([e2, e, e, w], axis=-1).reshape(-1, 2, 2, 2)
        tail = _tail_factor(sums, tree, prior)
        shots = per_node(values[:, SHOTS], tree)
        return cls(tree, prior, squares, np.stack([ey, y], axis=-1), y2, tail, shots)

    def pool(self, learned: Learned) -> Pooled:
        """Gains and biases of every node, the variances taken as given."""
        variance = (learned.noise2 * self.tail[:, None])[..., None]
        spread = tuple(
            learned.spread[group, level] for level, group in enumerate(self.tree.group_of)
        )
        return pool(self.tree, self.squares / variance[..., None], self.products / variance, spread)


def start(problem: Problem) -> Learned:
    """The prior's variances."""
    prior, tree = problem.prior, problem.tree
    spread = np.column_stack([prior.gain_sd, prior.bias_sd_m]) ** 2
    noise2 = np.tile(np.square(prior.noise_m), (tree.grades, 1))
    return Learned(np.tile(spread, (tree.groups, 1, 1)), noise2)


def learn(problem: Problem, learned: Learned, *, passes: int) -> Learned:
    """``passes`` more passes from what is learned."""
    for _ in range(passes):
        pooled = problem.pool(learned)
        spread = _spread(problem, pooled) if problem.prior.learn_spread else learned.spread
        learned = Learned(spread, _noise2(problem, learned, pooled.beliefs[GRADE]))
    return learned


def per_node(values: Floats, tree: GradeTree) -> tuple[Floats, ...]:
    """Sums of a grade's quantity at every node: of groups, families, clubs, grades."""
    club = _totals(tree.club_of_grade, values, len(tree.family_of_club))
    family = _totals(tree.family_of_club, club, len(tree.group_of_family))
    return _totals(tree.group_of_family, family, tree.groups), family, club, values


def _totals(parent: Ints, values: Floats, nodes: int) -> Floats:
    return np.bincount(parent, values, nodes).astype(np.float64)


def _tail_factor(sums: GainSums, tree: GradeTree, prior: GainPrior) -> Floats:
    """What one unit of weight costs in each grade's group, (grades,): ``robust.student_cost``."""
    if prior.tail_factor is not None:
        return np.full(tree.grades, prior.tail_factor)
    group = tree.group_of[GRADE]
    w = _totals(group, sums.values[:, W], tree.groups) + prior.tail_shots
    w2 = _totals(group, sums.values[:, W2], tree.groups) + prior.tail_shots * CLEAN_W2
    return student_cost(w, w2)[group]


def _spread(problem: Problem, pooled: Pooled) -> Floats:
    """Variances around the parent below the group, (groups, 4, 2).

    Squared deviations over the degrees of freedom that the results settle (MacKay, Neural
    Computation 4:415, 1992), which gets there in a few passes where plain expectation-maximisation
    creeps. Nodes without results settle nothing and so count nothing.
    """
    tree, count = problem.tree, problem.prior.spread_nodes
    spread = start(problem).spread
    for level in range(1, LEVELS):
        group = tree.group_of[level]
        deviation2, settled = (part.mean(axis=1) for part in pooled.deviations[level])
        for kind in range(2):
            found = _totals(group, deviation2[:, kind], tree.groups)
            nodes = _totals(group, settled[:, kind], tree.groups)
            spread[:, level, kind] = (spread[:, level, kind] * count + found) / (count + nodes)
    return spread


def _noise2(problem: Problem, learned: Learned, belief: Belief) -> Floats:
    """Noise of each grade (grades, 2): squared residuals over the degrees of freedom that the fit
    leaves, drawn to the club's, that to the family's, that to the group's, that to the prior's."""
    mean, squares, prior, tree = belief.mean, problem.squares, problem.prior, problem.tree
    second = mean[..., :, None] * mean[..., None, :]
    residual2 = problem.totals - 2.0 * (mean * problem.products).sum(axis=-1)
    residual2 = np.maximum(residual2 + (second * squares).sum(axis=(-2, -1)), 0.0)
    variance = learned.noise2 * problem.tail[:, None]
    fitted = (belief.cov * squares).sum(axis=(-2, -1)) / variance
    noise2 = np.empty((tree.grades, 2))
    for axis in range(2):
        total, lost = per_node(residual2[:, axis], tree), per_node(fitted[:, axis], tree)
        drawn = np.full(tree.groups, prior.noise_m[axis] ** 2)
        for level in range(LEVELS):
            if level != GROUP:
                drawn = drawn[tree.parents[level - 1]]
            left = prior.noise_shots + np.maximum(problem.shots[level] - lost[level], 0.0)
            drawn = (prior.noise_shots * drawn + total[level]) / left
        noise2[:, axis] = drawn
    return noise2
