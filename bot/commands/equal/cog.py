"""/equal: which clubs and grades reach a carry, and how each is set up."""

import asyncio

from discord import app_commands
from discord.ext import commands

from bot.chat.respond import Interaction, choices, community_of, respond
from bot.commands.equal.card import equal_embed
from bot.services.equivalents import read_carry, ways
from bot.services.kits.names import balls_like
from bot.services.wind.service import WindService
from shared.shot_text import format_shot


class EqualCog(commands.Cog):
    """Discord in and out for equivalents."""

    def __init__(self, service: WindService) -> None:
        self.service = service

    @app_commands.command(name="equal", description="Every club and grade that reaches a carry")
    @app_commands.guild_only()
    @app_commands.describe(
        carry="such as: 150, or 137 m",
        wind="such as: 8.4 mph from 2; calm without one",
        height="of the target, such as: up 5, or down 10%",
        ball="a ball of the kit, if not your own",
    )
    async def equal(
        self,
        interaction: Interaction,
        carry: str,
        wind: str = "calm",
        height: str | None = None,
        ball: str | None = None,
    ) -> None:
        """Answer with the equivalents of a carry, to the member alone."""
        community = community_of(interaction)
        caddie = await self.service.kits.caddie(community)
        bag = await self.service.bags.get(community, interaction.user.id)
        shot = read_carry(carry=carry, wind=wind, height=height, ball=ball, kit=caddie.kit, bag=bag)
        found = await asyncio.to_thread(ways, shot=shot, caddie=caddie, bag=bag)
        embed = equal_embed(
            found, asked=format_shot(shot), units=bag.units, mark=caddie.kit.mark.name
        )
        await respond(interaction, embed=embed, ephemeral=True)

    @equal.autocomplete("ball")
    async def _ball(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(balls_like(caddie.kit, current))
