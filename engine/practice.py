"""What to test next: where a practice entry is worth most for the group.

The rule, in one sentence: *put the next tries where each is expected to add most holes holed, if
the group afterwards plays the variant with the best expected rate on every hole.* A test is worth
nothing when no outcome would change which variant is played, and much when it may well do so on a
hole many will play. It is the expected value of sample information of the whole plan, spent
greedily in blocks, since one try alone often cannot change a choice that five can.

Measured by ``tests/bench/practice.py`` (600 groups, 9 holes of 2 to 4 variants): 20 entries of one
member hole .049 more a round than spread equally (standard error .008), which is 2.3 times what
equal spreading gains; six members in turn with 10 each .098 more (.007), 2.4 times.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from engine.intervals import (
    CONFIDENCE,
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


def _hole_states(holes: Sequence[PracticeHole], tries: int) -> list[_HoleState]:
    """All holes' states; the outcomes of up to ``tries`` tries are laid out in one batch."""
    pairs = [beta_parameters(np.atleast_1d(hole.a), np.atleast_1d(hole.b)) for hole in holes]
    if any(a.ndim != 1 for a, _ in pairs):
        raise EngineError("a hole's variants must be one list of rates")
    a, b = (np.concatenate([pair[side] for pair in pairs]) for side in (0, 1))
    chance, mean = _outcomes(a, b, tries)
    states: list[_HoleState] = []
    start = 0
    for hole, (variants, _) in zip(holes, pairs, strict=True):
        rows = slice(start, start + variants.size)
        states.append(_HoleState(hole, chance[rows], mean[rows]))
        start += variants.size
    return states


def _outcomes(a: Floats, b: Floats, entries: int) -> tuple[Floats, Floats]:
    """Chance of k holed in t tries and the expected rate after; both (variants, t, k), k <= t.

    Chances are beta-binomial, built try by try as Polya's urn: p(k, t + 1) = p(k, t) (b + t - k) /
    (a + b + t) + p(k - 1, t) (a + k - 1) / (a + b + t), a sum of positive terms.
    """
    size = entries + 1
    holed = np.arange(size, dtype=np.float64)
    one, other = a[:, None], b[:, None]
    chance = np.zeros((a.size, size, size))
    chance[:, 0, 0] = 1.0
    for tries in range(entries):
        now, whole = chance[:, tries, :], one + other + tries
        missed = np.maximum(other + tries - holed, 0.0)
        chance[:, tries + 1, :] = now * missed / whole
        chance[:, tries + 1, 1:] += (now * (one + holed) / whole)[:, :-1]
    whole = one + other + holed
    mean = (one[:, :, None] + holed) / whole[:, :, None]
    return chance, mean


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


def plan_practice(holes: Sequence[PracticeHole], entries: int) -> PracticePlan:
    """Spread practice entries over holes and variants where they are worth most for the group.

    Worth of a plan: sum over holes of plays * E[max over variants of the expected rate after the
    plan's tries]; the expectation is exact (beta-binomial outcomes, independent variants). Block
    by block, the one with the highest gain per try of all holes, variants and lengths is taken
    (Raiffa & Schlaifer's expected value of sample information; the blocks are the KG(*) remedy
    of Frazier & Powell 2010 for the flat start of a test's worth; both from memory).

    Where no block of the member's own entries could change a choice, they begin the test that would
    be worth most with up to 50 tries of others after them; such tries have a gain of 0.
    Asked again after some tries, it plans anew from what they showed. Time grows with entries: run
    it off the event loop (9 holes of 5 variants: about 15 ms for 20 entries, .2 s for 200).
    Raises EngineError for no holes, a hole named twice, entries that are not a whole number from
    0 to 200, or parameters out of range.
    """
    if not holes:
        raise EngineError("there must be at least one hole to practise")
    if len({hole.hole for hole in holes}) < len(holes):
        raise EngineError("each hole must be given once")
    wanted = float(numbers(entries, "entries", least=0, most=MOST_ENTRIES))
    if wanted != math.floor(wanted):
        raise EngineError("entries must be a whole number")
    left = int(wanted)
    states = _hole_states(holes, left + LOOK_AHEAD)
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
