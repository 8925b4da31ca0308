"""/cup: what everybody reads of the book: the cup, its winds and its lines, and what was before."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import is_coach, require_coach
from bot.chat.message import picture_file, view_of, with_pictures
from bot.chat.respond import (
    Interaction,
    Message,
    acknowledge,
    actor_of,
    change_message,
    community_of,
    respond,
    suggestions,
)
from bot.chat.router import Router
from bot.commands.book.event_cards import (
    event_embed,
    hole_back_buttons,
    hole_history_embed,
    wind_table_embed,
)
from bot.commands.book.line_cards import back_buttons, history_embed, shown_embed
from bot.drawing.pool import PicturePool
from bot.services.actions import RemindMe
from bot.services.book import suggest
from bot.services.book.event_service import EventService
from bot.services.book.line_service import LineService
from bot.services.book_actions import BringBack, BringHoleBack
from bot.services.members import BagCache
from bot.services.pictures.service import PictureService
from bot.services.reminders import RoundReminders
from bot.services.roles import Roles

HOLE = app_commands.Range[int, 1, 18]


class CupCog(commands.Cog):
    """Discord in and out for readers of the book; what coaches write is in commands of theirs."""

    cup = app_commands.Group(
        name="cup", description="The cup: its holes, rounds, winds and lines", guild_only=True
    )

    def __init__(
        self,
        *,
        router: Router,
        events: EventService,
        lines: LineService,
        roles: Roles,
        bags: BagCache,
        reminders: RoundReminders,
        pictures: PictureService,
        pool: PicturePool,
    ) -> None:
        self.roles = roles
        self._events = events
        self._lines = lines
        self._bags = bags
        self._reminders = reminders
        self._pictures = pictures
        self._pool = pool
        router.on(BringBack.name, self._bring_back)
        router.on(BringHoleBack.name, self._bring_hole_back)

    @cup.command(name="show", description="The cup at a glance")
    @app_commands.describe(event="if not the current one")
    async def show(self, interaction: Interaction, event: str | None = None) -> None:
        """Show an event to the member who asks."""
        community, book = community_of(interaction), self._events.book
        units = (await self._bags.get(community, interaction.user.id)).units
        now, round_ = await book.current(community)
        shown = now if event is None else await book.event(community, event)
        current = round_ if shown.key == now.key else None
        message = Message(embed=event_embed(shown, round_=current, units=units))
        if shown.starts:
            asked = await self._reminders.asked.asked(community, interaction.user.id)
            button = RemindMe("off" if asked else "on", community).as_button()
            message["view"] = view_of([button])
        await respond(interaction, ephemeral=True, **message)

    @cup.command(name="winds", description="The winds of the cup, hole by hole")
    @app_commands.describe(event="if not the current one")
    async def winds(self, interaction: Interaction, event: str | None = None) -> None:
        """Show the winds of every round and division."""
        await acknowledge(interaction)
        found, now, units, columns, scene = await self._events.wind_table(
            actor_of(interaction), event
        )
        embed = wind_table_embed(found, now, columns, units)
        file = picture_file(await self._pool.event_winds(scene), "winds.png")
        embed.set_image(url=f"attachment://{file.filename}")
        await respond(interaction, embed=embed, file=file, ephemeral=True)

    @cup.command(name="line", description="A line in full")
    @app_commands.describe(hole="1 to 18", line="its letter")
    async def line(self, interaction: Interaction, hole: HOLE, line: str) -> None:
        """Show a line to the member who asks."""
        await acknowledge(interaction)
        _, shown = await self._lines.show(actor_of(interaction), hole=hole, variant=line)
        answers = [each.answer for each in shown.reading.shots if each.answer is not None]
        pictures = await self._pictures.answers(community_of(interaction), answers, shown.units)
        embeds, files = with_pictures(shown_embed(shown), pictures)
        await respond(interaction, embeds=embeds, files=files, ephemeral=True)

    @cup.command(name="history", description="What became of a hole, or of one of its lines")
    @app_commands.describe(
        hole="1 to 18",
        line="its letter; left out, the hole's facts and winds",
        event="if not the current one",
    )
    async def history(
        self,
        interaction: Interaction,
        hole: HOLE,
        line: str | None = None,
        event: str | None = None,
    ) -> None:
        """Show the revisions of a hole or a line; a coach brings one back with a press."""
        if line is None:
            embed, view = await self._hole_history(interaction, hole, event)
        else:
            found = (await self._events.book.event(community_of(interaction), event)).name
            embed, view = await self._line_history(interaction, found, hole, line)
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    @cup.command(name="export", description="The cup as a TOML file")
    @app_commands.describe(event="if not the current one")
    async def export(self, interaction: Interaction, event: str | None = None) -> None:
        """Give an event's file to the member who asks."""
        name, data = await self._events.export(community_of(interaction), event)
        file = discord.File(io.BytesIO(data), filename=name)
        said = "The cup as it stands."
        if await is_coach(self.roles, interaction):
            said = "Change it as you like; /event load takes it back in."
        await respond(interaction, content=said, file=file, ephemeral=True)

    @show.autocomplete("event")
    @winds.autocomplete("event")
    @history.autocomplete("event")
    @export.autocomplete("event")
    async def _suggest_events(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.events(self._events.book, community_of(interaction), current)
        )

    @line.autocomplete("hole")
    @history.autocomplete("hole")
    async def _holes(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[int]]:
        return suggestions(
            await suggest.holes(self._events.book, community_of(interaction), current)
        )

    @line.autocomplete("line")
    @history.autocomplete("line")
    async def _letters(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        hole = getattr(interaction.namespace, "hole", None)
        return suggestions(
            await suggest.lines(self._events.book, community_of(interaction), hole, current)
        )

    # Buttons ----------------------------------------------------------------------------------

    async def _bring_back(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        asked, coach = BringBack.read(custom_id), actor_of(interaction)
        await self._lines.book.lines.bring_back(
            coach.community_id,
            asked.hole,
            asked.variant,
            asked.revision,
            author=coach.author,
            event=asked.event,
        )
        embed, view = await self._line_history(interaction, asked.event, asked.hole, asked.variant)
        said = f"Revision {asked.revision} is back."
        await respond(interaction, content=said, embed=embed, view=view, ephemeral=True)

    async def _bring_hole_back(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        asked, coach = BringHoleBack.read(custom_id), actor_of(interaction)
        await self._events.book.hole_history.bring_back(
            coach.community_id, asked.hole, asked.revision, event=asked.event, author=coach.author
        )
        embed, view = await self._hole_history(interaction, asked.hole, asked.event)
        await change_message(interaction, embeds=[embed], view=view)

    async def _hole_history(
        self, interaction: Interaction, hole: int, event: str | None
    ) -> tuple[discord.Embed, discord.ui.View]:
        """A hole's history, with a button that brings back each earlier state for a coach."""
        found, revisions = await self._events.book.hole_history.of(
            community_of(interaction), hole, event
        )
        coach = await is_coach(self.roles, interaction)
        view = view_of(hole_back_buttons(found, hole, revisions) if coach else [])
        return hole_history_embed(found, hole, revisions), view

    async def _line_history(
        self, interaction: Interaction, event: str, hole: int, line: str
    ) -> tuple[discord.Embed, discord.ui.View]:
        """A line's history, with a button that brings back each earlier text for a coach."""
        asks = actor_of(interaction)
        found = await self._lines.book.lines.history(asks.community_id, hole, line, event)
        coach = await is_coach(self.roles, interaction)
        view = view_of(back_buttons(found, event) if coach else [])
        return history_embed(found, mark=await self._lines.mark(asks)), view
