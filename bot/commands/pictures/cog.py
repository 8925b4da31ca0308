"""/sheet and /guide, and the picture under an answer."""

import asyncio
import io
import re
from collections.abc import Callable
from typing import Any, Literal, Protocol, Self, runtime_checkable

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.embeds import SEA
from bot.chat.pictures import picture_file
from bot.chat.respond import Interaction, answer_error, choices, respond
from bot.services.kits.names import clubs_like
from bot.services.pictures.service import PictureService
from shared import limits
from shared.answer import Answer
from shared.shot_text import format_shot

COG = "DrawCog"
PREFIX = "picture|"
Button = discord.ui.Button[discord.ui.View]
Form = Literal["pdf, A4", "pdf, Letter", "picture", "text for a forum"]


@runtime_checkable
class Draws(Protocol):
    """The cog that draws, found again by a button of an earlier life."""

    service: PictureService


class PictureButton(discord.ui.DynamicItem[Button], template=r"picture\|(?P<text>.+)"):
    """Shows the picture of the answer above it; its custom id holds the question."""

    def __init__(self, text: str) -> None:
        super().__init__(Button(label="Picture", custom_id=f"{PREFIX}{text}"))
        self.text = text

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        return cls(match["text"])

    async def callback(self, interaction: Interaction) -> None:
        """Draw, and show it to whoever pressed."""
        try:
            await interaction.response.defer(ephemeral=True, thinking=True)
            bot = interaction.client
            cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
            assert isinstance(cog, Draws)
            picture = await cog.service.question(
                interaction.guild_id or 0, interaction.user.id, self.text
            )
            embed = discord.Embed(description=f"For {self.text}", colour=SEA)
            embed.set_image(url="attachment://shot.png")
            await respond(
                interaction, embed=embed, file=picture_file(picture, "shot.png"), ephemeral=True
            )
        except Exception as error:
            await answer_error(interaction, error)


def picture_text(answer: Answer) -> str:
    """An answer's question with the grade and the ball it was answered for."""
    named = answer.shot.model_copy(update={"grade": answer.grade, "ball": answer.ball})
    return format_shot(named)


def picture_view(text: str) -> discord.ui.View | None:
    """A view with the picture button, None for a question too long to stand in its id."""
    if len(PREFIX) + len(text) > limits.CUSTOM_ID:
        return None
    view = discord.ui.View(timeout=None)
    view.add_item(PictureButton(text))
    return view


class DrawCog(commands.Cog):
    """Discord in and out for what is drawn."""

    def __init__(self, *, bot: commands.Bot, service: PictureService) -> None:
        self.bot = bot
        self.service = service

    async def cog_load(self) -> None:
        """Register the button."""
        self.bot.add_dynamic_items(PictureButton)

    @app_commands.command(name="sheet", description="A page of allowances to keep open")
    @app_commands.guild_only()
    @app_commands.describe(club="one club; leave out for the whole bag")
    async def sheet(self, interaction: Interaction, club: str | None = None) -> None:
        """Show a member the wind sheet of their bag, with its numbers as CSV."""
        await interaction.response.defer(ephemeral=True, thinking=True)
        sheet = await self.service.sheet(interaction.guild_id or 0, interaction.user.id, club)
        embed = discord.Embed(title=sheet.scene.title, description=sheet.scene.subtitle, colour=SEA)
        embed.set_image(url="attachment://wind-sheet.png")
        files = [
            picture_file(sheet.picture, "wind-sheet.png"),
            discord.File(io.BytesIO(sheet.csv.encode()), filename="wind-sheet.csv"),
        ]
        await respond(interaction, embed=embed, files=files, ephemeral=True)

    @sheet.autocomplete("club")
    async def _club(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(interaction.guild_id or 0)
        return choices(clubs_like(caddie.kit, current))

    @app_commands.command(name="guide", description="The round as a guide to print or to share")
    @app_commands.guild_only()
    @app_commands.describe(
        mine="with your own bag, not those the lines were tested with", form="pdf, picture or text"
    )
    async def guide(
        self, interaction: Interaction, mine: bool = False, form: Form = "pdf, A4"
    ) -> None:
        """Make the guide of the round, saying how far it is."""
        await interaction.response.defer(ephemeral=True, thinking=True)
        guide = await self.service.guide(interaction.guild_id or 0, interaction.user.id, mine=mine)
        press = self.service.press
        said = f"{guide.title}: {len(guide.holes)} holes, {guide.whose}."
        files: list[discord.File]
        with_progress = _progress(interaction)
        if form == "text for a forum":
            text = await press.guide_markdown(guide)
            files = [discord.File(io.BytesIO(text.encode()), filename="guide.md")]
        elif form == "picture":
            images = await press.guide_images(guide, progress=with_progress)
            files = [
                discord.File(io.BytesIO(image), filename=f"guide-{number}.png")
                for number, image in enumerate(images, start=1)
            ][: limits.FILES]
        else:
            paper = "letter" if form == "pdf, Letter" else "a4"
            pdf = await press.guide_pdf(guide, paper=paper, progress=with_progress)
            files = [discord.File(io.BytesIO(pdf), filename="guide.pdf")]
        await respond(interaction, content=said, files=files, ephemeral=True)


def _progress(interaction: Interaction) -> Callable[[int, int], None]:
    """A progress line that is edited as holes are done; an edit under way is not waited for."""
    under_way: set[asyncio.Task[Any]] = set()

    def progress(done: int, count: int) -> None:
        if under_way or done >= count:
            return
        edit = interaction.edit_original_response(content=f"Making the guide: {done} of {count}")
        task = asyncio.ensure_future(edit)
        under_way.add(task)
        task.add_done_callback(under_way.discard)

    return progress
