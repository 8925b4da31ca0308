"""The Share button of a For-me card."""

import re
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord.ext import commands

from bot.chat.respond import Interaction, answer_error
from shared.quantities import Speed, Wind

COG = "ShareCog"


@runtime_checkable
class Shares(Protocol):
    """The cog that opens the form."""

    async def sharing(
        self, interaction: Interaction, event: str, hole: int, variant: str, wind: Wind
    ) -> None:
        """Ask how it went."""
        ...


class ShareButton(
    discord.ui.DynamicItem[discord.ui.Button[discord.ui.View]],
    template=r"share\|(?P<hole>\d+)\|(?P<variant>[A-Z])\|(?P<mps>[\d.]+)\|(?P<deg>[\d.]+)\|(?P<event>.+)",
):
    """Shares the line of the card as the member plays it."""

    def __init__(self, *, event: str, hole: int, variant: str, wind: Wind) -> None:
        mps, deg = wind.speed.mps, wind.relative_deg
        custom_id = f"share|{hole}|{variant}|{mps:.3f}|{deg:.1f}|{event}"
        super().__init__(discord.ui.Button(label="Share", custom_id=custom_id))
        self.event, self.hole, self.variant, self.wind = event, hole, variant, wind

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        speed = Speed(value=float(match["mps"]), unit="m/s")
        wind = Wind(speed=speed, from_deg=float(match["deg"]))
        return cls(
            event=match["event"], hole=int(match["hole"]), variant=match["variant"], wind=wind
        )

    async def callback(self, interaction: Interaction) -> Any:
        """Open the form; answer what goes wrong."""
        try:
            bot = interaction.client
            cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
            assert isinstance(cog, Shares)
            await cog.sharing(interaction, self.event, self.hole, self.variant, self.wind)
        except Exception as error:
            await answer_error(interaction, error)
