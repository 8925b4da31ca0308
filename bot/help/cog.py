"""/help: what to type."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.cards.answer import FOR_WHOM
from bot.cards.embeds import plain_embed
from bot.chat.respond import Interaction, respond

EXAMPLES = (
    "8.4 mph from 2, 5-iron, 165",
    "6 helping 7-iron 128 up 10%",
    "5 m/s off the left, sand wedge, 60 m, down 3 m",
)


class HelpCog(commands.Cog):
    """Discord in and out for the help."""

    @app_commands.command(name="help", description="What to type, with examples that work")
    async def help(self, interaction: Interaction) -> None:
        """Show the help to the member who asks."""
        await respond(interaction, embed=help_embed(), ephemeral=True)


def help_embed() -> discord.Embed:
    """What to type, in a screenful."""
    lines = [
        "Type **/wind** and then wind, club and distance in any order:",
        *(f"`/wind question:{example}`" for example in EXAMPLES),
        "The first suggestion is the answer before you send.",
        "",
        "**Wind** a clock hour it comes from (12 is into), or into, helping, off the left, calm",
        "**Distance** 165, 165 yd, 151 m · **Height** up 5, down 10%",
        "**Spin** back 2, top 1, side 1 left · **Shape** draw, fade",
        "",
        "**/aim** the same, field by field",
        "**/bag** your grades, ball and units · **/kit** what the game offers",
    ]
    return plain_embed("What to type", lines, FOR_WHOM)
