"""How fast lines are adapted: a round for 200 members in one batch, and one line for one member.

    python -m tests.bench.book [--members 200] [--alone 150]

One run prints adapted lines per second in one batch and one by one through the same public
function, their ratio (at least 10), the engine time of a single For me on a warm caddie (median,
at most 50 ms), and the longest time an event loop's tick was late while such answers were computed
in a thread as the bot does it (at most 20 ms); then the parts of the notes of 18 holes with nine
lines for three divisions, made anew in the winds of another round: in one batch, and hole by hole
for each division alone, and their ratio (at least 3). Exits with 1 where a bound is missed.
"""

import argparse
import asyncio
import statistics
import sys
import time

import numpy as np

from bot.services.caddie.adapt import Case, ReadLine, adapt, read_line
from bot.services.notes.parts import parts_of
from shared.bag import Bag
from shared.book import Hole, HoleWind, Line, LineShot, Worked
from shared.quantities import Speed, Wind
from tests.kits import demo_caddie, demo_kit

RATIO, ENGINE_MS, LATE_MS = 10.0, 50.0, 20.0
NOTES_RATIO = 3.0
DIVISIONS = ("Sail", "Oar", "Punt")
TICK_S = 0.001


def round_lines(rng: np.random.Generator) -> list[ReadLine]:
    """Nine holes with three lines of two shots each."""
    kit = demo_kit()
    lines: list[ReadLine] = []
    for _ in range(27):
        long, short = kit.clubs[rng.integers(8)], kit.clubs[8 + rng.integers(len(kit.clubs) - 8)]
        shots = [
            LineShot(
                shot=f"{club.name}, {club.grades[0].full_yd * rng.uniform(0.75, 0.95):.0f}",
                worked=Worked(right=round(rng.normal(0, 3), 1), long=round(rng.normal(0, 2), 1)),
            )
            for club in (long, short)
        ]
        wind = f"{rng.uniform(2, 12):.1f} mph from {rng.integers(1, 13)}"
        line = Line(variant="A", wind=wind, shots=tuple(shots))
        lines.append(read_line(line=line, kit=kit))
    return lines


def member(rng: np.random.Generator) -> tuple[Bag, Wind]:
    """A member's bag and wind."""
    grades = {
        club.name: club.grades[rng.integers(len(club.grades))].name for club in demo_kit().clubs
    }
    speed = Speed(value=round(rng.uniform(1, 13), 1))
    return Bag(grades=grades), Wind(speed=speed, from_deg=round(rng.uniform(0, 359), 1))


async def longest_delay_ms(cases: list[Case]) -> float:
    """The longest time a 1 ms tick came late while For me answers were computed in a thread."""
    late: list[float] = []
    running = True

    async def tick() -> None:
        while running:
            before = time.perf_counter()
            await asyncio.sleep(TICK_S)
            late.append(time.perf_counter() - before - TICK_S)

    ticking = asyncio.create_task(tick())
    for case in cases:
        await asyncio.to_thread(adapt, caddie=demo_caddie(), cases=[case])
        await asyncio.sleep(0.005)
    running = False
    await ticking
    return max(late) * 1000


def noted_holes(rng: np.random.Generator) -> list[Hole]:
    """18 holes with nine lines each, and a wind of the round for each division."""
    lines = [each.line for _ in range(6) for each in round_lines(rng)]
    return [
        Hole(
            number=number + 1,
            par=4,
            yards=372 + number,
            winds=tuple(
                HoleWind(division=each, round="Second", wind=f"{rng.integers(3, 13)} mph from {at}")
                for each, at in zip(DIVISIONS, rng.integers(1, 13, 3), strict=True)
            ),
            lines=tuple(
                line.model_copy(update={"variant": letter})
                for letter, line in zip("ABCDEFGHI", lines[number * 9 :][:9], strict=True)
            ),
        )
        for number in range(18)
    ]


def notes_seconds(holes: list[Hole]) -> tuple[float, float]:
    """The parts of all holes in one batch, and hole by hole for each division alone."""
    caddie = demo_caddie()
    start = time.perf_counter()
    together = parts_of(caddie=caddie, holes=holes, divisions=DIVISIONS, round_="Second")
    batch_s = time.perf_counter() - start
    assert sum(len(part.lines) for parts in together for part in parts) == 18 * 3 * 9
    start = time.perf_counter()
    for hole in holes:
        for division in DIVISIONS:
            parts_of(caddie=caddie, holes=[hole], divisions=[division], round_="Second")
    return batch_s, time.perf_counter() - start


def main() -> int:
    """Measure and print; 1 where a bound is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--members", type=int, default=200)
    parser.add_argument("--alone", type=int, default=150)
    options = parser.parse_args()
    rng = np.random.default_rng(7)
    lines = round_lines(rng)
    people = [member(rng) for _ in range(options.members)]
    cases = [Case(line, bag, wind) for bag, wind in people for line in lines]
    adapt(caddie=demo_caddie(), cases=cases[:2])  # warm

    start = time.perf_counter()
    adapt(caddie=demo_caddie(), cases=cases)
    batch = len(cases) / (time.perf_counter() - start)

    chosen = [cases[i] for i in rng.choice(len(cases), options.alone, replace=False)]
    times: list[float] = []
    for case in chosen:
        start = time.perf_counter()
        adapt(caddie=demo_caddie(), cases=[case])
        times.append(time.perf_counter() - start)
    alone = len(times) / sum(times)
    engine_ms = statistics.median(times) * 1000
    late_ms = asyncio.run(longest_delay_ms(chosen[:60]))

    print(f"lines adapted a second, {len(cases)} in one batch   {batch:10.0f}")
    print(f"lines adapted a second, one by one       {alone:10.1f}")
    print(f"ratio (at least {RATIO:g})                    {batch / alone:10.1f}")
    print(f"one For me, engine, median (at most {ENGINE_MS:g} ms) {engine_ms:7.1f} ms")
    print(f"event loop, longest delay (at most {LATE_MS:g} ms)  {late_ms:7.1f} ms")
    batch_s, apart_s = notes_seconds(noted_holes(rng))
    print(f"notes of 18 holes, 3 divisions, 9 lines, in one batch {batch_s:8.2f} s")
    print(f"the same by hole and division                 {apart_s:8.2f} s")
    print(f"ratio (at least {NOTES_RATIO:g})                        {apart_s / batch_s:8.1f}")
    good = batch / alone >= RATIO and engine_ms <= ENGINE_MS and late_ms <= LATE_MS
    return 0 if good and apart_s / batch_s >= NOTES_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
