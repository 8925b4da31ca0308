"""How soon the chat answers, and how long our own code holds the event loop meanwhile.

Run as ``python -m tests.bench.chat``; it takes about a minute.

1. Acknowledgements: wall time from the command to the end of its answer on the simulated Discord,
   beside that of a bare bot whose one command answers a constant.
2. The loop: the desk behind /wind answers new questions and makes suggestions without any chat
   while a task ticks every millisecond. The longest gap between two ticks is what a heartbeat
   would have waited, other programs on the machine included; the processor time that the loop's
   own thread spent in a gap is what our code held it. Beside both the same ticker with nothing
   else running, and with the very same sums done on the loop itself.
3. Many at once: ``tests/bench/rate.py``, answers in batches of the engine beside one by one.
"""

import asyncio
import logging
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles

import discord
import simcord
from discord import app_commands

from bot.app import make_bot
from bot.services.members import BagCache, Caddies, ToldAims
from bot.services.wind.service import WindService
from bot.settings import Settings
from shared.shot_text import complete, parse
from storage.bags import Bags
from storage.database import Database
from storage.told import KeptAims
from storage.versions import Versions
from tests.bench.rate import report
from tests.kits import demo_caddie, demo_kit

QUESTIONS = 150
TICK_S = 0.001
ALLOWED_S = 3.0  # from a command to its acknowledgement (Discord)
ALLOWED_GAP_S = 0.020  # that our own code may hold the loop
TYPED = "8.4 mph from 2, 5-iron, 165"


def question(number: int, series: int = 0) -> str:
    """Questions that differ, so that no answer is remembered."""
    wind = f"{4 + number % 160 / 20:.2f} mph from {1 + number % 11}"
    return f"{wind}, 6-iron, {105 + number % 40}.{series}"


class Bare(discord.Client):
    """A bot with one command that answers at once."""

    def __init__(self) -> None:
        super().__init__(intents=discord.Intents(guilds=True))
        self.tree = app_commands.CommandTree(self)

        @self.tree.command(name="bare", description="Answer at once")
        async def bare(interaction: discord.Interaction) -> None:
            await interaction.response.send_message("At once.")

    async def setup_hook(self) -> None:
        await self.tree.sync()


async def timed(work: Callable[[int], Awaitable[object]], times: int) -> list[float]:
    """Seconds that each of ``times`` calls took."""
    taken: list[float] = []
    for number in range(times):
        began = time.perf_counter()
        await work(number)
        taken.append(time.perf_counter() - began)
    return taken


async def chat_times(folder: str) -> dict[str, list[float]]:
    """Wall times of commands on the simulated Discord."""
    found: dict[str, list[float]] = {}
    async with simcord.run(Bare(), settle_timeout=60) as env:
        room = env.create_guild().create_text_channel("r")
        who = env.guild.add_member(env.create_user("tamsin"))
        found["bare command"] = await timed(lambda _: who.slash(room, "bare"), QUESTIONS)
    settings = Settings(database=f"sqlite:///{Path(folder) / 'chat.sqlite3'}", unhurried=True)
    async with simcord.run(make_bot(settings), settle_timeout=60) as env:
        room = env.create_guild().create_text_channel("r")
        who = env.guild.add_member(env.create_user("tamsin"))
        found["/wind"] = await timed(
            lambda number: who.slash(room, "wind", question=question(number)), QUESTIONS
        )
        found["suggestion"] = await timed(
            lambda number: who.autocomplete(
                room, "wind", "question", TYPED[: 1 + number % len(TYPED)]
            ),
            QUESTIONS,
        )
        found["/equal"] = await timed(
            lambda number: who.slash(room, "equal", carry=f"{100 + number}", wind="7 from 2"), 30
        )
    return found


@dataclass(frozen=True)
class Gaps:
    """Between the ticks of a task, in seconds: on the wall, and of the loop's own thread."""

    wall: list[float]
    held: list[float]


async def gaps(work: Awaitable[object]) -> Gaps:
    """The gaps while ``work`` goes on."""
    found = Gaps([], [])
    done = asyncio.ensure_future(work)
    last, spent = time.perf_counter(), time.thread_time()
    while not done.done():
        await asyncio.sleep(TICK_S)
        now, spends = time.perf_counter(), time.thread_time()
        found.wall.append(now - last)
        found.held.append(spends - spent)
        last, spent = now, spends
    await done
    return found


async def loop_gaps(folder: str) -> dict[str, Gaps]:
    """Gaps of the ticker: idle, beside the desk, and with the sums on the loop."""
    db = await Database.open(f"sqlite:///{Path(folder) / 'loop.sqlite3'}")
    service = WindService(
        kits=Caddies(demo_caddie()),
        bags=BagCache(Bags(db), Versions(db)),
        told=ToldAims(KeptAims(db)),
    )

    async def replies() -> None:
        for number in range(QUESTIONS):
            await service.reply(community_id=1, member_id=number, text=question(number, 1))

    async def suggestions() -> None:
        for number in range(QUESTIONS):
            text = question(number, 2)
            await service.suggest(community_id=1, member_id=7, text=text[: 3 + number % len(text)])
            await asyncio.sleep(2 * TICK_S)

    async def on_the_loop() -> None:
        for number in range(QUESTIONS):
            shot = parse(question(number, 3), kit=demo_kit())
            demo_caddie().answer(shot=shot)
            await asyncio.sleep(2 * TICK_S)  # so that a gap holds one of them

    try:
        return {
            "idle": await gaps(asyncio.sleep(1)),
            "answers": await gaps(replies()),
            "suggestions": await gaps(suggestions()),
            "sums on the loop": await gaps(on_the_loop()),
        }
    finally:
        await db.close()


def completing_s() -> list[float]:
    """Seconds of thread time that the suggestions' own code takes on the loop, for each prefix."""
    found: list[float] = []
    for number in range(10):
        text = question(number)
        for end in range(len(text) + 1):
            began = time.thread_time()
            complete(text[:end], kit=demo_kit())
            found.append(time.thread_time() - began)
    return found


def _row(name: str, seconds: list[float], reference: list[float]) -> str:
    worst, p99 = max(seconds), quantiles(seconds, n=100, method="inclusive")[98]
    return (
        f"  {name:17} median {1e3 * median(seconds):6.2f} ms, p99 {1e3 * p99:6.2f}, "
        f"worst {1e3 * worst:6.2f}; median is {median(seconds) / median(reference):5.2f} times"
    )


def main() -> int:
    """Print both tables; 1 where an acknowledgement or a hold of the loop was beyond its bound."""
    logging.disable(logging.CRITICAL)
    demo_caddie()
    with tempfile.TemporaryDirectory() as folder:
        chat = asyncio.run(chat_times(folder))
        loop = asyncio.run(loop_gaps(folder))
    print(
        f"Command to answer on the simulated Discord (allowed {ALLOWED_S:g} s), against a bare one:"
    )
    for name, seconds in chat.items():
        print(_row(name, seconds, chat["bare command"]))
    print(f"Gaps of a {1e3 * TICK_S:g} ms ticker on the wall, against an idle loop:")
    for name, found in loop.items():
        print(_row(name, found.wall, loop["idle"].wall))
    print(f"Of these held by our own code (allowed {1e3 * ALLOWED_GAP_S:g} ms):")
    for name, found in loop.items():
        over = sum(each > ALLOWED_GAP_S for each in found.held)
        print(f"{_row(name, found.held, loop['idle'].held)}; {over} of {len(found.held)} over")
    alone = completing_s()
    print(
        f"Finishing a text on the loop, thread time: median {1e3 * median(alone):.2f} ms, "
        f"worst {1e3 * max(alone):.2f}"
    )
    is_held = report()
    slowest = max(max(seconds) for seconds in chat.values())
    held = max(max(loop[name].held) for name in ("answers", "suggestions"))
    return int(slowest > ALLOWED_S or held > ALLOWED_GAP_S or not is_held)


if __name__ == "__main__":
    sys.exit(main())
