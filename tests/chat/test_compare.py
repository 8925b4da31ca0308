"""/compare, /table and /practice: what the group's results say, also in winds like the reader's."""

import csv
import io
import re
from typing import Any

import discord
import pytest

from bot.commands.compare.cog import CompareCog
from bot.commands.results.cog import ResultsCog
from bot.services.results.service import ResultService, Try
from shared.actor import Actor
from tests.chat.asking import text
from tests.chat.booking import load_cup
from tests.chat.conftest import Stage

EVENT = "Windlass Cup"


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    return stage


def service(stage: Stage) -> ResultService:
    cog = stage.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    return cog.service


async def log(
    stage: Stage, line: str, came: list[str], *, hole: int = 2, wind: str = "9 mph from 3"
) -> None:
    who = Actor(stage.guild.id, stage.odile.id, "Odile")
    first = 1000 * hole + 100 * ord(line) + len(await service(stage).mine(who, limit=999)) * 10_000
    for number, outcome in enumerate(came):
        played = Try(EVENT, hole, line, wind)
        await service(stage).log(who, played, outcome, interaction_id=first + number)


async def shown(stage: Stage, command: str, **options: Any) -> discord.Embed:
    result = await stage.tamsin.slash(stage.questions, command, **options)
    assert result.ephemeral
    message = result.response or result.followups[0]
    assert message.embeds, message.content
    return message.embeds[0]


async def test_with_no_try_it_says_so_and_what_to_press(cup: Stage) -> None:
    embed = await shown(cup, "compare", hole=2)
    assert embed.title == "Hole 2: nobody has logged a try yet"
    assert "Press Went in or Missed" in text(embed.description)
    assert all(text(field.value).startswith("not tried yet") for field in embed.fields)


async def test_what_leads_is_said_before_any_number_and_none_of_four_leads_nothing(
    cup: Stage,
) -> None:
    await log(cup, "C", ["missed"] * 4)
    embed = await shown(cup, "compare", hole=2)
    assert embed.title == "Hole 2: nothing has gone in yet"
    await log(cup, "A", ["in", "in", "4 short"])
    await log(cup, "B", ["in"] * 5)
    embed = await shown(cup, "compare", hole=2)
    assert embed.title == "Hole 2: line A leads"
    rows = {text(field.name)[0]: field for field in embed.fields}
    assert text(rows["A"].value).startswith("**2 of 3 tries went in**")
    assert set(rows) == {"A", "C"}  # B is the other division's


async def test_rates_misses_and_winds_like_yours(cup: Stage) -> None:
    await log(cup, "A", ["in"] * 9 + ["6 short, 3 right"] * 3)
    await log(cup, "C", ["in"] * 2 + ["5 long"] * 10, wind="20 mph into")
    await log(cup, "C", ["in"] * 1 + ["missed"] * 9)
    embed = await shown(cup, "compare", hole=2)
    assert embed.title == "Hole 2: line A leads"
    assert "90% intervals" in text(embed.description)
    assert "a try 4 mph of wind away counts 0.6" in text(embed.description)
    rows = {text(field.name)[0]: text(field.value).split("\n") for field in embed.fields}
    assert rows["A"][0] == "**9 of 12 tries went in**"
    # The mean of nine on the target and three 6 short, 3 right.
    assert rows["A"][2].startswith("on average 0.7 yd right, 1.5 short, spread 2.1 yd")
    # One member's 9 of 12 say less of the line than of the member: far from .75, and wide.
    said = re.fullmatch(r"expect (\d+)% \((\d+)% to (\d+)%\), \d+% to be the best", rows["A"][1])
    assert said is not None
    rate, low, high = map(int, said.groups())
    assert 34 < rate < 75 < high and low < 34
    assert rows["A"][-1].startswith("Like yours: worth ")
    other = await shown(cup, "compare", hole=2, mine="19 mph into")
    far = {text(field.name)[0]: text(field.value).split("\n")[-1] for field in other.fields}
    assert far["A"] == "Like yours: hardly a try yet"
    assert far["C"].startswith("Like yours: worth ")


async def test_the_table_has_a_row_a_hole_within_a_phones_width(cup: Stage) -> None:
    await log(cup, "A", ["in"] * 8 + ["missed"] * 4, hole=2)
    await log(cup, "A", ["in"] + ["missed"] * 11, hole=1, wind="8 mph from 1")
    await log(cup, "C", ["missed"] * 9, hole=2)
    embed = await shown(cup, "table")
    assert embed.title == "The group loses most on holes 1 and 2"
    rows = text(embed.description).split("```")[1].strip("\n").split("\n")
    assert len(rows) == 10 and max(map(len, rows)) <= 30
    assert rows[1].split() == ["1", "1/12", "–"]
    assert rows[2].split()[:3] == ["2", "8/21", "A"]
    assert rows[3].split() == ["3", "–", "–"]


async def test_tables_come_as_csv_and_no_title_becomes_a_formula(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "line edit", hole=2, line="C", title="=1+1")
    await log(cup, "A", ["in", "6 short"])
    await log(cup, "C", ["missed"] * 9)
    result = await cup.tamsin.slash(cup.questions, "compare", hole=2, file=True)
    attachment, picture = result.response.attachments
    assert picture.filename == "lines.png"
    assert attachment.filename == "hole-2.csv"
    data = (await attachment.read()).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(data)))
    assert [row["variant"] for row in rows] == ["A", "C"]
    assert (rows[0]["tries"], rows[0]["holed"], rows[0]["miss_long_yd"]) == ("2.0", "1.0", "-3.0")
    round_ = await cup.tamsin.slash(cup.questions, "table", file=True)
    whole = (await round_.response.attachments[0].read()).decode("utf-8-sig")
    found = list(csv.DictReader(io.StringIO(whole)))
    assert (
        len(found) == 9
        and found[1]["best_variant"] == "A"
        and 1 / 11 < float(found[1]["rate"]) < 1 / 3
    )


async def test_practice_says_where_to_begin_why_and_what_would_tell_the_leaders_apart(
    cup: Stage,
) -> None:
    await log(cup, "A", ["in"] * 6 + ["missed"] * 6, hole=2)
    await log(cup, "B", ["in"] * 3 + ["missed"] * 4, hole=2)
    embed = await shown(cup, "practice", entries=14)
    assert text(embed.title).startswith("Begin with hole ")
    tries = [
        int(line.rsplit(" ", 2)[1])
        for line in text(embed.description).split("\n")
        if line.endswith(("tries", "try"))
    ]
    assert sum(tries) == 14
    assert "Each try goes where it is expected to add most holes holed" in text(embed.description)
    assert "apart" in text(embed.description)


async def test_no_hole_or_no_wind_gets_a_sentence(cup: Stage) -> None:
    assert isinstance(cup.bot.get_cog("CompareCog"), CompareCog)
    for options, sentence in (
        ({"hole": 14}, "The event has holes 1 to 9."),
        ({"hole": 2, "mine": "loud"}, "was not understood"),
    ):
        result = await cup.tamsin.slash(cup.questions, "compare", **options)
        assert cup.env.errors and sentence in result.response.content
