"""Long answers come whole."""

from shared.actor import Author
from storage.database import Database
from storage.people import People
from storage.played import Played
from storage.results import Results
from storage.revisions import Draft, Revisions, append_revisions

HERE = 2**60 + 61
COUNT = 253  # over two questions' worth of keys


async def test_revisions_and_exports_come_whole(db: Database) -> None:
    drafts = [Draft("line", f"k{number:05}", f"text {number}") for number in range(COUNT)]
    for changed in (COUNT, 0):
        made = await db.write(
            lambda connection: append_revisions(
                connection, HERE, drafts, author=Author(5, "Ann"), reason="", at=db.now()
            )
        )
        assert len(made) == changed
    newest = await Revisions(db).latest_of_kind(HERE, "line")
    assert [revision.body for revision in newest] == [draft.body for draft in drafts]
    played = Played(hole_key="h", line_key="h/A", variant="A", holed=True)
    for number in range(7):
        await Results(db).add(
            HERE, played, member_id=5, author_name="Ann", interaction_id=900 + number
        )
    export = await People(db).export(HERE, 5)
    assert [row["attempt"] for row in export["results"]] == list(range(1, 8))
    assert len(export["revisions"]) == COUNT
