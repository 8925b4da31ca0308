"""How often the change-point test cries wolf, and what it finds, simulated.

Run as ``python -m tests.bench.drift [SERIES]``; 2,000 series take some minutes. Winds are 0 to 7
m/s from anywhere on a middle iron, hits 3.5 by 2.5 m, one result in ten is a mishit. The rates
asked for are 1% (what ``changed`` means) and 5%. In a bag of mixed grades two with gains 1.0 and
1.2 are played, the second ever more often.
"""

import sys
import time

import numpy as np

from engine.drift import find_change
from engine.response_tree import Ints
from engine.robust import Floats

NOISE_M = (3.5, 2.5)
MISHITS = 0.1
HOLE_SHOTS = 8  # results in one and the same wind, where a week's hole has one


def law_effects(rng: np.random.Generator, shots: int) -> Floats:
    """Effects (n, 2) of winds of 0 to 7 m/s from anywhere on a middle iron, in metres."""
    speed, direction = rng.uniform(0.0, 7.0, shots), rng.uniform(0.0, 2.0 * np.pi, shots)
    along = -speed * np.cos(direction)
    return np.column_stack(
        [np.where(along < 0.0, 2.2, 1.3) * along, -1.8 * speed * np.sin(direction)]
    )


def mixed_grades(rng: np.random.Generator, shots: int) -> tuple[Floats, Floats, Ints]:
    """Effects, residuals and grades: the second grade has a gain of 1.2 and comes with time."""
    effect, residual = series(rng, shots, kind="mishits")
    grade = (rng.random(shots) < np.arange(shots) / shots).astype(np.int64)
    return effect, residual + 0.2 * effect * grade[:, None], grade


def series(
    rng: np.random.Generator, shots: int, *, kind: str, gain: float = 0.0, bias_m: float = 0.0
) -> tuple[Floats, Floats]:
    """Effects and residuals (n, 2); gain and bias are off by so much from the middle on."""
    effect = law_effects(rng, shots)
    if kind == "one wind a hole":
        effect = np.repeat(law_effects(rng, -(-shots // HOLE_SHOTS)), HOLE_SHOTS, axis=0)[:shots]
    residual = rng.normal(size=(shots, 2)) * NOISE_M
    if kind == "wilder in wind":
        residual *= (0.6 + np.abs(effect).sum(axis=1) / 10.0)[:, None]
    if kind != "clean":
        wild = rng.random(shots) < MISHITS
        short, across = rng.uniform(10.0, 50.0, shots), rng.normal(0.0, 15.0, shots)
        residual += np.where(wild[:, None], np.column_stack([-short, across]), 0.0)
    middle = shots // 2
    residual[middle:] += gain * effect[middle:] + bias_m
    return effect, residual


def print_false_alarms(count: int) -> None:
    print(f"Nothing changed, {count} series each: said to have changed at 1%, at 5%")
    for kind in ("clean", "mishits", "one wind a hole", "wilder in wind"):
        for shots in (24, 60, 200):
            rng = np.random.default_rng((31, shots))
            chances = np.empty(count)
            begun = time.perf_counter()
            for turn in range(count):
                found = find_change(*series(rng, shots, kind=kind))
                assert found is not None
                chances[turn] = found.p_value
            each = (time.perf_counter() - begun) / count
            rates = " ".join(f"{100.0 * (chances <= level).mean():5.2f}%" for level in (0.01, 0.05))
            print(f"   {kind:15} {shots:4} shots: {rates}   {1e3 * each:.0f} ms a series")


def print_mixed(count: int) -> None:
    print(
        f"Two grades that differ, nothing changed, {count} series each: as above, told the grades"
    )
    for shots in (60, 200):
        rng = np.random.default_rng((33, shots))
        chances = np.empty(count)
        for turn in range(count):
            effect, residual, grade = mixed_grades(rng, shots)
            found = find_change(effect, residual, grade=grade)
            assert found is not None
            chances[turn] = found.p_value
        rates = " ".join(f"{100.0 * (chances <= level).mean():5.2f}%" for level in (0.01, 0.05))
        print(f"   {shots:4} shots: {rates}")


def print_power(count: int) -> None:
    print(f"Changed from the middle on, {count} series each, mishits: found; off by (median)")
    for shots, gain, bias_m in (
        (60, 0.3, 0.0),
        (120, 0.3, 0.0),
        (120, 0.0, 3.0),
        (400, 0.1, 0.0),
        (400, 0.2, 0.0),
        (400, 0.3, 0.0),
        (1600, 0.1, 0.0),
    ):
        rng = np.random.default_rng((32, shots))
        found = [
            find_change(*series(rng, shots, kind="mishits", gain=gain, bias_m=bias_m))
            for _ in range(count)
        ]
        seen = [one for one in found if one is not None and one.changed]
        off = np.median([abs(one.first - shots // 2) for one in seen]) if seen else float("nan")
        change = np.mean([one.gain_change for one in found if one is not None], axis=0)
        print(
            f"   {shots:5} shots, gain {gain:+.1f}, bias {bias_m:+.0f} m: {len(seen) / count:4.0%}"
            f"  off by {off:.0f}; gain said to change by {change[0]:+.2f} {change[1]:+.2f}"
        )


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print_mixed(count)
    print_false_alarms(count)
    print_power(max(count // 10, 1))


if __name__ == "__main__":
    main()
