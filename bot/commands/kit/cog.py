"""/kit: what the group's game offers."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import plain_embed
from bot.chat.respond import Interaction, community_of, respond
from bot.chat.router import everywhere
from bot.services.members import BagCache, Caddies
from shared.kit import Club, Kit
from shared.units import UNITS, UnitSystem
from shared.wording import length


class KitCog(commands.Cog):
    """Discord in and out for the kit."""

    def __init__(self, *, kits: Caddies, bags: BagCache) -> None:
        self.kits = kits
        self.bags = bags

    @everywhere
    @app_commands.command(name="kit", description="Show the clubs, grades and balls of the game")
    async def kit(self, interaction: Interaction) -> None:
        """Show the kit to the member who asks."""
        community = community_of(interaction)
        kit = (await self.kits.caddie(community)).kit
        units = (await self.bags.get(community, interaction.user.id)).units
        await respond(interaction, embed=kit_embed(kit, units), ephemeral=True)


def kit_embed(kit: Kit, units: UnitSystem) -> discord.Embed:
    """Clubs with the full carry of each grade, balls and the size of a mark."""
    lines = [_club_line(club, units) for club in kit.clubs]
    balls = [
        f"{ball.name} ({ball.wind_share:.0%} of the wind"
        + (f", {ball.carry_gain:+.0%} carry)" if ball.carry_gain else ")")
        for ball in kit.balls
    ]
    full, short = length(kit.mark.full_yd, units), length(kit.mark.short_yd, units)
    lines += ["", f"**Balls** {', '.join(balls)}"]
    lines += [f"**One {kit.mark.name}** {full} at full carry, {short} at the shortest"]
    lines += [f"**Set-ups** up to {kit.limits.over_full:.0%} beyond full carry"]
    unit = "metres" if UNITS[units].distance == "m" else "yards"
    return plain_embed(f"Kit: {kit.name}", lines, f"Full carries in still air, in {unit}")


def _club_line(club: Club, units: UnitSystem) -> str:
    grades = ", ".join(
        f"{grade.name} {length(grade.full_yd, units, 0).split()[0]}" for grade in club.grades
    )
    return f"**{club.name}** {grades}{' · chart' if club.charted else ''}"
