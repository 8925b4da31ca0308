"""/share, the Share button of a For-me card, and the buttons under a shared line."""

import io
import logging
from mimetypes import guess_type

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import COACHES_SEE, coaches_only, require_coach
from bot.chat.direct import tell_member
from bot.chat.message import plain_embed, view_of
from bot.chat.permissions import POST, lacking_in
from bot.chat.publisher import Publisher
from bot.chat.respond import (
    Interaction,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    community_of,
    respond,
    suggestions,
    typed,
)
from bot.chat.router import Router
from bot.commands.share.form import decline_form, share_form
from bot.services.actions import AskShare, DecideShared, DeclineForm, ShareForm
from bot.services.book import suggest
from bot.services.roles import Roles
from bot.services.sharing.messages import ShareMessages
from bot.services.sharing.service import Share, Shared, ShareService, Waited, doubts_of
from shared.book import BookChange
from shared.errors import InputError
from shared.text import plain

log = logging.getLogger(__name__)
ON, BACK, YES, NO = "on", "back", "yes", "no"
MOST_PICTURE = 8 * 1024 * 1024  # bytes; Discord takes 10 MiB a file
PICTURES = {"image/png": "png", "image/jpeg": "jpg", "image/webp": "webp", "image/gif": "gif"}


class ShareCog(commands.Cog):
    """Discord in and out for shared shots."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        router: Router,
        service: ShareService,
        messages: ShareMessages,
        publisher: Publisher,
        roles: Roles,
    ) -> None:
        self.bot = bot
        self.service = service
        self.messages = messages
        self._publisher = publisher
        self.roles = roles
        router.on(AskShare.name, self._sharing)
        router.on_form(ShareForm, self._filled)
        router.on(DecideShared.name, self._deciding)
        router.on_form(DeclineForm, self._declined)

    @app_commands.command(name="share", description="Share a shot you tested with the group")
    @app_commands.guild_only()
    @app_commands.describe(
        hole="1 to 18",
        picture="a picture of it, up to 8 MB",
        line="the line you played, as it was for you",
        shot="or your own shots, parted by ; each: club, carry, aim 2 right",
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
        await acknowledge(interaction)
        file = await _picture(picture)
        event, _ = await self.service.book.current(community_of(interaction))
        share = Share(event.name, hole, line, shot, wind, result, remark)
        await self._share(interaction, share, file)

    @app_commands.command(
        name="sharing", description="Post shares at once, or after a coach's approval (coaches)"
    )
    @app_commands.guild_only()
    @app_commands.default_permissions(COACHES_SEE)
    @app_commands.describe(approve_in="where shares wait for a coach; left out: posted at once")
    @coaches_only
    async def sharing(
        self, interaction: Interaction, approve_in: discord.TextChannel | None = None
    ) -> None:
        """Choose whether shares wait for a coach, and where."""
        community = community_of(interaction)
        await self.roles.set_approval_channel(community, approve_in.id if approve_in else None)
        lines = ["Members' shares are posted at once."]
        if approve_in is not None:
            lines = [
                f"Members' shares wait in {approve_in.mention} until a coach approves them there.",
                "Choose a channel that members can't read.",
            ]
            lacking = lacking_in(approve_in, POST)
            if lacking:
                lines.append(f"There I still need: {', '.join(lacking)}.")
        await respond(interaction, embed=plain_embed("Set", lines), ephemeral=True)

    @share.autocomplete("hole")
    async def _holes(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[int]]:
        return suggestions(
            await suggest.holes(self.service.book, community_of(interaction), current)
        )

    @share.autocomplete("line")
    async def _lines(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        hole = getattr(interaction.namespace, "hole", None)
        return suggestions(
            await suggest.lines(self.service.book, community_of(interaction), hole, current)
        )

    async def _sharing(self, interaction: Interaction, custom_id: str) -> None:
        """Open the short form of a For-me card's Share button."""
        await interaction.response.send_modal(share_form(AskShare.read(custom_id)))

    async def _filled(self, interaction: Interaction, custom_id: str) -> None:
        form, fields = ShareForm.read(custom_id), typed(interaction)
        share = Share(
            event=form.event,
            hole=form.hole,
            variant=form.variant,
            wind=form.wind or "",
            outcome=fields.get("outcome", ""),
            remark=fields.get("remark", ""),
        )
        await self._share(interaction, share, None)

    async def _deciding(self, interaction: Interaction, custom_id: str) -> None:
        """*Make it a line*, *Approve*, *Decline* (coaches), *Take back* (its author)."""
        who, asked = actor_of(interaction), DecideShared.read(custom_id)
        if asked.act != BACK:
            await require_coach(self.roles, interaction)
        if asked.act == NO:
            await interaction.response.send_modal(decline_form(asked))
            return
        if asked.act == YES:
            await self._approve(interaction, asked)
            return
        if asked.act == ON:
            kept = await self.service.make_line(who, asked.event, asked.hole, asked.variant)
            title = f"Line {kept.hole}{kept.variant} is now: tested"
            lines = ["It stands on the hole's note with the others."]
        else:
            await self.service.take_back(who, asked.event, asked.hole, asked.variant)
            title = f"Taken back: line {asked.hole}{asked.variant}"
            lines = ["Results logged on it stay. Back again: a coach, with /line status"]
        await respond(interaction, embed=plain_embed(title, lines), ephemeral=True)

    async def _approve(self, interaction: Interaction, asked: DecideShared) -> None:
        """Let a waiting share be posted, and tell its author."""
        await acknowledge_change(interaction)
        who = actor_of(interaction)
        waited = await self.service.approve(who, asked.event, asked.hole, asked.variant)
        title = f"Approved: hole {asked.hole}, line {asked.variant}"
        channel = await self.roles.notes_channel(who.community_id)
        lines = [f"By {plain(who.name)}. It goes to <#{channel}>."]
        told = f"Your shot for hole {asked.hole} is approved"
        lines += await self._tell(waited, told, [f"It stands in <#{channel}>."])
        await change_message(interaction, embeds=[plain_embed(title, lines)], view=None)

    async def _declined(self, interaction: Interaction, custom_id: str) -> None:
        """Keep a waiting share from being posted, and tell its author."""
        await require_coach(self.roles, interaction)
        await acknowledge(interaction)
        asked, why = DeclineForm.read(custom_id), typed(interaction).get("why", "").strip()
        waited = await self.service.decline(
            actor_of(interaction), asked.event, asked.hole, asked.variant
        )
        told = f"Your shot for hole {asked.hole} is not posted"
        lines = await self._tell(waited, told, [f"The coach says: {plain(why)}"] if why else [])
        title = f"Declined: hole {asked.hole}, line {asked.variant}"
        await respond(interaction, embed=plain_embed(title, lines), ephemeral=True)

    async def _tell(self, waited: Waited, title: str, lines: list[str]) -> list[str]:
        """Write to who shared it; what a coach should know of that."""
        name = plain(waited.line.line.author) if waited.line.line else "Its author"
        if waited.author_id is None:
            return []
        said = [f"{plain(waited.event)}, line {waited.line.variant}", *lines]
        try:
            told = await tell_member(self.bot, waited.author_id, plain_embed(title, said))
        except discord.HTTPException as error:
            log.warning("an author could not be told: %s", error)
            told = False
        if told:
            return [f"{name} has been told."]
        return [f"{name} takes no direct messages: tell them yourself."]

    async def _share(
        self, interaction: Interaction, share: Share, file: discord.File | None
    ) -> None:
        await acknowledge(interaction)
        who = actor_of(interaction)
        shared = await self.service.share(who, share, interaction_id=interaction.id)
        line = shared.line.line
        assert line is not None
        await self.messages.post(who.community_id, share.event, share.hole, line)
        await self._publisher.deliver(who.community_id)
        lines = [f"⚠ {plain(each)}" for each in doubts_of(line)]
        lines += await self._outcome(who.community_id, shared, file)
        view = view_of([DecideShared(BACK, share.hole, line.variant, share.event).as_button()])
        title = f"Shared as an idea: hole {share.hole}, line {line.variant}"
        await respond(interaction, embed=plain_embed(title, lines), view=view, ephemeral=True)
        if shared.told is not None and shared.told.counted:
            await self.service.results.learn(who.community_id)
            await self._publisher.refresh(
                BookChange(who.community_id, share.event, frozenset({share.hole}))
            )

    async def _outcome(
        self, community_id: int, shared: Shared, file: discord.File | None
    ) -> list[str]:
        """Where it stands, or what to grant; adds the picture to the message."""
        found = await self.messages.message(
            community_id, shared.event, shared.line.hole, shared.line.variant
        )
        if shared.line.line is not None and shared.line.line.waiting:
            return ["It waits for a coach to approve it. You get a direct message."]
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
