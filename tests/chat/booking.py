"""What the chat tests of the book do again and again: load the cup, fill a form, be refused."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import discord
from discord import app_commands
from simcord.results import ResponseMessage

from bot.chat.coaches import CoachesOnlyError
from bot.settings import DEMO

if TYPE_CHECKING:
    from tests.chat.conftest import Stage

CUP = (DEMO / "cup.toml").read_bytes()


async def load_cup(stage: Stage, data: bytes = CUP, name: str = "cup.toml") -> discord.Embed:
    """Load an event's file as the coach; the card that answers."""
    return only_embed(await stage.coach.slash(stage.questions, "event load", file=(name, data)))


def only_message(result: Any) -> Any:
    """The one message of a result, deferred or not."""
    messages = [each for each in (result.response, *result.followups) if each is not None]
    assert len(messages) == 1
    return messages[0]


def only_embed(result: Any) -> discord.Embed:
    """The one embed of the one message."""
    message = only_message(result)
    # An embed that is a picture and nothing else belongs to the card before it.
    embeds = [e for e in message.embeds if e.description or e.fields or not e.image.url]
    assert len(embeds) == 1, message.content
    return embeds[0]


def fields_of(modal: Any) -> dict[str, Any]:
    """A form as it is shown: what each field holds, by its name."""
    shown: dict[str, Any] = {}
    for label in modal["components"]:
        component = label["component"]
        if "options" in component:
            held = [o["value"] for o in component["options"] if o.get("default")]
        else:
            held = component.get("value") or ""
        shown[component["custom_id"]] = held
    return shown


async def fill(stage: Stage, who: Any, opened: Any, **typed: Any) -> Any:
    """Submit a form with some fields typed anew and the others as they were shown."""
    assert opened.modal is not None, opened.response and opened.response.content
    return await who.submit_modal(opened, fields_of(opened.modal) | typed)


async def show_to(stage: Stage, command: str, *whom: Any) -> None:
    """Let a server show a hidden command, as its settings can: with all of its subcommands."""
    for each in await stage.bot.tree.fetch_commands():
        if each.name == command.split()[0]:
            stage.guild.set_command_permissions(each, dict.fromkeys(whom, True))


async def no_coach(stage: Stage, who: Any, command: str, /, **options: Any) -> str:
    """The sentence with which somebody who is no coach is refused, shown the command though."""
    if command not in who.available_commands(stage.questions):
        await show_to(stage, command, who)
    seen = stage.env.error_cursor
    message = only_message(await who.slash(stage.questions, command, **options))
    raised = [
        error.original if isinstance(error, app_commands.CommandInvokeError) else error
        for error in stage.env.errors[seen:]
    ]
    assert raised and all(isinstance(error, CoachesOnlyError) for error in raised), raised
    assert message.ephemeral and not message.embeds
    return message.content


def labels_of(message: Any) -> list[str]:
    """The buttons under a message."""
    found = [item for row in message.components for item in row["components"]]
    return [item["label"] for item in found if item["type"] == 2]


def menus_of(message: Any) -> dict[str, dict[str, str]]:
    """The menus under a message by their custom ids: what each option's label stands for."""
    found = [item for row in message.components for item in row["components"]]
    return {
        item["custom_id"]: {option["label"]: option["value"] for option in item["options"]}
        for item in found
        if item["type"] == 3
    }


def as_it_is(stage: Stage, message: Any) -> Any:
    """A message as it stands now, also one that is shown to a member alone."""
    backend = stage.env.backend
    at = next(at for at, messages in backend.messages.items() if message.id in messages)
    return ResponseMessage(stage.env, backend.get_message(at, message.id))


async def pick(who: Any, message: Any, label: str) -> Any:
    """Choose an option of one of a message's menus by its label."""
    at, options = next(each for each in menus_of(message).items() if label in each[1])
    return await who.select(message, [options[label]], custom_id=at)
