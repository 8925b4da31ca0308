"""A message that is wanted comes to stand in its channel, and a known one is edited in place."""

import asyncio
from datetime import timedelta

import pytest

from storage.database import Database
from storage.jobs import Jobs
from storage.outbox import Message, Outbox, want_message
from storage.polls import Polls
from tests.unit.conftest import HandClock

HERE, ELSEWHERE = 91, 92
NOTES, OTHER = 2**61 + 3, 2**61 + 4
KEY = "cup-3/r1/h7"


async def claim_one(outbox: Outbox) -> Message:
    (message,) = await outbox.claim()
    return message


async def post(outbox: Outbox, message_id: int, body: str = "old") -> None:
    await outbox.want(HERE, KEY, NOTES, {"text": body})
    assert await outbox.posted(await claim_one(outbox), message_id) is True


async def test_first_posted_then_edited_in_place(db: Database) -> None:
    outbox = Outbox(db)
    assert await outbox.want(HERE, KEY, NOTES, {"text": "7-iron", "hole": 7}) is True
    message = await claim_one(outbox)
    assert (message.channel_id, message.key, message.message_id, message.body) == (
        NOTES,
        KEY,
        None,
        {"text": "7-iron", "hole": 7},
    )
    assert await outbox.posted(message, 5001) is True
    assert await outbox.claim() == []
    stands = await outbox.by_message(5001)
    assert stands is not None
    assert (stands.key, stands.state, stands.body) == (KEY, "posted", None)
    assert await outbox.want(HERE, KEY, NOTES, {"text": "8-iron", "hole": 7}) is True
    edit = await claim_one(outbox)
    assert (edit.message_id, edit.body) == (5001, {"text": "8-iron", "hole": 7})
    assert edit.nonce != message.nonce


async def test_the_same_body_in_another_order_is_nothing_to_do(db: Database) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"a": 1, "b": [2, None]})
    assert await outbox.want(HERE, KEY, NOTES, {"b": [2, None], "a": 1}) is False
    await outbox.posted(await claim_one(outbox), 5002)
    assert await outbox.want(HERE, KEY, NOTES, {"b": [2, None], "a": 1}) is False
    assert await outbox.claim() == []


async def test_messages_are_taken_up_in_order_and_once(db: Database) -> None:
    outbox = Outbox(db)
    for hole in (3, 1, 2):
        await outbox.want(HERE, f"h{hole}", NOTES, {"hole": hole})
    await outbox.want(ELSEWHERE, "h3", NOTES, {"hole": 33})
    batches = await asyncio.gather(*(outbox.claim(limit=3) for _ in range(3)))
    keys = [(m.community_id, m.key) for batch in batches for m in batch]
    assert sorted(keys) == [(HERE, "h1"), (HERE, "h2"), (HERE, "h3"), (ELSEWHERE, "h3")]
    assert [m.key for m in max(batches, key=len)] == ["h3", "h1", "h2"]


async def test_a_text_wanted_while_posting_is_edited_in_next(db: Database) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"text": "old"})
    message = await claim_one(outbox)
    await outbox.want(HERE, KEY, NOTES, {"text": "new"})
    assert await outbox.claim() == []  # somebody is at it
    assert await outbox.posted(message, 5003) is True
    edit = await claim_one(outbox)
    assert (edit.message_id, edit.body) == (5003, {"text": "new"})


async def test_after_a_crash_while_posting_another_takes_over(
    db: Database, clock: HandClock
) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"text": "once"})
    crashed = await claim_one(outbox)
    clock.advance(seconds=61)
    second = await claim_one(outbox)
    assert second.nonce == crashed.nonce  # so that the chat can drop the repetition
    assert await outbox.posted(second, 5005) is True
    assert await outbox.posted(crashed, 5004) is False  # one too many: to be deleted
    assert await outbox.by_message(5004) is None


async def test_an_edited_message_that_is_not_there_is_posted_anew(db: Database) -> None:
    outbox = Outbox(db)
    await post(outbox, 5006)
    await outbox.want(HERE, KEY, NOTES, {"text": "new"})
    edit = await claim_one(outbox)
    assert await outbox.lost(edit) is True
    anew = await claim_one(outbox)
    assert (anew.message_id, anew.body) == (None, {"text": "new"})
    assert anew.nonce != edit.nonce


async def test_another_channel_is_another_message(db: Database) -> None:
    outbox = Outbox(db)
    await post(outbox, 5007, "same")
    assert await outbox.want(HERE, KEY, OTHER, {"text": "same"}) is True
    moved = await claim_one(outbox)
    assert (moved.channel_id, moved.message_id) == (OTHER, None)
    await outbox.want(HERE, KEY, NOTES, {"text": "same"})
    assert await outbox.posted(moved, 5008) is False
    assert (await claim_one(outbox)).channel_id == NOTES


async def test_a_message_somebody_deleted_stays_away_until_wanted(db: Database) -> None:
    outbox = Outbox(db)
    await post(outbox, 5009, "same")
    assert await outbox.gone(5009) == 1 and await outbox.gone(5009) == 0
    assert await outbox.claim() == []
    state = await outbox.get(HERE, KEY)
    assert state is not None and (state.state, state.message_id) == ("gone", None)
    assert await outbox.want(HERE, KEY, NOTES, {"text": "same"}) is True
    assert (await claim_one(outbox)).message_id is None


async def test_trouble_is_kept_and_tried_again(db: Database, clock: HandClock) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"text": "a"})
    at = clock.time + timedelta(seconds=20)
    assert await outbox.failed(await claim_one(outbox), "the chat is slow", retry_at=at) is True
    clock.advance(seconds=19)
    assert await outbox.claim() == []
    clock.advance(seconds=1)
    assert await outbox.failed(await claim_one(outbox), "may not post there") is True
    clock.advance(seconds=3600)
    assert await outbox.claim() == []
    stuck = await outbox.get(HERE, KEY)
    assert stuck is not None and (stuck.state, stuck.trouble) == ("failed", "may not post there")
    assert [m.trouble for m in await outbox.refused(HERE)] == ["may not post there"]
    assert await outbox.retry(ELSEWHERE) == 0
    assert await outbox.retry(HERE, channel_id=OTHER) == 0
    assert await outbox.retry(HERE, channel_id=NOTES) == 1 and await outbox.refused(HERE) == []
    again = await claim_one(outbox)
    assert again.body == {"text": "a"}
    await outbox.want(HERE, KEY, NOTES, {"text": "b"})
    assert await outbox.failed(again, "may not post there") is True
    assert (await claim_one(outbox)).body == {"text": "b"}  # the newer text gets its own try


async def test_withdrawn_before_and_after_it_was_posted(db: Database) -> None:
    outbox = Outbox(db)
    assert await outbox.withdraw(HERE, KEY) is False
    await outbox.want(HERE, KEY, NOTES, {"text": "a"})
    assert await outbox.withdraw(HERE, KEY) is True
    assert await outbox.claim() == [] and await outbox.get(HERE, KEY) is None
    await post(outbox, 5010)
    assert await outbox.withdraw(HERE, KEY) is True
    removal = await claim_one(outbox)
    assert (removal.message_id, removal.body) == (5010, None)
    assert await outbox.deleted(removal) is True
    assert await outbox.get(HERE, KEY) is None


async def test_withdrawn_while_posting_is_deleted_after(db: Database) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"text": "a"})
    message = await claim_one(outbox)
    assert await outbox.withdraw(HERE, KEY) is True
    assert await outbox.posted(message, 5011) is True
    removal = await claim_one(outbox)
    assert (removal.message_id, removal.body) == (5011, None)
    await outbox.want(HERE, KEY, NOTES, {"text": "back"})
    assert await outbox.deleted(removal) is False  # wanted again meanwhile


async def test_a_wish_is_part_of_the_transaction_that_causes_it(db: Database) -> None:
    def fn(connection):
        want_message(connection, HERE, KEY, NOTES, {"text": "a"}, at=db.now())
        raise LookupError("the cause failed")

    with pytest.raises(LookupError):
        await db.write(fn)
    assert await Outbox(db).claim() == []


async def test_what_the_chat_does_not_take_waits_longer_each_time(
    db: Database, clock: HandClock
) -> None:
    outbox = Outbox(db)
    await outbox.want(HERE, KEY, NOTES, {"text": "a"})
    waits: list[float] = []
    for at_least_s in (0.0, 0.0, 90.0, 0.0):
        message = await claim_one(outbox)
        assert await outbox.put_off(message, "slow down", at_least_s=at_least_s) is True
        kept = await outbox.get(HERE, KEY)
        assert kept is not None and kept.not_before is not None
        waits.append((kept.not_before - clock.time).total_seconds())
        assert await outbox.claim() == []
        clock.advance(seconds=waits[-1])
    assert waits == [15, 30, 90, 120]
    last = await claim_one(outbox)
    assert (last.attempts, last.trouble, last.nonce) == (4, "slow down", message.nonce)
    await outbox.want(HERE, KEY, NOTES, {"text": "b"})
    assert await outbox.posted(last, 5012) is True
    fresh = await claim_one(outbox)  # a new text does not wait for the old one's troubles
    assert (fresh.attempts, fresh.trouble) == (0, None)


async def test_nonces_are_random_and_row_numbers_never_used_again(db: Database) -> None:
    outbox = Outbox(db)
    seen: set[str] = set()
    ids: list[int] = []
    for _ in range(4):  # shared, taken back, shared again
        await outbox.want(HERE, KEY, NOTES, {"text": "a"})
        message = await outbox.get(HERE, KEY)
        assert message is not None and len(message.nonce) <= 25
        seen.add(message.nonce)
        ids.append(message.id)
        await outbox.withdraw(HERE, KEY)
    assert len(seen) == 4 and ids == sorted(set(ids))


async def test_bulk_and_channel_deletes_are_noticed(db: Database) -> None:
    outbox = Outbox(db)
    for number, channel in enumerate((NOTES, NOTES, OTHER, OTHER, OTHER)):
        await outbox.want(HERE, f"h{number}", channel, {"hole": number})
        await outbox.posted(await claim_one(outbox), 6000 + number)
    await outbox.want(HERE, "waits", OTHER, {"hole": 9})
    assert await outbox.gone(6001, 6002, 7777) == 2
    assert await outbox.channel_gone(OTHER) == 3  # two that stood, one that waited
    assert await outbox.channel_gone(OTHER) == 0
    assert await outbox.claim() == []
    states = [m.state for n in range(5) if (m := await outbox.get(HERE, f"h{n}"))]
    assert states == ["posted", "gone", "gone", "gone", "gone"]


async def test_other_peoples_messages_do_not_take_the_writer(
    db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    outbox, polls = Outbox(db), Polls(db)

    async def no_write(fn: object) -> None:
        raise AssertionError("the writer was asked")

    monkeypatch.setattr(db, "write", no_write)
    assert await outbox.gone(1, 2, 3) == 0 and await outbox.channel_gone(4) == 0
    assert await outbox.claim() == [] and await Jobs(db).claim_due() == []
    assert await polls.vote(5, 6, 1, added=True) is False


async def test_one_communitys_messages_are_taken_up_or_all_but_its(db: Database) -> None:
    outbox = Outbox(db)
    for community, key in ((HERE, "a"), (ELSEWHERE, "b"), (HERE, "c")):
        await outbox.want(community, key, NOTES, {"text": key})
    assert [each.key for each in await outbox.claim(but_for=[HERE])] == ["b"]
    assert [each.key for each in await outbox.claim(community_id=HERE, limit=1)] == ["a"]
    assert await outbox.claim(community_id=HERE, but_for=[HERE]) == []
    assert [each.key for each in await outbox.claim(but_for=[ELSEWHERE])] == ["c"]
