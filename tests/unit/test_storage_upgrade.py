"""A season kept by an earlier version climbs through every migration, on both databases."""

import json
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import JSON, Connection, DateTime, MetaData, create_engine, insert

from storage import migrations
from storage.address import address_of
from storage.communities import Communities
from storage.database import Database
from storage.decisions import Decisions
from storage.divisions import Divisions
from storage.drafts import Drafts
from storage.engines import migration_engine
from storage.jobs import Jobs
from storage.outbox import Outbox
from storage.polls import CLOSE_POLL, Polls
from storage.results import Results
from storage.revisions import Revisions
from storage.schema import metadata
from storage.series import MeasuredSeries
from storage.settings import CommunitySettings
from storage.tallies import Tallies
from storage.vectors import VectorSums
from tests.postgres import Server

HERE, ELSEWHERE, ANN, BEN = 2**60 + 91, 2**60 + 92, 2**61 + 91, 2**61 + 92
THEN = datetime(2031, 3, 9, 18, 30, tzinfo=UTC)
OLD = "0007"
HELD = {"reason": "new ball", "grades": {"tour": [[1.0, 0.0], [[[0.5]], [[0.25]]]]}}
SETTINGS: list[tuple[int, str, Any]] = [
    (HERE, "event", "cup-1"),
    (HERE, "round/cup-1", "second"),
    (HERE, f"division/{ANN}", "gold"),
    (HERE, f"division/{BEN}", "silver"),
    (ELSEWHERE, f"division/{ANN}", "bronze"),
    (HERE, f"drafts/{ANN}", [{"token": "0a", "title": "left"}, {"token": "0b", "title": "right"}]),
    (HERE, f"measure/{BEN}", {"driver": {"shots": [1, 2]}, "wedge": {"shots": []}}),
    (HERE, "frozen_gains", {"driver": HELD}),
    (
        HERE,
        "gain_log",
        [
            ["2031-03-01T09:00:00+00:00", "Ann", "froze the driver", "new ball"],
            ["2031-03-02T11:30:00+02:00", "Ben", "reset the wedge", "game update"],
        ],
    ),
]


Put = Callable[..., None]


def fill_old(connection: Connection) -> None:
    """Rows as version 0007 kept them, by the tables it had."""
    old = MetaData()
    old.reflect(connection)
    for table in old.tables.values():
        for column in table.columns:  # SQLite does not say what it keeps as text
            if column.name in ("grades", "payload", "body", "parts", "answers", "told", "value"):
                if table.name != "revisions":
                    column.type = JSON()
            elif column.name == "at" or column.name.endswith(("_at", "_until")):
                column.type = DateTime(timezone=True)

    def put(table: str, *rows: dict[str, Any]) -> None:
        connection.execute(insert(old.tables[table]), list(rows))

    fill_members(put)
    fill_results(put)
    fill_polls_and_messages(put)


def fill_members(put: Put) -> None:
    here = {"community_id": HERE}
    put(
        "settings",
        *(
            {"community_id": community, "name": name, "value": value, "updated_at": THEN}
            for community, name, value in SETTINGS
        ),
    )
    put("bags", {**here, "member_id": ANN, "grades": {"5-iron": "steel"}, "units": "yards",
                 "updated_at": THEN})  # fmt: skip
    put(
        "revisions",
        *(
            {**here, "kind": "line", "key": "cup-1/04/A", "number": number, "body": f"{number}",
             "author_id": ANN, "author_name": "Ann", "reason": "", "created_at": THEN}
            for number in (1, 2)
        ),
    )  # fmt: skip


def fill_results(put: Put) -> None:
    here = {"community_id": HERE}
    result = {
        **here, "hole_key": "cup-1/04", "line_key": "cup-1/04/A", "variant": "A",
        "member_id": ANN, "author_name": "Ann", "wind_along_mmps": 3000, "wind_right_mmps": -500,
        "club": "driver", "grade": "tour", "ball": "soft", "share": 0.93, "holed": False,
        "miss_long_cm": 210, "miss_right_cm": -40, "left_out": "wrong club", "weight": 0.5,
        "remark": "", "parts": [["gain", "driver/tour", [1.5, 2.0]]], "created_at": THEN,
    }  # fmt: skip
    for number in range(1, 41):
        put("results", {**result, "interaction_id": number, "attempt": number, "edition": 0})
    put("results", {**result, "interaction_id": 99, "attempt": 40, "edition": 1, "supersedes": 40,
                    "origin_id": 40})  # fmt: skip
    names = ("tries", "holed", "measured", "sum_long", "sum_right", "sum_long2", "sum_right2",
             "sum_product")  # fmt: skip
    put("line_sums", {**here, "hole_key": "cup-1/04", "line_key": "cup-1/04/A", "variant": "A",
                      **dict(zip(names, range(40, 48), strict=True))})  # fmt: skip
    put("vector_sums", {**here, "scope": "gain", "key": "driver/tour", "entries": 40,
                        "total": json.dumps([3 << 30, 5 << 29])})  # fmt: skip


def fill_polls_and_messages(put: Put) -> None:
    here = {"community_id": HERE}
    for state, message in (("open", 501), ("closed", 502), ("waiting", None)):
        put(
            "polls",
            {**here, "channel_id": 5, "message_id": message, "question": "A?", "answers": ["A"],
             "closes_at": THEN + timedelta(hours=3), "state": state, "created_at": THEN},
        )  # fmt: skip
    put("votes", {**here, "poll_id": 1, "member_id": BEN, "answer": 1, "added": True, "at": THEN})
    outbox = {**here, "channel_id": 5, "fingerprint": "f", "version": 2, "claim": 1,
              "updated_at": THEN}  # fmt: skip
    put("outbox", {**outbox, "key": "a", "state": "waiting", "body": {"text": "a"}})
    put("outbox", {**outbox, "key": "b", "state": "posted", "message_id": 77})
    job = {**here, "kind": "k", "payload": {"n": 1}, "due_at": THEN, "claim": 0}
    put("jobs", {**job, "key": "to do"})
    put("jobs", {**job, "key": "gone", "done_at": THEN, "trouble": "cancelled"})


@pytest.fixture(params=["sqlite", "postgresql"])
def old_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A database at the old version, with a season in it."""
    from alembic import command

    url = f"sqlite:///{tmp_path / 'old.db'}"
    if request.param == "postgresql":
        server: Server = request.getfixturevalue("server")
        url = server.url(server.create())
    engine = migration_engine(address_of(url))
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        command.upgrade(config, OLD)
        fill_old(connection)
    engine.dispose()
    return url


def differences(url: str) -> list[object]:
    engine = create_engine(address_of(url).url.set(
        drivername="postgresql+psycopg" if url.startswith("postgresql") else "sqlite"
    ))  # fmt: skip
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        found = compare_metadata(context, metadata)
    engine.dispose()
    return list(found)


async def test_what_was_kept_is_kept(old_url: str) -> None:
    db = await Database.open(old_url)
    assert differences(old_url) == []
    kept = await Results(db).page(HERE)
    assert len(kept) == 41 and [each.edition for each in kept] == [0] * 40 + [1]
    assert kept[-1].supersedes == kept[-1].origin_id == 40
    assert (kept[0].played.left_out, kept[0].played.weight) == ("wrong club", 0.5)
    assert (kept[0].played.round, kept[0].played.line_revision) == ("", None)
    assert kept[0].created_at == THEN
    (line,) = (await Tallies(db).of_hole(HERE, "cup-1/04")).lines
    assert (line.tries, line.holed, line.sum_product_m2) == (40, 41, pytest.approx(0.0047))
    assert await VectorSums(db).get(HERE, "gain", "driver/tour") == (3.0, 2.5)
    newest = await Revisions(db).latest_of_kind(HERE, "line", "cup-1/04/")
    assert [(each.number, each.author_name) for each in newest] == [(2, "Ann")]
    assert (await Polls(db).tally(1)).counts == {1: 1}
    await db.close()


async def test_json_values_become_rows(old_url: str) -> None:
    db = await Database.open(old_url)
    divisions, settings = Divisions(db), CommunitySettings(db)
    names = ("gold", "silver", "bronze")
    found = [
        await divisions.get(where, who, event="any", among=names)
        for where, who in ((HERE, ANN), (HERE, BEN), (ELSEWHERE, ANN))
    ]
    assert found == ["gold", "silver", "bronze"]
    assert await Drafts(db).get(HERE, ANN, "0b") == {"token": "0b", "title": "right"}
    series = MeasuredSeries(db)
    assert await series.get(HERE, BEN, "driver") == {"shots": [1, 2]}
    assert await series.get(HERE, BEN, "wedge") == {"shots": []}
    (frozen,) = await Decisions(db).frozen(HERE)
    assert (frozen.club, frozen.reason, frozen.grades) == ("driver", "new ball", HELD["grades"])
    last = await Decisions(db).last(HERE)
    assert [(each.coach_name, each.what, each.at.isoformat()) for each in last] == [
        ("Ben", "reset the wedge", "2031-03-02T09:30:00+00:00"),
        ("Ann", "froze the driver", "2031-03-01T09:00:00+00:00"),
    ]
    for _, name, value in SETTINGS:
        stays = name in ("event", "round/cup-1")
        assert await settings.get(HERE, name) == (value if stays else None)
    assert await Communities(db).served() == [HERE, ELSEWHERE]
    await db.close()


async def test_messages_jobs_and_polls_go_on(old_url: str) -> None:
    db = await Database.open(old_url, clock=lambda: THEN + timedelta(hours=4))
    (waiting,) = await Outbox(db).claim()
    assert (waiting.key, waiting.body, waiting.attempts) == ("a", {"text": "a"}, 0)
    posted = await Outbox(db).by_message(77)
    assert posted is not None and len({waiting.nonce, posted.nonce}) == 2
    due = await Jobs(db).claim_due()
    assert [(job.kind, job.key) for job in due] == [
        ("k", "to do"),
        (CLOSE_POLL, "1"),
        (CLOSE_POLL, "3"),
    ]
    gone = await Jobs(db).get(HERE, "k", "gone")
    assert gone is not None and (gone.outcome, gone.trouble) == ("cancelled", None)
    await db.close()


@pytest.mark.parametrize("old_url", ["sqlite"], indirect=True)
async def test_the_file_from_before_is_kept(old_url: str, tmp_path: Path) -> None:
    await (await Database.open(old_url)).close()
    (kept,) = (tmp_path / "backups").iterdir()
    with sqlite3.connect(kept) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == (OLD,)
        assert raw.execute("SELECT count(*) FROM results").fetchone() == (41,)
