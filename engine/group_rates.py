"""Hole-out rates of a group's lines, where members differ: a hierarchical beta-binomial model.

theta_l, the rate of line l over the members, ~ Beta(m s, (1 - m) s); the rate of one member on it
~ Beta(theta_l k, (1 - theta_l) k) with k = 1 / rho - 1, so that rho is the correlation of two tries
of one member (beta-binomial, Williams 1975, Biometrics 31:949, M). m, s and rho are learned over
all lines of the group; theta, m, s and rho live on fixed grids, on which every posterior is a sum.
A member who plays two lines counts as two members, which overstates rather than understates how
uncertain their difference is. scipy is imported when a rate is asked for, not before.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.intervals import CONFIDENCE, Floats, counts, two_sided_z
from shared.errors import EngineError

LOG_ODDS_STEP = 0.1
LOG_ODDS = LOG_ODDS_STEP * np.arange(-60, 61)  # of theta: rates from .0025 to .9975
RATES = 1 / (1 + np.exp(-LOG_ODDS))
_INNER_ENDS = 1 / (1 + np.exp(-LOG_ODDS_STEP * np.arange(-59.5, 60)))
CELL_ENDS = np.concatenate([[0.0], _INNER_ENDS, [1.0]])  # a posterior is even within each cell
MEANS = 1 / (1 + np.exp(-0.25 * np.arange(-18, 11)))  # m, from .01 to .92
CONCENTRATIONS = 2.0 ** np.arange(1, 7)  # s, evenly in its logarithm
CORRELATIONS = 0.01 + 0.05 * np.arange(10)  # rho

# Stated before the first result. A coach shares lines worth trying, most of which fail: m has mean
# 1/3. rho has mean .125: at a rate of .3 members with a logit standard deviation of .8 have .11.
MEAN_PRIOR = (1.0, 2.0)
CORRELATION_PRIOR = (2.0, 14.0)
PRUNED = 0.005  # posterior weight of the hyperparameters that are left out, the least likely


@dataclass(frozen=True)
class MemberTries:
    """One line's holed and tries, a number for each member who played it; shapes (members,).

    Weighted counts need not be whole.
    """

    holed: ArrayLike
    tries: ArrayLike


@dataclass(frozen=True)
class GroupRates:
    """Posterior of the hyperparameters; ``weight`` (means, concentrations, correlations) sums to 1.

    What every line of the group is judged with, whichever hole it is on.
    """

    weight: Floats

    @property
    def mean(self) -> float:
        """Expected rate of a line nobody tried."""
        return float(np.einsum("msr,m->", self.weight, MEANS))

    @property
    def correlation(self) -> float:
        """Expected correlation rho of two tries of one member on one line."""
        return float(np.einsum("msr,r->", self.weight, CORRELATIONS))


@dataclass(frozen=True)
class LineRates:
    """Posteriors of lines' rates: ``theta`` (hyperparameters, lines, rates), each summing to 1.

    ``weight`` (hyperparameters,) sums to 1. Given the hyperparameters, lines are independent.
    """

    weight: Floats
    theta: Floats

    @property
    def mean(self) -> Floats:
        """Expected rates; shape (lines,)."""
        return self.weight @ (self.theta @ RATES)

    @property
    def variance(self) -> Floats:
        """Variances of the rates; shape (lines,)."""
        return self.weight @ (self.theta @ RATES**2) - self.mean**2

    def interval(self, confidence: float = CONFIDENCE) -> tuple[Floats, Floats]:
        """Ends of the intervals with equal tails; shapes (lines,). Errors: two_sided_z."""
        two_sided_z(confidence)
        marginal = np.einsum("h,hlt->lt", self.weight, self.theta)
        below = np.concatenate([np.zeros((len(marginal), 1)), np.cumsum(marginal, axis=1)], axis=1)
        tail = (1 - confidence) / 2
        ends = [[float(np.interp(q, row, CELL_ENDS)) for row in below] for q in (tail, 1 - tail)]
        return np.array(ends[0]), np.array(ends[1])


def learn_group(lines: Sequence[MemberTries]) -> GroupRates:
    """The hyperparameters' posterior from all lines of the group, those of every hole together.

    No line, or lines without tries, leave the stated prior. Errors: counts.
    """
    prior = _hyperprior()
    tried = [line for line in lines if np.sum(np.asarray(line.tries, np.float64)) > 0]
    if not tried:
        return GroupRates(prior)
    likelihood, scale = _likelihoods(tried)
    marginal = np.einsum("mst,lrt->msrl", _line_prior(), likelihood)
    with np.errstate(divide="ignore"):  # a likelihood that underflows counts nothing
        log_weight = np.log(prior) + np.sum(np.log(marginal) + scale.T, axis=-1)
    weight = np.exp(log_weight - np.max(log_weight))
    return GroupRates(weight / np.sum(weight))


def line_rates(lines: Sequence[MemberTries], group: GroupRates) -> LineRates:
    """Posteriors of the lines' rates, given what was learned of the group. Errors: counts.

    Where the group was learned from these lines among others this is the full Bayesian posterior.
    Raises EngineError for no lines.
    """
    if not lines:
        raise EngineError("there must be at least one line")
    order = np.argsort(-group.weight, axis=None, kind="stable")
    reached = np.cumsum(group.weight.ravel()[order])
    kept = order[: int(np.searchsorted(reached, 1 - PRUNED)) + 1]
    mean, concentration, correlation = np.unravel_index(kept, group.weight.shape)
    likelihood, _ = _likelihoods(lines)
    prior = _line_prior()[mean, concentration]
    theta = prior[:, None, :] * np.moveaxis(likelihood, 0, 1)[correlation]
    weight = group.weight.ravel()[kept]
    return LineRates(weight / np.sum(weight), theta / np.sum(theta, axis=-1, keepdims=True))


def _hyperprior() -> Floats:
    """Stated prior over (means, concentrations, correlations), which sums to 1."""
    a, b = MEAN_PRIOR
    mean = MEANS**a * (1 - MEANS) ** b  # in log odds, in which the grid is even
    a, b = CORRELATION_PRIOR
    correlation = CORRELATIONS ** (a - 1) * (1 - CORRELATIONS) ** (b - 1)
    joint = mean[:, None, None] * np.ones((1, len(CONCENTRATIONS), 1)) * correlation
    return joint / np.sum(joint)


@cache
def _line_prior() -> Floats:
    """Beta(m s, (1 - m) s) in each rate's cell; (means, concentrations, rates)."""
    from scipy.special import betainc  # pyright: ignore[reportMissingTypeStubs]

    a = (MEANS[:, None] * CONCENTRATIONS)[..., None]
    b = ((1 - MEANS)[:, None] * CONCENTRATIONS)[..., None]
    return np.diff(np.asarray(betainc(a, b, CELL_ENDS), np.float64), axis=-1)


def _likelihoods(lines: Sequence[MemberTries]) -> tuple[Floats, Floats]:
    """Beta-binomial likelihood of each line's members (lines, correlations, rates).

    Each (line, correlation) is divided by its greatest value, whose logarithm is ``scale`` (lines,
    correlations): products over many members would underflow.
    """
    made, tried, line_of = _member_counts(lines)
    pairs, which = np.unique(np.stack([made, tried]), axis=1, return_inverse=True)
    spread = (1 / CORRELATIONS - 1)[:, None]
    a, b = spread * RATES, spread * (1 - RATES)
    each = _log_beta_binomial(pairs[0][:, None, None], pairs[1][:, None, None], a, b)
    total = np.zeros((len(lines), *a.shape))
    np.add.at(total, line_of, each[which])
    scale = np.max(total, axis=-1)
    return np.exp(total - scale[..., None]), scale


def _log_beta_binomial(holed: Floats, tries: Floats, a: Floats, b: Floats) -> Floats:
    """log B(a + y, b + n - y) / B(a, b): a sequence's chance, the order of the tries given."""
    from scipy.special import betaln  # pyright: ignore[reportMissingTypeStubs]

    later = betaln(a + holed, b + tries - holed)
    return np.asarray(later - betaln(a, b), np.float64)


def _member_counts(lines: Sequence[MemberTries]) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Holed, tries and line of every member with a try, all lines in one."""
    made: list[Floats] = []
    tried: list[Floats] = []
    for line in lines:
        if np.size(line.tries) == 0 and np.size(line.holed) == 0:
            pair = (np.empty(0), np.empty(0))
        else:
            pair = counts(np.atleast_1d(line.holed), np.atleast_1d(line.tries))
        made.append(pair[0])
        tried.append(pair[1])
    line_of = np.repeat(np.arange(len(lines)), [part.size for part in tried])
    holed, tries = np.concatenate(made), np.concatenate(tried)
    played = tries > 0
    return holed[played], tries[played], line_of[played]
