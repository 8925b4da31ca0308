"""/me export and /me forget, held against the database itself."""

import json
from typing import Any

import pytest
from sqlalchemy import Connection, inspect, text

from bot.commands.results.cog import ResultsCog
from storage.address import address_of
from storage.engines import looking_engine
from tests.chat.booking import fill, labels_of, load_cup
from tests.chat.conftest import Stage


@pytest.fixture
async def known(stage: Stage) -> Stage:
    """Tamsin has a bag, a division, results, a line of her own and a published note."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", club="6-iron", grade="yew")
    await stage.odile.slash(stage.questions, "bag", club="driver", grade="oak")
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await fill(stage, stage.tamsin, await stage.tamsin.click(note(stage), label="Went in"))
    opened = await stage.tamsin.click(note(stage), label="Missed")
    await fill(stage, stage.tamsin, opened, outcome="5 short", line="B")
    return stage


def note(stage: Stage) -> Any:
    return stage.notes.history()[0]


def rows_with(stage: Stage, value: str) -> list[str]:
    """Every table and column of the database in which ``value`` stands."""
    engine = looking_engine(address_of(stage.url))
    with engine.connect() as connection:
        tables = inspect(connection)
        found = [
            f"{table}.{column['name']}"
            for table in tables.get_table_names()
            for column in tables.get_columns(table)
            if _holds(connection, table, column["name"], value)
        ]
    engine.dispose()
    return found


def _holds(connection: Connection, table: str, column: str, value: str) -> bool:
    query = text(f'select 1 from "{table}" where cast("{column}" as text) like :v limit 1')
    return connection.execute(query, {"v": f"%{value}%"}).first() is not None


async def test_export_is_everything_kept_about_me_and_nobody_else(known: Stage) -> None:
    result = await known.tamsin.slash(known.questions, "me export")
    assert result.ephemeral
    message = result.response or result.followups[0]
    page, attachment = message.attachments
    assert [page.filename, attachment.filename] == ["leeward-me.txt", "leeward-me.json"]
    data = json.loads(await attachment.read())
    assert data["bags"][0]["grades"] == {"6-iron": "yew"}
    assert [row["holed"] for row in data["results"]] == [1, 0] or [
        row["holed"] for row in data["results"]
    ] == [True, False]
    assert [row["division"] for row in data["divisions"]] == ["Sail"]
    assert str(known.odile.id) not in json.dumps(data)


async def test_the_page_to_read_says_what_was_logged_in_the_members_unit(known: Stage) -> None:
    await known.tamsin.slash(known.questions, "bag", units="metric")
    opened = await known.tamsin.click(note(known), label="Missed")
    await fill(known, known.tamsin, opened, outcome="2 long")
    last = (await known.tamsin.slash(known.questions, "results")).response.embeds[0]
    assert "missed: 2.0 m long" in (last.description or "")
    result = await known.tamsin.slash(known.questions, "me export")
    message = result.response or result.followups[0]
    text = (await message.attachments[0].read()).decode()
    lines = text.splitlines()
    assert lines[1] == "Lengths in m, times in UTC"
    bag = lines[lines.index("Your bag (1)") + 1]
    assert bag.endswith("6-iron yew; units metric")
    start = lines.index("Your results (3)") + 1
    newest, second, first = lines[start : start + 3]
    assert "hole 2, line A, try 1: went in, wind 9 mph from 3, 6-iron yew plover, 141 m" in first
    assert "hole 2, line B, try 1: missed: 4.6 m short" in second
    assert "hole 2, line A, try 2: missed: 2.0 m long" in newest
    assert "Sail" in lines[lines.index("Your divisions (1)") + 1]
    assert not any("parts" in line or "community_id" in line for line in lines)
    empty = await known.odile.slash(known.questions, "me export")
    message = empty.response or empty.followups[0]
    assert "driver oak" in (await message.attachments[0].read()).decode()


async def test_forget_asks_once_and_leaves_no_trace_of_the_id(known: Stage) -> None:
    me = str(known.tamsin.id)
    assert len(rows_with(known, me)) >= 3
    asked = await known.tamsin.slash(known.questions, "me forget")
    assert asked.ephemeral and labels_of(asked.response) == ["Forget me"]
    assert len(rows_with(known, me)) >= 3
    await known.restart()
    done = await known.tamsin.click(asked.response, label="Forget me")
    assert done.acknowledged
    assert rows_with(known, me) == []
    assert rows_with(known, str(known.odile.id)) != []
    cog = known.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    bag = await cog.service.bags.get(known.guild.id, known.tamsin.id)
    assert bag.grades == {}
    assert known.bot.services is not None
    tallies = await known.bot.services.db.read(
        lambda c: c.execute(text("select variant, tries, holed from line_sums order by 1")).all()
    )
    assert [tuple(row) for row in tallies] == [("A", 1, 1), ("B", 1, 0)]


async def test_forgetting_twice_is_harmless(known: Stage) -> None:
    for _ in range(2):
        asked = await known.tamsin.slash(known.questions, "me forget")
        assert (await known.tamsin.click(asked.response, label="Forget me")).acknowledged
    assert rows_with(known, str(known.tamsin.id)) == []
