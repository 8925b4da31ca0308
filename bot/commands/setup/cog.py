"""/setup: who coaches and where notes go."""

from collections import Counter

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import COACHES_SEE, managers_only, require_manager, seen_words
from bot.chat.message import plain_embed
from bot.chat.permissions import NOTES, POST, lacking_in
from bot.chat.respond import Interaction, change_message, community_of, picked, respond
from bot.chat.router import Router
from bot.commands.setup.steps import AT_ONCE, step_embed, step_view
from bot.services.roles import Roles
from bot.services.setup import NOTES as NOTES_STEP
from bot.services.setup import SetUp, SetupService
from bot.services.setup_actions import PickSetup, SetupStep
from shared.text import plain
from shared.wording import plural
from storage.outbox import Message, Outbox

MOST_CAUSES = 5  # shown, of what Discord refused


class SetupCog(commands.Cog):
    """Discord in and out for what a community sets up."""

    setup = app_commands.Group(
        name="setup",
        description="Who coaches, and where hole notes go",
        guild_only=True,
        default_permissions=COACHES_SEE,
    )

    def __init__(
        self, *, router: Router, service: SetupService, roles: Roles, outbox: Outbox
    ) -> None:
        self.roles = roles
        self._service = service
        self._outbox = outbox
        router.on(SetupStep.name, self._pressed)
        router.on(PickSetup.name, self._picked)

    @setup.command(name="start", description="Everything to set up once, step by step")
    @managers_only
    async def start(self, interaction: Interaction) -> None:
        """Open the set-up at the first step that is not done."""
        found = await self._service.now(community_of(interaction))
        step = found.next_step
        embed, view = _embed(interaction, found, step), step_view(found, step)
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        require_manager(interaction)
        asked, community = SetupStep.read(custom_id), community_of(interaction)
        found = await self._service.now(community)
        if asked.act == "none":
            for place in range(max(len(found.divisions), 1)):
                found = await self._service.set(community, asked.step, None, place)
        await self._show(interaction, found, asked.step, asked.page)

    async def _picked(self, interaction: Interaction, custom_id: str) -> None:
        require_manager(interaction)
        asked, chosen = PickSetup.read(custom_id), picked(interaction)
        number = int(chosen) if chosen.isdecimal() else None
        found = await self._service.set(community_of(interaction), asked.step, number, asked.place)
        await self._show(interaction, found, asked.step, asked.place // AT_ONCE * AT_ONCE)

    async def _show(self, interaction: Interaction, found: SetUp, step: str, page: int) -> None:
        embed, view = _embed(interaction, found, step, page), step_view(found, step, page)
        await change_message(interaction, embeds=[embed], view=view)

    @setup.command(name="coach", description="Name the role whose members are coaches")
    @app_commands.describe(role="left out: those who manage the server are coaches")
    @managers_only
    async def coach(self, interaction: Interaction, role: discord.Role | None = None) -> None:
        """Set the coach role."""
        await self.roles.set_coach_role(community_of(interaction), role.id if role else None)
        who = role.mention if role else "those who manage this server"
        lines = [f"Coaches now: {who}. They write the book; everybody reads it."]
        if role:
            lines += seen_commands(interaction.client)
        await respond(interaction, embed=plain_embed("Set", lines), ephemeral=True)

    @setup.command(name="notes", description="Name the channel where hole notes are posted")
    @app_commands.describe(channel="a text channel, a thread or a forum")
    @managers_only
    async def notes(
        self,
        interaction: Interaction,
        channel: discord.TextChannel | discord.Thread | discord.ForumChannel,
    ) -> None:
        """Set the notes channel, and say what the bot may not do there yet."""
        await self.roles.set_notes_channel(community_of(interaction), channel.id)
        lines = [f"Hole notes go to {channel.mention}."]
        lacking = lacking_in(channel, NOTES)
        if lacking:
            lines.append(f"There I still need: {', '.join(lacking)}.")
        await respond(interaction, embed=plain_embed("Set", lines), ephemeral=True)

    @setup.command(name="audit", description="Name the channel that hears what coaches change")
    @app_commands.describe(channel="left out: no channel hears of it")
    @managers_only
    async def audit(
        self, interaction: Interaction, channel: discord.TextChannel | None = None
    ) -> None:
        """Set the audit channel, and say what the bot may not do there yet."""
        community = community_of(interaction)
        await self.roles.set_audit_channel(community, channel.id if channel else None)
        lines = ["No channel hears what coaches change."]
        if channel:
            lines = [f"{channel.mention} hears what coaches change, who did and why."]
            lacking = lacking_in(channel, POST)
            if lacking:
                lines.append(f"There I still need: {', '.join(lacking)}.")
        await respond(interaction, embed=plain_embed("Set", lines), ephemeral=True)

    @setup.command(name="show", description="What is set up here")
    @managers_only
    async def show(self, interaction: Interaction) -> None:
        """Show the settings."""
        community = community_of(interaction)
        role, channel = (
            await self.roles.coach_role(community),
            await self.roles.notes_channel(community),
        )
        lines = [
            f"Coaches: {f'<@&{role}>' if role else 'those who manage this server'}",
            f"Hole notes: {f'<#{channel}>' if channel else 'no channel yet, see /setup notes'}",
        ]
        audit = await self.roles.audit_channel(community)
        lines += [f"What coaches change: <#{audit}>"] if audit else []
        approval = await self.roles.approval_channel(community)
        lines += [f"Shares wait for a coach in: <#{approval}>"] if approval else []
        lines += refused_lines(await self._outbox.refused(community))
        await respond(interaction, embed=plain_embed("Set up", lines), ephemeral=True)


def _embed(interaction: Interaction, found: SetUp, step: str, page: int = 0) -> discord.Embed:
    def lacking(channel_id: int | None, step: str) -> list[str]:
        guild = interaction.guild
        channel = guild.get_channel_or_thread(channel_id) if guild and channel_id else None
        if channel is None:
            return ["the channel back, or another one"] if channel_id else []
        return lacking_in(channel, NOTES if step == NOTES_STEP else POST)

    seen = seen_commands(interaction.client)
    return step_embed(found, step, lacking=lacking, seen=seen, page=page)


def refused_lines(messages: list[Message]) -> list[str]:
    """What Discord refused for good: how many messages in which channel, and why."""
    causes = Counter((each.channel_id, each.trouble or "no cause given") for each in messages)
    return [
        f"Not posted in <#{channel}>: {plural(count, 'message')}, {plain(trouble, 200)}."
        for (channel, trouble), count in causes.most_common(MOST_CAUSES)
    ]


def seen_commands(client: discord.Client) -> list[str]:
    """Whom Discord lists which commands, in sentences."""
    tree = client.tree if isinstance(client, commands.Bot) else None
    return seen_words(tree.get_commands(type=discord.AppCommandType.chat_input) if tree else [])
