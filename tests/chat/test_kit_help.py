"""/kit and /help: what the game offers and what to type, for the demo's kit and for another."""

import re
from pathlib import Path
from typing import Any

import pytest
from discord import app_commands

from bot.commands.help.parts import MEMBERS
from bot.settings import Settings
from tests.chat.asking import ask_example, card, suggested, text
from tests.chat.commands import COACHES, EVERYBODY, MANAGERS
from tests.chat.conftest import Stage
from tests.kits import DEMO_KIT, demo_kit

OTHER_KIT = """
name = "Bogside"
mark = { name = "tick", full_yd = 2.5, short_yd = 1.25 }
limits = { over_full = 0 }
balls = [{ name = "Curlew", wind_share = 0.7, carry_gain = -0.03 }]

[[clubs]]
name = "Long Spoon"
family = "wood"
launch = "3-wood"
grades = [
    { name = "Mk I", full_yd = 191, short_yd = 120 },
    { name = "Mk II", full_yd = 197, short_yd = 125 },
]

[[clubs]]
name = "9"
family = "short iron"
chart = [[0.5, 0.6], [1.0, 0.9]]
grades = [{ name = "Mk I", full_yd = 118, short_yd = 77 }]
"""
EXAMPLE = re.compile(r"`/wind question:([^`]+)`")


async def description(stage: Stage, command: str) -> str:
    embed = await card(stage, stage.tamsin, command)
    assert embed.description is not None
    return embed.description


async def test_the_kit_shows_every_grade_with_its_carry(stage: Stage) -> None:
    lines = (await description(stage, "clubs")).splitlines()
    kit = demo_kit()
    for line, club in zip(lines[: len(kit.clubs)], kit.clubs, strict=True):
        carries = ", ".join(f"{grade.name} {grade.full_yd:.0f}" for grade in club.grades)
        assert line == f"**{club.name}** {carries}"
    assert "tern (85% of the wind)" in lines[-3]
    assert "heron (110% of the wind, +2% carry)" in lines[-3]
    assert lines[-2] == "**One mark** 1.6 yd at full carry, 0.8 yd at the shortest"
    assert lines[-1] == "**Set-ups** up to 12% beyond full carry"


async def test_the_kit_is_metric_for_a_metric_member(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", units="metric")
    said = await description(stage, "clubs")
    assert "**5-iron** ash 151, oak 154, yew 155" in said
    assert "1.5 m at full carry" in said and " yd" not in said
    footer = (await card(stage, stage.tamsin, "clubs")).footer.text
    assert footer == "Full carries in still air, in metres"


@pytest.mark.parametrize("units", ["yards", "metric"])
async def test_the_helps_three_examples_work(stage: Stage, units: str) -> None:
    await card(stage, stage.tamsin, "bag", units=units)
    found = EXAMPLE.findall(await description(stage, "help"))
    assert len(set(found)) == 3
    for example in found:
        shown, value = (await suggested(stage, stage.tamsin, "wind", "question", example))[0]
        assert shown.startswith("Aim ") and value == example
        title = (await ask_example(stage, stage.tamsin, example)).title
        assert title is not None and " · aim " in title


async def helped(stage: Stage, who: Any) -> set[str]:
    """Every command that the help names for a member, by its whole name."""
    named: set[str] = set()
    for field in (await card(stage, who, "help")).fields:
        for row in text(field.value).splitlines():
            family = ""
            for said in re.findall(r"\*\*(/?[\w -]+)\*\*", row):
                name = said.removeprefix("/") if said.startswith("/") else f"{family} {said}"
                family = name.split()[0]
                named.add(name)
    return named


async def test_help_names_everything_for_who_asks_it(stage: Stage) -> None:
    assert await helped(stage, stage.tamsin) == EVERYBODY.keys()
    assert await helped(stage, stage.coach) == {*EVERYBODY, *COACHES, *MANAGERS}
    role = stage.guild.create_role("Captain")
    captain = stage.guild.add_member(stage.env.create_user("beatrice"), roles=[role])
    await card(stage, stage.coach, "setup coach", role=role)
    assert await helped(stage, captain) == {*EVERYBODY, *COACHES}


async def test_outside_a_server_the_help_names_what_works_there(stage: Stage) -> None:
    anywhere = {
        command.qualified_name
        for command in stage.bot.tree.walk_commands()
        if isinstance(command, app_commands.Command)
        for top in [command.root_parent or command]
        if top.allowed_contexts is not None and top.allowed_contexts.dm_channel
    }
    rows = {name for part in MEMBERS for row in part.rows if row.anywhere for name in row.commands}
    assert rows == anywhere - {"kit load"}


class TestAnotherKit:
    """A group's own kit: other names, capitals, a chart, no set-ups past full carry."""

    @pytest.fixture
    def settings(self, database: str, tmp_path: Path) -> Settings:
        kit = tmp_path / "kit.toml"
        kit.write_text(OTHER_KIT, encoding="utf-8")
        return Settings(database=database, kit=kit, one_process=True)

    async def test_it_is_shown_by_its_own_names(self, stage: Stage) -> None:
        embed = await card(stage, stage.tamsin, "clubs")
        assert embed.title == "Kit: Bogside"
        lines = (embed.description or "").splitlines()
        assert lines[:2] == [
            "**Long Spoon** Mk I 191, Mk II 197",
            "**9** Mk I 118 · chart",
        ]
        assert "**Balls** Curlew (70% of the wind, -3% carry)" in lines
        assert "**One tick** 2.5 yd at full carry, 1.2 yd at the shortest" in lines

    async def test_the_helps_examples_are_of_this_kit_and_work(self, stage: Stage) -> None:
        found = EXAMPLE.findall(await description(stage, "help"))
        assert len(set(found)) == 3 and "Long Spoon" in found[0]
        for example in found:
            await ask_example(stage, stage.tamsin, example)

    async def test_a_mark_has_the_kits_name_and_a_grade_keeps_its_capitals(
        self, stage: Stage
    ) -> None:
        bag = await card(stage, stage.tamsin, "bag", club="long spoon", grade="mk ii")
        assert "**Long Spoon** Mk II, 197 yd" in (bag.description or "")
        embed = await card(stage, stage.tamsin, "wind", question="7 off the left, long spoon, 180")
        assert " ticks " in (embed.title or "") and "mark" not in (embed.title or "")
        assert "Mk II, Curlew ball" in (embed.description or "")

    async def test_the_bags_own_hint_works(self, stage: Stage) -> None:
        footer = (await card(stage, stage.tamsin, "bag")).footer.text or ""
        for hint in re.findall(r"/bag [^·]+", footer):
            assert (await ask_example(stage, stage.tamsin, hint.strip())).title == "Your bag"


def test_the_demos_clubs_bear_golfs_generic_names_in_a_few_grades_each() -> None:
    names = [club.name for club in demo_kit().clubs]
    assert names == [
        *("driver", "3-wood", "5-wood", "hybrid"),
        *(f"{number}-iron" for number in range(4, 10)),
        *(f"{kind} wedge" for kind in ("pitching", "gap", "sand")),
    ]
    assert all(2 <= len(club.grades) <= 5 for club in demo_kit().clubs)
    assert DEMO_KIT.stat().st_size < 10_000
