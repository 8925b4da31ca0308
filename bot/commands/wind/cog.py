"""/wind and /aim: the wind question, typed whole or field by field."""

from discord import app_commands
from discord.ext import commands

from bot.chat.message import answer_embed, view_of
from bot.chat.respond import Interaction, choices, community_of, respond
from bot.services.actions import ShowPicture
from bot.services.kits.names import balls_like, clubs_like
from bot.services.wind.service import WindService, picture_text
from shared import limits
from shared.answer_text import answer_lines

Choices = list[app_commands.Choice[str]]


class WindCog(commands.Cog):
    """Discord in and out for wind questions."""

    def __init__(self, service: WindService) -> None:
        self.service = service

    @app_commands.command(name="wind", description="Ask how far to aim off: wind, club, distance")
    @app_commands.guild_only()
    @app_commands.describe(
        question="such as: 8.4 mph from 2, 5-iron, 165",
        private="show the answer to you alone",
    )
    async def wind(self, interaction: Interaction, question: str, private: bool = False) -> None:
        """Answer a typed wind question."""
        await self._answer(interaction, question, private)

    @wind.autocomplete("question")
    async def _question(self, interaction: Interaction, current: str) -> Choices:
        found = await self.service.suggest(
            community_id=community_of(interaction), member_id=interaction.user.id, text=current
        )
        return [
            app_commands.Choice(name=each.shown, value=each.value)
            for each in found[: limits.CHOICES]
        ]

    @app_commands.command(name="aim", description="Ask how far to aim off, field by field")
    @app_commands.guild_only()
    @app_commands.describe(
        wind="such as: 8.4 mph from 2, or 8 into",
        club="a club of the kit",
        distance="such as: 165, or 151 m",
        height="of the target, such as: up 5, or down 10%",
        ball="a ball of the kit, if not your own",
    )
    async def aim(
        self,
        interaction: Interaction,
        wind: str,
        club: str,
        distance: str,
        height: str | None = None,
        ball: str | None = None,
    ) -> None:
        """Answer a wind question given by options."""
        options = {"wind": wind, "club": club, "distance": distance, "height": height, "ball": ball}
        text = await self.service.text_of(
            options, community_id=community_of(interaction), member_id=interaction.user.id
        )
        await self._answer(interaction, text, private=False)

    @aim.autocomplete("club")
    async def _club(self, interaction: Interaction, current: str) -> Choices:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))

    @aim.autocomplete("ball")
    async def _ball(self, interaction: Interaction, current: str) -> Choices:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(balls_like(caddie.kit, current))

    async def _answer(self, interaction: Interaction, text: str, private: bool) -> None:
        reply = await self.service.reply(
            community_id=community_of(interaction), member_id=interaction.user.id, text=text
        )
        picture = picture_text(reply.answer)
        lines = answer_lines(reply.answer, units=reply.units, mark=reply.mark)
        view = view_of([ShowPicture(picture).button("Picture")] if picture else [])
        await respond(interaction, embed=answer_embed(lines), view=view, ephemeral=private)
