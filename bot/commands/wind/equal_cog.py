"""/equal: which clubs and grades reach a carry, and how each is set up."""

import asyncio

from discord import app_commands
from discord.ext import commands

from bot.chat.message import view_of
from bot.chat.respond import Interaction, change_message, choices, community_of, respond
from bot.chat.router import Router, everywhere
from bot.commands.wind.equal_card import equal_buttons, equal_embed
from bot.services.answer_actions import EveryClub
from bot.services.equivalents import read_carry, ways
from bot.services.kits.names import balls_like
from bot.services.wind.service import Ways, WindService
from shared.errors import GONE, InputError
from shared.shot_text import format_shot


class EqualCog(commands.Cog):
    """Discord in and out for equivalents."""

    def __init__(self, *, router: Router, service: WindService) -> None:
        self.service = service
        router.on(EveryClub.name, self._all_asked)

    @everywhere
    @app_commands.command(name="equal", description="Every club and grade that reaches a carry")
    @app_commands.describe(
        carry="such as: 140; in another unit than yours: 140 m, 150 yd",
        wind="such as: 8 from 2; calm without one",
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
        view = view_of(equal_buttons(found, shot))
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def _all_asked(self, interaction: Interaction, custom_id: str) -> None:
        """Show all clubs: in place where only its member sees the message."""
        text = EveryClub.read(custom_id).text
        reply = await self.service.reply(
            community_id=community_of(interaction), member_id=interaction.user.id, text=text
        )
        if not isinstance(reply, Ways):
            raise InputError(GONE, "/equal carry:150")
        embed = equal_embed(reply.found, asked=text, units=reply.units, mark=reply.mark, every=True)
        if interaction.message is not None and interaction.message.flags.ephemeral:
            await change_message(interaction, embeds=[embed], view=None)
        else:
            await respond(interaction, embed=embed, ephemeral=True)

    @equal.autocomplete("ball")
    async def _ball(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(balls_like(caddie.kit, current))
