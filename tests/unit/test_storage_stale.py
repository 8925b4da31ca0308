"""What changes a hole marks the messages about it, in the same transaction."""

import pytest
from sqlalchemy import select, update

from shared.actor import Author
from shared.keys import EventKey, hole_told
from storage.database import Database
from storage.outbox import Outbox
from storage.played import Played
from storage.polls import Polls
from storage.results import Results
from storage.revisions import Draft, append_revisions
from storage.schema import outbox
from storage.stale import Stale, StaleMessages, mark_event, want_share

HERE, ELSEWHERE, NOTES = 2**60 + 5, 2**60 + 6, 2**60 + 7
CUP, OTHER = EventKey("cup-1"), EventKey("cup-10")  # the one's key begins the other's
FOUR, FIVE = CUP.hole(4), CUP.hole(5)
KEYS = (f"note/{FOUR}", f"note/{FIVE}", f"share/{FOUR}/C", f"share/{FIVE}/B", f"note/{OTHER}/04")
ANN = Author(7, "Ann")


async def posted(db: Database) -> StaleMessages:
    """Messages about two events here and one elsewhere, none of them marked."""
    for number, key in enumerate(KEYS):
        await Outbox(db).want(HERE, key, NOTES, {"text": f"{number}"})
    await Outbox(db).want(ELSEWHERE, KEYS[0], NOTES, {"text": "elsewhere"})
    return StaleMessages(db)


async def keys_of(stale: StaleMessages) -> list[str]:
    found = await stale.some()
    assert {each.community_id for each in found} <= {HERE}
    return [each.key for each in found]


def played(holed: bool) -> Played:
    return Played(hole_key=str(FOUR), line_key=f"{FOUR}/A", variant="A", holed=holed, club="driver")


async def revise(db: Database, kind: str, key: str, body: str) -> None:
    draft = Draft(kind, key, body)
    await db.write(
        lambda connection: append_revisions(
            connection, HERE, [draft], author=ANN, reason="", at=db.now()
        )
    )


@pytest.mark.parametrize(
    ("kind", "key", "marked"),
    [
        ("line", f"{FOUR}/B", [KEYS[0], KEYS[2]]),
        ("hole", str(FIVE), [KEYS[1], KEYS[3]]),
        ("event", str(CUP), sorted(KEYS[:4])),
        ("kit", "kit", []),
    ],
)
async def test_a_revision_marks_what_is_said_of_its_hole(
    db: Database, kind: str, key: str, marked: list[str]
) -> None:
    stale = await posted(db)
    await revise(db, kind, key, "one")
    assert await keys_of(stale) == marked
    await stale.made(await stale.some())
    await revise(db, kind, key, "one")  # nothing changed
    assert await keys_of(stale) == []


async def test_a_result_its_correction_and_its_removal_mark_and_a_repetition_does_not(
    db: Database,
) -> None:
    stale, kept = await posted(db), Results(db)

    async def add() -> int:
        logged = await kept.add(
            HERE, played(False), member_id=3, author_name="M", interaction_id=11
        )
        return logged.result.id

    for change in (
        add,
        lambda: kept.correct(1, played(True), interaction_id=12),
        lambda: kept.remove(1),
    ):
        await change()
        assert await keys_of(stale) == [KEYS[0], KEYS[2]]
        await stale.made(await stale.some())
    await add()
    assert await keys_of(stale) == []


async def test_a_poll_marks_its_hole_when_it_opens_and_when_it_closes(db: Database) -> None:
    stale, polls = await posted(db), Polls(db)
    poll = await polls.create(
        HERE, 5, question="?", answers=["A", "B"], closes_at=db.now(), hole_key=str(FIVE)
    )
    await polls.posted(poll.id, 99)
    assert await keys_of(stale) == [KEYS[1], KEYS[3]]
    await stale.made(await stale.some())
    assert await polls.close(poll.id, "time") and not await polls.close(poll.id, "early")
    assert [each.stale for each in await stale.some()] == [1, 1]


async def test_what_is_marked_again_while_it_is_made_keeps_its_mark(db: Database) -> None:
    stale = await posted(db)
    await revise(db, "hole", str(FIVE), "one")
    seen = await stale.of_holes(HERE, [FIVE])
    assert seen == [Stale(HERE, KEYS[1], 1), Stale(HERE, KEYS[3], 1)]
    assert await stale.of_holes(HERE, [FOUR]) == await stale.of_holes(HERE, []) == []
    await revise(db, "line", f"{FIVE}/A", "two")
    await stale.made(seen)
    assert await stale.some() == [Stale(HERE, KEYS[1], 2), Stale(HERE, KEYS[3], 2)]


async def test_a_mark_goes_with_its_transaction(db: Database) -> None:
    stale = await posted(db)

    def fails(connection) -> None:
        mark_event(connection, HERE, str(CUP))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        await db.write(fails)
    assert await stale.some() == []


async def test_a_shared_line_waits_to_be_made_and_is_not_posted_before(db: Database) -> None:
    stale, line = StaleMessages(db), FOUR.line("D")
    for _ in range(2):
        await db.write(lambda connection: want_share(connection, HERE, line, NOTES, at=db.now()))
    assert await stale.some() == [Stale(HERE, f"share/{line}", 1)]
    assert await Outbox(db).claim() == []
    assert await Outbox(db).want(HERE, f"share/{line}", NOTES, {"text": "made"}) is True
    (message,) = await Outbox(db).claim()
    assert message.body == {"text": "made"} and message.message_id is None


async def test_only_what_insists_is_posted_anew_and_that_once(db: Database) -> None:
    boxes = Outbox(db)
    await boxes.want(HERE, KEYS[0], NOTES, {"text": "a"}, insists=True)
    (message,) = await boxes.claim()
    assert message.insists and await boxes.posted(message, 71)
    await boxes.want(HERE, KEYS[0], NOTES, {"text": "b"})
    (message,) = await boxes.claim()
    assert not message.insists
    await boxes.want(HERE, KEYS[0], NOTES, {"text": "c"}, insists=True)
    await boxes.want(HERE, KEYS[0], NOTES, {"text": "d"})  # a refresh takes nothing back
    query = select(outbox.c.insists)
    assert await db.read(lambda connection: connection.execute(query).scalar()) is True


async def test_looking_for_marks_reads_no_unmarked_message(db: Database) -> None:
    stale = await posted(db)
    some = update(outbox).where(outbox.c.key == KEYS[3]).values(stale=4)
    await db.write(lambda connection: connection.execute(some))
    assert await stale.some() == [Stale(HERE, KEYS[3], 4)]


def test_the_hole_a_message_is_about() -> None:
    assert hole_told(f"note/{FOUR}") == hole_told(f"share/{FOUR}/C") == FOUR
    assert hole_told("poll/7/outcome") is None
