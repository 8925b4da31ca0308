"""What the learning is worth, how honest its intervals are and what it costs, simulated.

Run as ``python -m tests.bench.gain [SEEDS]``; 500 seeds take some minutes. Ends with 1 where a
bound is missed: with the main world's differences and hits, 90% intervals hold the truth 85-95% of
the time; after 30 results with a club the allowance errs at most half as much as uncorrected, and
with 30 over the whole bag at most an eighth more than whoever knows everything but the gains.

A seed is a group with a bag of four families, ten clubs and thirty grades. Hidden gains lie in .6
to 1.6: the group's are even in .7 to 1.5, families, clubs and grades differ from it by normal
amounts, the total is held to the range. Biases likewise. The members favour some grades over
others (Dirichlet). One result in ten is grossly wrong: half of those are mishits, 10 to 50 m short
and anywhere across, half had their wind typed from the opposite side. All of it is invented and
the same for every seed. The world was not changed to better a figure; the prior's spreads in
engine.gain_learn were chosen with these figures in view, for all scenarios together. Seeds are
groups of one tree, so that 500 seeds are one call.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from engine.gain import (
    LEARN_PASSES,
    Posterior,
    full_pass,
    posterior_from_sums,
    predict,
    shot_weight,
    standard_errors,
)
from engine.gain_learn import DEFAULT_PRIOR, GainPrior, Problem, learn, start
from engine.gain_mistake import Mistake, explain_misses
from engine.gain_sums import GainSums, GradeTree, Ints, Results
from engine.gain_tree import GRADE
from engine.robust import Floats

Answer = TypeVar("Answer")

FAMILY_OF_CLUB = np.array([0, 0, 0, 1, 1, 1, 2, 2, 3, 3])
GRADES_OF_CLUB = 3
GRADES = len(FAMILY_OF_CLUB) * GRADES_OF_CLUB
GAIN_RANGE = (0.6, 1.6)
GROUP_GAIN = (0.7, 1.5)
GAIN_SD = np.array([0.10, 0.08, 0.05])  # family, club, grade
BIAS_SD_M = np.array([2.0, 1.2, 0.9, 0.5])  # group, family, club, grade
NOISE_M = (3.5, 2.5)
GROSS = 0.1
Z90 = 1.6448536269514722  # normal quantile of a 90% interval
HONEST = (0.85, 0.955)  # the bound of 85-95%, the last half percent for rounding
MOST_OF_UNCORRECTED = 0.5  # after 30 results with one club
MOST_OVER_KNOWING = 1.125


@dataclass
class World:
    """Groups with hidden gains and biases, (grades, 2) by axis, and each grade's popularity."""

    tree: GradeTree
    gain: Floats
    bias_m: Floats
    popular: Floats


def hidden_world(
    rng: np.random.Generator,
    *,
    groups: int,
    spread: float = 1.0,
    bias: float = 1.0,
    grades_used: int = GRADES,
) -> World:
    """``spread`` multiplies how far families, clubs and grades differ, ``bias`` the biases; the
    first ``grades_used`` grades of each group are played."""
    club = np.repeat(np.arange(len(FAMILY_OF_CLUB)), GRADES_OF_CLUB)
    tree = GradeTree.from_labels(
        group=np.repeat(np.arange(groups), GRADES),
        family=np.tile(FAMILY_OF_CLUB[club], groups),
        club=np.tile(club, groups),
    )
    at_club = tree.club_of_grade
    at_family = tree.family_of_club[at_club]
    at_group = tree.group_of_family[at_family]
    places = ((at_family, len(tree.group_of_family)), (at_club, len(tree.family_of_club)))
    places = (*places, (np.arange(tree.grades), tree.grades))
    gain = rng.uniform(*GROUP_GAIN, (groups, 2))[at_group]
    bias_m = rng.normal(0.0, BIAS_SD_M[0], (groups, 2))[at_group]
    for (at, nodes), gain_sd, bias_sd in zip(places, GAIN_SD, BIAS_SD_M[1:], strict=True):
        gain = gain + rng.normal(0.0, gain_sd * spread, (nodes, 2))[at]
        bias_m = bias_m + rng.normal(0.0, bias_sd * spread, (nodes, 2))[at]
    popular = np.zeros((groups, GRADES))
    popular[:, :grades_used] = rng.dirichlet(np.full(grades_used, 0.4), groups)
    return World(tree, np.clip(gain, *GAIN_RANGE), bias_m * bias, popular)


def law_effects(rng: np.random.Generator, shots: int) -> Floats:
    """Effects (n, 2) of winds of 0 to 7 m/s from anywhere on a middle iron, in metres."""
    speed, direction = rng.uniform(0.0, 7.0, shots), rng.uniform(0.0, 2.0 * np.pi, shots)
    along = -speed * np.cos(direction)
    return np.column_stack(
        [np.where(along < 0.0, 2.2, 1.3) * along, -1.8 * speed * np.sin(direction)]
    )


def choose_grades(rng: np.random.Generator, world: World, shots: int) -> Ints:
    """(groups, shots) grades as the members of each group choose them."""
    groups = len(world.popular)
    picks = rng.random((groups, shots, 1)) > np.cumsum(world.popular, axis=1)[:, None, :]
    own = np.minimum(picks.sum(axis=2), GRADES - 1)
    return (own + GRADES * np.arange(groups)[:, None]).astype(np.int64)


def play(
    rng: np.random.Generator,
    world: World,
    grade: Ints,
    *,
    noise_m: tuple[float, float] = NOISE_M,
    gross: float = GROSS,
) -> tuple[Results, Ints]:
    """Results of shots (n,), and of each: 0 as it should be, 1 mishit, 2 typed the wrong way."""
    shots = len(grade)
    typed = law_effects(rng, shots)
    fate = np.where(rng.random(shots) < gross, 1 + (rng.random(shots) < 0.5), 0)
    blown = np.where((fate == 2)[:, None], -typed, typed)
    observed = world.gain[grade] * blown + world.bias_m[grade]
    observed += rng.normal(size=(shots, 2)) * noise_m
    mishit = np.column_stack([-rng.uniform(10.0, 50.0, shots), rng.normal(0.0, 15.0, shots)])
    observed += np.where((fate == 1)[:, None], mishit, 0.0)
    return Results(grade, typed, observed), fate


def covered(world: World, posterior: Posterior) -> tuple[Floats, Floats]:
    """Shares of 90% intervals that hold the truth, (axis, gain and bias), over logged grades and
    over the others."""
    truth = np.stack([world.gain, world.bias_m], axis=-1)
    error = np.abs(posterior.grades.mean - truth) / standard_errors(posterior.grades)
    inside, logged = error <= Z90, posterior.shots[:, 0] > 0
    return inside[logged].mean(axis=0), inside[~logged].mean(axis=0)


def aim_errors(
    rng: np.random.Generator, world: World, posterior: Posterior, *, shots: int
) -> tuple[float, float]:
    """Root mean square error in metres of the next shots' allowances, uncorrected and corrected."""
    grade = choose_grades(rng, world, shots).ravel()
    law = law_effects(rng, len(grade))
    truth = world.gain[grade] * law + world.bias_m[grade]
    learned = predict(posterior, grade, law).effect_m
    pair = [np.sqrt(((guess - truth) ** 2).sum(axis=1).mean()) for guess in (law, learned)]
    return float(pair[0]), float(pair[1])


def one_by_one(
    world: World, results: Results, *, refresh_at: tuple[int, ...] = ()
) -> tuple[GainSums, Floats]:
    """Sums and weights (groups, shots) of results that enter one at a time in every group."""
    groups = len(world.popular)
    shots = len(results) // groups
    order = np.arange(len(results)).reshape(groups, shots)
    sums, weight = GainSums.zero(grades=world.tree.grades), np.zeros((groups, shots))
    posterior = posterior_from_sums(sums, world.tree)
    for turn in range(shots):
        new = take(results, order[:, turn])
        weight[:, turn] = shot_weight(posterior, new)
        sums = sums + GainSums.of(new, weight[:, turn], grades=world.tree.grades)
        if turn + 1 in refresh_at:
            again = full_pass(take(results, order[:, : turn + 1].ravel()), world.tree)
            sums, weight[:, : turn + 1] = again.sums, again.weight.reshape(groups, -1)
        posterior = posterior_from_sums(sums, world.tree)
    return sums, weight


def take(results: Results, which: Ints) -> Results:
    return Results(results.grade[which], results.predicted_m[which], results.observed_m[which])


def print_coverage(seeds: int) -> bool:
    held = True
    print(f"1. 90% intervals that hold the truth, {seeds} seeds; gain long right, bias long right")
    for spread, noise_m in ((1.0, NOISE_M), (1.0, (6.0, 5.0)), (0.5, NOISE_M), (1.5, NOISE_M)):
        print(f"   differences between clubs x{spread}, hits {noise_m[0]} by {noise_m[1]} m")
        for shots in (20, 60, 200, 600, 2000):
            rng = np.random.default_rng((11, shots))
            world = hidden_world(rng, groups=seeds, spread=spread)
            grade = choose_grades(rng, world, shots).ravel()
            results, _ = play(rng, world, grade, noise_m=noise_m)
            logged, others = covered(world, full_pass(results, world.tree).posterior)
            print(f"   {shots:6} results: logged {percent(logged)}   not logged {percent(others)}")
            if (spread, noise_m) == (1.0, NOISE_M):
                both = np.stack([logged, others])
                held &= bool((both >= HONEST[0]).all() and (both <= HONEST[1]).all())
    return held


def percent(share: Floats) -> str:
    return " ".join(f"{100.0 * value:5.1f}" for value in share.T.ravel())


def knowing(world: World, results: Results, fate: Ints, *, bias: float) -> Posterior:
    """What whoever knows every spread and the hits, and which results are gross, would say.

    Only gains and biases are left to learn, and Bayes' rule wastes nothing: less error than this
    is not to be had from these results (but for the range gains are held to, which it ignores).
    """
    group_sd = (GROUP_GAIN[1] - GROUP_GAIN[0]) / 12**0.5
    prior = GainPrior(
        gain_sd=(group_sd, *GAIN_SD.tolist()),
        bias_sd_m=tuple((BIAS_SD_M * max(bias, 1e-3)).tolist()),
        noise_m=NOISE_M,
        noise_shots=1e9,
        learn_spread=False,
        tail_factor=1.0,
    )
    sums = GainSums.of(results, fate == 0, grades=world.tree.grades)
    return posterior_from_sums(sums, world.tree, prior=prior)


def print_aim(seeds: int) -> bool:
    print(f"2. Error of the allowance, metres (rms), {seeds} seeds: by the law alone, learned,")
    print("   ratio; ratio of whoever knows all but the gains")
    held = True
    cases = (
        (GRADES_OF_CLUB, 1.0, "one club's grades"),
        (GRADES_OF_CLUB, 0.0, "one club's, no hidden bias"),
        (GRADES, 1.0, "the whole bag"),
        (GRADES, 0.0, "the whole bag, no hidden bias"),
    )
    for used, bias, name in cases:
        for shots in (10, 30, 60, 120, 480):
            ratio, best = aim_ratios(seeds, shots=shots, bias=bias, grades_used=used, name=name)
            if shots == 30 and bias:
                club = used == GRADES_OF_CLUB
                held &= ratio <= (MOST_OF_UNCORRECTED if club else MOST_OVER_KNOWING * best)
    return held


def aim_ratios(
    seeds: int, *, shots: int, bias: float, grades_used: int, name: str
) -> tuple[float, float]:
    """Learned and knowing error over uncorrected error; prints a line."""
    rng = np.random.default_rng((12, shots))
    world = hidden_world(rng, groups=seeds, bias=bias, grades_used=grades_used)
    results, fate = play(rng, world, choose_grades(rng, world, shots).ravel())
    found = full_pass(results, world.tree).posterior
    best = knowing(world, results, fate, bias=bias)
    law, learned = aim_errors(np.random.default_rng((17, shots)), world, found, shots=200)
    _, least = aim_errors(np.random.default_rng((17, shots)), world, best, shots=200)
    ratio, least_ratio = learned / law, least / law
    head = f"   {shots:4} results on {name:29}: {law:.2f} {learned:.2f}"
    print(f"{head} {ratio:.2f}; {least_ratio:.2f}")
    return ratio, least_ratio


def print_agreement(seeds: int) -> None:
    print(f"3. One by one against a full pass of the same results, {seeds} seeds, standard errors")
    for shots, refresh_at in ((30, ()), (120, ()), (480, ()), (480, (15, 30, 60, 120, 240))):
        rng = np.random.default_rng((13, shots))
        world = hidden_world(rng, groups=seeds)
        results, _ = play(rng, world, choose_grades(rng, world, shots).ravel())
        sums, _ = one_by_one(world, results, refresh_at=refresh_at)
        single = posterior_from_sums(sums, world.tree)
        whole = full_pass(results, world.tree).posterior
        step = single.grades.mean - whole.grades.mean
        apart = (np.abs(step) / standard_errors(whole.grades)).ravel()
        law, learned = aim_errors(rng, world, single, shots=100)
        _, again = aim_errors(rng, world, whole, shots=100)
        print(
            f"   {shots} results, refreshed at {refresh_at or 'never'}: rms {rms(apart):.2f},"
            f" 99% within {np.quantile(apart, 0.99):.2f}, most {apart.max():.2f};"
            f" aim {law:.2f} -> {learned:.2f} m one by one, {again:.2f} m in one pass;"
            f" covered {percent(covered(world, single)[0])}"
        )


def rms(values: Floats) -> float:
    return float(np.sqrt((values**2).mean()))


def print_learning() -> None:
    print(f"4. Standard errors from {LEARN_PASSES} passes that learn spreads to 100, worst grade")
    for groups, shots in ((1, 1000), (100, 200), (100, 20)):
        rng = np.random.default_rng(14)
        world = hidden_world(rng, groups=groups)
        results, _ = play(rng, world, choose_grades(rng, world, shots).ravel())
        found = full_pass(results, world.tree)
        problem = Problem.of(found.sums, world.tree, DEFAULT_PRIOR)
        settled = problem.pool(learn(problem, start(problem), passes=100)).beliefs[GRADE]
        step = np.abs(settled.mean - found.posterior.grades.mean) / standard_errors(settled)
        print(f"   {groups} groups of {shots} results: {step.max():.3f}")


def print_mistakes(seeds: int) -> None:
    rng = np.random.default_rng(15)
    world = hidden_world(rng, groups=seeds)
    results, fate = play(rng, world, choose_grades(rng, world, 200).ravel())
    posterior = full_pass(results, world.tree).posterior
    found = explain_misses(posterior, results)
    print(f"5. Winds typed the wrong way, {len(results)} results")
    names = ("as they should be", "mishits", "typed the wrong way")
    for kind, name in enumerate(names):
        print(f"   asked about {100.0 * found.ask[fate == kind].mean():.2f}% of {name}")
    size = np.abs(results.predicted_m).sum(axis=1)
    for least, most in ((0.0, 4.0), (4.0, 8.0), (8.0, 12.0), (12.0, 30.0)):
        wrong = (fate == 2) & (size >= least) & (size < most)
        right = found.mistake[wrong] == int(Mistake.REVERSED)
        print(f"   effect {least:.0f} to {most:.0f} m: named {100.0 * right.mean():.0f}%")


def print_cost() -> None:
    rng = np.random.default_rng(16)
    world = hidden_world(rng, groups=34)
    grade = rng.integers(0, world.tree.grades, 1_000_000)
    results, _ = play(rng, world, grade)
    whole, found = timed(lambda: full_pass(results, world.tree))
    naive, _ = timed(lambda: grade_by_grade(results, world.tree.grades))
    print(
        f"6. A million results on {world.tree.grades} grades: a full pass of {found.passes} rounds"
    )
    print(f"   {whole:.1f} s; least squares grade by grade, once, here and now {naive:.1f} s;")
    print(f"   so a round costs {whole / found.passes / naive:.2f} of that")
    small = hidden_world(rng, groups=1)
    adds = [
        adder(small, play(rng, small, choose_grades(rng, small, shots).ravel())[0])
        for shots in (10, 1_000_000)
    ]
    times = np.median([[timed(add)[0] for add in adds] for _ in range(101)], axis=0)
    print(
        f"   one more result in a group of {GRADES} grades: {1e3 * times[0]:.1f} ms at 10 results,"
    )
    print(f"   {1e3 * times[1]:.1f} ms at a million, ratio {times[1] / times[0]:.2f}")


def adder(world: World, results: Results) -> Callable[[], Posterior]:
    """Weighs one more result, adds it and gives the new posterior."""
    grades = world.tree.grades
    sums = GainSums.of(results, np.ones(len(results)), grades=grades)
    posterior = posterior_from_sums(sums, world.tree)
    new = take(results, np.array([0]))

    def add() -> Posterior:
        extra = GainSums.of(new, shot_weight(posterior, new), grades=grades)
        return posterior_from_sums(sums + extra, world.tree)

    return add


def grade_by_grade(results: Results, grades: int) -> None:
    """The plain way, as a yardstick: sort, then least squares for each grade and axis."""
    order = np.argsort(results.grade, kind="stable")
    ends = np.cumsum(np.bincount(results.grade, minlength=grades))[:-1]
    for part in np.split(order, ends):
        for axis in range(2):
            effect = results.predicted_m[part, axis]
            design = np.column_stack([effect, np.ones_like(effect)])
            np.linalg.lstsq(design, results.observed_m[part, axis], rcond=None)


def timed(what: Callable[[], Answer]) -> tuple[float, Answer]:
    begun = time.perf_counter()
    answer = what()
    return time.perf_counter() - begun, answer


def main() -> int:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    held = print_coverage(seeds) & print_aim(seeds)
    print_agreement(min(seeds, 100))
    print_learning()
    print_mistakes(min(seeds, 200))
    print_cost()
    print("bounds held" if held else "A BOUND IS MISSED")
    return 0 if held else 1


if __name__ == "__main__":
    sys.exit(main())
