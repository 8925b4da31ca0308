"""/help: what to type."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import plain_embed
from bot.chat.respond import Interaction, community_of, respond
from bot.chat.router import everywhere
from bot.services.kits.examples import examples
from bot.services.members import BagCache, Caddies
from shared.answer_text import FOR_WHOM
from shared.kit import Kit
from shared.units import UNITS, UnitSystem


class HelpCog(commands.Cog):
    """Discord in and out for the help."""

    def __init__(self, *, kits: Caddies, bags: BagCache) -> None:
        self.kits = kits
        self.bags = bags

    @everywhere
    @app_commands.command(name="help", description="What to type, with examples that work")
    async def help(self, interaction: Interaction) -> None:
        """Show the help to the member who asks."""
        community = community_of(interaction)
        kit = (await self.kits.caddie(community)).kit
        units = (await self.bags.get(community, interaction.user.id)).units
        await respond(interaction, embed=help_embed(kit, units), ephemeral=True)


def help_embed(kit: Kit, units: UnitSystem) -> discord.Embed:
    """What to type, in a screenful."""
    numbers = "165, 165 yd, 151 m" if UNITS[units].distance == "yd" else "151, 151 m, 165 yd"
    lines = [
        "Type **/wind** and then wind, club and distance in any order:",
        *(f"`/wind question:{example}`" for example in examples(kit, units)),
        "The first suggestion is the answer before you send.",
        "",
        "**Wind** a clock hour it comes from (12 is into), or into, helping, off the left, calm",
        f"**Distance** {numbers} · **Height** up 5, down 10%",
        "**Spin** back 2, top 1, side 1 left · **Shape** draw, fade",
        "",
        "**/aim** the same, field by field · **/equal** every club that reaches a carry",
        "**/bag** your grades, ball and units · **/kit** what the game offers",
        "**/hole** the notes, *For me* · **/share**, **/compare** what worked",
    ]
    return plain_embed("What to type", lines, FOR_WHOM)
