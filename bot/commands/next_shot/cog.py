"""/next: what to play from where the ball lies."""

from discord import app_commands
from discord.ext import commands

from bot.chat.respond import Interaction, acknowledge, community_of, respond
from bot.chat.router import everywhere
from bot.commands.next_shot.card import next_embed
from bot.services.next_shot.service import NextShotService
from shared.kit import SurfaceKind


class NextShotCog(commands.Cog):
    """Discord in and out for the next shot."""

    def __init__(self, service: NextShotService) -> None:
        self.service = service

    @everywhere
    @app_commands.command(name="next", description="What to play from where your ball lies")
    @app_commands.describe(
        left="such as: 140, rough, 6 from 4; a club if you have chosen one",
        onto="what the ball is to end on; the green if you don't say it",
    )
    async def next(self, interaction: Interaction, left: str, onto: SurfaceKind = "green") -> None:
        """Answer with the member's ways to play it, to the member alone."""
        await acknowledge(interaction)
        community, member = community_of(interaction), interaction.user.id
        reply = await self.service.ask(community, member, text=left, onto=onto)
        await respond(interaction, embed=next_embed(reply), ephemeral=True)
