"""A community whose messages wait at Discord holds up no other's; its own keep their order."""

import asyncio
from typing import Any

import pytest

from bot.chat.publisher import Publisher
from storage.database import Database
from storage.outbox import Message, Outbox
from storage.stale import StaleMessages

HERE, THERE = 91, 92
NOTES = 2**61 + 3


class Slow(Publisher):
    """Brings to an imagined chat, in which one community may have to wait."""

    def __init__(self, db: Database) -> None:
        nothing: Any = None
        self.outbox = Outbox(db)
        super().__init__(
            client=nothing,
            outbox=self.outbox,
            stale=StaleMessages(db),
            draw=nothing,
            name_of=nothing,
        )
        self.may_go = asyncio.Event()
        self.waits = asyncio.Event()
        self.brought: list[tuple[int, str]] = []
        self.at_once = 0
        self.breaks: set[str] = set()

    async def _send(self, message: Message) -> None:
        assert self.at_once == 0 or message.community_id != HERE
        if message.community_id == HERE:
            self.at_once += 1
            self.waits.set()
            await self.may_go.wait()
            self.at_once -= 1
        if message.key in self.breaks:
            raise ValueError(message.key)
        self.brought.append((message.community_id, message.key))
        assert await self.outbox.posted(message, 5000 + len(self.brought))

    async def want(self, community_id: int, *keys: str) -> None:
        for key in keys:
            await self.outbox.want(community_id, key, NOTES, {"text": key})


async def test_others_are_brought_while_one_waits(db: Database) -> None:
    slow = Slow(db)
    await slow.want(HERE, "a", "b")
    held = asyncio.create_task(slow.deliver())
    await slow.waits.wait()
    await slow.want(THERE, "c", "d")
    await slow.want(HERE, "e")
    assert await slow.deliver(THERE) == 2
    assert slow.brought == [(THERE, "c"), (THERE, "d")]
    own = asyncio.create_task(slow.deliver(HERE))
    await asyncio.sleep(0.05)
    assert not held.done() and not own.done()
    slow.may_go.set()
    assert await held + await own == 3
    assert slow.brought[2:] == [(HERE, "a"), (HERE, "b"), (HERE, "e")]
    assert await slow.outbox.waiting() == 0


async def test_one_call_for_all_serves_the_others_too(db: Database) -> None:
    slow = Slow(db)
    await slow.want(HERE, "a")
    everything = asyncio.create_task(slow.deliver())
    await slow.waits.wait()
    await slow.want(THERE, *(f"n{number:02d}" for number in range(25)))
    assert await slow.deliver(THERE) == 25  # more than a batch
    assert [key for _, key in slow.brought] == [f"n{number:02d}" for number in range(25)]
    slow.may_go.set()
    assert await everything == 1


async def test_what_breaks_in_one_community_is_raised_and_the_rest_is_brought(
    db: Database,
) -> None:
    slow = Slow(db)
    slow.may_go.set()
    slow.breaks.add("a")
    await slow.want(HERE, "a")
    await slow.want(THERE, "c")
    with pytest.raises(ValueError, match="a"):
        await slow.deliver()
    assert slow.brought == [(THERE, "c")]
    await slow.want(THERE, "d")
    assert await slow.deliver(THERE) == 1


async def test_a_stop_gives_back_what_waits_behind_the_one_under_way(db: Database) -> None:
    slow = Slow(db)
    await slow.want(HERE, "a", "b")
    held = asyncio.create_task(slow.deliver())
    await slow.waits.wait()
    stopping = asyncio.create_task(slow.stop())
    await asyncio.sleep(0.02)
    assert not stopping.done()
    slow.may_go.set()
    await stopping
    assert await held == 1 and slow.brought == [(HERE, "a")]
    (free,) = await slow.outbox.claim()
    assert free.key == "b"
    assert await slow.deliver() == 0
