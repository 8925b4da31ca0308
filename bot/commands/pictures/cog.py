"""/sheet and /guide, and the picture under an answer."""

import asyncio
import io
from collections.abc import Callable
from itertools import zip_longest
from typing import Any, Literal

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import SEA, picture_file
from bot.chat.respond import (
    Interaction,
    acknowledge,
    actor_of,
    choices,
    community_of,
    respond,
    suggestions,
)
from bot.chat.router import Router
from bot.drawing.guide.model import Guide
from bot.drawing.sheet_pages import HOW_TO_READ
from bot.services.actions import ShowPicture
from bot.services.book import suggest
from bot.services.kits.names import balls_like, clubs_like, grades_like
from bot.services.pictures.guides import Chosen, GuideService
from bot.services.pictures.service import PictureService
from shared import limits

MOST_PAGES = 8  # a message
Form = Literal["pdf, A4", "pdf, Letter", "a picture a hole", "text for a forum"]


class PicturesCog(commands.Cog):
    """Discord in and out for what is drawn."""

    def __init__(self, *, router: Router, service: PictureService, guides: GuideService) -> None:
        self.service = service
        self.guides = guides
        router.on(ShowPicture.name, self._asked)

    async def _asked(self, interaction: Interaction, custom_id: str) -> None:
        """Draw the answer above the button, and show it to whoever pressed."""
        await acknowledge(interaction)
        text = ShowPicture.read(custom_id).text
        who = actor_of(interaction)
        picture = await self.service.question(who.community_id, who.member_id, text)
        embed = discord.Embed(description=f"For {text}", colour=SEA)
        embed.set_image(url="attachment://shot.png")
        file = picture_file(picture, "shot.png")
        await respond(interaction, embed=embed, file=file, ephemeral=True)

    @app_commands.command(name="sheet", description="Allowances to keep open or to print")
    @app_commands.guild_only()
    @app_commands.describe(club="one club; leave out for the whole bag")
    async def sheet(self, interaction: Interaction, club: str | None = None) -> None:
        """Show a member the wind sheet of their bag, with its numbers as CSV."""
        await acknowledge(interaction)
        sheet = await self.guides.sheet(community_of(interaction), interaction.user.id, club)
        embeds: list[discord.Embed] = []
        files: list[discord.File] = []
        for scene, pages in zip(sheet.scenes, sheet.pages, strict=True):
            for place, picture in enumerate(pages):
                name = f"wind-sheet-{len(files) + 1}.png"
                embed = discord.Embed(colour=SEA)
                if not place:
                    embed.title, embed.description = scene.title, scene.subtitle
                embed.set_image(url=f"attachment://{name}")
                embeds.append(embed)
                files.append(picture_file(picture, name))
        embeds[0].description = f"{embeds[0].description}\n{HOW_TO_READ}"
        also = [
            discord.File(io.BytesIO(sheet.csv.encode()), filename="wind-sheet.csv"),
            discord.File(io.BytesIO(sheet.pdf), filename="wind-sheet.pdf"),
        ]
        for start in range(0, len(files), MOST_PAGES):
            last = start + MOST_PAGES >= len(files)
            some = slice(start, start + MOST_PAGES)
            sent = [*files[some], *(also if last else [])]
            await respond(interaction, embeds=embeds[some], files=sent, ephemeral=True)

    @sheet.autocomplete("club")
    async def _club(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))

    @app_commands.command(name="guide", description="The round as a guide to print or to share")
    @app_commands.guild_only()
    @app_commands.describe(
        mine="with your own bag, not those the lines were tested with",
        form="pdf, a picture a hole, or text",
        division="if not your own",
        grade="with this grade of every club that has it",
        ball="with this ball",
        wind="such as: 8 from 2; left out, each hole's own",
    )
    async def guide(
        self,
        interaction: Interaction,
        mine: bool = False,
        form: Form = "pdf, A4",
        division: str | None = None,
        grade: str = "",
        ball: str = "",
        wind: str = "",
    ) -> None:
        """Make the guide of the round, saying how far it is."""
        await acknowledge(interaction)
        guide = await self.guides.guide(
            community_of(interaction),
            interaction.user.id,
            mine=mine,
            division=division,
            chosen=Chosen(grade, ball, wind),
        )
        said = f"{guide.title}: {len(guide.holes)} holes, {guide.whose}."
        if guide.bare:
            bare = ", ".join(str(hole.number) for hole in guide.bare)
            said += f" No line yet on {'hole' if len(guide.bare) == 1 else 'holes'} {bare}."
        files = await self._guide_files(interaction, guide, form)
        for start in range(0, len(files), limits.FILES):
            some = files[start : start + limits.FILES]
            await respond(
                interaction, content=said if not start else "", files=some, ephemeral=True
            )

    async def _guide_files(
        self, interaction: Interaction, guide: Guide, form: Form
    ) -> list[discord.File]:
        pool, progress = self.service.pool, _progress(interaction)
        if form == "text for a forum":
            text = await pool.guide_markdown(guide)
            return [discord.File(io.BytesIO(text.encode()), filename="guide.md")]
        if form == "a picture a hole":
            images = await pool.guide_images(guide, progress=progress)
            names = [f"hole-{hole.number}" for hole in guide.lined]
            return [
                discord.File(io.BytesIO(image), filename=f"{name}.png", description=name)
                for name, image in zip_longest(names, images, fillvalue="holes-without-a-line")
                if isinstance(image, bytes)
            ]
        paper = "letter" if form == "pdf, Letter" else "a4"
        pdf = await pool.guide_pdf(guide, paper=paper, progress=progress)
        return [discord.File(io.BytesIO(pdf), filename="guide.pdf")]

    @guide.autocomplete("grade")
    async def _grade(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(grades_like(caddie.kit, current))

    @guide.autocomplete("ball")
    async def _ball(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(balls_like(caddie.kit, current))

    @guide.autocomplete("division")
    async def _divisions(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.divisions(self.guides.book, community_of(interaction), current)
        )


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
