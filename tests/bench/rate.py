"""How soon /wind is acknowledged while many ask at once.

Questions arrive by a clock of their own, whether or not the ones before are answered, at random
moments (Poisson). They go through the library that speaks with Discord and through all of our code
to the call that answers; only the network behind that call is left out (``python -m
tests.bench.chat`` prints them too). Each is another member's
and another question, so that no answer is remembered. Time runs from the moment a question is due,
so what waits in the loop's queue counts.
"""

import asyncio
import logging
import sys
import tempfile
import time
from collections import Counter
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from statistics import median, quantiles
from typing import Any
from unittest.mock import AsyncMock, patch

import discord
import numpy as np
import simcord
from discord.webhook.async_ import AsyncWebhookAdapter

from bot.app import Leeward, make_bot
from bot.services.caddie.caddie import Asked, Caddie
from bot.services.wind.service import WindService
from bot.settings import Settings
from shared.answer import Answer

LASTS_S = 6.0
ALLOWED_P99_S = 0.100  # at over a hundred a second, on two cores of their own
WARM = 30
MEMBERS = 200
DISCORD_EPOCH_MS = 1_420_070_400_000


@dataclass(frozen=True)
class Load:
    """The questions of a rate: seconds to each acknowledgement, and of a processor for all."""

    rate: float
    seconds: list[float]
    spent_s: float
    put_off: int

    @property
    def p99(self) -> float:
        """The 99th of a hundred."""
        return quantiles(self.seconds, n=100, method="inclusive")[98]

    @property
    def each_s(self) -> float:
        """Seconds of a processor that a question took, in all threads."""
        return self.spent_s / len(self.seconds)

    @property
    def row(self) -> str:
        """As printed."""
        return (
            f"{self.rate:4.0f} a second: median {1e3 * median(self.seconds):7.2f} ms, p99 "
            f"{1e3 * self.p99:7.2f}, worst {1e3 * max(self.seconds):7.2f}; "
            f"{1e3 * self.each_s:5.2f} ms of a processor each; {self.put_off} put off"
        )


class Answers:
    """Stands in for the network: notes when each interaction was answered."""

    def __init__(self) -> None:
        self.at: dict[int, float] = {}
        self.types: Counter[int] = Counter()
        self.done = asyncio.Event()
        self.wanted = 0

    async def take(
        self, _adapter: Any, interaction_id: int, _token: str, *, params: Any, **_rest: Any
    ) -> dict[str, Any]:
        """An acknowledgement: at once, as far as we can tell."""
        self.at.setdefault(interaction_id, time.perf_counter())
        payload = params.payload or {}
        self.types[int(payload["type"])] += 1
        if len(self.at) >= self.wanted:
            self.done.set()
        return {"interaction": {"id": str(interaction_id), "type": 2}}


@contextmanager
def answers_noted() -> Iterator[Answers]:
    """While the body runs nothing is sent."""
    answers = Answers()

    async def noted(adapter: Any, *args: Any, **named: Any) -> dict[str, Any]:
        return await answers.take(adapter, *args, **named)

    with (
        patch.object(AsyncWebhookAdapter, "create_interaction_response", noted),
        patch.object(discord.Webhook, "send", AsyncMock()),
    ):
        yield answers


def question(number: int, series: int) -> str:
    """A question that nobody asked before."""
    wind = f"{4 + number % 160 / 20:.2f} mph from {1 + number % 11}"
    return f"{wind}, 6-iron, {105 + number % 40}.{number // 40 % 10}{series}"


def asked(template: dict[str, Any], *, number: int, series: int) -> dict[str, Any]:
    """The template as another member's question."""
    payload = deepcopy(template)
    # The id says when it was made, and the token ends a quarter of an hour later.
    made = int(time.time() * 1000) - DISCORD_EPOCH_MS
    payload["id"] = str((made << 22) + number)
    payload["token"] = f"token-{series}-{number}"
    payload["data"]["options"][0]["value"] = question(number, series)
    payload["member"]["user"]["id"] = str(10**17 + number % MEMBERS)
    return payload


async def load(bot: Leeward, template: dict[str, Any], *, rate: float, series: int) -> Load:
    """Ask at a rate for a while, then wait until all is answered."""
    count = max(int(rate * LASTS_S), 1)
    pauses = np.random.default_rng(series).exponential(1 / rate, count)
    payloads = [asked(template, number=number, series=series) for number in range(count)]
    due: dict[int, float] = {}
    with answers_noted() as answers:
        answers.wanted = count
        began, spent = time.perf_counter(), time.process_time()
        at = began
        for payload, pause in zip(payloads, pauses, strict=True):
            at += float(pause)
            due[int(payload["id"])] = at
            await asyncio.sleep(max(0.0, at - time.perf_counter()))
            arrives: Any = bot._connection.parse_interaction_create  # as the gateway does
            arrives(payload)
        await asyncio.wait_for(answers.done.wait(), 120)
        spent = time.process_time() - spent
        await bot.router.all_answered()
    return Load(rate, [answers.at[each] - at for each, at in due.items()], spent, answers.types[5])


async def one_by_one(_service: WindService, caddie: Caddie, asked: Asked) -> Answer:
    """Each question computed by itself, in a thread of its own: what the batches stand beside."""
    return await asyncio.to_thread(caddie.answer, shot=asked.shot, bag=asked.bag, given=asked.given)


async def loads(rates: tuple[float, ...]) -> list[Load]:
    """A load of each rate, one after the other, on a bot of its own."""
    with tempfile.TemporaryDirectory() as folder:
        template = await captured(
            Settings(database=f"sqlite:///{Path(folder) / 'one.sqlite3'}", one_process=True)
        )
        settings = Settings(
            database=f"sqlite:///{Path(folder) / 'rate.sqlite3'}",
            unhurried=True,
        )
        async with without_network(settings) as bot:
            await load(bot, template, rate=WARM, series=9)
            return [
                await load(bot, template, rate=rate, series=number)
                for number, rate in enumerate(rates, start=1)
            ]


@asynccontextmanager
async def without_network(settings: Settings) -> AsyncIterator[Leeward]:
    """The bot as it is when it has logged in. The simulated Discord's clock stands while we sum."""
    bot = make_bot(settings)
    with patch.object(bot.tree, "sync", AsyncMock(return_value=[])):
        await bot._async_setup_hook()
        me: Any = {"id": "1", "username": "leeward", "discriminator": "0", "avatar": None}
        bot._connection.user = discord.ClientUser(state=bot._connection, data=me)
        await bot.setup_hook()
    try:
        yield bot
    finally:
        await bot.close()


async def captured(settings: Settings) -> dict[str, Any]:
    """What Discord sends for a /wind."""
    seen: list[dict[str, Any]] = []
    async with simcord.run(make_bot(settings), settle_timeout=60) as env:
        room = env.create_guild().create_text_channel("r")
        who = env.guild.add_member(env.create_user("tamsin"))
        emit = env.backend.emit

        def noted(event: str, payload: dict[str, Any], *args: Any, **named: Any) -> Any:
            if event == "INTERACTION_CREATE":
                seen.append(deepcopy(payload))
            return emit(event, payload, *args, **named)

        with patch.object(env.backend, "emit", noted):
            await who.slash(room, "wind", question="8.4 mph from 2, 5-iron, 165")
    return seen[0]


def report(rates: tuple[float, ...] = (50.0, 120.0)) -> bool:
    """Print what each rate costs in batches and one by one; whether the highest was held."""
    batched = asyncio.run(loads(rates))
    with patch.object(WindService, "_answer", one_by_one):
        single = asyncio.run(loads(rates))
    print("Questions of many members at once, from due to acknowledged:")
    for name, found in (("in batches", batched), ("one by one", single)):
        print("\n".join(f"  {name} {each.row}" for each in found))
    for each, other in zip(batched, single, strict=True):
        print(
            f"  one by one takes {median(other.seconds) / median(each.seconds):.1f} times the time "
            f"at {each.rate:g} a second and {other.each_s / each.each_s:.1f} times the processor"
        )
    return batched[-1].p99 <= ALLOWED_P99_S


def main() -> int:
    """1 where 99% of the highest rate were not acknowledged in time."""
    logging.disable(logging.CRITICAL)
    return int(not report(tuple(float(each) for each in sys.argv[1:]) or (50.0, 120.0)))


if __name__ == "__main__":
    sys.exit(main())
