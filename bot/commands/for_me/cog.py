"""The For me buttons as a feature of the bot."""

from discord.ext import commands

from bot.commands.for_me.buttons import ForMeButton, OtherLineButton
from bot.services.for_me import ForMeService
from bot.services.pictures.service import PictureService


class ForMeCog(commands.Cog):
    """Has the buttons answered, those of earlier lives too; holds the desk they ask."""

    def __init__(
        self, *, bot: commands.Bot, service: ForMeService, pictures: PictureService
    ) -> None:
        self.bot = bot
        self.service = service
        self.pictures = pictures

    async def cog_load(self) -> None:
        """Register the buttons."""
        self.bot.add_dynamic_items(ForMeButton, OtherLineButton)
