"""Full shots, flight to rest, beside a reference one by one; a line's chance; the bare flight.

    python -m tests.bench.ground [--shots N] [--reference M]

The same shots in one run: flown, bounced, rolled and tried at the hole as one batch, and one by one
by scipy's solve_ivp (DOP853, events for landing, touch, rest and the hole). Then the chance of a
line of two shots, warm; the flight alone in a batch of 1000; and, for the record, where the best
aim lies for balls that land alike with other spins. Ends with status 1 where a bound is missed.
"""

import argparse
import sys
from dataclasses import dataclass
from statistics import median
from time import perf_counter

import numpy as np

from engine.aim import solve
from engine.best_aim import best_aims
from engine.finish import Swings, fly_swings, hole_of, touchdown_of
from engine.ground import Finish, Ground, Touchdown, settle
from engine.holing import Cloud, draws
from engine.line_chance import Leg, LineChances, line_chances
from engine.motion import wind_vector
from tests.bench.aim import draw
from tests.finishing import execution_of, ground_of, rows_of
from tests.kits import demo_caddie
from tests.reference import touch
from tests.reference_ground import Rest, Turf, settled
from tests.shots import swing_of

LEAST_RATIO = 200
MOST_LINE_MS, MOST_LINE_SE = 150, 0.01
MOST_FLIGHT_US = 5.0
MOST_APART_M = 0.01
RUNS = 9


@dataclass(frozen=True)
class Report:
    """What a run found; rates are full shots per second."""

    batch_rate: float
    reference_rate: float
    apart_m: float
    other_end: int
    line_ms: float
    line: LineChances
    flight_us: float

    @property
    def ratio(self) -> float:
        """Batch over reference."""
        return self.batch_rate / self.reference_rate

    def missed(self) -> list[str]:
        """The bounds that were not met, as sentences."""
        bounds = (
            (self.ratio >= LEAST_RATIO, f"the ratio is below {LEAST_RATIO}"),
            (self.apart_m <= MOST_APART_M, f"ends more than {MOST_APART_M} m apart"),
            (self.other_end == 0, f"{self.other_end} balls were holed by one of both alone"),
            (self.line_ms <= MOST_LINE_MS, f"a line's chance takes over {MOST_LINE_MS} ms"),
            (
                float(self.line.line.holed_se[0]) < MOST_LINE_SE,
                f"a line's chance has a standard error of {MOST_LINE_SE} or more",
            ),
            (self.flight_us <= MOST_FLIGHT_US, f"a flight takes over {MOST_FLIGHT_US} us"),
        )
        return [sentence for met, sentence in bounds if not met]


def mixed(count: int) -> tuple[Swings, Ground, np.ndarray]:
    """Solved shots of the demo's kit onto tilted greens, with their winds (3, n)."""
    questions = draw(count=count + count // 20, seed=8)
    aims = solve(questions=questions)
    good = np.flatnonzero(aims.solved & (aims.speed_factor < 1.2))[:count]
    asked = questions.take(good)
    swings = Swings(asked, aims.speed_factor[good], aims.azimuth_rad[good])
    random = np.random.default_rng(3)
    ground = ground_of(good.size)
    ground.rises_long[:] = random.uniform(-0.03, 0.03, good.size)
    ground.rises_right[:] = random.uniform(-0.03, 0.03, good.size)
    wind = wind_vector(speed_mps=asked.wind_mps, from_deg=asked.wind_from_deg)
    return swings, ground, wind


def full_shots(swings: Swings, ground: Ground, wind: np.ndarray) -> Finish:
    """Flight, ground and hole of a batch."""
    landing = fly_swings(swings, wind_mps=wind)
    return settle(touchdown=touchdown_of(landing), ground=ground, hole_m=hole_of(swings.questions))


def one_by_one(swings: Swings, ground: Ground, count: int) -> tuple[list[Rest], float]:
    """The reference's rests from the hole, and the seconds they took in all."""
    asked = swings.questions
    planned = [swing_of(asked, row) for row in range(count)]
    rests: list[Rest] = []
    start = perf_counter()
    for row, swing in enumerate(planned):
        shot = swing.struck(
            factor=float(swings.speed_factor[row]), azimuth_rad=float(swings.azimuth_rad[row])
        )
        landed = touch(shot)
        assert landed is not None
        turf = Turf(
            rises_long=float(ground.rises_long[row]), rises_right=float(ground.rises_right[row])
        )
        place = np.array([landed.long_m - asked.distance_m[row], 0.0, landed.right_m])
        velocity = np.array(landed.velocity_mps)
        spin = np.array(landed.spin_radps)
        rests.append(settled(*_onto(place, velocity, turf), spin, turf))
    return rests, perf_counter() - start


def _onto(place: np.ndarray, velocity: np.ndarray, turf: Turf) -> tuple[np.ndarray, np.ndarray]:
    """On along the parabola to the plane through the hole."""
    gravity, up = np.array([0.0, -9.80665, 0.0]), turf.normal
    a, b, c = float(gravity @ up) / 2, float(velocity @ up), float(place @ up)
    time = (-b - np.sqrt(b * b - 4 * a * c)) / (2 * a)
    return place + velocity * time + gravity * time**2 / 2, velocity + gravity * time


def line() -> tuple[Leg, ...]:
    """A driver onto a fairway and an 8-iron at the hole, in a wind as read, with mishits."""
    rack = demo_caddie().kit_rack.rack.take(rows_of("driver", "8-iron"))
    plans = ((0, 215.0, 5.0, 4.0, 1.285), (1, 112.0, 0.4, 0.35, 0.549))
    return tuple(
        Leg(
            full=rack.full.take(np.array([row])),
            distance_m=distance,
            height_m=0.0,
            wind_mps=4.0,
            wind_from_deg=60.0,
            spin_factor=1.0,
            tilt_rad=0.0,
            ground=ground_of(1, slowing_mps2=slowing),
            execution=execution_of(
                1,
                hit_long_m=long,
                hit_right_m=right,
                mishit_share=0.02,
                response_long_m=0.3,
                response_right_m=0.2,
                wind_mps=0.2,
                wind_deg=3.0,
                slowing_log=0.1,
                firmness_log=0.1,
            ),
            least_m=float(rack.short_m[row]),
            most_m=1.12 * float(rack.full_m[row]),
            past_m=(0.4, 0.0) if row else (0.0, 0.0),
            last=bool(row),
        )
        for row, distance, long, right, slowing in plans
    )


def compare(*, shots: int, reference: int) -> Report:
    """Run all of it."""
    swings, ground, wind = mixed(shots)
    finish = full_shots(swings, ground, wind)
    batch_s = median(_timed(lambda: full_shots(swings, ground, wind)) for _ in range(RUNS))
    rests, reference_s = one_by_one(swings, ground, reference)
    ours = np.stack((finish.long_m - swings.questions.distance_m, finish.right_m), axis=1)
    alike = [rest.holed == bool(finish.holed[row]) for row, rest in enumerate(rests)]
    apart = [
        float(np.hypot(*(ours[row] - rest.place[::2])))
        for row, rest in enumerate(rests)
        if alike[row]
    ]
    legs, points = line(), draws(shots=2, count=2048)
    found = line_chances(legs=legs, draws=points)
    few = np.arange(1000)
    some, breeze = swings.take(few), wind[:, few]
    return Report(
        batch_rate=len(swings) / batch_s,
        reference_rate=reference / reference_s,
        apart_m=max(apart),
        other_end=alike.count(False),
        line_ms=1e3
        * median(_timed(lambda: line_chances(legs=legs, draws=points)) for _ in range(RUNS)),
        line=found,
        flight_us=1e3
        * median(_timed(lambda: fly_swings(some, wind_mps=breeze)) for _ in range(3 * RUNS)),
    )


def _timed(run: object) -> float:
    assert callable(run)
    start = perf_counter()
    run()
    return perf_counter() - start


def by_spin() -> None:
    """Print run and best aim of balls that land alike with other spins, hits spread .37 m."""
    print("\nbackspin rad/s   run m   finish at hole   best   at m past")
    points = draws(count=4096)
    for spin in (200.0, 300.0, 450.0, 600.0, 750.0, 900.0):
        down = Touchdown(
            np.zeros((1, 3)), np.array([[23.0, -23.0, 0.0]]), np.array([[0.0, 0.0, spin]])
        )
        far = np.array([[500.0], [0.0], [0.0]])
        run = settle(touchdown=down, ground=ground_of(1), hole_m=far).long_m[0]
        state = np.zeros((1, 9, 6))
        state[0, 3, 0], state[0, 4, 0], state[0, 8, 0] = 23.0, -23.0, spin
        best = best_aims(
            cloud=Cloud(state, np.ones(1, dtype=np.bool_)),
            ground=ground_of(1),
            hole_m=np.array([[run], [0.0], [0.0]]),
            execution=execution_of(1, hit_long_m=0.37, hit_right_m=0.37),
            draws=points,
        )
        print(
            f"{spin:14.0f} {run:7.1f} {100 * best.given[0]:14.1f}% "
            f"{100 * best.chances.holed[0]:5.1f}% {best.past_m[0, 0]:8.2f}"
        )


def main() -> int:
    """Print the comparison; 1 where a bound is missed."""
    parser = argparse.ArgumentParser(description="Full shots beside scipy, and a line's chance.")
    parser.add_argument("--shots", type=int, default=10_000)
    parser.add_argument("--reference", type=int, default=60, help="shots of the reference")
    options = parser.parse_args()
    report = compare(shots=options.shots, reference=options.reference)
    end = report.line.line
    print(f"{options.shots} full shots, the first {options.reference} of them by the reference")
    print(f"batch      {report.batch_rate:10.0f} shots/s")
    print(f"reference  {report.reference_rate:10.1f} shots/s")
    print(f"ratio      {report.ratio:10.0f}        at least {LEAST_RATIO}")
    print(f"difference {report.apart_m:10.5f} m      at most {MOST_APART_M}")
    print(f"holed by one alone {report.other_end:2d}")
    print(f"line       {report.line_ms:10.1f} ms     at most {MOST_LINE_MS}")
    print(
        f"  chance   {100 * end.holed[0]:10.2f} %      standard error {100 * end.holed_se[0]:.2f}"
    )
    print(f"flight     {report.flight_us:10.2f} us     at most {MOST_FLIGHT_US}, at n = 1000")
    by_spin()
    for sentence in report.missed():
        print(f"missed: {sentence}", file=sys.stderr)
    return 1 if report.missed() else 0


if __name__ == "__main__":
    sys.exit(main())
