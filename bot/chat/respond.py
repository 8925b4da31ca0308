"""Who asked and what they typed, one way to answer, and one place where errors become messages."""

import logging
from collections.abc import Sequence
from typing import Any, Protocol, TypedDict, TypeVar, Unpack, runtime_checkable

import discord
from discord import app_commands

from bot.chat.causes import ACKNOWLEDGED, AWAY, TOO_LATE, came_too_late, is_away
from bot.chat.written import FIELDS, Fields, error_text, words_of
from shared import limits
from shared.actor import Actor
from shared.errors import DivisionUnknownError, EngineError, LeewardError, StorageError
from shared.text import clipped, size, visible
from shared.units import UnitSystem
from shared.wording import quoted

Interaction = discord.Interaction[discord.Client]
AnyCommand = app_commands.Command[Any, ..., Any] | app_commands.ContextMenu

log = logging.getLogger(__name__)

LONGEST_NAME = 60
MORE = "… the rest does not fit here"
LEAST_DESCRIPTION = 600  # characters a description keeps, however many fields there are
NOWHERE = 0  # the community of what is said outside a server


COMMUNITY = "community"  # in an interaction's extras: whose bag answers outside a server


def community_of(interaction: Interaction) -> int:
    """The community an interaction comes from, or the member's own outside of all."""
    home: int | None = interaction.extras.get(COMMUNITY)
    return home if home is not None else interaction.guild_id or NOWHERE


def is_outside(interaction: Interaction) -> bool:
    """Whether it comes from where Leeward serves no community: a direct message, another server."""
    if interaction.guild_id is None:
        return True
    return interaction.is_user_integration() and not interaction.is_guild_integration()


def actor_of(interaction: Interaction) -> Actor:
    """Who acts and where; a name that shows nothing gives way to the account's."""
    user = interaction.user
    name = " ".join(visible(user.display_name).split())[:LONGEST_NAME]
    if not any(letter.isalnum() for letter in name):
        name = user.name
    return Actor(community_of(interaction), user.id, name)


ANEW = "anew"  # in an interaction's extras: the command that is asked again by a button or a form


def command_of(interaction: Interaction) -> AnyCommand | None:
    """The command that is asked, at first or anew."""
    return interaction.extras.get(ANEW) or interaction.command


UNEXPECTED = "Something went wrong that should not have. It has been logged; please try once more."


@runtime_checkable
class KnowsUnits(Protocol):
    """A client that knows in which units a member reads."""

    async def units_of(self, community_id: int, member_id: int) -> UnitSystem:
        """The units a member has set, yards without."""
        ...


@runtime_checkable
class OffersRetry(Protocol):
    """A client that lets a member change a text that was refused."""

    def offer_retry(self, interaction: Interaction, error: LeewardError) -> discord.ui.View | None:
        """Buttons to go with the refusal."""
        ...

    async def ask_again(self, interaction: Interaction, token: int) -> bool:
        """Ask once more what was refused by this token; False where it is kept no more."""
        ...


class Message(TypedDict, total=False):
    """What a message can hold; the parts that ``respond`` passes on."""

    content: str
    embed: discord.Embed
    embeds: list[discord.Embed]
    view: discord.ui.View
    file: discord.File
    files: list[discord.File]


async def acknowledge(interaction: Interaction) -> None:
    """Say that an answer follows, to its member alone; harmless where that was said before."""
    if interaction.response.is_done():
        return
    try:
        await interaction.response.defer(ephemeral=True, thinking=True)
    except discord.HTTPException as error:
        if error.code != ACKNOWLEDGED:  # the watch and the command, at the same moment
            raise


async def acknowledge_change(interaction: Interaction) -> None:
    """Say that the message whose button was pressed will change; harmless if said before."""
    if interaction.response.is_done():
        return
    try:
        await interaction.response.defer()
    except discord.HTTPException as error:
        if error.code != ACKNOWLEDGED:
            raise


async def respond(
    interaction: Interaction, *, ephemeral: bool = False, **message: Unpack[Message]
) -> None:
    """Answer an interaction, first or as a follow-up after a first answer. Mentions are off.

    What is longer than a message may be is shortened.
    """
    quiet = discord.AllowedMentions.none()
    message = _held(message)
    if not interaction.response.is_done():
        try:
            await interaction.response.send_message(
                ephemeral=ephemeral, allowed_mentions=quiet, **message
            )
            return
        except discord.HTTPException as error:
            if error.code != ACKNOWLEDGED:
                raise
    await interaction.followup.send(ephemeral=ephemeral, allowed_mentions=quiet, **message)


async def change_message(
    interaction: Interaction, *, embeds: list[discord.Embed], view: discord.ui.View | None
) -> None:
    """Put something else into the message whose button was pressed, with its text; no mentions."""
    quiet, embeds = discord.AllowedMentions.none(), fit(embeds)
    if interaction.response.type is discord.InteractionResponseType.deferred_message_update:
        await interaction.edit_original_response(
            content=None, embeds=embeds, view=view, allowed_mentions=quiet
        )
        return
    if interaction.response.is_done():
        await interaction.followup.send(
            embeds=embeds,
            view=view or discord.utils.MISSING,
            allowed_mentions=quiet,
            ephemeral=True,
        )
        return
    await interaction.response.edit_message(
        content=None, embeds=embeds, view=view, allowed_mentions=quiet
    )


def _held(message: Message) -> Message:
    held: Message = {**message}
    if "content" in held:
        held["content"] = fit_content(held["content"])
    if "embed" in held:
        held["embed"] = fit([held["embed"]])[0]
    if "embeds" in held:
        held["embeds"] = fit(held["embeds"])
    return held


async def on_tree_error(interaction: Interaction, error: app_commands.AppCommandError) -> None:
    """Answer a failed command with one sentence, to its member alone; log what nobody foresaw."""
    cause = error.original if isinstance(error, app_commands.CommandInvokeError) else error
    await answer_error(interaction, cause)


async def answer_error(interaction: Interaction, cause: Exception) -> None:
    """``on_tree_error`` for whatever a command, a button or a form raised."""
    if isinstance(cause, StorageError):
        log.error("storage failed: %s", getattr(cause, "detail", cause))
    if isinstance(cause, RuntimeError) and interaction.client.is_closed():
        log.warning("stopped before an answer could be sent: %s", cause)
        return
    if isinstance(cause, DivisionUnknownError):
        text = cause.sentence  # the buttons under it are the answers
    elif isinstance(cause, LeewardError):
        units = await _units(interaction) if isinstance(cause, EngineError) else "yards"
        text = error_text(cause, written_words(interaction, cause), units)
    elif isinstance(cause, app_commands.CheckFailure):
        text = str(cause) or "You may not use this command here."
    elif isinstance(cause, app_commands.TransformerError):
        text = f"{quoted(str(cause.value))} is not a value this command takes."
    elif came_too_late(cause):
        text = TOO_LATE  # a form can't be opened any more once the press is acknowledged
    elif is_away(cause):
        log.warning("Discord could not be reached: %s", cause)
        text = AWAY
    else:
        log.error("command failed", exc_info=cause)
        text = UNEXPECTED
    message = Message(content=text)
    view = retry_buttons(interaction, cause) if isinstance(cause, LeewardError) else None
    if view is not None:
        message["view"] = view
    try:
        await respond(interaction, ephemeral=True, **message)
    except discord.HTTPException:
        log.exception("the answer to a failed command could not be sent")
    except RuntimeError as error:  # the connection is closed: Leeward is stopping
        log.warning("an answer could not be sent any more: %s", error)


def retry_buttons(interaction: Interaction, error: LeewardError) -> discord.ui.View | None:
    """Buttons that give a refused text back; None where nothing typed could mend it."""
    client = interaction.client
    return client.offer_retry(interaction, error) if isinstance(client, OffersRetry) else None


async def ask_again(interaction: Interaction, token: int) -> bool:
    """Ask once more what was refused by this token; False where it is kept no more."""
    client = interaction.client
    return isinstance(client, OffersRetry) and await client.ask_again(interaction, token)


async def _units(interaction: Interaction) -> UnitSystem:
    client = interaction.client
    if not isinstance(client, KnowsUnits):
        return "yards"
    return await client.units_of(community_of(interaction), interaction.user.id)


Value = TypeVar("Value", str, int)


def choices(texts: Sequence[str]) -> list[app_commands.Choice[str]]:
    """Texts as at most 25 suggestions of 1 to 100 characters; longer ones are left out."""
    fit = [text for text in dict.fromkeys(texts) if 0 < len(text) <= limits.CHOICE]
    return suggestions([(text, text) for text in fit])


def suggestions(found: Sequence[tuple[str, Value]]) -> list[app_commands.Choice[Value]]:
    """What is shown and what is taken, as at most 25 suggestions."""
    return [
        app_commands.Choice(name=shown[: limits.CHOICE], value=value)
        for shown, value in found[: limits.CHOICES]
    ]


def picked(interaction: Interaction) -> str:
    """What was chosen in a menu; empty where nothing was."""
    data: Any = interaction.data or {}
    return next((str(value) for value in data.get("values", ())), "")


TYPED, CHOSEN = "typed", "chosen"  # in an interaction's extras: what was given before, in place of
# its own fields


def typed(interaction: Interaction) -> dict[str, str]:
    """What was typed into a form, by the names of its fields."""
    before: dict[str, str] | None = interaction.extras.get(TYPED)
    if before is not None:
        return dict(before)
    return {name: str(given["value"] or "") for name, given in _filled(interaction, "value")}


def chosen(interaction: Interaction) -> dict[str, tuple[str, ...]]:
    """What was chosen in a form, by the names of its fields."""
    before: dict[str, tuple[str, ...]] | None = interaction.extras.get(CHOSEN)
    if before is not None:
        return dict(before)
    return {
        name: tuple(str(each) for each in given["values"])
        for name, given in _filled(interaction, "values")
    }


def written_words(interaction: Interaction, error: LeewardError) -> str:
    """The part of what was typed that an error is about, in words; a lone option is not named."""
    if TYPED in interaction.extras or interaction.type is discord.InteractionType.modal_submit:
        texts = typed(interaction)
    else:
        given = vars(interaction.namespace)
        texts = {name: value for name, value in given.items() if isinstance(value, str)}
    named: Fields | None = interaction.extras.get(FIELDS)
    labels = {name: name for name in texts} if len(texts) > 1 else {}
    return words_of(texts, named.labels if named else labels, error)


def _filled(interaction: Interaction, key: str) -> list[tuple[str, dict[str, Any]]]:
    data: Any = interaction.data or {}
    found: list[tuple[str, dict[str, Any]]] = []
    for row in data.get("components", []):
        for given in (row.get("component"), *row.get("components", [])):
            if isinstance(given, dict) and key in given:
                known: dict[str, Any] = dict(given)  # pyright: ignore[reportUnknownArgumentType]
                found.append((str(known["custom_id"]), known))
    return found


# The budget of a message ---------------------------------------------------------------------
# What stands first is kept: a description gives way to its fields, later fields to earlier ones,
# and what is left out is said. Lengths are ``shared.text.size``.


def fit(embeds: Sequence[discord.Embed]) -> list[discord.Embed]:
    """The embeds, each held to its limits and all to theirs; changed in place where too long."""
    kept = list(embeds)[: limits.EMBEDS]
    for embed in kept:
        _hold(embed)
    left = limits.EMBED
    for embed in kept:
        _shrink(embed, left)
        left -= length_of(embed)
    return kept


def fit_content(content: str) -> str:
    """The text of a message, held to its limit."""
    return clipped(content, limits.CONTENT)


def length_of(embed: discord.Embed) -> int:
    """What an embed takes of the budget of its message."""
    texts = [embed.title, embed.description, embed.footer.text, embed.author.name]
    texts += [text for field in embed.fields for text in (field.name, field.value)]
    return sum(size(text) for text in texts if text)


def _hold(embed: discord.Embed) -> None:
    """Each part within its own limit."""
    if embed.title:
        embed.title = clipped(embed.title, limits.TITLE)
    if embed.description:
        embed.description = _lines_within(embed.description, limits.DESCRIPTION)
    if embed.footer.text:
        embed.set_footer(
            text=clipped(embed.footer.text, limits.FOOTER), icon_url=embed.footer.icon_url
        )
    for place, field in enumerate(embed.fields):
        name = clipped(field.name or "", limits.FIELD_NAME) or "\u200b"
        value = _lines_within(field.value or "", limits.FIELD) or "\u200b"
        if (name, value) != (field.name, field.value):
            embed.set_field_at(place, name=name, value=value, inline=field.inline)
    while len(embed.fields) > limits.FIELDS:
        embed.remove_field(len(embed.fields) - 1)


def _shrink(embed: discord.Embed, most: int) -> None:
    """The whole within ``most``: fields from the last on, then the description."""
    over = length_of(embed) - most
    if over > 0 and embed.description and size(embed.description) > LEAST_DESCRIPTION:
        keep = max(LEAST_DESCRIPTION, size(embed.description) - over)
        embed.description = _lines_within(embed.description, keep)
    dropped = 0
    while embed.fields and length_of(embed) + _note_size(dropped) > most:
        embed.remove_field(len(embed.fields) - 1)
        dropped += 1
    if dropped and most >= _note_size(dropped):
        embed.add_field(name=MORE, value=f"{dropped} more", inline=False)
    over = length_of(embed) - most
    if over > 0 and embed.description:
        embed.description = _lines_within(embed.description, max(0, size(embed.description) - over))
    if length_of(embed) > most:
        embed.title = None
        embed.remove_footer()


def _note_size(dropped: int) -> int:
    return size(MORE) + size(f"{dropped} more") if dropped else 0


def _lines_within(text: str, most: int) -> str:
    """Whole lines as far as they fit, then that there were more; one long line is cut."""
    if size(text) <= most:
        return text
    if most <= size(MORE):
        return ""
    lines, left = text.split("\n"), most - size(MORE) - 1
    kept: list[str] = []
    for line in lines:
        if size(line) + 1 > left:
            break
        kept.append(line)
        left -= size(line) + 1
    if not kept:
        return clipped(text, most)
    if "\n".join(kept).count("```") % 2:
        kept.append("```") if left >= 4 else kept.pop()
    return "\n".join([*kept, MORE])
