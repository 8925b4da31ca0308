"""What to test next: where a practice entry is worth most for the group.

The rule, in one sentence: *put the next tries where each is expected to add most holes holed, if
the group afterwards plays the variant with the best expected rate on every hole.* A test is worth
nothing when no outcome would change which variant is played, and much when it may well do so on a
hole many will play. It is the expected value of sample information of the whole plan, spent
greedily in blocks, since one try alone often cannot change a choice that five can.

What a hole's lines are believed to do comes from ``engine.group_rates``: an untried line is one of
the group's lines, and tries of one member say less of a line than tries of several.
``tests/bench/practice.py`` measures what the rule adds and whether it adds what it promises.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.group_rates import RATES, GroupRates, MemberTries, line_rates
from engine.intervals import (
    CONFIDENCE,
    LEAST_PARAMETER,
    POWER,
    Floats,
    beta_parameters,
    effect_size,
    numbers,
    tries_to_tell_apart,
)
from shared.errors import EngineError

MOST_ENTRIES = 200  # the tables grow with its square
LOOK_AHEAD = 50  # tries by others that may follow, when the member's own cannot change a choice
LEAST_GAIN = 1e-12  # holes a try must add; below it is rounding
RATE_NODES = 40  # of a line's rate; outcomes of up to 79 tries are then exact
MOST_CORRELATION = 0.9
TIE = 1e-9  # relative difference below which the shorter test is taken


@dataclass(frozen=True)
class PracticeHole:
    """One hole: its name, its variants' beta posteriors (k,), and how often it will be played.

    ``plays`` weighs holes against each other, for instance members still to play it.
    """

    hole: str
    a: ArrayLike
    b: ArrayLike
    plays: float = 1.0


@dataclass(frozen=True)
class HoleLines:
    """One hole's lines that may be played, with what members holed on each of them.

    Which lines these are (not retired, of the member's division) is the caller's to say, and so is
    how far a result in another wind than this round's counts (engine.variants.members_like_yours).
    """

    hole: str
    lines: Sequence[MemberTries]
    plays: float = 1.0


@dataclass(frozen=True)
class Allocation:
    """Tries to spend on one variant (counted from 0) and the holes holed they should add.

    A ``gain`` of 0 marks tries that begin a test too long for the entries at hand.
    """

    hole: str
    variant: int
    tries: int
    gain: float


@dataclass(frozen=True)
class PracticePlan:
    """Allocations, the first chosen first; ``gain`` in all, ``unspent`` what no hole can use."""

    allocations: tuple[Allocation, ...]
    gain: float
    unspent: int


@dataclass(frozen=True)
class Separation:
    """Tries each of two variants needs to be told apart: whole, as computed, and Cohen's h."""

    tries_each: int
    tries_exact: float
    effect: float
    power: float
    confidence: float


class _HoleState:
    """What could be learned on one hole, with the tries given to its variants so far."""

    def __init__(self, hole: PracticeHole, chance: Floats, mean: Floats) -> None:
        self.name = hole.hole
        self.plays = float(numbers(hole.plays, "plays", least=0))
        self.given = np.zeros(len(mean), dtype=np.intp)
        self.chance, self.mean = chance, mean
        self.worth = float(np.max(mean[:, 0, 0]))

    def gains(self, left: int) -> Floats:
        """Holes gained by 0 to ``left`` more tries on each variant; shape (k, left + 1)."""
        return np.stack([self._gains_of(variant, left) for variant in range(len(self.mean))])

    def _gains_of(self, variant: int, left: int) -> Floats:
        if len(self.mean) < 2:
            return np.zeros(left + 1)
        rivals = [other for other in range(len(self.mean)) if other != variant]
        best, reached = self._best_of(rivals)
        tail = np.append(np.cumsum((best * np.diff(reached, prepend=0.0))[::-1])[::-1], 0.0)
        first = self.given[variant]
        mean = self.mean[variant, first : first + left + 1]
        place = np.searchsorted(best, mean, side="right")
        kept = mean * np.append(0.0, reached)[place] + tail[place]
        worth = np.sum(self.chance[variant, first : first + left + 1] * kept, axis=-1)
        return self.plays * (worth - self.worth)

    def _best_of(self, variants: list[int]) -> tuple[Floats, Floats]:
        """Values the best expected rate of these may take after their tries, and its cumulative."""
        values = [self.mean[v, self.given[v], : self.given[v] + 1] for v in variants]
        support = np.unique(np.concatenate(values))
        reached = np.ones_like(support)
        for v, value in zip(variants, values, strict=True):
            chances = np.append(0.0, np.cumsum(self.chance[v, self.given[v], : value.size]))
            reached *= chances[np.searchsorted(value, support, side="right")] / chances[-1]
        return support, reached

    def give(self, variant: int, tries: int) -> None:
        """Commit tries to a variant; what the hole is worth grows by what they were to gain."""
        gain = float(self._gains_of(variant, tries)[-1])
        self.given[variant] += tries
        self.worth += gain / self.plays


def practice_holes(holes: Sequence[HoleLines], group: GroupRates) -> list[PracticeHole]:
    """Beta posteriors of each hole's lines, with the mean and variance of ``line_rates``.

    What a hole's lines share changes no choice between them, so that of the hyperparameters'
    variance only that of a line against the mean of its hole's lines counts:
    E Var(theta | h) + Var(E(theta | h) - mean of the hole). Errors: line_rates.
    """
    return [_practice_hole(hole, group) for hole in holes]


def _practice_hole(hole: HoleLines, group: GroupRates) -> PracticeHole:
    found = line_rates(hole.lines, group)
    given = found.theta @ RATES
    within = found.weight @ (found.theta @ RATES**2 - given**2)
    against = given - np.mean(given, axis=1, keepdims=True)
    between = found.weight @ against**2 - (found.weight @ against) ** 2
    mean = found.mean
    size = mean * (1 - mean) / (within + between) - 1
    a, b = np.maximum(mean * size, LEAST_PARAMETER), np.maximum((1 - mean) * size, LEAST_PARAMETER)
    return PracticeHole(hole.hole, a, b, hole.plays)


def _hole_states(holes: Sequence[PracticeHole], tries: int, correlation: float) -> list[_HoleState]:
    """All holes' states; the outcomes of up to ``tries`` tries are laid out in one batch."""
    pairs = [beta_parameters(np.atleast_1d(hole.a), np.atleast_1d(hole.b)) for hole in holes]
    if any(a.ndim != 1 for a, _ in pairs):
        raise EngineError("a hole's variants must be one list of rates")
    a, b = (np.concatenate([pair[side] for pair in pairs]) for side in (0, 1))
    chance, mean = _outcomes(a, b, tries, correlation)
    states: list[_HoleState] = []
    start = 0
    for hole, (variants, _) in zip(holes, pairs, strict=True):
        rows = slice(start, start + variants.size)
        states.append(_HoleState(hole, chance[rows], mean[rows]))
        start += variants.size
    return states


def _outcomes(a: Floats, b: Floats, entries: int, correlation: float) -> tuple[Floats, Floats]:
    """Chance of k holed in t tries and the expected rate after; both (variants, t, k), k <= t.

    Tries of one member, whose own rate varies around the line's rate theta: after k of t the next
    one is holed with (theta (1 - rho) + rho k) / (1 - rho + rho t) (a Polya urn, beta-binomial);
    averaged over theta ~ Beta(a, b).
    """
    size = entries + 1
    holed = np.arange(size, dtype=np.float64)
    rate, weight = beta_nodes(a, b)
    one = (rate * (1 - correlation))[..., None]
    other = ((1 - rate) * (1 - correlation))[..., None]
    now = np.zeros((*rate.shape, size))
    now[..., 0] = weight
    chance, mean = np.zeros((a.size, size, size)), np.zeros((a.size, size, size))
    for tries in range(size):
        chance[:, tries] = np.sum(now, axis=1)
        mean[:, tries] = np.sum(now * rate[..., None], axis=1)
        whole = 1 - correlation + correlation * tries
        missed = np.maximum(other + correlation * (tries - holed), 0.0)
        after = now * missed / whole
        after[..., 1:] += (now * (one + correlation * holed) / whole)[..., :-1]
        now = after
    # The mean grows with k; where a chance underflows, rounding must not say otherwise.
    return chance, np.maximum.accumulate(mean / np.where(chance > 0, chance, 1.0), axis=-1)


def beta_nodes(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Gauss nodes and weights of Beta(a, b) distributions; both (..., RATE_NODES).

    Eigenvalues and first components of the Jacobi matrix (Golub & Welsch 1969, Math. Comp. 23:221,
    M): sums over them are exact for polynomials up to degree 2 RATE_NODES - 1.
    """
    n = np.arange(RATE_NODES)
    first, second = b[..., None] - 1, a[..., None] - 1  # exponents of 1 - x and of 1 + x
    both = first + second
    middle = np.where(
        n == 0,
        (second - first) / (both + 2),
        (second - first) * both / np.maximum((2 * n + both) * (2 * n + both + 2), 1e-300),
    )
    k = n[1:]
    whole = 2 * k + both
    square = 4 * (k + first) * (k + second) / (whole * whole * (whole + 1))
    # k (k + both) / (whole - 1) is 1 for k = 1 whatever the parameters, also where both is -1
    beside = np.sqrt(
        square * np.where(k == 1, 1.0, k * (k + both) / np.where(k == 1, 1, whole - 1))
    )
    matrix = np.zeros((*middle.shape, RATE_NODES))
    matrix[..., n, n] = middle
    matrix[..., k, k - 1] = beside  # eigh reads the lower triangle only
    nodes, vectors = np.linalg.eigh(matrix)
    return np.clip((1 + nodes) / 2, 0.0, 1.0), vectors[..., 0, :] ** 2


def _best_block(table: Floats) -> tuple[int, int, float]:
    """Variant, tries and gain of the block that adds most a try; of equal ones the shortest."""
    per_try = table[:, 1:] / np.arange(1, table.shape[1], dtype=np.float64)
    best = float(np.max(per_try))
    tries, variant = np.nonzero((per_try >= best - TIE * abs(best)).T)
    chosen = int(variant[0]), int(tries[0]) + 1
    return *chosen, float(table[chosen])


def _best_offer(tables: list[Floats]) -> tuple[int, int, int, float]:
    """Hole, variant, tries and gain of the block that adds most a try over all holes."""
    offers = [_best_block(table) for table in tables]
    hole = max(range(len(offers)), key=lambda place: offers[place][2] / offers[place][1])
    return hole, *offers[hole]


def _merged(blocks: list[Allocation]) -> tuple[Allocation, ...]:
    """One allocation per variant, in the order in which each was first chosen."""
    together: dict[tuple[str, int], Allocation] = {}
    for block in blocks:
        key = (block.hole, block.variant)
        so_far = together.get(key, Allocation(block.hole, block.variant, 0, 0.0))
        together[key] = Allocation(*key, so_far.tries + block.tries, so_far.gain + block.gain)
    return tuple(together.values())


def plan_practice(
    holes: Sequence[PracticeHole], entries: int, *, correlation: float = 0.0
) -> PracticePlan:
    """Spread practice entries over holes and variants where they are worth most for the group.

    Worth of a plan: sum over holes of plays * E[max over variants of the expected rate after the
    plan's tries]; the expectation is exact for up to 79 tries of a variant (beta-binomial outcomes,
    independent variants). ``correlation`` is that of two tries of one member on one variant
    (GroupRates.correlation): the entries are one member's. Block
    by block, the one with the highest gain per try of all holes, variants and lengths is taken
    (Raiffa & Schlaifer's expected value of sample information; the blocks are the KG(*) remedy
    of Frazier & Powell 2010 for the flat start of a test's worth; both from memory).

    Where no block of the member's own entries could change a choice, they begin the test that would
    be worth most with up to 50 tries of others after them; such tries have a gain of 0.
    Asked again after some tries, it plans anew from what they showed. Time grows with entries: run
    it off the event loop (9 holes of 5 variants: about 15 ms for 20 entries, .2 s for 200).
    Raises EngineError for no holes, a hole named twice, entries that are not a whole number from
    0 to 200, a correlation outside 0 to .9, or parameters out of range.
    """
    if not holes:
        raise EngineError("there must be at least one hole to practise")
    if len({hole.hole for hole in holes}) < len(holes):
        raise EngineError("each hole must be given once")
    wanted = float(numbers(entries, "entries", least=0, most=MOST_ENTRIES))
    if wanted != math.floor(wanted):
        raise EngineError("entries must be a whole number")
    left = int(wanted)
    rho = float(numbers(correlation, "the correlation", least=0, most=MOST_CORRELATION))
    states = _hole_states(holes, left + LOOK_AHEAD, rho)
    blocks: list[Allocation] = []
    tables = [state.gains(left) for state in states]
    while left:
        chosen, variant, tries, gain = _best_offer([table[:, : left + 1] for table in tables])
        if gain < LEAST_GAIN:
            longer = [state.gains(left + LOOK_AHEAD) for state in states]
            chosen, variant, tries, hoped = _best_offer(longer)
            if hoped < LEAST_GAIN:
                break
            tries, gain = min(tries, left), 0.0
        states[chosen].give(variant, tries)
        left -= tries
        tables[chosen] = states[chosen].gains(left)
        blocks.append(Allocation(states[chosen].name, variant, tries, gain))
    return PracticePlan(_merged(blocks), sum((block.gain for block in blocks), 0.0), left)


def tries_to_separate(
    rate_a: float, rate_b: float, *, power: float = POWER, confidence: float = CONFIDENCE
) -> Separation:
    """Tries each of two variants needs before their difference shows. Errors: tries_to_tell_apart.

    ``power`` is the chance to see the difference, ``confidence`` that of not seeing one that is
    not there (two-sided).
    """
    exact = float(tries_to_tell_apart(rate_a, rate_b, power=power, confidence=confidence))
    effect = abs(float(effect_size(rate_a, rate_b)))
    return Separation(math.ceil(exact), exact, effect, power, confidence)
