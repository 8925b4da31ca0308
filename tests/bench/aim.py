"""The aim beside a reference run: how many times faster, how far apart, how long for one alone.

    python -m tests.bench.aim [--questions N] [--rtol R]

The same questions in one run, drawn from the demo's kit: solved as one batch, solved one at a time,
and solved one at a time by scipy.optimize.root over scipy's solve_ivp (DOP853, landing as an
event). Ends with status 1 where a bound is missed.
"""

import argparse
import sys
from dataclasses import dataclass
from statistics import median
from time import perf_counter

import numpy as np

from engine.aim import Aims, Questions, solve
from shared.units import METRES_PER_YARD
from tests.kits import demo_caddie
from tests.reference import REFERENCE_RTOL, Aim, aim
from tests.shots import swing_of

LEAST_RATIO = 300
MOST_DIFFERENCE_YD = 0.05
MOST_SINGLE_MS = 15
BATCH_RUNS, SINGLE_RUNS = 7, 3


@dataclass(frozen=True)
class Report:
    """What a run found; rates are solved aims per second."""

    batch_rate: float
    reference_rate: float
    unsolved: int
    difference_yd: float
    single_ms: float

    @property
    def ratio(self) -> float:
        """Batch over reference."""
        return self.batch_rate / self.reference_rate

    def missed(self) -> list[str]:
        """The bounds that were not met, as sentences."""
        bounds = (
            (self.unsolved == 0, f"{self.unsolved} questions were not solved by both"),
            (self.ratio >= LEAST_RATIO, f"the ratio is below {LEAST_RATIO}"),
            (self.difference_yd <= MOST_DIFFERENCE_YD, f"more than {MOST_DIFFERENCE_YD} yd apart"),
            (self.single_ms <= MOST_SINGLE_MS, f"a single aim takes over {MOST_SINGLE_MS} ms"),
        )
        return [sentence for met, sentence in bounds if not met]


def draw(*, count: int, seed: int = 2) -> Questions:
    """Questions as members ask: any row of the demo's rack, 72 to 100% of it, winds to 16 mph."""
    random = np.random.default_rng(seed)
    rack = demo_caddie().kit_rack.rack
    rows = rack.take(random.integers(0, len(rack), count))
    distance_m = rows.full_m * random.uniform(0.72, 1.0, count)
    return Questions(
        full=rows.full,
        distance_m=distance_m,
        height_m=distance_m * random.uniform(-0.06, 0.06, count),
        wind_mps=random.uniform(0.0, 7.2, count) * rows.wind_share,
        wind_from_deg=random.uniform(0.0, 360.0, count),
        spin_factor=1 + 0.08 * random.integers(-3, 4, count).astype(np.float64),
        tilt_rad=np.radians(random.uniform(-8.0, 8.0, count)),
    )


def time_batch(questions: Questions) -> tuple[Aims, float]:
    """The answers, and the median seconds of several runs."""
    aims = solve(questions=questions)
    return aims, median(_timed(questions) for _ in range(BATCH_RUNS))


def time_singles(questions: Questions) -> float:
    """Median seconds of one question alone, each the best of three, as other work interrupts."""
    return median(
        min(_timed(questions.take(np.array([row]))) for _ in range(SINGLE_RUNS))
        for row in range(len(questions))
    )


def _timed(questions: Questions) -> float:
    start = perf_counter()
    solve(questions=questions)
    return perf_counter() - start


def time_reference(questions: Questions, rtol: float) -> tuple[list[Aim | None], float]:
    """The reference's answers one by one, and the seconds they took in all."""
    swings = [swing_of(questions, row) for row in range(len(questions))]
    start = perf_counter()
    found = [
        aim(swing, distance_m=float(distance), rtol=rtol)
        for swing, distance in zip(swings, questions.distance_m, strict=True)
    ]
    return found, perf_counter() - start


def compare(*, count: int, rtol: float) -> Report:
    """Run all three on ``count`` questions."""
    questions = draw(count=count)
    aims, batch_s = time_batch(questions)
    single_s = time_singles(questions)
    reference, reference_s = time_reference(questions, rtol)
    apart_m = [
        float(np.hypot(ours[0] - other.long_m, ours[1] - other.right_m))
        for *ours, solved, other in zip(
            aims.allowance_long_m, aims.allowance_right_m, aims.solved, reference, strict=True
        )
        if solved and other is not None
    ]
    return Report(
        batch_rate=float(aims.solved.sum()) / batch_s,
        reference_rate=sum(other is not None for other in reference) / reference_s,
        unsolved=count - len(apart_m),
        difference_yd=max(apart_m, default=0.0) / METRES_PER_YARD,
        single_ms=1e3 * single_s,
    )


def main() -> int:
    """Print the comparison; 1 where a bound is missed."""
    parser = argparse.ArgumentParser(description="The aim beside scipy, one by one.")
    parser.add_argument("--questions", type=int, default=1000)
    parser.add_argument("--rtol", type=float, default=REFERENCE_RTOL, help="of the reference")
    options = parser.parse_args()
    report = compare(count=options.questions, rtol=options.rtol)
    print(f"{options.questions} questions, reference DOP853 at rtol {options.rtol:g}")
    print(f"batch      {report.batch_rate:10.0f} aims/s")
    print(f"reference  {report.reference_rate:10.1f} aims/s")
    print(f"ratio      {report.ratio:10.0f}        at least {LEAST_RATIO}")
    print(f"difference {report.difference_yd:10.5f} yd     at most {MOST_DIFFERENCE_YD}")
    print(f"single     {report.single_ms:10.2f} ms     at most {MOST_SINGLE_MS}")
    for sentence in report.missed():
        print(f"missed: {sentence}", file=sys.stderr)
    return 1 if report.missed() else 0


if __name__ == "__main__":
    sys.exit(main())
