"""/help: what to type, everything that who asks may use."""

from collections.abc import Sequence

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import is_coach
from bot.chat.message import plain_embed
from bot.chat.respond import Interaction, community_of, is_outside, respond
from bot.chat.router import everywhere
from bot.commands.help.parts import COACHES, MANAGERS, MEMBERS, Part, shown_name
from bot.services.kits.examples import examples
from bot.services.members import BagCache, Caddies
from bot.services.roles import Roles
from shared.answer_text import FOR_WHOM
from shared.kit import Kit
from shared.units import UNITS, UnitSystem


class HelpCog(commands.Cog):
    """Discord in and out for the help."""

    def __init__(self, *, kits: Caddies, bags: BagCache, roles: Roles) -> None:
        self.kits = kits
        self.bags = bags
        self.roles = roles

    @everywhere
    @app_commands.command(name="help", description="What to type, with examples that work")
    async def help(self, interaction: Interaction) -> None:
        """Show the help to the member who asks, with the parts that they may use."""
        community = community_of(interaction)
        kit = (await self.kits.caddie(community)).kit
        units = (await self.bags.get(community, interaction.user.id)).units
        outside = is_outside(interaction)
        parts = [*MEMBERS]
        if await is_coach(self.roles, interaction):
            parts += COACHES
        if interaction.permissions.manage_guild and not outside:
            parts += MANAGERS
        await respond(interaction, embed=help_embed(kit, units, parts, outside), ephemeral=True)


def help_embed(
    kit: Kit, units: UnitSystem, parts: Sequence[Part] = MEMBERS, outside: bool = False
) -> discord.Embed:
    """What to type first, then every command of these parts; ``outside``: those that work there."""
    numbers = "165, 165 yd, 151 m" if UNITS[units].distance == "yd" else "151, 151 m, 165 yd"
    lines = [
        "Type **/wind** and then wind, club and distance in any order:",
        *(f"`/wind question:{example}`" for example in examples(kit, units)),
        "The first suggestion is the answer before you send.",
        "",
        "**Wind** a clock hour it comes from (12 is into), or into, helping, off the left, calm",
        f"**Distance** {numbers} · **Height** up 5, down 10%",
        "**Spin** back 2, top 1, side 1 left · **Shape** draw, fade",
    ]
    embed = plain_embed("What to type", lines, FOR_WHOM)
    for part in parts:
        rows = [each for each in part.rows if each.anywhere or not outside]
        said = [f"{shown_name(each.commands)} {each.words}" for each in rows]
        if said:
            embed.add_field(name=part.title, value="\n".join(said), inline=False)
    return embed
