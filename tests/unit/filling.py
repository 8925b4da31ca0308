"""A community that left a trace in every table, for tests that carry a whole database."""

import dataclasses
import json

from sqlalchemy import Connection, func, select

from shared.actor import Author
from shared.bag import Bag
from storage.bags import Bags
from storage.communities import Communities
from storage.database import Database
from storage.decisions import Decision, Decisions, FrozenClub, freeze_club
from storage.divisions import Divisions
from storage.drafts import Drafts
from storage.homes import Homes
from storage.jobs import Jobs
from storage.member_rounds import MemberRounds
from storage.outbox import Outbox
from storage.played import Part, Played
from storage.polls import Polls
from storage.reminders import Reminders
from storage.results import Results
from storage.revisions import Revisions
from storage.schema import metadata
from storage.series import MeasuredSeries
from storage.settings import CommunitySettings
from storage.told import KeptAims

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
    share=0.1 + 0.2,
    line_revision=3,
    round="first",
    wind_shown="7 mph from 5",
    parts=(Part("gain", "7-iron/plain", (1.5, 2.0)),),
)


async def fill(db: Database, community_id: int, member_id: int, start: int) -> None:
    """``start``: a number from which some are free for interactions and messages."""
    now, name = db.now(), f"Näme {member_id}"
    await Communities(db).here([community_id])
    await CommunitySettings(db).set(community_id, quiet=False, event="cup", nested={"a": [None]})
    await Bags(db).put(community_id, member_id, Bag(grades={"driver": "tour"}, units="metric"))
    await Divisions(db).put(community_id, member_id, "gold", event="cup")
    await KeptAims(db).add({(community_id, member_id): [{"club": "driver", "aim_yd": [0.5, -3]}]})
    await Drafts(db).put(community_id, member_id, "ab12", {"title": "øver"})
    await Homes(db).choose(community_id, member_id)
    await MemberRounds(db).change(community_id, member_id, lambda _: {"hole": 3})
    await MeasuredSeries(db).change(community_id, member_id, "7-iron", lambda _: {"shots": [1.5]})
    frozen = FrozenClub("driver", "new ball", {"tour": [[1.0, 0.0], [[0.5, 0.25], [0.25, 0.5]]]})
    await Decisions(db).decide(
        community_id,
        Decision(member_id, name, "froze the driver", "new ball", now),
        lambda connection: freeze_club(connection, community_id, frozen, at=now),
    )
    results = Results(db)
    first = await results.add(
        community_id, PLAYED, member_id=member_id, author_name=name, interaction_id=start
    )
    better = dataclasses.replace(PLAYED, holed=True)
    await results.correct(first.result.id, better, interaction_id=start + 1)
    body = json.dumps({"author": name})
    await Revisions(db).append(
        community_id, "line", f"{HOLE}/A", body, author=Author(member_id, name), based_on=None
    )
    poll = await Polls(db).create(
        community_id,
        start,
        question="A or B?",
        answers=["A", "B"],
        closes_at=now,
        hole_key=HOLE,
        message_id=start,
    )
    await Polls(db).vote(start, member_id, 2, added=True)
    await Polls(db).reconcile(poll.id, {2: [member_id]}, told={1: 0, 2: 1})
    await Jobs(db).schedule(community_id, "remind", "r2", due_at=now, payload={"round": 2})
    await Reminders(db).ask(community_id, member_id)
    outbox = Outbox(db)
    for number in (1, 2, 3):
        await outbox.want(community_id, f"note {number}", start, {"text": f"h{number}"})
    await outbox.withdraw(community_id, "note 3")  # its number is not to be given again


def contents(connection: Connection) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table, in order of its key."""
    return {
        table.name: [
            tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key))
        ]
        for table in metadata.sorted_tables
    }


def rows_of(connection: Connection, community_id: int) -> dict[str, int]:
    """How many rows each table has of a community."""
    found: dict[str, int] = {}
    for table in metadata.sorted_tables:
        whose = table.c.id if table.name == "communities" else table.c.community_id
        query = select(func.count()).select_from(table).where(whose == community_id)
        found[table.name] = connection.execute(query).scalar_one()
    return found
