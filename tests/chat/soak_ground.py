"""Use the practice ground's page for minutes and print how it held.

Run it as ``python -m tests.chat.soak_ground 180``; the number is how many seconds to go on. Two
people type commands into the same channel at once while the clock goes. Printed are the commands
done, those refused, their times, how far the clock was off the wall, and the memory.
"""

import asyncio
import re
import resource
import statistics
import sys
import time
from datetime import UTC, datetime

from bot.practice_ground import simulated
from tests.chat.page_driver import DESKTOP, PHONE, PageDriver, in_browser
from tests.chat.test_ground import opened

CLOCK = re.compile(r"now (\S+)")


class Tally:
    def __init__(self) -> None:
        self.times_s: list[float] = []
        self.off_s: list[float] = []
        self.refused: list[str] = []

    async def one(self, driver: PageDriver, number: int) -> None:
        started = time.perf_counter()
        try:
            if number % 4 == 0:
                answer = await driver.run_command("clock")
                told = CLOCK.search(answer)
                if told:
                    off = datetime.now(UTC) - datetime.fromisoformat(told[1])
                    self.off_s.append(off.total_seconds())
            elif number % 4 == 1:
                await driver.press("Once more")
            elif number % 4 == 2:
                await driver.run_command("shrug")
            else:
                await driver.run_command("cup", name=f"Birch {number}")
        except Exception as error:
            self.refused.append(f"{number}: {str(error)[:300]}")
        self.times_s.append(time.perf_counter() - started)


async def soak(lasting_s: float) -> None:
    tally = Tally()
    async with opened() as state, in_browser(DESKTOP, PHONE) as drivers:
        for driver in drivers:
            await driver.open(state.url("wind-questions"))
        await drivers[1].view_as("Tamsin")
        await drivers[0].run_command("cup", name="Amber")
        memory = [resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024]
        until = time.monotonic() + lasting_s

        async def keep_on(driver: PageDriver) -> None:
            number = 0
            while time.monotonic() < until:
                number += 1
                await tally.one(driver, number)

        await asyncio.gather(*(keep_on(driver) for driver in drivers))
        memory.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
        assert state.ground is not None
        left = len(state.ground.channels["wind-questions"].history())
        missed = sum(driver.missed for driver in drivers)
        complaints = [error for driver in drivers for error in driver.errors]
    times_s = sorted(tally.times_s)
    print(
        f"commands {len(times_s)} in {lasting_s:.0f} s by two people, refused {len(tally.refused)}"
    )
    print(
        f"a command with its typing: median {statistics.median(times_s):.2f} s,"
        f" 95 % {times_s[int(0.95 * len(times_s))]:.2f} s, longest {times_s[-1]:.2f} s"
    )
    print(f"clock behind the wall when read on the page: at most {max(tally.off_s):.2f} s")
    print(f"presses that hit nothing and were made again: {missed}")
    print(f"messages left {left} (dropped beyond {simulated.MOST_MESSAGES})")
    print(
        f"memory {memory[0]} -> {memory[1]} MiB at its peak; console complaints {len(complaints)}"
    )
    for trouble in [*tally.refused, *complaints][:20]:
        print(trouble)


if __name__ == "__main__":
    asyncio.run(soak(float(sys.argv[1]) if len(sys.argv) > 1 else 120.0))
