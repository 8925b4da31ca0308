"""What pictures and guides cost, and what the event loop feels of it.

Run as ``python -m tests.bench.pictures``; it takes about a minute and exits with 1 where a bound is
missed. Beside every figure stands a
reference run in the same minute: the loop with nothing beside it, the same picture drawn in a
thread, and the same picture with the drawing library's own text. A ticking task that sleeps 1 ms
measures how late the loop is; how late it is with nothing beside it is the machine's own.
"""

import asyncio
import os
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import replace

import numpy as np
from matplotlib.figure import Figure

from bot.drawing.canvas import Canvas, new_figure, png
from bot.drawing.glyphs import Faces
from bot.drawing.guide.model import Guide, GuideHole, GuideShot, GuideVariant, GuideWind
from bot.drawing.pool import PicturePool
from bot.drawing.scene import ShotScene, Spread
from bot.drawing.shot_picture import draw_shot, shot_figure, shot_height
from bot.drawing.style import PHONE_PX
from bot.services.caddie.caddie import Caddie
from bot.services.pictures.service import scene_of
from bot.services.pictures.wind_sheets import make_sheet
from bot.settings import DEMO_KIT, load_kit
from engine.finish_law import Law, allow_finish
from engine.law import Allowances, Shots
from shared.bag import Bag
from shared.book import Room
from shared.kit import Kit
from shared.shot_text import parse

PICTURES = 60
MOST_MEDIAN_MS, MOST_LATE_MS, MOST_GUIDE_S = 120.0, 20.0, 10.0
TICK_S = 0.001
ROOM = Room(short_yd=4, long_yd=9, left_yd=12, right_yd=6)
NOTE = "Land it short of the ridge and let it run; with the pin at the back one mark more."


class CountingCaddie(Caddie):
    """Counts calls of the engine's law."""

    def __init__(self, kit: Kit) -> None:
        super().__init__(kit)
        self.calls = 0

    def allow(self, shots: Shots, law: Law = allow_finish) -> Allowances:
        self.calls += 1
        return super().allow(shots, law)


@asynccontextmanager
async def ticking() -> AsyncIterator[list[float]]:
    """How late, in ms, a task is that wants to run every millisecond."""
    late: list[float] = []

    async def tick() -> None:
        while True:
            asked = time.perf_counter()
            await asyncio.sleep(TICK_S)
            late.append(1e3 * (time.perf_counter() - asked - TICK_S))

    task = asyncio.ensure_future(tick())
    try:
        yield late
    finally:
        task.cancel()


def scene(caddie: Caddie, text: str, *, spread: bool = True) -> ShotScene:
    """A rich scene: room and spread."""
    answer = caddie.answer(shot=parse(text, kit=caddie.kit), bag=Bag(), given=text)
    return scene_of(caddie, answer, room=ROOM, spread=Spread(2.4, 3.6, 14) if spread else None)


def said(name: str, times_s: list[float], late_ms: list[float]) -> float:
    """Print a line of figures; the median in ms."""
    median = 1e3 * float(np.median(times_s)) if times_s else 0.0
    late = np.array(late_ms)
    print(
        f"  {name:<34} median {median:6.1f} ms   loop late: 99% {np.percentile(late, 99):5.1f}"
        f"  most {late.max():5.1f} ms, over {MOST_LATE_MS:.0f} ms {int((late > 20).sum())} of"
        f" {late.size}"
    )
    return median


async def timed(draw: Callable[[int], Awaitable[object]]) -> tuple[list[float], list[float]]:
    """Times of ``PICTURES`` drawings one after the other, and the loop's lateness meanwhile."""
    times: list[float] = []
    async with ticking() as late:
        for count in range(PICTURES):
            started = time.perf_counter()
            await draw(count)
            times.append(time.perf_counter() - started)
    return times, late


async def shots(base: ShotScene) -> bool:
    """Shot pictures in a process and in a thread; each a new one, so that none is kept."""
    print(f"shot picture, {PICTURES} each, warm")
    _, late = await timed(lambda _: asyncio.sleep(0.05))
    said("nothing beside the loop", [], late)
    medians: dict[str, float] = {}
    for name, in_thread in (("in a process (as Leeward does)", False), ("in a thread", True)):
        pool = PicturePool(in_thread=in_thread)
        try:
            await pool.warm()
            await pool.shot_picture(base)
            fresh = [replace(base, plays_m=base.plays_m + n) for n in range(1, PICTURES + 1)]
            times, late = await timed(lambda n: pool.shot_picture(fresh[n]))  # noqa: B023
            medians[name] = said(name, times, late)
            kept, _ = await timed(lambda _: pool.shot_picture(base))  # noqa: B023
            print(f"  {'':<34} kept   {1e3 * float(np.median(kept)):6.2f} ms")
        finally:
            await pool.close()
    process, thread = medians.values()
    print(f"  process / thread {process / thread:.2f}; goal: process under {MOST_MEDIAN_MS:.0f} ms")
    return process < MOST_MEDIAN_MS


def outlined(base: ShotScene, faces: Faces) -> Figure:
    """The same picture with the drawing library's own text."""
    figure = new_figure(width_px=PHONE_PX, height_px=shot_height(base))
    draw_shot(Canvas(figure, faces, outlines=False), base)
    return figure


def processor(base: ShotScene) -> None:
    """Processor time of one picture, whatever else the machine does, against plain text."""
    faces = Faces()
    costs: dict[str, float] = {}
    for name, make in (("kept outlines", shot_figure), ("the library's text", outlined)):
        times: list[float] = []
        size = len(png(make(base, faces)))
        for _ in range(20):
            started = time.thread_time()
            png(make(base, faces))
            times.append(time.thread_time() - started)
        costs[name] = float(np.median(times))
        print(f"  {name:<34} {1e3 * costs[name]:6.1f} ms of processor, {size / 1e3:.0f} KB")
    kept, plain = costs.values()
    print(f"  ratio {plain / kept:.1f}")


def sheet(caddie: CountingCaddie) -> None:
    """A whole bag's numbers in one call against one call a wind."""
    print("wind sheet of a whole bag, numbers alone")
    caddie.calls = 0
    started = time.perf_counter()
    whole = make_sheet(caddie, Bag())
    batch = time.perf_counter() - started
    calls, winds = caddie.calls, len(whole.blocks) * 12 * len(whole.speeds_mps)
    sample = [(block, hour) for block in whole.blocks[::4] for hour in (0, 2, 5, 9)]
    started = time.perf_counter()
    for block, hour in sample:
        text = f"10 mph from {hour or 12}, {block.club}, {0.9 * block.carry_m:.2f} m"
        caddie.answer(shot=parse(text, kit=caddie.kit), bag=Bag(), given=text)
    single = (time.perf_counter() - started) / len(sample) * winds
    print(
        f"  {winds} winds in {calls} call of the engine: {1e3 * batch:.0f} ms; one by one"
        f" {1e3 * single:.0f} ms; ratio {single / batch:.0f}"
    )


def hole(caddie: Caddie, number: int) -> GuideHole:
    """A hole with three lines, the first with two pictures."""
    wind = f"{5 + number % 6} mph from {number % 12 + 1}"

    def shot(text: str, pictured: bool) -> GuideShot:
        drawn = scene(caddie, f"{wind}, {text}")
        details = ("share 88%, set up full −15 yd", "margin ± 1.4 yd across, ± 0.8 yd along")
        return GuideShot(text, drawn.headline, details, NOTE, drawn if pictured else None)

    variants = tuple(
        GuideVariant(
            letter,
            (shot(first, letter == "A"), shot(second, letter == "A")),
            title=f"{first} and {second}",
            status="tested",
            author="Coach Wren",
            notes=NOTE,
            ceiling="Holds up to 13 mph from 12, 19 mph from 3.",
            results="Holed 11 of 24.",
        )
        for letter, first, second in (
            ("A", "3-wood, 185", f"7-iron, {126 - number}, up 4"),
            ("B", "driver, 205", "gap wedge, 82"),
            ("C", "hybrid, 165", "6-iron, 135"),
        )
    )
    return GuideHole(
        *(number, 4, 292.6, f"Hole name {number}", 145.0),
        wind=GuideWind(4.0, 30.0 * (number % 12 + 1)),
        facts=("green falls to the front",),
        variants=variants,
        ceilings="Above 14 mph take line B.",
        results="41 tries logged, 15 holed.",
    )


async def guides(caddie: Caddie) -> bool:
    """An 18-page guide with progress, and the loop beside it."""
    print("guide of 18 holes, 3 lines of 2 shots each, 36 pictures")
    holes = await asyncio.to_thread(lambda: tuple(hole(caddie, n) for n in range(1, 19)))
    guide = Guide("Heron Cup, round 2", holes, "for the coach's bag")
    pool, good = PicturePool(), True
    try:
        await pool.warm()
        heard: list[int] = []
        for name, make in (("PDF", pool.guide_pdf), ("long PNGs", pool.guide_images)):
            heard.clear()
            async with ticking() as late:
                started = time.perf_counter()
                made = await make(guide, progress=lambda done, _: heard.append(done))
                took = time.perf_counter() - started
            size = sum(len(each) for each in made) if isinstance(made, tuple) else len(made)
            said(f"{name}: {took:.1f} s, {size / 1e6:.2f} MB", [took / 18], late)
            print(f"  {'':<34} progress told {len(heard)} times, goal under {MOST_GUIDE_S:.0f} s")
            good = good and took < MOST_GUIDE_S
    finally:
        await pool.close()
    return good


async def main() -> bool:
    """Everything, with how busy the machine is."""
    print(f"machine: {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
    caddie = CountingCaddie(load_kit(DEMO_KIT))
    base = scene(caddie, "14 mph from 10:30, 7-iron, 120, up 8, draw")
    quick = await shots(base)
    processor(base)
    sheet(caddie)
    good = await guides(caddie)
    print(f"machine: load {os.getloadavg()[0]:.1f} at the end")
    return quick and good


if __name__ == "__main__":
    sys.exit(0 if asyncio.run(main()) else 1)
