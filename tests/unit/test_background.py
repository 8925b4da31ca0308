"""Background work outlives whatever its turns raise, and says each cause once."""

import asyncio
import logging

import pytest

from bot.chat.background import FIRST_WAIT_S, LONGEST_WAIT_S, Background, cause_of
from storage.faults import DatabaseError


class Turns:
    """Raises what it is told to, turn by turn; then does nothing."""

    def __init__(self, *raised: Exception | None) -> None:
        self.left = list(raised)
        self.taken = 0

    async def take(self) -> None:
        self.taken += 1
        if self.left and (error := self.left.pop(0)) is not None:
            raise error


def full() -> DatabaseError:
    return DatabaseError("The disk is full", detail="The disk that holds /srv/x.db is full")


async def test_each_cause_is_logged_once_with_its_place_and_the_work_goes_on(
    caplog: pytest.LogCaptureFixture,
) -> None:
    turns = Turns(full(), full(), ValueError("odd"), None, full())
    work = Background("posting", turns.take, every_s=60.0)
    with caplog.at_level(logging.INFO):
        done = [await work.once() for _ in range(6)]
    assert done == [False, False, False, True, False, True]
    said = [record.getMessage() for record in caplog.records]
    assert [each.split(":")[0] for each in said] == [
        "posting failed and goes on",
        "posting failed and goes on",
        "posting works again",
        "posting failed and goes on",
        "posting works again",
    ]
    assert "/srv/x.db" in said[0] and "odd" in said[1]


async def test_it_waits_longer_after_each_failure_and_as_usual_after_none() -> None:
    work = Background("posting", Turns(*[OSError("gone")] * 12, None).take, every_s=60.0)
    waits: list[float] = []
    for _ in range(13):
        await work.once()
        waits.append(work.wait_s)
    assert waits[:3] == [FIRST_WAIT_S, 2 * FIRST_WAIT_S, 4 * FIRST_WAIT_S]
    assert waits[11] == LONGEST_WAIT_S and waits[12] == 60.0


async def test_started_work_is_taken_up_again_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.chat.background.FIRST_WAIT_S", 0.01)
    turns = Turns(OSError("gone"), full())
    work = Background("posting", turns.take, every_s=0.01)
    work.start()
    work.start()
    async with asyncio.timeout(10):
        while turns.taken < 4:
            await asyncio.sleep(0.01)
    await work.stop()
    taken = turns.taken
    await asyncio.sleep(0.05)
    assert turns.taken == taken and work.failures == 0


def test_a_cause_without_words_is_named_by_its_kind() -> None:
    assert cause_of(TimeoutError()) == "TimeoutError"
