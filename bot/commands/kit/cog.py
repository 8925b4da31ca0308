"""/clubs: what the group's game offers. /kit: a coach's own game in and out."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import COACHES_SEE, coaches_only, require_coach
from bot.chat.file_problems import problems_embed
from bot.chat.message import plain_embed, view_of
from bot.chat.respond import (
    Interaction,
    Message,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    community_of,
    respond,
)
from bot.chat.router import Router, everywhere
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
        description="Your own game: its file in and out, and what it was (coaches)",
        guild_only=True,
        default_permissions=COACHES_SEE,
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

    @everywhere
    @app_commands.command(name="clubs", description="The clubs, grades and balls of the game")
    @app_commands.describe(file="also as the game's file")
    async def clubs(self, interaction: Interaction, file: bool = False) -> None:
        """Show the kit to the member who asks."""
        community = community_of(interaction)
        kit = (await self.kits.caddie(community)).kit
        units = (await self.bags.get(community, interaction.user.id)).units
        own = await self._service.has_own(community)
        embed = kit_embed(kit, units, whose="your group's own" if own else "")
        message = Message(embed=embed)
        if file:
            message["file"] = await self._file(community, charts=False)
        await respond(interaction, ephemeral=True, **message)

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

    async def _file(self, community: int, *, charts: bool) -> discord.File:
        name, data = await self._service.export(community, charts=charts)
        return discord.File(io.BytesIO(data), filename=name)

    @kit.command(name="export", description="The game's kit as a TOML file (coaches)")
    @app_commands.describe(charts="with the charts that were measured here")
    @coaches_only
    async def export(self, interaction: Interaction, charts: bool = False) -> None:
        """Give the kit's file to the coach who asks."""
        file = await self._file(community_of(interaction), charts=charts)
        said = "Change it as you like; /kit load shows what that changes and takes it in."
        await respond(interaction, content=said, file=file, ephemeral=True)

    @kit.command(name="history", description="Every kit that was loaded, to bring back (coaches)")
    @coaches_only
    async def history(self, interaction: Interaction) -> None:
        """Show the kept kits, with a button for each that brings it back."""
        states = await self._service.history(actor_of(interaction))
        view = view_of(history_buttons(states))
        embed = history_embed(states, self.kits.first)
        await respond(interaction, embed=embed, view=view, ephemeral=True)
