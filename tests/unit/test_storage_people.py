"""Nothing about a member is hidden from them, and nothing says who after they asked."""

import dataclasses
import json
from pathlib import Path

from sqlalchemy import select

from shared.actor import Author
from shared.bag import Bag
from storage.bags import Bags
from storage.database import Database
from storage.decisions import Decision, Decisions
from storage.divisions import Divisions
from storage.drafts import Drafts
from storage.homes import Homes
from storage.member_rounds import MemberRounds
from storage.outbox import Outbox
from storage.people import TRACES, People
from storage.played import Part, Played
from storage.polls import Polls
from storage.reminders import Reminders
from storage.results import Results
from storage.revisions import Revisions
from storage.schema import metadata, votes
from storage.series import MeasuredSeries
from storage.tallies import Tallies
from storage.told import KeptAims
from storage.vectors import VectorSums
from tests.unit.conftest import HandClock, everything

HERE, ELSEWHERE = 2**60 + 51, 2**60 + 52
ANN, BEN = 2_305_843_009_213_700_001, 2_305_843_009_213_700_002
ANN_NAME = "Annabel Zwölfwasser"
HOLE = "cup/r1/h7"
ROWS = {
    "bags": 1,
    "divisions": 1,
    "drafts": 1,
    "homes": 1,
    "member_rounds": 1,
    "reminders": 1,
    "told_aims": 1,
    "measured_series": 1,
    "results": 4,
    "revisions": 1,
    "votes": 2,
    "outbox": 1,
    "decisions": 1,
}
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
        json.dumps({"author": name, "shots": ["7-iron"]}),
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
    await Divisions(db).put(community_id, member_id, f"division of {member_id}", event="cup")
    await Drafts(db).put(community_id, member_id, "1f", {"author": name})
    await Homes(db).choose(community_id, member_id)
    await MemberRounds(db).change(community_id, member_id, lambda _: {"hole": 3})
    await KeptAims(db).add({(community_id, member_id): [{"club": "wedge"}]})
    await Reminders(db).ask(community_id, member_id)
    await MeasuredSeries(db).change(community_id, member_id, "wedge", lambda _: {"shots": [1]})
    decision = Decision(member_id, name, "reset the wedge", "game update", db.now())
    assert await Decisions(db).decide(community_id, decision, lambda _: True)
    await Outbox(db).want(community_id, f"share {start}", 5, {"text": "x"}, member_id=member_id)


def test_every_table_that_says_who_is_known() -> None:
    says_who = {
        (table.name, column.name)
        for table in metadata.sorted_tables
        for column in table.columns
        if any(word in column.name for word in ("member", "author", "coach", "user", "name", "who"))
    } - {("settings", "name")}
    known = {(trace.table.name, trace.who.name) for trace in TRACES}
    known |= {(t.table.name, t.name.name) for t in TRACES if t.name is not None}
    assert says_who == known


async def test_export_holds_every_row_and_is_json(db: Database, clock: HandClock) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben", 2000)
    await live(db, ELSEWHERE, ANN, ANN_NAME, 3000)
    export = await People(db).export(HERE, ANN)
    assert {name: len(rows) for name, rows in export.items()} == ROWS
    assert json.loads(json.dumps(export)) == export
    assert export["bags"][0]["ball"] == "ball of 1"
    assert [row["miss_long_cm"] for row in export["results"]] == [210] * 4
    assert export["results"][0]["created_at"] == clock.time.isoformat()
    assert all(row["community_id"] == HERE for rows in export.values() for row in rows)
    assert all(not rows for rows in (await People(db).export(HERE, 77)).values())


async def test_forgetting_leaves_no_row_that_says_who(db: Database) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben", 2000)
    before = await Tallies(db).of_hole(HERE, HOLE)
    vectors = await VectorSums(db).all(HERE, "gain")
    dump = await db.read(everything)
    assert str(ANN) in dump and ANN_NAME in dump

    forgotten = await People(db).forget(HERE, ANN)
    assert forgotten.rows == {**ROWS, "bags": 1}
    assert forgotten.unnamed == {f"{HOLE}/1000"}
    dump = await db.read(everything)
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
    again = await People(db).forget(HERE, ANN)
    assert set(again.rows.values()) == {0} and again.unnamed == frozenset()


async def test_the_file_itself_holds_no_trace(sqlite_db: Database, database_file: Path) -> None:
    db = sqlite_db
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, HERE, BEN, "Ben Achtermann", 2000)
    await People(db).forget(HERE, ANN)
    await db.close()  # writes the log back into the file
    content = database_file.read_bytes()
    assert not database_file.with_name(database_file.name + "-wal").exists()
    assert b"Ben Achtermann" in content
    assert ANN_NAME.encode() not in content
    assert ANN.to_bytes(8, "big") not in content and BEN.to_bytes(8, "big") in content


async def test_other_communities_keep_what_is_theirs(db: Database) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await live(db, ELSEWHERE, ANN, ANN_NAME, 3000)
    elsewhere = await People(db).export(ELSEWHERE, ANN)
    await People(db).forget(HERE, ANN)
    assert await People(db).export(ELSEWHERE, ANN) == elsewhere
    assert len(elsewhere["results"]) == 4


async def test_two_forgotten_votes_in_two_polls_cannot_be_tied_together(db: Database) -> None:
    await live(db, HERE, ANN, ANN_NAME, 1000)
    await People(db).forget(HERE, ANN)
    query = select(votes.c.member_id)
    hidden = await db.read(lambda connection: connection.execute(query).scalars().all())
    assert len(set(hidden)) == 2 and all(member < 0 for member in hidden)


async def line(db: Database, key: str, who: Author, author: str) -> None:
    body = json.dumps({"author": author, "title": f"by {author}"})
    await Revisions(db).append(HERE, "line", key, body, author=who, based_on="newest")


async def authors(db: Database) -> dict[str, str | None]:
    lines = await Revisions(db).latest_of_kind(HERE, "line")
    return {each.key: json.loads(each.body).get("author") for each in lines}


async def test_a_copied_line_forgets_its_author_too(db: Database) -> None:
    ann, ben, cat = Author(ANN, "Ann"), Author(BEN, "Ben"), Author(BEN + 1, "Cat")
    await line(db, "cup/01/A", ann, "Ann")
    await line(db, "copied/01/A", ben, "Ann")  # an event copied by Ben
    await line(db, "copied/02/A", cat, "Ben")
    loaded = json.dumps({"holes": [{"lines": [{"author": "Ann"}, {"author": "Ben"}]}]})
    await Revisions(db).append(HERE, "event", "file", loaded, author=ben, based_on=None)
    forgotten = await People(db).forget(HERE, ANN)
    assert forgotten.unnamed == {"cup/01/A", "copied/01/A", "file"}
    assert await authors(db) == {"cup/01/A": None, "copied/01/A": None, "copied/02/A": "Ben"}
    file = await Revisions(db).latest(HERE, "event", "file")
    assert file is not None
    assert json.loads(file.body) == {"holes": [{"lines": [{}, {"author": "Ben"}]}]}


async def test_a_name_two_members_have_stays_where_it_may_be_the_others(db: Database) -> None:
    ann, namesake = Author(ANN, "Ann"), Author(BEN, "Ann")
    await line(db, "cup/01/A", ann, "Ann")
    await line(db, "cup/02/A", namesake, "Ann")
    await People(db).forget(HERE, ANN)
    assert await authors(db) == {"cup/01/A": None, "cup/02/A": "Ann"}
    await People(db).forget(HERE, BEN)
    assert await authors(db) == {"cup/01/A": None, "cup/02/A": None}


async def test_decisions_from_before_ids_were_kept_lose_the_name(db: Database) -> None:
    for who, name in ((None, "Ann"), (None, "Ben"), (ANN, "Ann")):
        decision = Decision(who, name, "froze the wedge", "wind", db.now())
        await Decisions(db).decide(HERE, decision, lambda _: True)
    await Drafts(db).put(HERE, BEN, "2e", {"author": "Ann", "title": "up the left"})
    await People(db).forget(HERE, ANN)
    kept = await Decisions(db).last(HERE)
    assert [(each.coach_id, each.coach_name) for each in kept] == [
        (None, None),
        (None, "Ben"),
        (None, None),
    ]
    assert await Drafts(db).get(HERE, BEN, "2e") == {"author": "", "title": "up the left"}
