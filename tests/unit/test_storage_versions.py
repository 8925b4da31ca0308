"""Versions are read once for all who ask together, and never from before they asked."""

import asyncio
from collections.abc import Callable
from typing import Any

from sqlalchemy import Connection

from storage.database import Database
from storage.versions import Versions, bump

HERE, THERE = 7, 9


class CountedReads:
    """A database whose reads are counted, and held after they have read while ``open`` is clear."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self.count = 0
        self.has_read = asyncio.Event()
        self.open = asyncio.Event()
        self.open.set()

    async def read(self, fn: Callable[[Connection], Any]) -> Any:
        self.count += 1
        found = await self._db.read(fn)
        self.has_read.set()
        await self.open.wait()
        return found


async def _bump(db: Database, community_id: int) -> None:
    await db.write(lambda connection: bump(connection, community_id, "bags"))


async def test_those_who_ask_together_share_one_read(db: Database) -> None:
    counted: Any = CountedReads(db)
    versions = Versions(counted)
    await _bump(db, HERE)
    await _bump(db, THERE)
    await _bump(db, THERE)
    asked = [HERE, THERE, HERE, 11]
    found = await asyncio.gather(*(versions.of(each) for each in asked))
    assert found == [{"bags": 1}, {"bags": 2}, {"bags": 1}, {}]
    assert counted.count == 1


async def test_who_asks_while_a_read_is_under_way_sees_what_came_since(db: Database) -> None:
    counted: Any = CountedReads(db)
    versions = Versions(counted)
    counted.open.clear()
    first = asyncio.create_task(versions.of(HERE))
    await counted.has_read.wait()
    await _bump(db, HERE)
    later = [asyncio.create_task(versions.of(HERE)) for _ in range(3)]
    await asyncio.sleep(0)
    counted.open.set()
    assert await first == {}
    assert await asyncio.gather(*later) == [{"bags": 1}] * 3
    assert counted.count == 2


async def test_one_who_goes_away_takes_the_answer_from_nobody(db: Database) -> None:
    counted: Any = CountedReads(db)
    versions = Versions(counted)
    await _bump(db, HERE)
    counted.open.clear()
    gone, stays = (asyncio.create_task(versions.of(HERE)) for _ in range(2))
    await counted.has_read.wait()
    gone.cancel()
    await asyncio.sleep(0)
    counted.open.set()
    assert await stays == {"bags": 1}
    assert gone.cancelled()


async def test_a_read_that_fails_fails_those_who_share_it_and_no_later_one(db: Database) -> None:
    class Fails:
        async def read(self, fn: Callable[[Connection], Any]) -> Any:
            nonlocal fails
            if fails:
                raise OSError("the disk is away")
            return await db.read(fn)

    fails = True
    broken: Any = Fails()
    versions = Versions(broken)
    await _bump(db, HERE)
    both = await asyncio.gather(versions.of(HERE), versions.of(THERE), return_exceptions=True)
    assert [str(each) for each in both] == ["the disk is away"] * 2
    fails = False
    assert await versions.of(HERE) == {"bags": 1}
