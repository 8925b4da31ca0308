"""/share, the Share button of a For-me card, and the buttons under a shared line."""

import io
import logging
import re
from mimetypes import guess_type
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.actor import actor_of
from bot.chat.embeds import plain_embed
from bot.chat.publisher import Publisher
from bot.chat.respond import Interaction, answer_error, respond
from bot.chat.roles import Roles
from bot.commands.book.suggest import hole_choices, line_choices
from bot.commands.results.forms import SHARE, share_form, typed
from bot.commands.share.buttons import ShareButton
from bot.services.book.changes import BookChange
from bot.services.sharing.messages import BACK, LABELS, ON, ShareMessages, share_id
from bot.services.sharing.service import Share, Shared, ShareService
from shared.errors import InputError
from shared.quantities import Speed, Wind

log = logging.getLogger(__name__)
COG = "ShareCog"
MOST_PICTURE = 8 * 1024 * 1024  # bytes; Discord takes 10 MiB a file
PICTURES = {"image/png": "png", "image/jpeg": "jpg", "image/webp": "webp", "image/gif": "gif"}
_FORM = re.compile(
    r"shareform\|(?P<hole>\d+)\|(?P<variant>[A-Z])\|(?P<mps>[\d.]+)\|(?P<deg>[\d.]+)\|(?P<event>.+)"
)


@runtime_checkable
class PressesShared(Protocol):
    """The cog that knows what a press means."""

    async def pressed(
        self, interaction: Interaction, act: str, event: str, hole: int, variant: str
    ) -> None:
        """*Make it a line* or *Take back*."""
        ...


class SharedButton(
    discord.ui.DynamicItem[discord.ui.Button[discord.ui.View]],
    template=r"shared\|(?P<act>on|back)\|(?P<hole>\d+)\|(?P<variant>[A-Z])\|(?P<event>.+)",
):
    """Makes a shared idea a line, or takes it back."""

    def __init__(self, act: str, event: str, hole: int, variant: str) -> None:
        custom_id = share_id(act, event, hole, variant)
        super().__init__(discord.ui.Button(label=LABELS[act], custom_id=custom_id))
        self.act, self.event, self.hole, self.variant = act, event, hole, variant

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        return cls(match["act"], match["event"], int(match["hole"]), match["variant"])

    async def callback(self, interaction: Interaction) -> Any:
        """Hand the press to the cog; answer what goes wrong."""
        try:
            bot = interaction.client
            cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
            assert isinstance(cog, PressesShared)
            await cog.pressed(interaction, self.act, self.event, self.hole, self.variant)
        except Exception as error:
            await answer_error(interaction, error)


class ShareCog(commands.Cog):
    """Discord in and out for shared shots."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        service: ShareService,
        press: ShareMessages,
        publisher: Publisher,
        roles: Roles,
    ) -> None:
        self.bot = bot
        self.service = service
        self.press = press
        self.publisher = publisher
        self.roles = roles
        service.book.on_change(self.changed)

    async def cog_load(self) -> None:
        """Register the buttons, also for messages of earlier lives."""
        self.bot.add_dynamic_items(SharedButton, ShareButton)

    async def changed(self, change: BookChange) -> None:
        """Bring shared lines up to date with the book and the results."""
        if await self.press.refresh(change):
            await self.publisher.deliver()

    @app_commands.command(name="share", description="Share a shot you tested with the group")
    @app_commands.guild_only()
    @app_commands.describe(
        hole="1 to 18",
        picture="a picture of it, up to 8 MB",
        line="the line you played, as it was for you",
        shot="or your own shots, parted by ; such as: 8-iron, 128 aim 2 right",
        wind="your wind, if it is not the hole's",
        result="in, or how far it missed, such as: 5 short",
        remark="what others should know",
    )
    async def share(
        self,
        interaction: Interaction,
        hole: app_commands.Range[int, 1, 18],
        picture: discord.Attachment | None = None,
        line: str = "",
        shot: app_commands.Range[str, 1, 400] = "",
        wind: app_commands.Range[str, 1, 80] = "",
        result: app_commands.Range[str, 1, 60] = "",
        remark: app_commands.Range[str, 1, 300] = "",
    ) -> None:
        """Put a shot into the book as an idea and post it."""
        file = await _picture(picture)
        event, _ = await self.service.book.current(interaction.guild_id or 0)
        share = Share(event.name, hole, line, shot, wind, result, remark)
        await self._share(interaction, share, file)

    @share.autocomplete("hole")
    async def _holes(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[int]]:
        return await hole_choices(self.service.book, interaction, current)

    @share.autocomplete("line")
    async def _lines(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return await line_choices(self.service.book, interaction, current)

    async def sharing(
        self, interaction: Interaction, event: str, hole: int, variant: str, wind: Wind
    ) -> None:
        """Open the short form of a For-me card's Share button."""
        await interaction.response.send_modal(
            share_form(
                event=event,
                hole=hole,
                variant=variant,
                mps=wind.speed.mps,
                deg=wind.relative_deg,
            )
        )

    @commands.Cog.listener()
    async def on_interaction(self, interaction: Interaction) -> None:
        """Take in the form, one of an earlier life too."""
        if interaction.type is not discord.InteractionType.modal_submit:
            return
        custom_id = str((interaction.data or {}).get("custom_id", ""))
        match = _FORM.fullmatch(custom_id) if custom_id.startswith(SHARE) else None
        if match is None:
            return
        try:
            fields = typed(interaction)
            speed = Speed(value=float(match["mps"]), unit="m/s")
            share = Share(
                event=match["event"],
                hole=int(match["hole"]),
                variant=match["variant"],
                wind=Wind(speed=speed, from_deg=float(match["deg"])),
                outcome=fields.get("outcome", ""),
                remark=fields.get("remark", ""),
            )
            await self._share(interaction, share, None)
        except Exception as error:
            await answer_error(interaction, error)

    async def pressed(
        self, interaction: Interaction, act: str, event: str, hole: int, variant: str
    ) -> None:
        """*Make it a line* (coaches), *Take back* (its author)."""
        who = actor_of(interaction)
        if act == ON:
            await self.roles.require_coach(interaction)
            await self.service.make_line(who, event, hole, variant)
            title = f"Line {hole}{variant} is now: tested"
            lines = ["It stands on the hole's note with the others."]
        else:
            await self.service.take_back(who, event, hole, variant)
            title = f"Taken back: line {hole}{variant}"
            lines = ["Results logged on it stay. Back again: a coach, with /line status"]
        await respond(interaction, embed=plain_embed(title, lines), ephemeral=True)

    async def _share(
        self, interaction: Interaction, share: Share, file: discord.File | None
    ) -> None:
        await interaction.response.defer(ephemeral=True, thinking=True)
        who = actor_of(interaction)
        shared = await self.service.share(who, share, interaction_id=interaction.id)
        line = shared.line.line
        assert line is not None
        await self.press.post(who.community_id, share.event, share.hole, line)
        await self.publisher.deliver()
        lines = await self._outcome(who.community_id, shared, file)
        view = discord.ui.View(timeout=None)
        view.add_item(SharedButton(BACK, share.event, share.hole, line.variant))
        title = f"Shared as an idea: hole {share.hole}, line {line.variant}"
        await respond(interaction, embed=plain_embed(title, lines), view=view, ephemeral=True)
        if shared.told is not None and shared.told.counted:
            await self.service.results.learn(who.community_id)
            await self.changed(BookChange(who.community_id, share.event, frozenset({share.hole})))

    async def _outcome(
        self, community_id: int, shared: Shared, file: discord.File | None
    ) -> list[str]:
        """Where it stands, or what to grant; adds the picture to the message."""
        found = await self.press.message(
            community_id, shared.event, shared.line.hole, shared.line.variant
        )
        channel = await self.roles.notes_channel(community_id)
        lines = [f"It stands in <#{channel}> and in the book, under your name."]
        if found is None or found.message_id is None:
            trouble = (found.trouble if found else None) or "it waits to be posted"
            return [
                f"It is in the book, but not yet in <#{channel}>: {trouble}.",
                "A coach can mend that, and /publish posts what waits.",
            ]
        if file is not None and not await self._attach(found.channel_id, found.message_id, file):
            lines.append("The picture could not be added: I may lack Attach Files there.")
        if shared.told is None:
            lines.append("Press Worked for me or Missed there to log how it went.")
        return lines

    async def _attach(self, channel_id: int, message_id: int, file: discord.File) -> bool:
        message = self.bot.get_partial_messageable(channel_id).get_partial_message(message_id)
        try:
            await message.edit(attachments=[file], allowed_mentions=discord.AllowedMentions.none())
        except discord.HTTPException as error:
            log.warning("a shared picture could not be added: %s", error)
            return False
        return True


async def _picture(attachment: discord.Attachment | None) -> discord.File | None:
    """The picture, under a name of ours. Errors: InputError for what is no picture or too big."""
    if attachment is None:
        return None
    said = attachment.content_type or guess_type(attachment.filename)[0] or ""
    kind = PICTURES.get(said.partition(";")[0])
    if kind is None:
        raise InputError(
            "This is no picture I can show.", "a PNG or JPEG file", attachment.filename
        )
    if attachment.size > MOST_PICTURE:
        raise InputError("A picture has 8 MB at most.", "a smaller one", attachment.filename)
    return discord.File(io.BytesIO(await attachment.read()), f"shot.{kind}")
