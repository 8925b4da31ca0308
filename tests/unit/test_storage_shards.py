"""Several processes on one database: each has its own communities' work, and nobody else's."""

from collections.abc import AsyncIterator
from datetime import timedelta

import pytest

from bot.services.upkeep import NOBODY, PURGE, Upkeep
from bot.settings import settings_from
from shared.errors import InputError
from shared.shard import Shard
from storage.communities import Communities
from storage.database import Database
from storage.jobs import Jobs
from storage.outbox import Outbox
from storage.polls import Polls
from storage.revisions import Revisions
from storage.schema import outbox
from storage.stale import StaleMessages
from tests.unit.conftest import HandClock

# As Discord deals them out: by the id without its last 22 bits.
FIRSTS = ((2**38 + 0) << 22, ((2**38 + 3) << 22) + 5)
SECONDS = (((2**38 + 1) << 22) + 2**21, (2**38 + 4) << 22)
THIRDS = (((2**38 + 2) << 22) + 7,)
ALL = (*FIRSTS, *SECONDS, *THIRDS)
COUNT = 3


@pytest.fixture
async def three(database_url: str, clock: HandClock) -> AsyncIterator[list[Database]]:
    # 2**38 leaves one when divided by three, so the first number is not number 0's.
    shards = [Shard(number=number, count=COUNT) for number in (1, 2, 0)]
    opened = [await Database.open(database_url, clock=clock, shard=each) for each in shards]
    yield opened
    for each in opened:
        await each.close()


def test_the_numbers_are_discords() -> None:
    for number, ids in ((1, FIRSTS), (2, SECONDS), (0, THIRDS)):
        assert {(each >> 22) % COUNT for each in ids} == {number}


async def test_each_posts_closes_and_makes_anew_for_its_own(
    three: list[Database], clock: HandClock
) -> None:
    for number, here in enumerate(ALL):
        await Outbox(three[0]).want(here, f"note/cup/0{number + 1}", 7, {"text": f"{number}"})
        await Jobs(three[0]).schedule(here, "begin", "r", due_at=clock())
        await Polls(three[0]).create(
            here, 7, question="?", answers=["a", "b"], closes_at=clock(), message_id=number
        )
    marked = outbox.update().values(stale=1)
    await three[0].write(lambda connection: connection.execute(marked))
    for db, own in zip(three, (FIRSTS, SECONDS, THIRDS), strict=True):
        assert {each.community_id for each in await StaleMessages(db).some()} == set(own)
        assert [each.community_id for each in await Polls(db).not_closed()] == list(own)
        assert {each.community_id for each in await Outbox(db).claim()} == set(own)
        assert {each.community_id for each in await Jobs(db).claim_due(["begin"])} == set(own)
        (first, *_) = await Polls(db).not_closed()
        assert await Polls(db).close(first.id, "time")
        lately = await Polls(db).closed_since(clock() - timedelta(hours=1))
        assert [each.id for each in lately] == [first.id]


async def test_who_starts_does_not_take_the_others_servers_for_gone(
    three: list[Database], clock: HandClock
) -> None:
    for db, own in zip(three, (FIRSTS, SECONDS, THIRDS), strict=True):
        await Upkeep(db).begin(own)
    await Upkeep(three[0]).begin(FIRSTS[:1])  # one of its own has removed the bot
    alone = Communities(await whole(three[0]))
    assert await alone.served() == sorted({*ALL} - {FIRSTS[1]})
    clock.advance(seconds=31 * 86_400)
    assert await alone.purge_left(kept=timedelta(days=30)) == [FIRSTS[1]]


async def whole(db: Database) -> Database:
    """The same database as one sees it who serves everybody."""
    return Database(
        db._address, writer=db._writer, reader=db._reader, clock=db._clock, shard=Shard()
    )


async def test_what_is_nobodys_own_is_done_by_the_first_alone(three: list[Database]) -> None:
    for db in three:
        await Upkeep(db).begin([])
    for db, does in zip(three, (False, False, True), strict=True):
        found = await Jobs(db).claim_due([PURGE])
        assert [each.community_id for each in found] == ([NOBODY] if does else [])


async def test_what_is_asked_of_one_community_is_answered_by_every_process(
    three: list[Database],
) -> None:
    assert await Outbox(three[0]).want(SECONDS[0], "k", 7, {"text": "x"})
    found = await Outbox(three[2]).get(SECONDS[0], "k")
    assert found is not None and found.body == {"text": "x"}
    assert await Revisions(three[2]).latest(SECONDS[0], "line", "cup/01/A") is None


@pytest.mark.parametrize("text", ["2/2", "1", "a/b", "1/", "/", "-1/2", "0/0"])
def test_a_shard_that_is_none_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError) as refused:
        settings_from({"LEEWARD_SHARD": text})
    assert (refused.value.example, "LEEWARD_SHARD" in refused.value.sentence) == (
        "LEEWARD_SHARD=0/2",
        True,
    )
    assert settings_from({"LEEWARD_SHARD": "1/2"}).shard == Shard(number=1, count=2)
    assert settings_from({}).shard.is_alone and settings_from({}).shard.is_first
