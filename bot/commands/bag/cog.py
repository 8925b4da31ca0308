"""/bag: set and show your grades, ball and units."""

from discord import app_commands
from discord.ext import commands

from bot.chat.respond import Interaction, choices, community_of, respond
from bot.chat.router import everywhere
from bot.commands.bag.card import bag_embed
from bot.services.kits.names import ball_name, balls_like, club_name, clubs_like, grades_like
from bot.services.members import BagCache, Caddies, grades_to_set
from shared.units import UnitSystem


class BagCog(commands.Cog):
    """Discord in and out for the bag."""

    def __init__(self, *, kits: Caddies, bags: BagCache) -> None:
        self.kits = kits
        self.bags = bags

    @everywhere
    @app_commands.command(name="bag", description="Show your bag, or set a grade, a ball, units")
    @app_commands.describe(
        units="in what you read and type distances and wind speeds",
        club="the club whose grade you set; leave out to set all clubs that have the grade",
        grade="the grade you own",
        ball="the ball you play",
        private="show answers to you alone",
    )
    async def bag(
        self,
        interaction: Interaction,
        units: UnitSystem | None = None,
        club: str | None = None,
        grade: str | None = None,
        ball: str | None = None,
        private: bool | None = None,
    ) -> None:
        """Set what is given, then show the bag to its member."""
        community, member = community_of(interaction), interaction.user.id
        kit = (await self.kits.caddie(community)).kit
        grades = grades_to_set(kit=kit, club=club and club_name(kit, club), grade=grade)
        if grades or ball or units or private is not None:
            chosen = ball and ball_name(kit, ball)
            bag = await self.bags.change(
                community, member, grades=grades, ball=chosen, units=units, private=private
            )
        else:
            bag = await self.bags.get(community, member)
        await respond(interaction, embed=bag_embed(bag, kit), ephemeral=True)

    @bag.autocomplete("club")
    async def _clubs(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        kit = (await self.kits.caddie(community_of(interaction))).kit
        return choices(clubs_like(kit, current))

    @bag.autocomplete("grade")
    async def _grades(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        kit = (await self.kits.caddie(community_of(interaction))).kit
        club = getattr(interaction.namespace, "club", None)
        return choices(grades_like(kit, current, club=club))

    @bag.autocomplete("ball")
    async def _balls(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        kit = (await self.kits.caddie(community_of(interaction))).kit
        return choices(balls_like(kit, current))
