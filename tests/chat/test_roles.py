"""Who may do what: every command, as Discord shows it and as our own check holds it."""

from typing import Any

import discord
import pytest
from discord import app_commands

from bot.chat.coaches import CoachesOnlyError
from shared.errors import InputError
from tests.chat.asking import card
from tests.chat.booking import (
    fill,
    labels_of,
    load_cup,
    no_coach,
    only_embed,
    only_message,
    show_to,
)
from tests.chat.commands import COACHES, EVERYBODY, MANAGERS
from tests.chat.conftest import Stage

REFUSED_BEFORE = "Only a coach can do this; coaches are those who manage this server."


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    return stage


@pytest.fixture
async def captain(cup: Stage) -> Any:
    """Somebody with the coach role and nothing else, shown its commands as /setup asks for."""
    role = cup.guild.create_role("Captain")
    member = cup.guild.add_member(cup.env.create_user("beatrice"), roles=[role])
    await card(cup, cup.coach, "setup coach", role=role)
    for command in sorted({each.split()[0] for each in COACHES}):
        await show_to(cup, command, role)
    return member


async def let_in(stage: Stage, who: Any, command: str, options: dict[str, Any]) -> None:
    """Run a command that may have nothing to work on, but that its member may use."""
    seen = stage.env.error_cursor
    result = await who.slash(stage.questions, command, **options)
    assert result.acknowledged
    for error in stage.env.errors[seen:]:
        cause = error.original if isinstance(error, app_commands.CommandInvokeError) else error
        assert isinstance(cause, InputError), repr(cause)


async def test_every_command_is_in_one_of_the_tables(stage: Stage) -> None:
    commands = {
        command.qualified_name
        for command in stage.bot.tree.walk_commands()
        if isinstance(command, app_commands.Command)
    }
    assert commands == MANAGERS.keys() | COACHES.keys() | EVERYBODY.keys()
    assert not MANAGERS.keys() & EVERYBODY.keys() and not COACHES.keys() & EVERYBODY.keys()


async def test_a_member_is_shown_just_what_a_member_may_use(stage: Stage) -> None:
    hidden = {
        command.name: command.default_permissions
        for command in await stage.bot.tree.fetch_commands()
        if command.default_member_permissions is not None
        for command in [stage.bot.tree.get_command(command.name)]
        if command is not None
    }
    manage = discord.Permissions(manage_guild=True)
    theirs = {command.split()[0] for command in COACHES.keys() | MANAGERS.keys()}
    assert hidden == dict.fromkeys(theirs, manage)
    seen = set(stage.tamsin.available_commands(stage.questions))
    assert seen == EVERYBODY.keys()
    assert set(stage.coach.available_commands(stage.questions)) == (
        seen | MANAGERS.keys() | COACHES.keys()
    )


async def test_no_command_works_outside_a_server(stage: Stage) -> None:
    commands = await stage.bot.tree.fetch_commands()
    assert {command.name for command in commands if not command.dm_permission} >= {
        "event",
        "line",
        "setup",
        "me",
    }


@pytest.mark.parametrize("command", EVERYBODY)
async def test_everybody_reads(cup: Stage, captain: Any, command: str) -> None:
    for who in (cup.tamsin, captain):
        await let_in(cup, who, command, EVERYBODY[command])


@pytest.mark.parametrize("command", COACHES)
async def test_a_member_may_not_write(cup: Stage, command: str) -> None:
    assert await no_coach(cup, cup.tamsin, command, **COACHES[command]) == REFUSED_BEFORE


@pytest.mark.parametrize("command", COACHES)
async def test_who_manages_the_server_writes_until_a_role_is_set(cup: Stage, command: str) -> None:
    await let_in(cup, cup.coach, command, COACHES[command])


@pytest.mark.parametrize("command", COACHES)
async def test_once_a_role_is_set_it_decides(cup: Stage, captain: Any, command: str) -> None:
    await show_to(cup, command, cup.tamsin, captain, cup.coach)
    said = await no_coach(cup, cup.coach, command, **COACHES[command])
    role = cup.guild.roles["Captain"]
    assert said == f"Only a coach can do this; coaches have the role {role.mention} here."
    assert await no_coach(cup, cup.tamsin, command, **COACHES[command]) == said
    await let_in(cup, captain, command, COACHES[command])


async def test_only_a_coach_brings_a_revision_back(cup: Stage) -> None:
    await card(cup, cup.coach, "line retire", hole=4, line="B")
    options = {"hole": 4, "line": "B"}
    coachs = only_message(await cup.coach.slash(cup.questions, "cup history", **options))
    mine = only_message(await cup.tamsin.slash(cup.questions, "cup history", **options))
    assert labels_of(coachs) == ["Bring back 1"] and labels_of(mine) == []
    await card(cup, cup.coach, "setup coach", role=cup.guild.create_role("Captain"))
    pressed = only_message(await cup.coach.click(coachs, label="Bring back 1"))
    assert "Only a coach can do this" in pressed.content
    history = await card(cup, cup.tamsin, "cup history", **options)
    assert (history.description or "").startswith("**2** ")


@pytest.mark.parametrize("command", MANAGERS)
async def test_our_own_check_holds_where_a_server_shows_setup_to_members(
    cup: Stage, captain: Any, command: str
) -> None:
    await show_to(cup, "setup", cup.tamsin, captain)
    options = {"channel": cup.notes} if command == "setup notes" else {}
    for who in (cup.tamsin, captain):
        said = await no_coach(cup, who, command, **options)
        assert said == "Only those who manage this server can do this."


async def test_a_role_taken_while_the_form_is_open_saves_nothing(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "line edit", hole=4, line="A")
    winds = await cup.coach.slash(cup.questions, "event winds", division="Oar")
    message = only_message(await fill(cup, cup.coach, opened, notes="mine"))
    late = await cup.coach.slash(cup.questions, "line edit", hole=4, line="B")
    await card(cup, cup.coach, "setup coach", role=cup.guild.create_role("Captain"))
    seen = cup.env.error_cursor
    for form in (winds, late):
        result = await fill(cup, cup.coach, form)
        assert "Only a coach can do this" in only_message(result).content
    pressed = await cup.coach.click(message, label="Save")
    assert "Only a coach can do this" in only_message(pressed).content
    raised = cup.env.errors[seen:]  # the simulation sees what a form raises before we answer it
    assert all(isinstance(error, CoachesOnlyError) for error in raised), raised
    shown = await card(cup, cup.tamsin, "cup line", hole=4, line="A")
    assert "mine" not in (shown.description or "")


async def test_a_deleted_role_locks_nobody_out(cup: Stage, captain: Any) -> None:
    await show_to(cup, "event", captain)
    cup.env.backend.delete_role(cup.guild.id, cup.guild.roles["Captain"].id)
    await cup.env.settle()
    await card(cup, cup.coach, "event round", round="Closing round")
    assert await no_coach(cup, captain, "event round", round="Closing round") == REFUSED_BEFORE


async def test_setting_a_role_says_which_commands_a_server_must_show(cup: Stage) -> None:
    embed = await card(cup, cup.coach, "setup coach", role=cup.guild.create_role("Captain"))
    everybody, hidden, how = (embed.description or "").split("\n")[1:4]
    assert everybody.startswith("Everybody sees /aim, /bag, /ceiling, ")
    assert hidden == (
        "Only who manages the server sees /event, /gain, /kit, /line, /poll, /publish, /setup and "
        "/sharing."
    )
    assert how == (
        "A coaches' role must be allowed these once, all but /setup: Server Settings, "
        "Integrations, Leeward, each command, Add Roles."
    )


async def test_no_role_again_is_managers_again(cup: Stage, captain: Any) -> None:
    embed = await card(cup, cup.coach, "setup coach")
    assert embed.description == (
        "Coaches now: those who manage this server. They write the book; everybody reads it."
    )
    await card(cup, cup.coach, "event round", round="Closing round")
    await no_coach(cup, captain, "event round", round="Closing round")


async def test_setup_is_kept_over_a_restart(cup: Stage, captain: Any) -> None:
    await cup.restart()
    await card(cup, captain, "event round", round="Closing round")
    shown = await card(cup, cup.coach, "setup show")
    role = cup.guild.roles["Captain"]
    assert shown.description == f"Coaches: {role.mention}\nHole notes: {cup.notes.mention}"


async def test_the_notes_channel_says_what_the_bot_lacks_there(stage: Stage) -> None:
    role = next(role for role in stage.guild.roles.values() if role.name == "TestBot")
    closed = stage.guild.create_text_channel(
        "closed", overwrites={role: discord.PermissionOverwrite(embed_links=False)}
    )
    embed = await card(stage, stage.coach, "setup notes", channel=closed)
    assert embed.description == (
        f"Hole notes go to {closed.mention}.\nThere I still need: Embed Links."
    )


async def test_a_role_of_everybody_is_a_coach_role_too(cup: Stage) -> None:
    everybody = cup.guild.default_role
    await card(cup, cup.coach, "setup coach", role=everybody)
    await show_to(cup, "event", everybody)
    embed = only_embed(await cup.tamsin.slash(cup.questions, "event round", round="Closing round"))
    assert embed.title == "Now: Closing round"
