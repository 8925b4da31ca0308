"""/wind and /aim: the wind question, typed whole or field by field."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import answer_embed, view_of, why_embed
from bot.chat.respond import (
    Interaction,
    change_message,
    choices,
    community_of,
    picked,
    respond,
)
from bot.chat.router import Router, everywhere
from bot.commands.wind.equal_card import equal_buttons, equal_embed
from bot.services.actions import ShowPicture
from bot.services.answer_actions import PickWind, WhyAnswer
from bot.services.kits.names import balls_like, clubs_like
from bot.services.wind.service import Reply, Ways, WindService, answer_menus, whole_text
from bot.services.wind_menus import changed_wind
from shared import limits
from shared.answer_text import answer_lines
from shared.kit import SurfaceKind
from shared.shot_text import format_shot

Choices = list[app_commands.Choice[str]]


class WindCog(commands.Cog):
    """Discord in and out for wind questions."""

    def __init__(self, *, router: Router, service: WindService) -> None:
        self.service = service
        router.on(PickWind.name, self._picked)
        router.on(WhyAnswer.name, self._why)

    @everywhere
    @app_commands.command(name="wind", description="Ask how far to aim off: wind, club, distance")
    @app_commands.describe(
        question="such as: 8 from 2, your club, 140",
        onto="what the ball is to end on at the target; without it: where it comes down",
        private="show the answer to you alone; /bag says it once for all",
    )
    async def wind(
        self,
        interaction: Interaction,
        question: str,
        onto: SurfaceKind | None = None,
        private: bool | None = None,
    ) -> None:
        """Answer a typed wind question."""
        text = f"{question}, onto {onto}" if onto else question
        await self._answer(interaction, text, private)

    @wind.autocomplete("question")
    async def _question(self, interaction: Interaction, current: str) -> Choices:
        found = await self.service.suggest(
            community_id=community_of(interaction), member_id=interaction.user.id, text=current
        )
        return [
            app_commands.Choice(name=each.shown, value=each.value)
            for each in found[: limits.CHOICES]
        ]

    @everywhere
    @app_commands.command(name="aim", description="Ask how far to aim off, field by field")
    @app_commands.describe(
        wind="such as: 8 from 2, or 8 into",
        club="a club of the kit",
        distance="such as: 140; in another unit than yours: 140 m, 150 yd",
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
        await self._answer(interaction, text, None)

    @aim.autocomplete("club")
    async def _club(self, interaction: Interaction, current: str) -> Choices:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))

    @aim.autocomplete("ball")
    async def _ball(self, interaction: Interaction, current: str) -> Choices:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(balls_like(caddie.kit, current))

    async def _answer(self, interaction: Interaction, text: str, private: bool | None) -> None:
        community, member = community_of(interaction), interaction.user.id
        reply = await self.service.reply(community_id=community, member_id=member, text=text)
        alone = reply.private if private is None else private
        embed, view = answer_of(reply, member)
        await respond(interaction, embed=embed, view=view, ephemeral=alone)

    async def _picked(self, interaction: Interaction, custom_id: str) -> None:
        """Answer in another wind: in place for who asked, to anybody else alone."""
        asked = PickWind.read(custom_id)
        assert asked.wind is not None
        wind = changed_wind(asked.wind, part=asked.part, picked=picked(interaction))
        member = interaction.user.id
        reply = await self.service.reply(
            community_id=community_of(interaction), member_id=member, text=asked.text, wind=wind
        )
        embed, view = answer_of(reply, member)
        if member == asked.asker:
            await change_message(interaction, embeds=[embed], view=view)
        else:
            await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def _why(self, interaction: Interaction, custom_id: str) -> None:
        """Say what stands behind an answer to whoever pressed."""
        reply = await self.service.reply(
            community_id=community_of(interaction),
            member_id=interaction.user.id,
            text=WhyAnswer.read(custom_id).text,
        )
        assert isinstance(reply, Reply)
        lines = answer_lines(reply.answer, units=reply.units, mark=reply.mark)
        await respond(interaction, embed=why_embed(lines), ephemeral=True)


def answer_of(reply: Reply | Ways, asker: int) -> tuple[discord.Embed, discord.ui.View]:
    """An answer as a message: its card, its menus and its buttons."""
    if isinstance(reply, Ways):
        asked = format_shot(reply.shot)
        embed = equal_embed(reply.found, asked=asked, units=reply.units, mark=reply.mark)
        return embed, view_of(equal_buttons(reply.found, reply.shot))
    text = whole_text(reply.answer)
    buttons = [WhyAnswer(text).button("Why"), ShowPicture(text).button("Picture")] if text else []
    lines = answer_lines(reply.answer, units=reply.units, mark=reply.mark)
    return answer_embed(lines), view_of(buttons, answer_menus(reply, asker))
