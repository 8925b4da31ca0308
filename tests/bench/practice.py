"""What the practice rule and the wind kernel are worth, simulated.

Run as ``python -m tests.bench.practice``; it takes some minutes.

1. The rule of engine.practice against equal spreading (over all variants; over each hole's two
   best). A seed draws a group's holes, the true hole-out rates of their variants and the results
   logged so far. All ways of spreading then see the very same tries (the i-th try of a variant has
   one outcome, whoever asks for it), the group plays the variant with the best expected rate on
   each hole, and the score is the sum of the true rates of those: holes holed per round.
   Differences are paired, so their error is small.
2. Widths of the kernel for winds like yours: error of a rate estimated from results in other winds.
"""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from engine.intervals import Floats, disc_hit_probability
from engine.practice import PracticeHole, plan_practice
from engine.variants import pooled_prior

TRUE_RATES = (2.0, 6.0)  # beta distribution of the rates simulated, mean .25; invented
MOST_LOGGED = 12  # logged tries a variant, 0 to this, evenly
GROUPS = 600  # seeds a scenario


@dataclass
class Group:
    """One seed's group: per hole the true rates, tries and holed so far, and tries to come."""

    truth: list[Floats]
    tries: list[Floats]
    holed: list[Floats]
    coming: list[Floats]

    def posteriors(self) -> list[tuple[Floats, Floats]]:
        """Beta posteriors from the logged results, with the group's pooled prior."""
        made = sum(float(np.sum(holed)) for holed in self.holed)
        tried = sum(float(np.sum(tries)) for tries in self.tries)
        a, b = pooled_prior(made, tried)
        pairs = zip(self.holed, self.tries, strict=True)
        return [(a + holed, b + tries - holed) for holed, tries in pairs]


def draw_group(seed: int, *, holes: int, entries: int) -> Group:
    """A group of ``holes`` holes with two to four variants each."""
    rng = np.random.default_rng(seed)
    sizes = rng.integers(2, 5, holes)
    truth = [rng.beta(*TRUE_RATES, size) for size in sizes]
    tries = [rng.integers(0, MOST_LOGGED + 1, size).astype(np.float64) for size in sizes]
    holed = [
        rng.binomial(n.astype(int), p).astype(np.float64) for n, p in zip(tries, truth, strict=True)
    ]
    coming = [(rng.random((p.size, entries)) < p[:, None]).astype(np.float64) for p in truth]
    return Group(truth, tries, holed, coming)


Spread = Callable[[Group, int, int], list[np.ndarray]]


def by_rule(group: Group, entries: int, _seed: int) -> list[np.ndarray]:
    """Tries per hole and variant as engine.practice plans them."""
    posteriors = group.posteriors()
    holes = [PracticeHole(str(i), a, b) for i, (a, b) in enumerate(posteriors)]
    tries = [np.zeros(a.size, dtype=int) for a, _ in posteriors]
    for part in plan_practice(holes, entries).allocations:
        tries[int(part.hole)][part.variant] += part.tries
    return tries


def equally(group: Group, entries: int, seed: int) -> list[np.ndarray]:
    """The same number of tries for every variant, the odd ones by lot."""
    sizes = [truth.size for truth in group.truth]
    share, odd = divmod(entries, sum(sizes))
    flat = np.full(sum(sizes), share)
    lucky = np.random.default_rng([seed, 1]).permutation(sum(sizes))[:odd]
    flat[lucky] += 1
    return np.split(flat, np.cumsum(sizes)[:-1])


def leaders_equally(group: Group, entries: int, seed: int) -> list[np.ndarray]:
    """The same number of tries for each hole's two variants of best expected rate."""
    leads = [np.argsort(-a / (a + b))[:2] for a, b in group.posteriors()]
    share, odd = divmod(entries, 2 * len(leads))
    lucky = np.random.default_rng([seed, 2]).permutation(2 * len(leads))[:odd]
    flat = np.full(2 * len(leads), share)
    flat[lucky] += 1
    tries = [np.zeros(truth.size, dtype=int) for truth in group.truth]
    for hole, lead in enumerate(leads):
        tries[hole][lead] = flat[2 * hole : 2 * hole + 2]
    return tries


def score(group: Group, spread: Spread, rounds: list[int], seed: int) -> float:
    """Holes holed a round after the entries were spent; each round plans on what is known then."""
    now = Group(group.truth, [*group.tries], [*group.holed], group.coming)
    used = [np.zeros(truth.size, dtype=int) for truth in group.truth]
    for number, entries in enumerate(rounds):
        for hole, extra in enumerate(spread(now, entries, seed + 7919 * number)):
            place = np.arange(group.coming[hole].shape[1])
            seen = (place >= used[hole][:, None]) & (place < (used[hole] + extra)[:, None])
            now.holed[hole] = now.holed[hole] + np.sum(group.coming[hole] * seen, axis=1)
            now.tries[hole] = now.tries[hole] + extra
            used[hole] = used[hole] + extra
    choices = [int(np.argmax(a / (a + b))) for a, b in now.posteriors()]
    return sum(float(truth[i]) for truth, i in zip(group.truth, choices, strict=True))


@dataclass(frozen=True)
class Outcome:
    """Mean holes holed a round by each way, and the rule's paired differences to both others."""

    untested: float
    equal: float
    leaders: float
    rule: float
    known: float
    difference: float
    error: float
    leaders_difference: float
    leaders_error: float


def compare(seeds: range, *, holes: int, rounds: list[int]) -> Outcome:
    """All ways over the same groups; ``known`` is what perfect knowledge would hole."""
    rows: list[tuple[float, ...]] = []
    for seed in seeds:
        group = draw_group(seed, holes=holes, entries=sum(rounds))
        ways = (equally, leaders_equally, by_rule)
        scores = [score(group, way, rounds, seed) for way in ways]
        best = sum(float(np.max(truth)) for truth in group.truth)
        rows.append((score(group, equally, [], seed), *scores, best))
    table = np.array(rows)
    means = [float(mean) for mean in np.mean(table, axis=0)]
    figures: list[float] = []
    for other in (1, 2):
        difference = table[:, 3] - table[:, other]
        error = float(np.std(difference, ddof=1)) / math.sqrt(len(rows))
        figures += [float(np.mean(difference)), error]
    return Outcome(*means, *figures)


def kernel_errors(
    widths_mph: Floats, *, results: int, law_error: float, groups: int, seed: int
) -> Floats:
    """Root mean square error of the rate at the reader's wind, one per width.

    Invented but plain: misses normal with 2 to 4 m an axis; winds of the results with 5 mph sd an
    axis around a centre 3 mph sd off the reader's; each mph of difference moves the mean miss by
    1.4 m (1% of a 150 yd carry) times the law's relative error, which is normal.
    """
    rng = np.random.default_rng(seed)
    spread = rng.uniform(2, 4, groups)
    truth = rng.beta(*TRUE_RATES, groups)
    radius = spread * np.sqrt(-2 * np.log1p(-truth))
    slope = np.abs(law_error * 1.4 * rng.normal(size=groups))
    away = rng.normal(0, 5, (groups, results, 2)) + rng.normal(0, 3, (groups, 1, 2))
    squared = np.sum(away**2, axis=-1)
    chance = disc_hit_probability(
        offset_m=slope[:, None] * np.sqrt(squared),
        radius_m=radius[:, None],
        spread_m=spread[:, None],
    )
    holed = rng.random(chance.shape) < chance
    prior, rest = pooled_prior(float(np.sum(holed)), float(holed.size))
    errors: list[float] = []
    for width in widths_mph:
        weight = np.exp(-squared / (2 * width * width))
        rate = (prior + np.sum(weight * holed, 1)) / (prior + rest + np.sum(weight, 1))
        errors.append(float(np.sqrt(np.mean((rate - truth) ** 2))))
    return np.array(errors)


def print_rule() -> None:
    """Part 1, for one member and for six in turn."""
    print("holes holed a round: before tests | equally | two leaders equally | rule | rates known")
    for name, rounds in (
        ("one member, 20 entries", [20]),
        ("one member, 60 entries", [60]),
        ("six members in turn, 10 entries each", [10] * 6),
    ):
        start = time.perf_counter()
        got = compare(range(GROUPS), holes=9, rounds=rounds)
        took = time.perf_counter() - start
        means = (got.untested, got.equal, got.leaders, got.rule, got.known)
        print(f"{name}:", " | ".join(f"{mean:.3f}" for mean in means), f"({took:.0f} s)")
        times = (got.rule - got.untested) / (got.equal - got.untested)
        print(
            f"  rule - equally {got.difference:+.4f}, standard error {got.error:.4f} "
            f"({times:.2f} times its gain over no test)"
        )
        print(
            f"  rule - two leaders equally {got.leaders_difference:+.4f}, "
            f"standard error {got.leaders_error:.4f}"
        )


def print_widths() -> None:
    """Part 2: each error as a ratio to the least of its row."""
    widths = np.array([1, 2, 3, 4, 6, 9, 1e6])
    print("kernel width in mph:", *(f"{width:6g}" for width in widths))
    for law_error in (0.15, 0.3, 0.6):
        for results in (10, 30, 100):
            errors = kernel_errors(
                widths, results=results, law_error=law_error, groups=4000, seed=11
            )
            ratios = " ".join(f"{ratio:6.2f}" for ratio in errors / np.min(errors))
            print(f"law wrong by {law_error:4.0%}, {results:3d} results: {ratios}")


if __name__ == "__main__":
    print(f"{GROUPS} groups (seeds from 0), 9 holes of 2 to 4 variants")
    print_rule()
    print_widths()
