"""The book: nothing is overwritten, all or nothing, two coaches at once lose no text."""

import asyncio
from collections.abc import AsyncIterator

import pytest
from sqlalchemy import func, select

from bot.services.book.book import Book
from bot.services.book.changes import diff_lines
from bot.services.book.lines import LineConflictError
from bot.services.members import Caddies
from shared.book import BookChange, Event, Hole, Line, LineShot
from shared.errors import InputError
from shared.keys import EventKey
from storage.database import Database
from storage.schema import revisions
from tests.unit.book_kit import (
    COMMUNITY,
    ROSALIND,
    TAMSIN,
    demo_kit,
    open_book,
    small_event,
)
from tests.unit.conftest import HandClock

KITS = asyncio.run(Caddies.open(demo_kit()))


@pytest.fixture
async def book(db: Database) -> AsyncIterator[Book]:
    yield open_book(db, KITS)


@pytest.fixture
async def loaded(book: Book) -> Book:
    await book.load(COMMUNITY, small_event(), author=ROSALIND)
    return book


async def rows(db: Database) -> int:
    count = select(func.count()).select_from(revisions)
    return await db.read(lambda connection: connection.execute(count).scalar_one())


def with_hole(event: Event, number: int, **changes: object) -> Event:
    holes = [
        hole.model_copy(update=changes) if hole.number == number else hole for hole in event.holes
    ]
    return Event.model_validate(event.model_dump() | {"holes": [h.model_dump() for h in holes]})


def changed(line: Line | None, **changes: object) -> Line:
    assert line is not None
    return line.model_copy(update=changes)


# Events -----------------------------------------------------------------------------------------


async def test_what_was_loaded_stands(loaded: Book) -> None:
    assert await loaded.event(COMMUNITY) == small_event()
    assert await loaded.current(COMMUNITY) == (small_event(), "First")
    hole = await loaded.hole(COMMUNITY, 4)
    assert (hole.par, [line.variant for line in hole.lines]) == (4, ["A", "B"])


async def test_the_same_file_again_changes_nothing(loaded: Book, db: Database) -> None:
    before = await rows(db)
    assert before == 1 + 9 + 3
    diff = await loaded.load(COMMUNITY, small_event(), author=TAMSIN)
    assert diff.nothing
    assert diff_lines(diff) == [
        "Nothing changed: the book already says all of this (9 holes, 3 lines)."
    ]
    assert await rows(db) == before


async def test_a_load_says_what_it_changed_and_whose_lines(loaded: Book) -> None:
    kept = await loaded.lines.get(COMMUNITY, 4, "B")
    await loaded.lines.save(
        COMMUNITY, 4, changed(kept.line, notes="mine"), author=TAMSIN, based_on=1
    )
    event = with_hole(small_event(), 7, lines=(), par=4)
    new_line = Line(variant="C", wind="calm", shots=(LineShot(shot="driver 226"),))
    hole = event.hole(4)
    assert hole is not None
    diff = await loaded.load(
        COMMUNITY, with_hole(event, 4, lines=(*hole.lines, new_line)), author=ROSALIND
    )
    assert (diff.added, diff.changed, diff.removed) == (((4, "C"),), ((4, "B"),), ((7, "A"),))
    assert diff.touched == {4, 7}
    assert diff_lines(diff) == [
        "Changed: hole 7.",
        "New: line 4C.",
        "Changed: line 4B (last by Tamsin).",
        "Removed: line 7A (last by Rosalind).",
        "What was there before is kept: see /cup history.",
        "Now 9 holes, 3 lines.",
    ]


async def test_a_removed_line_can_be_brought_back(loaded: Book) -> None:
    was = (await loaded.lines.get(COMMUNITY, 7, "A")).line
    await loaded.load(COMMUNITY, with_hole(small_event(), 7, lines=()), author=TAMSIN)
    with pytest.raises(InputError, match="Hole 7 has no such line; it has none yet"):
        await loaded.lines.get(COMMUNITY, 7, "A")
    history = await loaded.lines.history(COMMUNITY, 7, "A")
    assert [(each.revision, each.line is None) for each in history] == [(2, True), (1, False)]
    back = await loaded.lines.bring_back(COMMUNITY, 7, "a", 1, author=ROSALIND)
    assert (back.revision, back.line) == (3, was)
    assert (await loaded.hole(COMMUNITY, 7)).line("A") == was


async def test_a_load_is_all_or_nothing(
    loaded: Book, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = await rows(db)

    def breaks(*_: object) -> None:
        raise RuntimeError("in the middle of the transaction, after the rows")

    monkeypatch.setattr("bot.services.book.book.difference", breaks)
    with pytest.raises(RuntimeError):
        await loaded.load(COMMUNITY, with_hole(small_event(), 2, par=5, lines=()), author=TAMSIN)
    assert await rows(db) == before
    assert (await loaded.hole(COMMUNITY, 2)).par == 3


async def test_two_communities_have_two_books(loaded: Book) -> None:
    with pytest.raises(InputError, match="There is no cup here"):
        await loaded.event(COMMUNITY + 1)


async def test_an_event_is_found_by_its_name_whatever_its_case(loaded: Book) -> None:
    await loaded.load(COMMUNITY, small_event("Other Cup"), author=ROSALIND)
    assert (await loaded.event(COMMUNITY)).name == "Small Cup"
    assert (await loaded.event(COMMUNITY, "other cup")).name == "Other Cup"
    assert (await loaded.event(COMMUNITY, " small  CUP ")).name == "Small Cup"
    assert (await loaded.choose(COMMUNITY, "small cup")).name == "Small Cup"
    assert (await loaded.current(COMMUNITY))[0].name == "Small Cup"
    with pytest.raises(InputError, match=r"has Other Cup; Small Cup|has Small Cup; Other Cup"):
        await loaded.event(COMMUNITY, "Third Cup")


async def test_keys_of_different_names_differ_and_fit_the_column() -> None:
    names = ["Small Cup", "Small-Cup", "Small/Cup", "ספינה", "🏆", "🏆🏆", "x" * 60]
    keys = {EventKey.of(name) for name in names}
    assert len(keys) == len(names)
    assert max(len(str(key)) for key in keys) <= 51
    assert EventKey.of("SMALL  cup") == EventKey.of("Small Cup")


async def test_a_smaller_event_loses_its_back_nine(book: Book) -> None:
    nine = small_event()
    back = [h.model_copy(update={"number": h.number + 9, "lines": ()}) for h in nine.holes]
    full = Event.model_validate(
        nine.model_dump() | {"holes": [h.model_dump() for h in (*nine.holes, *back)]}
    )
    await book.load(COMMUNITY, full, author=ROSALIND)
    diff = await book.load(COMMUNITY, nine, author=ROSALIND)
    assert diff.holes_removed == tuple(range(10, 19))
    assert len((await book.event(COMMUNITY)).holes) == 9


async def test_a_copy_starts_next_week(loaded: Book) -> None:
    diff = await loaded.copy(COMMUNITY, name="Small Cup 2", source=None, winds=False, author=TAMSIN)
    assert not diff.made_current
    assert (await loaded.current(COMMUNITY))[0].name == "Small Cup"
    await loaded.choose(COMMUNITY, "Small Cup 2")
    now, round_ = await loaded.current(COMMUNITY)
    assert (now.name, round_) == ("Small Cup 2", "First")
    assert not any(hole.winds for hole in now.holes)
    old = await loaded.event(COMMUNITY, "Small Cup")
    assert [hole.lines for hole in now.holes] == [hole.lines for hole in old.holes]
    await loaded.copy(COMMUNITY, name="With", source="Small Cup", winds=True, author=TAMSIN)
    assert (await loaded.hole(COMMUNITY, 4, "With")).winds == old.holes[3].winds
    for name, says in (("small cup", "already"), (" \u200b", "1 to 60"), ("y" * 61, "1 to 60")):
        with pytest.raises(InputError, match=says):
            await loaded.copy(COMMUNITY, name=name, source=None, winds=True, author=TAMSIN)


# Rounds, divisions, winds -----------------------------------------------------------------------


async def test_the_round_is_chosen_and_survives_the_other_event(loaded: Book) -> None:
    assert await loaded.set_round(COMMUNITY, "second") == "Second"
    await loaded.load(COMMUNITY, small_event("Other Cup"), author=ROSALIND)
    await loaded.choose(COMMUNITY, "Other Cup")
    assert (await loaded.current(COMMUNITY))[1] == "First"
    await loaded.choose(COMMUNITY, "Small Cup")
    assert (await loaded.current(COMMUNITY))[1] == "Second"
    with pytest.raises(InputError, match="it has First, Second"):
        await loaded.set_round(COMMUNITY, "Third")


async def test_a_member_has_a_division_where_the_event_has_it(loaded: Book) -> None:
    assert await loaded.division_of(COMMUNITY, 5) is None
    assert await loaded.set_division(COMMUNITY, 5, "oar") == "Oar"
    assert await loaded.division_of(COMMUNITY, 5) == "Oar"
    assert await loaded.division_of(COMMUNITY, 6) is None
    bare = [hole.model_copy(update={"winds": (), "lines": ()}) for hole in small_event().holes]
    solo = Event(name="Solo", divisions=("Raft",), rounds=("First",), holes=tuple(bare))
    await loaded.load(COMMUNITY, solo, author=ROSALIND)
    assert await loaded.division_of(COMMUNITY, 5) == "Oar"
    assert await loaded.division_of(COMMUNITY, 5, "Solo") == "Raft"
    await loaded.choose(COMMUNITY, "Solo")
    assert await loaded.division_of(COMMUNITY, 5) == "Raft"


async def test_winds_are_set_for_one_division_and_round(loaded: Book) -> None:
    holes = await loaded.set_winds(
        COMMUNITY,
        event="Small Cup",
        division="oar",
        round_="first",
        winds={4: "", 5: "9 mph from 3", 6: "", 1: "7 mph from 11"},
        author=TAMSIN,
    )
    assert holes == (4, 5, 1)  # hole 6 had none
    event = await loaded.event(COMMUNITY)

    def wind(number: int, division: str, round_: str) -> str | None:
        hole = event.hole(number)
        assert isinstance(hole, Hole)
        return hole.wind(division=division, round_=round_)

    assert wind(4, "Oar", "First") is None
    assert wind(4, "Sail", "First") == "8 mph from 2"
    assert wind(5, "Oar", "First") == "9 mph from 3"
    assert wind(5, "Oar", "Second") is None
    hole = event.hole(4)
    assert hole is not None and len(hole.lines) == 2


async def test_a_bad_wind_sets_none(loaded: Book, db: Database) -> None:
    before = await rows(db)
    with pytest.raises(InputError, match="bearing"):
        await loaded.set_winds(
            COMMUNITY,
            event="Small Cup",
            division="Sail",
            round_="First",
            winds={4: "9 mph from 3", 5: "6 mph from NW"},
            author=TAMSIN,
        )
    assert await rows(db) == before


# Lines ------------------------------------------------------------------------------------------


async def test_new_lines_take_the_next_free_letter_also_at_once(loaded: Book) -> None:
    line = Line(variant="A", wind="calm", shots=(LineShot(shot="driver 226"),))
    added = await asyncio.gather(
        loaded.lines.add(COMMUNITY, 4, line, author=ROSALIND),
        loaded.lines.add(COMMUNITY, 4, line, author=TAMSIN),
    )
    assert sorted(each.variant for each in added) == ["C", "D"]
    assert (await loaded.lines.get(COMMUNITY, 4, "D")).reason == "added"


async def test_a_removed_letter_is_not_taken_again(loaded: Book) -> None:
    await loaded.load(COMMUNITY, with_hole(small_event(), 7, lines=()), author=TAMSIN)
    line = Line(variant="A", wind="calm", shots=(LineShot(shot="driver 226"),))
    assert (await loaded.lines.add(COMMUNITY, 7, line, author=TAMSIN)).variant == "B"


async def test_the_27th_line_is_refused(book: Book) -> None:
    shots = (LineShot(shot="driver 226"),)
    many = [Line(variant=chr(65 + i), wind="calm", shots=shots) for i in range(26)]
    await book.load(COMMUNITY, with_hole(small_event(), 2, lines=tuple(many)), author=ROSALIND)
    with pytest.raises(InputError, match="26 lines"):
        await book.lines.add(COMMUNITY, 2, many[0], author=ROSALIND)


async def test_two_coaches_at_once_and_the_second_is_told(loaded: Book, clock: HandClock) -> None:
    seen = await loaded.lines.get(COMMUNITY, 4, "A")
    clock.advance(seconds=60)
    theirs, mine = changed(seen.line, notes="theirs"), changed(seen.line, notes="mine")
    await loaded.lines.save(COMMUNITY, 4, theirs, author=TAMSIN, based_on=seen.revision)
    with pytest.raises(LineConflictError, match="Tamsin changed line 4A") as caught:
        await loaded.lines.save(COMMUNITY, 4, mine, author=ROSALIND, based_on=seen.revision)
    assert caught.value.newest is not None
    assert (caught.value.newest.line, caught.value.unsaved) == (theirs, mine)
    assert (await loaded.lines.get(COMMUNITY, 4, "A")).line == theirs
    over = await loaded.lines.save(
        COMMUNITY, 4, mine, author=ROSALIND, based_on=caught.value.newest.revision
    )
    assert (over.revision, over.line, over.author_name) == (3, mine, "Rosalind")
    history = await loaded.lines.history(COMMUNITY, 4, "A")
    said = [(each.author_name, each.line.notes if each.line else None) for each in history]
    assert said == [("Rosalind", "mine"), ("Tamsin", "theirs"), ("Rosalind", "Two went in.")]


async def test_two_lines_of_one_hole_do_not_conflict(loaded: Book) -> None:
    a, b = [await loaded.lines.get(COMMUNITY, 4, letter) for letter in "AB"]
    await loaded.lines.save(COMMUNITY, 4, changed(a.line, notes="1"), author=ROSALIND, based_on=1)
    saved = await loaded.lines.save(
        COMMUNITY, 4, changed(b.line, notes="2"), author=TAMSIN, based_on=1
    )
    assert saved.revision == 2
    hole = await loaded.hole(COMMUNITY, 4)
    assert [line.notes for line in hole.lines] == ["1", "2"]


async def test_a_status_goes_on_top_of_whatever_is_there(loaded: Book) -> None:
    seen = await loaded.lines.get(COMMUNITY, 4, "B")
    await asyncio.gather(
        loaded.lines.set_status(COMMUNITY, 4, "b", "retired", author=ROSALIND),
        loaded.lines.save(COMMUNITY, 4, changed(seen.line, notes="new"), author=TAMSIN, based_on=1),
        return_exceptions=True,
    )
    now = await loaded.lines.set_status(COMMUNITY, 4, "B", "recommended", author=ROSALIND)
    assert now.line is not None and now.line.status == "recommended"
    assert now.reason == "status recommended"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"wind": "8 mph from Mars"}, "Mars"),
        ({"shots": (LineShot(shot="spoon 200"),)}, "spoon"),
        ({"shots": (LineShot(shot="driver"),)}, "distance"),
        ({"divisions": ("Raft",)}, "no division Raft: Sail, Oar"),
    ],
)
async def test_a_line_the_kit_or_the_event_lacks_is_refused(
    loaded: Book, changes: dict[str, object], says: str
) -> None:
    seen = await loaded.lines.get(COMMUNITY, 4, "A")
    with pytest.raises(InputError, match=says):
        await loaded.lines.save(
            COMMUNITY, 4, changed(seen.line, **changes), author=ROSALIND, based_on=1
        )
    assert (await loaded.lines.get(COMMUNITY, 4, "A")).revision == 1


@pytest.mark.parametrize(
    ("number", "letter", "says"),
    [(10, "A", "holes 1 to 9"), (4, "Z", "it has A, B"), (5, "A", "it has none yet")],
)
async def test_what_is_not_there_is_said(loaded: Book, number: int, letter: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        await loaded.lines.get(COMMUNITY, number, letter)


@pytest.mark.parametrize("revision", [0, 2, -1, 10**12])
async def test_a_revision_that_never_was_cant_come_back(loaded: Book, revision: int) -> None:
    with pytest.raises(InputError, match="no revision"):
        await loaded.lines.bring_back(COMMUNITY, 4, "A", revision, author=ROSALIND)


# Listeners --------------------------------------------------------------------------------------


async def test_listeners_hear_what_changed_after_it_is_kept(loaded: Book) -> None:
    heard: list[BookChange] = []

    async def fails(change: BookChange) -> None:
        raise RuntimeError("not my day")

    async def hears(change: BookChange) -> None:
        assert change.event == "Small Cup"
        assert (await loaded.lines.get(COMMUNITY, 4, "A")).revision >= 1
        heard.append(change)

    loaded.on_change(fails)
    loaded.on_change(hears)
    await loaded.lines.set_status(COMMUNITY, 4, "A", "tested", author=ROSALIND)
    await loaded.load(COMMUNITY, with_hole(small_event(), 2, par=4), author=ROSALIND)
    same = await loaded.event(COMMUNITY)
    await loaded.load(COMMUNITY, same, author=ROSALIND)
    await loaded.set_round(COMMUNITY, "Second")
    await loaded.all_told()
    assert [sorted(change.holes) for change in heard] == [[4], [2, 4], list(range(1, 10))]


async def test_whoever_changes_something_does_not_wait_for_a_slow_listener(loaded: Book) -> None:
    goes_on = asyncio.Event()
    heard: list[tuple[str, set[int]]] = []

    async def slow(change: BookChange) -> None:
        heard.append(("begins", set(change.holes)))
        await goes_on.wait()
        heard.append(("ends", set(change.holes)))

    loaded.on_change(slow)
    await loaded.lines.set_status(COMMUNITY, 4, "A", "retired", author=ROSALIND)
    await loaded.lines.set_status(COMMUNITY, 7, "A", "retired", author=ROSALIND)
    await asyncio.sleep(0)
    assert heard == [("begins", {4})]
    goes_on.set()
    await loaded.all_told()
    assert heard == [("begins", {4}), ("ends", {4}), ("begins", {7}), ("ends", {7})]
