"""Revisions: nothing is overwritten, nobody's text is lost."""

import asyncio
from datetime import timedelta

import pytest

from shared.actor import Author
from shared.errors import StorageError
from storage.database import Database
from storage.revisions import Draft, RevisionConflict, Revisions
from tests.unit.conftest import HandClock

HERE, ELSEWHERE = 71, 72
ANN, BEN = Author(901, "Ann"), Author(902, "Ben")
KEY = "cup-3/r1/h7/B"


async def put(
    revisions: Revisions, body: str, based_on: int | None, author: Author = ANN, key: str = KEY
):
    return await revisions.append(HERE, "line", key, body, author=author, based_on=based_on)


async def test_the_first_revision_is_number_one_with_author_and_time(
    db: Database, clock: HandClock
) -> None:
    revisions = Revisions(db)
    assert await revisions.latest(HERE, "line", KEY) is None
    made = await revisions.append(
        HERE, "line", KEY, "7-iron, 142", author=ANN, based_on=None, reason="first try"
    )
    assert (made.number, made.body, made.author_id, made.author_name, made.reason) == (
        1,
        "7-iron, 142",
        901,
        "Ann",
        "first try",
    )
    assert made.created_at == clock.time
    assert await revisions.latest(HERE, "line", KEY) == made


async def test_keys_kinds_and_communities_are_apart(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "a", None)
    await revisions.append(HERE, "hole", KEY, "b", author=ANN, based_on=None)
    await revisions.append(ELSEWHERE, "line", KEY, "c", author=ANN, based_on=None)
    bodies = [
        (await revisions.history(community, kind, KEY))[0].body
        for community, kind in ((HERE, "line"), (HERE, "hole"), (ELSEWHERE, "line"))
    ]
    assert bodies == ["a", "b", "c"]


async def test_history_keeps_every_state_newest_first(db: Database, clock: HandClock) -> None:
    revisions = Revisions(db)
    for number, body in enumerate(("one", "two", "three")):
        await put(revisions, body, number or None, BEN if number == 1 else ANN)
        clock.advance(seconds=90)
    history = await revisions.history(HERE, "line", KEY)
    assert [(r.number, r.body, r.author_name) for r in history] == [
        (3, "three", "Ann"),
        (2, "two", "Ben"),
        (1, "one", "Ann"),
    ]
    assert history[0].created_at - history[2].created_at == timedelta(seconds=180)
    assert [r.number for r in await revisions.history(HERE, "line", KEY, limit=2)] == [3, 2]


async def test_the_second_coach_is_told_and_keeps_the_text(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "start", None)
    theirs = await put(revisions, "Ann's", 1, ANN)
    with pytest.raises(RevisionConflict) as caught:
        await put(revisions, "Ben's long text", 1, BEN)
    assert caught.value.newest == theirs
    assert caught.value.unsaved.body == "Ben's long text"
    assert str(caught.value) == "Ann changed line cup-3/r1/h7/B meanwhile (revision 2)"
    assert isinstance(caught.value, StorageError)
    assert (await put(revisions, "Ben's long text", 2, BEN)).number == 3


@pytest.mark.parametrize(("existing", "based_on"), [(0, 1), (2, None), (2, 3), (2, 0)])
async def test_based_on_must_be_the_newest(
    db: Database, existing: int, based_on: int | None
) -> None:
    revisions = Revisions(db)
    for number in range(existing):
        await put(revisions, f"text {number}", number or None)
    with pytest.raises(RevisionConflict):
        await put(revisions, "other", based_on)
    assert len(await revisions.history(HERE, "line", KEY)) == existing


async def test_of_two_coaches_at_once_exactly_one_is_first(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "start", None)
    outcomes = await asyncio.gather(
        *(put(revisions, f"text {i}", 1, Author(i, f"coach {i}")) for i in range(8)),
        return_exceptions=True,
    )
    conflicts = [outcome for outcome in outcomes if isinstance(outcome, RevisionConflict)]
    assert len(conflicts) == 7
    winner = await revisions.latest(HERE, "line", KEY)
    assert winner is not None and winner.number == 2
    assert {conflict.newest.body for conflict in conflicts if conflict.newest} == {winner.body}
    lost = {conflict.unsaved.body for conflict in conflicts}
    assert lost | {winner.body} == {f"text {i}" for i in range(8)}


async def test_the_same_text_again_changes_nothing(db: Database) -> None:
    revisions = Revisions(db)
    first = await put(revisions, "same", None)
    assert await put(revisions, "same", None, BEN) == first  # the press delivered twice
    assert len(await revisions.history(HERE, "line", KEY)) == 1


async def test_an_old_state_comes_back_as_a_new_one(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "good", None)
    await put(revisions, "worse", 1)
    back = await revisions.bring_back(HERE, "line", KEY, 1, author=BEN)
    assert (back.number, back.body, back.author_id) == (3, "good", 902)
    assert back.reason == "brought back revision 1"
    with pytest.raises(StorageError, match="no revision 9 of line"):
        await revisions.bring_back(HERE, "line", KEY, 9, author=BEN)
    with pytest.raises(RevisionConflict):
        await revisions.bring_back(HERE, "line", KEY, 2, author=BEN, based_on=2)


async def test_many_at_once_say_what_changed(db: Database) -> None:
    revisions = Revisions(db)
    drafts = [Draft("hole", f"cup/h{number}", f"par {number}") for number in (3, 1, 2)]
    made = await revisions.append_many(HERE, drafts, author=ANN, reason="loaded")
    assert [(r.key, r.number) for r in made] == [("cup/h3", 1), ("cup/h1", 1), ("cup/h2", 1)]
    assert await revisions.append_many(HERE, drafts, author=ANN) == []
    drafts[1] = Draft("hole", "cup/h1", "par 5")
    again = await revisions.append_many(HERE, drafts, author=BEN)
    assert [(r.key, r.number, r.body) for r in again] == [("cup/h1", 2, "par 5")]


async def test_many_are_kept_all_or_none(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "there", None)
    drafts = [Draft("line", "new", "text"), Draft("line", KEY, "changed", based_on=None)]
    with pytest.raises(RevisionConflict) as caught:
        await revisions.append_many(HERE, drafts, author=BEN)
    assert caught.value.unsaved == drafts[1]
    assert await revisions.latest(HERE, "line", "new") is None
    with pytest.raises(ValueError, match="two drafts"):
        await revisions.append_many(HERE, [drafts[0], drafts[0]], author=BEN)


async def test_the_newest_of_every_key_with_a_prefix(db: Database) -> None:
    revisions = Revisions(db)
    for key in ("cup/h2", "cup/h1", "Cup/h3", "cup_h4", "cup"):
        await put(revisions, f"old {key}", None, key=key)
    await put(revisions, "new cup/h2", 1, key="cup/h2")
    await revisions.append(HERE, "hole", "cup/h5", "hole", author=ANN, based_on=None)

    async def bodies(prefix: str) -> list[str]:
        return [r.body for r in await revisions.latest_of_kind(HERE, "line", prefix)]

    assert await bodies("cup/") == ["old cup/h1", "new cup/h2"]
    assert await bodies("c%") == [] and await bodies("cup_") == ["old cup_h4"]
    assert len(await bodies("")) == 5
