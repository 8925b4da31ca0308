"""Revisions: nothing is overwritten, nobody's text is lost."""

import asyncio
from datetime import timedelta

import pytest
from sqlalchemy import Connection, event

from shared.actor import Author
from shared.errors import StorageError
from storage.database import Database
from storage.revisions import (
    Draft,
    Revision,
    RevisionConflict,
    Revisions,
    append_revisions,
    following,
    latest_of_kind,
)
from storage.versions import Versions
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


async def append(db: Database, drafts: list[Draft], author: Author) -> list[Revision]:
    return await db.write(
        lambda connection: append_revisions(
            connection, HERE, drafts, author=author, reason="loaded", at=db.now()
        )
    )


async def test_many_at_once_say_what_changed(db: Database) -> None:
    drafts = [Draft("hole", f"cup/h{number}", f"par {number}") for number in (3, 1, 2)]
    made = await append(db, drafts, ANN)
    assert [(r.key, r.number) for r in made] == [("cup/h3", 1), ("cup/h1", 1), ("cup/h2", 1)]
    assert await append(db, drafts, ANN) == []
    drafts[1] = Draft("hole", "cup/h1", "par 5")
    again = await append(db, drafts, BEN)
    assert [(r.key, r.number, r.body) for r in again] == [("cup/h1", 2, "par 5")]


async def test_many_are_kept_all_or_none(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "there", None)
    drafts = [Draft("line", "new", "text"), Draft("line", KEY, "changed", based_on=None)]
    with pytest.raises(RevisionConflict) as caught:
        await append(db, drafts, BEN)
    assert caught.value.unsaved == drafts[1]
    assert await revisions.latest(HERE, "line", "new") is None
    with pytest.raises(ValueError, match="two drafts"):
        await append(db, [drafts[0], drafts[0]], BEN)


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


@pytest.mark.parametrize(
    ("prefix", "after"),
    [
        ("cup/", "cup0"),
        ("é", "ê"),
        ("a\ud7ff", "a\ue000"),
        ("b\U0010ffff", "c"),
        ("\U0010ffff", None),
        ("", None),
    ],
)
def test_what_follows_a_prefix(prefix: str, after: str | None) -> None:
    assert following(prefix) == after
    if after is not None:
        assert prefix < prefix + "\U0010ffff\U0010ffff" < after


async def test_keys_are_found_and_ordered_by_code_point(db: Database) -> None:
    revisions = Revisions(db)
    for key in ("é/2", "e/9", "z/1", "é/10", "é", "ê/1", "É/3", "\U0001f3cc/1"):
        await put(revisions, key, None, key=key)
    found = await revisions.latest_of_kind(HERE, "line", "é/")
    assert [each.key for each in found] == ["é/10", "é/2"]
    every = [each.key for each in await revisions.latest_of_kind(HERE, "line")]
    assert every == sorted(every) and len(every) == 8


async def test_a_prefix_is_looked_up_in_an_index(sqlite_db: Database) -> None:
    def plan(connection: Connection) -> str:
        asked: list[tuple[str, tuple[object, ...]]] = []
        event.listen(
            connection, "before_cursor_execute", lambda *args: asked.append((args[2], args[3]))
        )
        latest_of_kind(connection, HERE, "line", "cup/")
        statement, values = asked[0]
        rows = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
        return "\n".join(row[-1] for row in rows)

    found = await sqlite_db.read(plan)
    assert "COVERING INDEX" in found and "key>? AND key<?" in found
    assert "SCAN revisions" not in found


async def test_the_book_and_the_kit_have_versions(db: Database) -> None:
    revisions = Revisions(db)
    await put(revisions, "one", None)
    await put(revisions, "one", 1)  # word for word: nothing changed
    await put(revisions, "two", 1)
    await revisions.append(HERE, "kit", "kit", "{}", author=ANN, based_on=None)
    assert await Versions(db).of(HERE) == {"book": 2, "kit": 1}
