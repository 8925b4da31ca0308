"""Every command's name, description and options are what commands.txt says.

Members have these words in their fingers: whoever changes one changes the list with it.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import discord
from discord import app_commands

from bot.app import cogs, make_bot
from bot.settings import Settings
from bot.wiring import open_services

LIST = Path(__file__).parent / "commands.txt"


def rows(command: Any) -> Iterator[str]:
    """A command or a group and what is below it, an option a row."""
    yield f"/{command.qualified_name}: {command.description}"
    if isinstance(command, app_commands.Group):
        for each in command.commands:
            yield from rows(each)
        return
    for option in command.parameters:
        mark = "" if option.required else "?"
        yield f"    {option.display_name}{mark} ({option.type.value}): {option.description}"


async def test_commands_read_as_the_list_says(tmp_path: Path) -> None:
    settings = Settings(database=f"sqlite:///{tmp_path / 'commands.sqlite3'}")
    bot = make_bot(settings)
    services = await open_services(settings)
    try:
        for cog in cogs(services, bot, bot.router):
            await bot.add_cog(cog)
    finally:
        await services.db.close()
    found = bot.tree.get_commands(type=discord.AppCommandType.chat_input)
    said = [row for each in sorted(found, key=lambda each: each.name) for row in rows(each)]
    assert [row for row in said if row.endswith("…")] == []  # what is not described reads so
    assert said == LIST.read_text(encoding="utf-8").splitlines()
