"""Votes count as they stand, whatever came twice, late or not at all; a poll closes once."""

import asyncio
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Connection, text

from shared.errors import StorageError
from storage.database import Database
from storage.jobs import Jobs
from storage.outbox import Outbox, want_message
from storage.people import People
from storage.polls import CLOSE_POLL, Poll, Polls, Tally
from storage.polls import _differences as differences
from tests.unit.conftest import HandClock

HERE, CHANNEL, MESSAGE = 2**60 + 31, 2**60 + 32, 2**60 + 33
ANN, BEN, CAT = 2**61 + 41, 2**61 + 42, 2**61 + 43


async def open_poll(db: Database, message_id: int = MESSAGE) -> Poll:
    return await Polls(db).create(
        HERE,
        CHANNEL,
        question="Hole 7?",
        answers=["Variant A", "Variant B", "Neither"],
        closes_at=db.now() + timedelta(hours=3),
        hole_key="cup/r1/h7",
        message_id=message_id,
    )


async def test_a_poll_from_waiting_to_closed(db: Database, clock: HandClock) -> None:
    polls = Polls(db)
    poll = await polls.create(
        HERE, CHANNEL, question="Q", answers=["a", "b"], closes_at=clock.time, hole_key="h"
    )
    assert (poll.state, poll.message_id, poll.answers) == ("waiting", None, ("a", "b"))
    assert await polls.posted(poll.id, MESSAGE) is True
    assert await polls.posted(poll.id, MESSAGE + 1) is False
    opened = await polls.by_message(MESSAGE)
    assert opened is not None and (opened.id, opened.state) == (poll.id, "open")
    assert [p.id for p in await polls.not_closed()] == [poll.id]
    clock.advance(seconds=7)
    assert await polls.close(poll.id, "early") is True
    closed = await polls.get(poll.id)
    assert closed is not None
    assert (closed.state, closed.ended, closed.closed_at) == ("closed", "early", clock.time)
    assert await polls.not_closed() == []
    assert [p.id for p in await polls.of_hole(HERE, "h")] == [poll.id]
    assert await polls.of_hole(HERE, "other") == []


async def test_votes_given_taken_back_and_changed(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)
    assert await polls.tally(poll.id) == Tally({1: 0, 2: 0, 3: 0}, voters=0)
    for member, answer, added in [
        (ANN, 1, True),
        (BEN, 1, True),
        (CAT, 3, True),
        (BEN, 1, False),
        (BEN, 2, True),
        (BEN, 3, True),  # a poll may allow several answers
        (CAT, 3, False),
    ]:
        assert await polls.vote(MESSAGE, member, answer, added=added) is True
    assert await polls.tally(poll.id) == Tally({1: 1, 2: 1, 3: 1}, voters=2)


async def test_what_changes_nothing_is_not_kept(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)
    together = await asyncio.gather(*(polls.vote(MESSAGE, ANN, 2, added=True) for _ in range(5)))
    assert sorted(together) == [False, False, False, False, True]
    assert await polls.vote(MESSAGE, BEN, 2, added=False) is False  # never given
    assert await polls.vote(MESSAGE, BEN, 4, added=True) is False  # no such answer
    assert await polls.vote(MESSAGE, BEN, 0, added=True) is False
    assert await polls.vote(MESSAGE + 9, BEN, 1, added=True) is False  # no poll of ours
    assert await polls.tally(poll.id) == Tally({1: 0, 2: 1, 3: 0}, voters=1)
    await polls.close(poll.id, "time")
    assert await polls.vote(MESSAGE, BEN, 1, added=True) is False  # too late
    with pytest.raises(LookupError):
        await polls.tally(poll.id + 1)


async def test_polls_do_not_mix(db: Database) -> None:
    polls = Polls(db)
    first, second = await open_poll(db), await open_poll(db, MESSAGE + 1)
    await polls.vote(MESSAGE, ANN, 1, added=True)
    await polls.vote(MESSAGE + 1, ANN, 3, added=True)
    assert (await polls.tally(first.id)).counts == {1: 1, 2: 0, 3: 0}
    assert (await polls.tally(second.id)).counts == {1: 0, 2: 0, 3: 1}


async def test_after_a_downtime_the_votes_are_those_of_the_chat(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)
    for member, answer in ((ANN, 1), (BEN, 1), (CAT, 2)):
        await polls.vote(MESSAGE, member, answer, added=True)
    new = CAT + 5
    changed = await polls.reconcile(
        poll.id, {1: [ANN], 2: {BEN, CAT, new}}, told={1: 1, 2: 3, 3: 0}
    )
    assert changed == 3  # Ben left 1, Ben and the new one came to 2
    assert await polls.tally(poll.id) == Tally({1: 1, 2: 3, 3: 0}, voters=4)
    kept = await polls.get(poll.id)
    assert kept is not None and kept.told == {1: 1, 2: 3, 3: 0}
    assert await polls.reconcile(poll.id, {1: [ANN], 2: {BEN, CAT, new}}) == 0
    assert await polls.reconcile(poll.id, {2: []}) == 3  # 1 could not be fetched and stays
    assert (await polls.tally(poll.id)).counts == {1: 1, 2: 0, 3: 0}
    await polls.close(poll.id, "deleted")
    assert await polls.reconcile(poll.id, {1: []}) == 0


async def test_a_forgotten_vote_counts_and_stays_forgotten(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)
    for member in (ANN, BEN):
        await polls.vote(MESSAGE, member, 1, added=True)
    await People(db).forget(HERE, ANN)
    assert await polls.tally(poll.id) == Tally({1: 2, 2: 0, 3: 0}, voters=2)
    # The chat still lists Ann: she is the one we do not know any more.
    assert await polls.reconcile(poll.id, {1: [ANN, BEN]}) == 0
    assert (await People(db).export(HERE, ANN))["votes"] == []
    assert await polls.reconcile(poll.id, {1: [BEN]}) == 1
    assert (await polls.tally(poll.id)).counts == {1: 1, 2: 0, 3: 0}


ids = st.sets(st.integers(1, 9))


@given(ours=ids, forgotten=st.sets(st.integers(-5, -1)), theirs=ids)
def test_reconciled_counts_are_the_chats(
    ours: set[int], forgotten: set[int], theirs: set[int]
) -> None:
    standing = {(member, 2) for member in ours | forgotten} | {(member, 3) for member in theirs}
    after = {member for member, answer in standing if answer == 2}
    for member, answer, added in differences(standing, 2, theirs):
        assert answer == 2 and (member in after) != added
        (after.add if added else after.remove)(member)
    assert len(after) == len(theirs)
    assert {member for member in after if member > 0} <= theirs


async def test_a_poll_is_closed_exactly_once_with_its_effect(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)

    def outcome(connection: Connection) -> None:
        want_message(connection, HERE, f"poll {poll.id}", CHANNEL, {"text": "A"}, at=db.now())

    won = await asyncio.gather(*(polls.close(poll.id, "time", outcome) for _ in range(7)))
    assert sorted(won) == [False] * 6 + [True]
    assert len(await Outbox(db).claim()) == 1


async def test_an_effect_that_fails_leaves_the_poll_open(db: Database) -> None:
    polls, poll = Polls(db), await open_poll(db)

    def fail(connection: Connection) -> None:
        connection.execute(text("INSERT INTO votes (id) VALUES (1)"))

    with pytest.raises(StorageError, match="refused this"):
        await polls.close(poll.id, "time", fail)
    assert await polls.close(poll.id, "time") is True


async def test_a_poll_has_a_job_that_closes_it(db: Database, clock: HandClock) -> None:
    polls, jobs, poll = Polls(db), Jobs(db), await open_poll(db)
    early = await open_poll(db, MESSAGE + 1)
    await polls.close(early.id, "early")
    assert await jobs.next_due() == poll.closes_at
    clock.advance(seconds=3 * 3600)
    (job,) = await jobs.claim_due([CLOSE_POLL])
    assert (job.payload, job.key) == ({"poll": poll.id}, str(poll.id))
    assert await polls.close(poll.id, "time") is True
    ended = await jobs.get(HERE, CLOSE_POLL, str(poll.id))
    assert ended is not None and ended.done_at == clock.time
    assert await jobs.finish(job) is False and await jobs.next_due() is None
