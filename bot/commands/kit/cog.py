"""/kit: what the group's game offers, and a coach's own game in and out."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import coaches_only, is_coach, require_coach
from bot.chat.file_problems import problems_embed
from bot.chat.message import plain_embed, view_of
from bot.chat.respond import (
    Interaction,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    community_of,
    respond,
)
from bot.chat.router import Router
from bot.commands.kit.cards import (
    changed_embed,
    history_buttons,
    history_embed,
    kit_embed,
    preview_buttons,
    preview_embed,
    undo_button,
)
from bot.services.kits.service import Changed, KitService, require_kit_size
from bot.services.members import BagCache, Caddies
from bot.services.roles import Roles
from bot.services.setup_actions import BringKitBack, DecideKit
from shared.text import plain
from shared.toml_file import FileProblemsError


class KitCog(commands.Cog):
    """Discord in and out for the kit."""

    kit = app_commands.Group(
        name="kit",
        description="The game: its clubs, grades and balls",
        allowed_contexts=app_commands.AppCommandContext(
            guild=True, dm_channel=True, private_channel=True
        ),
        allowed_installs=app_commands.AppInstallationType(guild=True, user=True),
    )

    def __init__(
        self,
        *,
        router: Router,
        kits: Caddies,
        bags: BagCache,
        service: KitService,
        roles: Roles,
    ) -> None:
        self.kits = kits
        self.bags = bags
        self.roles = roles
        self._service = service
        router.on(DecideKit.name, self._decided)
        router.on(BringKitBack.name, self._bring_back)

    @kit.command(name="show", description="Show the clubs, grades and balls of the game")
    async def show(self, interaction: Interaction) -> None:
        """Show the kit to the member who asks."""
        community = community_of(interaction)
        kit = (await self.kits.caddie(community)).kit
        units = (await self.bags.get(community, interaction.user.id)).units
        own = await self._service.has_own(community)
        embed = kit_embed(kit, units, whose="your group's own" if own else "")
        await respond(interaction, embed=embed, ephemeral=True)

    @kit.command(name="load", description="Take in your own game's file (coaches)")
    @app_commands.describe(file="a TOML file, such as /kit export gives")
    @coaches_only
    async def load(self, interaction: Interaction, file: discord.Attachment) -> None:
        """Show what a kit would change, with buttons that keep it or not."""
        require_kit_size(file.size, plain(file.filename, 60))
        await acknowledge(interaction)
        data = await file.read()
        try:
            found = await self._service.load(actor_of(interaction), data, file=file.filename)
        except FileProblemsError as error:
            await respond(interaction, embed=problems_embed(error), ephemeral=True)
            return
        view = view_of(preview_buttons(found))
        await respond(interaction, embed=preview_embed(found), view=view, ephemeral=True)

    async def _decided(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        coach, asked = actor_of(interaction), DecideKit.read(custom_id)
        await acknowledge_change(interaction)
        if asked.act != "save":
            await self._service.give_up(coach, asked.token)
            embed = plain_embed("Discarded: nothing has changed", [])
            await change_message(interaction, embeds=[embed], view=None)
            return
        await self._told(interaction, await self._service.save(coach, asked.token))

    async def _bring_back(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        asked = BringKitBack.read(custom_id)
        await acknowledge_change(interaction)
        changed = await self._service.bring_back(
            actor_of(interaction), asked.revision, seen=asked.seen
        )
        await self._told(interaction, changed)

    async def _told(self, interaction: Interaction, changed: Changed) -> None:
        view = view_of([undo_button(changed)])
        await change_message(interaction, embeds=[changed_embed(changed)], view=view)

    @kit.command(name="export", description="The game's kit as a TOML file")
    @app_commands.describe(charts="with the charts that were measured here")
    async def export(self, interaction: Interaction, charts: bool = False) -> None:
        """Give the kit's file to the member who asks."""
        name, data = await self._service.export(community_of(interaction), charts=charts)
        file = discord.File(io.BytesIO(data), filename=name)
        said = "Change it as you like; /kit load shows what that changes and takes it in."
        await respond(interaction, content=said, file=file, ephemeral=True)

    @kit.command(name="history", description="Every kit that was loaded; coaches bring one back")
    async def history(self, interaction: Interaction) -> None:
        """Show the kept kits, with a button for each that brings it back for a coach."""
        states = await self._service.history(actor_of(interaction))
        coach = await is_coach(self.roles, interaction)
        view = view_of(history_buttons(states) if coach else [])
        embed = history_embed(states, self.kits.first)
        await respond(interaction, embed=embed, view=view, ephemeral=True)
