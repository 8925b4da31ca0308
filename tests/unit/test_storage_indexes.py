"""What is asked per keystroke, per /trust and per deleted message reads by an index, never a scan.

Every statement that the real methods send is caught and its plan asked of SQLite; a table that is
scanned fails. So the cost is that of what is found, at ten results and at ten million.
"""

import sqlite3
from collections.abc import Awaitable, Callable, Iterator
from typing import Any

import pytest
from sqlalchemy import Engine, event

from bot.services.book.choices import Choices
from shared.keys import EventKey
from shared.shard import Shard
from storage.bags import Bags
from storage.database import Database
from storage.decisions import Decisions
from storage.divisions import Divisions
from storage.homes import Homes
from storage.jobs import Jobs
from storage.outbox import Outbox
from storage.people import People
from storage.polls import Polls
from storage.results import Results
from storage.revisions import Revisions
from storage.schema import metadata
from storage.stale import StaleMessages
from storage.tallies import Tallies
from storage.told import KeptAims
from storage.vectors import VectorSums
from storage.versions import Versions
from tests.unit.filling import HOLE, PLAYED, fill

HERE, CUP = 2**60 + 1, EventKey("cup-1")
Path = Callable[[Database], Awaitable[object]]
KEYSTROKES: dict[str, Path] = {
    "versions": lambda db: Versions(db).of(HERE),
    "bag": lambda db: Bags(db).get(HERE, 7),
    "told aims": lambda db: KeptAims(db).of(HERE, 7),
    "division": lambda db: Divisions(db).get(HERE, 7, event="cup-1", among=["oar"]),
    "current event": lambda db: Choices(db).event(HERE),
    "an event's lines": lambda db: Revisions(db).latest_of_kind(HERE, "line", CUP.prefix),
    "own results": lambda db: Results(db).of_member(HERE, 7, limit=25),
    "polls": lambda db: Polls(db).of_hole(HERE, HOLE),
    "who knows a member": lambda db: Homes(db).known(7),
    "whom a member chose": lambda db: Homes(db).chosen(7),
}
CARDS: dict[str, Path] = {
    "/trust": lambda db: Results(db).last_of_club(HERE, PLAYED.club, limit=1000),
    "learned": lambda db: VectorSums(db).all(HERE, "response"),
    "decisions": lambda db: Decisions(db).last(HERE),
    "frozen": lambda db: Decisions(db).frozen(HERE),
    "note": lambda db: Tallies(db).of_holes(HERE, [HOLE]),
    "next attempt": lambda db: Results(db).next_attempt(HERE, f"{HOLE}/A", 7),
}
EVENTS: dict[str, Path] = {
    "message deleted": lambda db: Outbox(db).gone(11, 12),
    "poll deleted": lambda db: Polls(db).by_message(11),
    "vote": lambda db: Polls(db).vote(11, 7, 1, added=True),
    "channel deleted": lambda db: Outbox(db).channel_gone(11),
    "marks": lambda db: StaleMessages(db).some(),
    "outbox": lambda db: Outbox(db).claim(),
    "a shard's outbox": lambda db: Outbox(sharded(db)).claim(),
    "jobs": lambda db: Jobs(db).claim_due(["remind"]),
    "open polls": lambda db: Polls(db).not_closed(),
    "polls lately closed": lambda db: Polls(db).closed_since(db.now()),
    "aims told": lambda db: KeptAims(db).add({(HERE, 7): [{"club": "5-iron"}]}),
    "who is forgotten": lambda db: People(db).forget(HERE, 7),
    "log": lambda db: Results(db).add(
        HERE, PLAYED, member_id=7, author_name="A", interaction_id=2**40
    ),
}


def sharded(db: Database) -> Database:
    """The same database as the second of three processes sees it."""
    second = Shard(number=1, count=3)
    return Database(
        db._address, writer=db._writer, reader=db._reader, clock=db._clock, shard=second
    )


PATHS = KEYSTROKES | CARDS | EVENTS
Sent = list[tuple[str, Any]]


@pytest.fixture
def sent() -> Iterator[Sent]:
    """Every statement with its parameters, as the driver gets it."""
    found: Sent = []

    def note(_: Any, __: Any, statement: str, parameters: Any, ___: Any, many: bool) -> None:
        found.append((statement, parameters[0] if many else parameters))

    event.listen(Engine, "before_cursor_execute", note)
    yield found
    event.remove(Engine, "before_cursor_execute", note)


def scans(path: str, sent: Sent) -> list[str]:
    """The tables that these statements go through from end to end."""
    found: list[str] = []
    with sqlite3.connect(path) as raw:
        for statement, parameters in sent:
            if statement.split()[0] not in ("SELECT", "UPDATE", "DELETE", "INSERT", "WITH"):
                continue
            steps = [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {statement}", parameters)]
            for step in steps:
                words = step.split()
                if words[0] == "SCAN" and words[1] in metadata.tables and "USING" not in words:
                    found.append(f"{step}: {statement}")
    return found


@pytest.mark.parametrize("name", PATHS)
async def test_it_reads_by_an_index(sqlite_db: Database, sent: Sent, name: str) -> None:
    await fill(sqlite_db, HERE, 7, 10)
    sent.clear()
    await PATHS[name](sqlite_db)
    assert sent
    assert scans(sqlite_db.where, sent) == []


async def test_a_scan_would_be_seen(sqlite_db: Database, sent: Sent) -> None:
    await sqlite_db.read(
        lambda connection: connection.exec_driver_sql(
            "SELECT id FROM results WHERE remark = ?", ("fog",)
        ).all()
    )
    (found,) = scans(sqlite_db.where, sent)
    assert found.startswith("SCAN results: ")
