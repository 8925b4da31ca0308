"""What Discord tells of communities that come and go, and the daily work. No commands."""

import discord
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.figures import Figures
from bot.services.upkeep import Upkeep
from storage.outbox import Outbox

EVERY_S = 60.0


class UpkeepCog(commands.Cog):
    """Discord's word on who is served."""

    def __init__(
        self, *, bot: commands.Bot, upkeep: Upkeep, outbox: Outbox, figures: Figures
    ) -> None:
        self.bot = bot
        self._outbox = outbox
        self._figures = figures
        self._upkeep = upkeep
        self._begun = False
        self.daily = Background("upkeep", self._turn, every_s=EVERY_S)

    async def cog_load(self) -> None:
        """Begin the daily work."""
        self.daily.start()

    async def cog_unload(self) -> None:
        """Stop it."""
        await self.daily.stop()

    @commands.Cog.listener()
    async def on_ready(self) -> None:
        """Who is served is known now."""
        self._begun = False
        await self.daily.once()

    @commands.Cog.listener()
    async def on_guild_join(self, guild: discord.Guild) -> None:
        """A community invited the bot."""
        await self._upkeep.joined(guild.id)

    @commands.Cog.listener()
    async def on_guild_remove(self, guild: discord.Guild) -> None:
        """A community removed the bot."""
        await self._upkeep.left(guild.id)

    async def _turn(self) -> None:
        if not self.bot.is_ready():
            return
        if not self._begun:
            await self._upkeep.begin([guild.id for guild in self.bot.guilds])
            self._begun = True
        await self._upkeep.do_due()
        self._figures.waiting.set(await self._outbox.waiting())
