"""The For me buttons as a feature of the bot."""

from discord.ext import commands

from bot.draw.desk import DrawDesk
from bot.forme.buttons import ForMeButton, OtherLineButton
from bot.forme.desk import ForMeDesk


class ForMeCog(commands.Cog):
    """Has the buttons answered, those of earlier lives too; holds the desk they ask."""

    def __init__(self, *, bot: commands.Bot, desk: ForMeDesk, draw: DrawDesk) -> None:
        self.bot = bot
        self.desk = desk
        self.draw = draw

    async def cog_load(self) -> None:
        """Register the buttons."""
        self.bot.add_dynamic_items(ForMeButton, OtherLineButton)
