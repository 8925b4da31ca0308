"""Long answers come whole, though they are read in pages."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Connection, insert, select

from shared.actor import Author
from storage.bags import Bags
from storage.database import Database
from storage.pages import PAGE, in_pages
from storage.people import People
from storage.played import Played
from storage.results import Entry, Results
from storage.revisions import Draft, Revisions
from storage.schema import bags

HERE = 2**60 + 61
NOW = datetime(2031, 3, 9, tzinfo=UTC)


def fill(count: int):
    def fn(connection: Connection) -> None:
        rows = [
            {
                "community_id": HERE,
                "member_id": 7 * number + 1,
                "grades": {"driver": f"grade {number}"},
                "units": "yards",
                "updated_at": NOW,
            }
            for number in range(count)
        ]
        if rows:
            connection.execute(insert(bags), rows)

    return fn


@pytest.mark.parametrize("count", [0, 1, PAGE - 1, PAGE, PAGE + 1, 3 * PAGE, 3 * PAGE + 7])
async def test_every_row_comes_once_and_in_order(db: Database, count: int) -> None:
    await db.write(fill(count))
    query = select(bags.c.member_id).order_by(bags.c.member_id)
    ids = await db.read(lambda connection: [row.member_id for row in in_pages(connection, query)])
    assert ids == [7 * number + 1 for number in range(count)]


async def test_the_loop_gets_its_turn_between_pages(db: Database) -> None:
    await db.write(fill(3 * PAGE + 7))
    queries: list[str] = []
    query = select(bags).order_by(bags.c.member_id)

    def fn(connection: Connection) -> int:
        whole = connection.execute

        def execute(statement):
            queries.append(str(statement))
            return whole(statement)

        connection.execute = execute  # type: ignore[method-assign]
        return sum(1 for _ in in_pages(connection, query))

    assert await db.read(fn) == 3 * PAGE + 7
    assert len(queries) == 4 and all("LIMIT" in each for each in queries)


async def test_bags_revisions_and_exports_come_whole(db: Database) -> None:
    count = 2 * PAGE + 3
    await db.write(fill(count))
    assert len(await Bags(db).all_in(HERE)) == count
    drafts = [Draft("line", f"k{number:05}", f"text {number}") for number in range(count)]
    made = await Revisions(db).append_many(HERE, drafts, author=Author(5, "Ann"))
    assert len(made) == count
    assert await Revisions(db).append_many(HERE, drafts, author=Author(5, "Ann")) == []
    newest = await Revisions(db).latest_of_kind(HERE, "line")
    assert [revision.body for revision in newest] == [draft.body for draft in drafts]
    played = Played(hole_key="h", line_key="h/A", variant="A", holed=True)
    entries = [Entry(5, "Ann", 900 + number, number + 1, played) for number in range(count)]
    assert await Results(db).add_many(HERE, entries) == count
    export = await People(db).export(HERE, 5)
    assert [row["attempt"] for row in export["results"]] == list(range(1, count + 1))
    assert len(export["revisions"]) == count
