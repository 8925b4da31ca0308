"""Nothing about a member is hidden from them, and nothing says who after they asked."""

import dataclasses
import json
import sqlite3
from pathlib import Path

from shared.actor import Author
from shared.bag import Bag
from storage.bags import Bags
from storage.database import Database
from storage.outbox import Outbox
from storage.people import TRACES, People
from storage.played import Part, Played
from storage.polls import Polls
from storage.results import Results
from storage.revisions import Revisions
from storage.schema import metadata
from storage.tallies import Tallies
from storage.vectors import VectorSums
from tests.unit.conftest import HandClock

HERE, ELSEWHERE = 2**60 + 51, 2**60 + 52
ANN, BEN = 2_305_843_009_213_700_001, 2_305_843_009_213_700_002
ANN_NAME = "Annabel Zwölfwasser"
HOLE = "cup/r1/h7"
PLAYED = Played(
    hole_key=HOLE,
    line_key=f"{HOLE}/A",
    variant="A",
    holed=False,
    miss_cm=(210, -40),
    wind_mmps=(3000, -500),
    club="7-iron",
    grade="plain",
    parts=(Part("gain", "7-iron/plain", (1.5, 2.0)),),
)


async def live(db: Database, community_id: int, member_id: int, name: str, start: int) -> None:
    """A member who left traces everywhere."""
    await Bags(db).put(community_id, member_id, Bag(ball=f"ball of {member_id % 10}"))
    results = Results(db)
    for number in range(3):
        await results.add(
            community_id,
            PLAYED,
            member_id=member_id,
            author_name=name,
            interaction_id=start + number,
        )
    (last, *_) = await results.of_member(community_id, member_id)
    await results.correct(
        last.id, dataclasses.replace(PLAYED, holed=True), interaction_id=start + 9
    )
    revisions = Revisions(db)
    await revisions.append(
        community_id,
        "line",
        f"{HOLE}/{start}",
        "7-iron",
        author=Author(member_id, name),
        based_on=None,
    )
    polls = Polls(db)
    for number in range(2):
        await polls.create(
            community_id,
            5,
            question="?",
            answers=["a", "b"],
            closes_at=db.now(),
            message_id=start + number,
        )
        await polls.vote(start + number, member_id, 1 + number, added=True)
    await Outbox(db).want(community_id, f"share {start}", 5, {"text": "x"}, member_id=member_id)


def everything(path: Path) -> str:
    with sqlite3.connect(path) as raw:
        return "\n".join(raw.iterdump())


def test_every_table_that_says_who_is_known() -> None:
    says_who = {
        (table.name, column.name)
        for table in metadata.sorted_tables
        for column in table.columns
        if any(word in column.name for word in ("member", "author", "user", "name", "who"))
    } - {("settings", "name")}
    known = {(trace.table.name, trace.who.name) for trace in TRACES}
    known |= {(t.table.name, t.name.name) for t in TRACES if t.name is not None}
    assert says_who == known


async def test_export_holds_every_row_and_is_json(db: Database, clock: HandClock) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben", 2000)
    await live(db, ELSEWHERE, ANN, ANN_NAME, 3000)
    export = await People(db).export(HERE, ANN)
    assert {name: len(rows) for name, rows in export.items()} == {
        "bags": 1,
        "results": 4,
        "revisions": 1,
        "votes": 2,
        "outbox": 1,
    }
    assert json.loads(json.dumps(export)) == export
    assert export["bags"][0]["ball"] == "ball of 1"
    assert [row["miss_long_cm"] for row in export["results"]] == [210] * 4
    assert export["results"][0]["created_at"] == clock.time.isoformat()
    assert all(row["community_id"] == HERE for rows in export.values() for row in rows)
    assert all(not rows for rows in (await People(db).export(HERE, 77)).values())


async def test_forgetting_leaves_no_row_that_says_who(
    db: Database, database_file: Path, clock: HandClock
) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben", 2000)
    before = await Tallies(db).of_hole(HERE, HOLE)
    vectors = await VectorSums(db).all(HERE, "gain")
    assert str(ANN) in everything(database_file) and ANN_NAME in everything(database_file)

    assert await People(db).forget(HERE, ANN) == {
        "bags": 1,
        "results": 4,
        "revisions": 1,
        "votes": 2,
        "outbox": 1,
    }
    dump = everything(database_file)
    assert str(ANN) not in dump and ANN_NAME not in dump and "ball of 1" not in dump
    assert str(BEN) in dump and "Ben" in dump and "ball of 2" in dump
    assert (await People(db).export(HERE, ANN))["results"] == []

    after = await Tallies(db).of_hole(HERE, HOLE)
    assert after.lines == before.lines and after.lines[0].tries == 6
    assert await VectorSums(db).all(HERE, "gain") == vectors
    kept = await Results(db).page(HERE)
    assert [r.member_id for r in kept] == [None, None, None, BEN, BEN, BEN]
    assert len({p.id for p in await Polls(db).not_closed()}) == 4
    tallies = [(await Polls(db).tally(p.id)).counts for p in await Polls(db).not_closed()]
    assert tallies == [{1: 1, 2: 0}, {1: 0, 2: 1}] * 2
    assert set((await People(db).forget(HERE, ANN)).values()) == {0}


async def test_the_file_itself_holds_no_trace(db: Database, database_file: Path) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben Achtermann", 2000)
    await People(db).forget(HERE, ANN)
    await db.close()  # writes the log back into the file
    content = database_file.read_bytes()
    assert not database_file.with_name(database_file.name + "-wal").exists()
    assert b"Ben Achtermann" in content
    assert ANN_NAME.encode() not in content
    assert ANN.to_bytes(8, "big") not in content and BEN.to_bytes(8, "big") in content


async def test_other_communities_keep_what_is_theirs(db: Database, database_file: Path) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, ELSEWHERE, ANN, ANN_NAME, 3000)
    elsewhere = await People(db).export(ELSEWHERE, ANN)
    await People(db).forget(HERE, ANN)
    assert await People(db).export(ELSEWHERE, ANN) == elsewhere
    assert len(elsewhere["results"]) == 4


async def test_two_forgotten_votes_in_two_polls_cannot_be_tied_together(
    db: Database, database_file: Path
) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await People(db).forget(HERE, ANN)
    with sqlite3.connect(database_file) as raw:
        hidden = [row[0] for row in raw.execute("SELECT member_id FROM votes")]
    assert len(set(hidden)) == 2 and all(member < 0 for member in hidden)
