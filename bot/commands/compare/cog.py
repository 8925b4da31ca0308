"""/compare and /table: what the group's results say."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import picture_file
from bot.chat.respond import Interaction, acknowledge, actor_of, community_of, respond, suggestions
from bot.commands.compare.cards import compare_embed, round_embed
from bot.drawing.pool import PicturePool
from bot.services.book import suggest
from bot.services.compare.bars import bars_of
from bot.services.compare.csv import hole_csv, round_csv
from bot.services.compare.service import CompareService


class CompareCog(commands.Cog):
    """Discord in and out for the tables."""

    def __init__(self, service: CompareService, pool: PicturePool) -> None:
        self.service = service
        self.pool = pool

    @app_commands.command(name="compare", description="A hole's lines by what went in")
    @app_commands.guild_only()
    @app_commands.describe(
        hole="1 to 18", file="also as a CSV file", mine="your wind, if it is not the hole's"
    )
    async def compare(
        self,
        interaction: Interaction,
        hole: app_commands.Range[int, 1, 18],
        file: bool = False,
        mine: app_commands.Range[str, 1, 80] = "",
    ) -> None:
        """Show the table of a hole."""
        await acknowledge(interaction)
        table = await self.service.hole(actor_of(interaction), hole, wind=mine)
        files = [_file(f"hole-{hole}.csv", hole_csv(table))] if file else []
        embed = compare_embed(table)
        scene = bars_of(table)
        if scene is not None:
            embed.set_image(url="attachment://lines.png")
            files.append(picture_file(await self.pool.bars(scene), "lines.png"))
        await respond(interaction, embed=embed, files=files, ephemeral=True)

    @compare.autocomplete("hole")
    async def _holes(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[int]]:
        return suggestions(
            await suggest.holes(self.service.book, community_of(interaction), current)
        )

    @app_commands.command(name="table", description="The round hole by hole: where most is lost")
    @app_commands.guild_only()
    @app_commands.describe(file="also as a CSV file")
    async def table(self, interaction: Interaction, file: bool = False) -> None:
        """Show the table of the current event."""
        table = await self.service.round(actor_of(interaction))
        files = [_file("round.csv", round_csv(table))] if file else []
        await respond(interaction, embed=round_embed(table), files=files, ephemeral=True)


def _file(name: str, data: bytes) -> discord.File:
    return discord.File(io.BytesIO(data), name)
