"""One way to answer an interaction, and one place where a command's error becomes a message."""

import logging
from collections.abc import Sequence
from typing import Protocol, TypedDict, TypeVar, Unpack, runtime_checkable

import discord
from discord import app_commands

from bot.chat.actor import Interaction, community_of
from shared.errors import EngineError, InputError, LeewardError
from shared.units import UnitSystem
from shared.wording import error_example, error_sentence, quoted, with_example

log = logging.getLogger(__name__)

UNEXPECTED = "Something went wrong that should not have. It has been logged; please try once more."


@runtime_checkable
class KnowsUnits(Protocol):
    """A client that knows in which units a member reads."""

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """The units a member has set, yards without."""
        ...


class Message(TypedDict, total=False):
    """What a message can hold; the parts that ``respond`` passes on."""

    content: str
    embed: discord.Embed
    embeds: list[discord.Embed]
    view: discord.ui.View
    file: discord.File
    files: list[discord.File]


async def respond(
    interaction: Interaction, *, ephemeral: bool = False, **message: Unpack[Message]
) -> None:
    """Answer an interaction, first or as a follow-up after a first answer. Mentions are off."""
    quiet = discord.AllowedMentions.none()
    if interaction.response.is_done():
        await interaction.followup.send(ephemeral=ephemeral, allowed_mentions=quiet, **message)
    else:
        await interaction.response.send_message(
            ephemeral=ephemeral, allowed_mentions=quiet, **message
        )


def error_text(error: LeewardError, given: str = "", units: UnitSystem = "yards") -> str:
    """The message of an error: the person's own text, what is wrong, a right example."""
    own = given or (error.given if isinstance(error, InputError) else "")
    said = f"You wrote {quoted(own)}. " if own else ""
    example = error_example(error)
    return with_example(
        f"{said}{error_sentence(error, units)}", example and f"`{example}`", join="\n"
    )


async def on_tree_error(interaction: Interaction, error: app_commands.AppCommandError) -> None:
    """Answer a failed command with one sentence, to its member alone; log what nobody foresaw."""
    cause = error.original if isinstance(error, app_commands.CommandInvokeError) else error
    await answer_error(interaction, cause)


async def answer_error(interaction: Interaction, cause: Exception) -> None:
    """``on_tree_error`` for whatever a command, a button or a form raised."""
    if isinstance(cause, LeewardError):
        units = await _units(interaction) if isinstance(cause, EngineError) else "yards"
        text = error_text(cause, _typed(interaction), units)
    elif isinstance(cause, app_commands.CheckFailure):
        text = str(cause) or "You may not use this command here."
    elif isinstance(cause, app_commands.TransformerError):
        text = f"{quoted(str(cause.value))} is not a value this command takes."
    else:
        log.error("command failed", exc_info=cause)
        text = UNEXPECTED
    try:
        await respond(interaction, content=text, ephemeral=True)
    except discord.HTTPException:
        log.exception("the answer to a failed command could not be sent")


async def _units(interaction: Interaction) -> UnitSystem:
    client = interaction.client
    if not isinstance(client, KnowsUnits):
        return "yards"
    return await client.units_of(community_of(interaction), interaction.user.id)


def _typed(interaction: Interaction) -> str:
    """What the member typed into the command's text options, in their order."""
    namespace = interaction.namespace
    return ", ".join(str(value) for value in vars(namespace).values() if isinstance(value, str))


Value = TypeVar("Value", str, int)
MOST_CHOICES, LONGEST_CHOICE = 25, 100


def choices(texts: Sequence[str]) -> list[app_commands.Choice[str]]:
    """Texts as at most 25 suggestions of 1 to 100 characters; longer ones are left out."""
    fit = [text for text in dict.fromkeys(texts) if 0 < len(text) <= LONGEST_CHOICE]
    return suggestions([(text, text) for text in fit])


def suggestions(found: Sequence[tuple[str, Value]]) -> list[app_commands.Choice[Value]]:
    """What is shown and what is taken, as at most 25 suggestions."""
    return [
        app_commands.Choice(name=shown[:LONGEST_CHOICE], value=value)
        for shown, value in found[:MOST_CHOICES]
    ]
