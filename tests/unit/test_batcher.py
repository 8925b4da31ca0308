"""What is asked close together is worked as one, and each gets its own answer."""

import asyncio
import threading
from collections.abc import Sequence

from bot.services.batcher import Batcher


class Work:
    """Doubles numbers, refuses negative ones, fails as a whole on a thousand; may be held."""

    def __init__(self) -> None:
        self.batches: list[list[int]] = []
        self.begun = threading.Event()
        self.go_on = threading.Event()
        self.go_on.set()
        self.threads: set[int] = set()

    def __call__(self, items: Sequence[int]) -> list[str | Exception]:
        self.batches.append(list(items))
        self.threads.add(threading.get_ident())
        self.begun.set()
        assert self.go_on.wait(5)
        if 1000 in items:
            raise RuntimeError("a thousand")
        return [ValueError(f"below: {each}") if each < 0 else f"{2 * each}" for each in items]


async def held(work: Work, batcher: Batcher[int, str]) -> "asyncio.Task[str]":
    """A first question that is under way and stays so until ``go_on``."""
    work.go_on.clear()
    first = asyncio.create_task(batcher.ask(1))
    await asyncio.to_thread(work.begun.wait, 5)
    return first


async def test_who_asks_alone_is_answered_off_the_loop_without_waiting() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=60.0)
    assert await asyncio.wait_for(batcher.ask(7), 5) == "14"
    assert work.batches == [[7]] and threading.get_ident() not in work.threads


async def test_what_comes_meanwhile_is_one_batch_in_its_order() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0)
    first = await held(work, batcher)
    others = [asyncio.create_task(batcher.ask(each)) for each in (5, 3, 9)]
    await asyncio.sleep(0)
    work.go_on.set()
    assert await asyncio.gather(first, *others) == ["2", "10", "6", "18"]
    assert work.batches == [[1], [5, 3, 9]]


async def test_a_batch_holds_no_more_than_it_may() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0, most=2)
    first = await held(work, batcher)
    others = [asyncio.create_task(batcher.ask(each)) for each in (5, 3, 9)]
    await asyncio.sleep(0)
    work.go_on.set()
    assert await asyncio.gather(first, *others) == ["2", "10", "6", "18"]
    assert work.batches == [[1], [5, 3], [9]]


async def test_who_is_refused_fails_nobody_else() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0)
    first = await held(work, batcher)
    others = [asyncio.create_task(batcher.ask(each)) for each in (5, -3, 9)]
    await asyncio.sleep(0)
    work.go_on.set()
    assert await first == "2"
    found = await asyncio.gather(*others, return_exceptions=True)
    assert [found[0], found[2]] == ["10", "18"]
    assert isinstance(found[1], ValueError) and str(found[1]) == "below: -3"


async def test_a_batch_that_fails_as_a_whole_is_worked_one_by_one() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0)
    first = await held(work, batcher)
    others = [asyncio.create_task(batcher.ask(each)) for each in (5, 1000, 9)]
    await asyncio.sleep(0)
    work.go_on.set()
    assert await first == "2"
    found = await asyncio.gather(*others, return_exceptions=True)
    assert [found[0], found[2]] == ["10", "18"] and isinstance(found[1], RuntimeError)
    assert work.batches == [[1], [5, 1000, 9], [5], [1000], [9]]


async def test_who_gives_up_is_not_worked_for_and_the_others_are() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0)
    first = await held(work, batcher)
    others = [asyncio.create_task(batcher.ask(each)) for each in (5, 3, 9)]
    await asyncio.sleep(0)
    first.cancel()  # under way: its answer goes nowhere
    others[1].cancel()
    await asyncio.sleep(0)
    work.go_on.set()
    assert await asyncio.gather(others[0], others[2]) == ["10", "18"]
    assert work.batches == [[1], [5, 9]]
    assert first.cancelled() and others[1].cancelled()


async def test_where_all_have_given_up_nothing_is_worked_and_the_next_is_answered() -> None:
    work = Work()
    batcher = Batcher(work, gather_s=0.0)
    first = await held(work, batcher)
    gone = asyncio.create_task(batcher.ask(5))
    await asyncio.sleep(0)
    gone.cancel()
    work.go_on.set()
    assert await first == "2"
    assert await batcher.ask(4) == "8"
    assert work.batches == [[1], [4]]


def test_a_loop_that_stops_leaves_nobody_waiting() -> None:
    work = Work()
    left: list[asyncio.Task[str]] = []

    async def stopping() -> None:
        batcher = Batcher(work, gather_s=0.0)
        left.append(await held(work, batcher))
        left.append(asyncio.create_task(batcher.ask(6)))
        await asyncio.sleep(0)
        threading.Timer(0.05, work.go_on.set).start()

    asyncio.run(stopping())
    assert [each.cancelled() for each in left] == [True, True]
    assert work.batches == [[1]]
