"""/event: whole events in, the current event, its round and its winds."""

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import coaches_only, require_coach
from bot.chat.file_problems import problems_embed
from bot.chat.forms import OPENS_FORM
from bot.chat.message import plain_embed, view_of
from bot.chat.respond import (
    Interaction,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    chosen,
    community_of,
    respond,
    suggestions,
    typed,
)
from bot.chat.router import Router
from bot.commands.book.event_cards import (
    begun_embed,
    loaded_embed,
    question_embed,
    rows_refused_embeds,
    winds_set_embed,
)
from bot.commands.book.forms import new_event_form, winds_form
from bot.commands.book.whole_event_cog import Name, WholeEventCommands, refused
from bot.services.book import suggest
from bot.services.book.event_service import EventService, LoadQuestion, require_size
from bot.services.book.hole_rows import hole_row
from bot.services.book.rounds import RoundStarts
from bot.services.book.shot_rows import RowsError
from bot.services.book_actions import DecideLoad, NewEventForm, WindsForm
from bot.services.reminders import RoundReminders
from bot.services.roles import Roles
from shared import limits
from shared.errors import InputError
from shared.text import plain
from shared.toml_file import FileProblemsError

event = WholeEventCommands.event


class EventCog(WholeEventCommands):
    """Discord in and out for events."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        router: Router,
        service: EventService,
        roles: Roles,
        starts: RoundStarts,
        reminders: RoundReminders,
    ) -> None:
        super().__init__(
            bot=bot,
            router=router,
            service=service,
            roles=roles,
            starts=starts,
            reminders=reminders,
        )
        router.on_form(WindsForm, self._winds_typed)
        router.on_form(NewEventForm, self._new_typed)
        router.on(DecideLoad.name, self._decide_load)

    @event.command(
        name="new",
        description="Begin a cup from nothing, in one form (coaches)",
        extras={OPENS_FORM: True},
    )
    @coaches_only
    async def new(self, interaction: Interaction) -> None:
        """Open the form of a new event."""
        words = await self.service.words(community_of(interaction))
        await interaction.response.send_modal(new_event_form(words))

    async def _new_typed(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        NewEventForm.read(custom_id)
        fields, picked = typed(interaction), chosen(interaction).get("units", ())
        try:
            diff = await self.service.new(actor_of(interaction), fields, picked)
        except RowsError as error:
            embeds = rows_refused_embeds(
                error, fields.get("holes", ""), NewEventForm.labels["holes"]
            )
            await refused(interaction, error, embeds)
            return
        await respond(interaction, embed=begun_embed(diff), ephemeral=True)

    @event.command(name="hole", description="Change a hole's par, length, bearing, name (coaches)")
    @app_commands.describe(
        row="such as: 1 par 4, 372, bearing 20, its name; a tee: a division and its length",
        event="if not the current one",
    )
    @coaches_only
    async def hole(self, interaction: Interaction, row: str, event: str | None = None) -> None:
        """Change a hole's facts; its winds and lines stay, and what is computed follows."""
        found, hole = await self.service.set_hole(actor_of(interaction), row, event=event)
        embed = plain_embed(f"Hole {hole.number} of {plain(found.name)}", [plain(hole_row(hole))])
        await respond(interaction, embed=embed, ephemeral=True)

    @hole.autocomplete("row")
    async def _rows(self, interaction: Interaction, current: str) -> list[app_commands.Choice[str]]:
        event = getattr(interaction.namespace, "event", None)
        try:
            rows = await self.service.hole_rows(community_of(interaction), current, event)
        except InputError:
            rows = []
        return suggestions([(row, row) for row in rows if len(row) <= limits.CHOICE])

    @event.command(name="load", description="Take in an event's file, all or nothing (coaches)")
    @app_commands.describe(file="a TOML file, such as /cup export gives")
    @coaches_only
    async def load(self, interaction: Interaction, file: discord.Attachment) -> None:
        """Load an event from an attachment; its size is looked at before it is fetched."""
        name = plain(file.filename, 60)
        require_size(file.size, name)
        await acknowledge(interaction)
        coach = actor_of(interaction)
        data = await file.read()
        try:
            found = await self.service.load(coach, data, file=file.filename)
        except FileProblemsError as error:
            await respond(interaction, embed=problems_embed(error), ephemeral=True)
            return
        if isinstance(found, LoadQuestion):
            view = view_of(DecideLoad.each(found.token))
            await respond(interaction, embed=question_embed(found), view=view, ephemeral=True)
            return
        await respond(interaction, embed=loaded_embed(found), ephemeral=True)

    async def _decide_load(self, interaction: Interaction, custom_id: str) -> None:
        """Load a file that was asked about, or give it up."""
        await require_coach(self.roles, interaction)
        await acknowledge_change(interaction)
        coach, asked = actor_of(interaction), DecideLoad.read(custom_id)
        if asked.act == "drop":
            name = await self.service.give_up_load(coach, asked.token)
            embed = plain_embed("Nothing was loaded", [f"{plain(name, 60)} was given up."])
        else:
            diff = await self.service.load_asked(coach, asked.token, keep=asked.act == "keep")
            embed = loaded_embed(diff)
        await change_message(interaction, embeds=[embed], view=None)

    @event.command(name="copy", description="Start the next event from this one (coaches)")
    @app_commands.describe(
        name="of the new event",
        winds="take the winds along too; left out, they are set anew",
        event="the one to copy, if not the current one",
    )
    @coaches_only
    async def copy(
        self, interaction: Interaction, name: Name, winds: bool = False, event: str | None = None
    ) -> None:
        """Copy an event; the copy is a draft until /event use."""
        coach = actor_of(interaction)
        diff = await self.service.book.copy(
            coach.community_id, name=name, source=event, winds=winds, author=coach.author
        )
        await respond(interaction, embed=loaded_embed(diff), ephemeral=True)

    @event.command(name="use", description="Make an event the current one (coaches)")
    @app_commands.describe(event="its name")
    @coaches_only
    async def use(self, interaction: Interaction, event: str) -> None:
        """Choose the current event."""
        found = await self.service.book.choose(community_of(interaction), event)
        embed = plain_embed(f"{plain(found.name)} is the current event", [])
        await respond(interaction, embed=embed, ephemeral=True)

    @event.command(name="round", description="Say which round is played now (coaches)")
    @app_commands.describe(round="one of the event's rounds")
    @coaches_only
    async def round(self, interaction: Interaction, round: str) -> None:
        """Choose the current round."""
        found = await self.service.book.set_round(community_of(interaction), round)
        embed = plain_embed(f"Now: {plain(found)}", ["Winds and notes are those of this round."])
        await respond(interaction, embed=embed, ephemeral=True)

    @event.command(
        name="winds",
        description="Set the winds of a round, one hole a row (coaches)",
        extras={OPENS_FORM: True},
    )
    @app_commands.describe(
        division="whose winds", round="if not the current one", event="if not the current one"
    )
    @coaches_only
    async def winds(
        self,
        interaction: Interaction,
        division: str,
        round: str | None = None,
        event: str | None = None,
    ) -> None:
        """Open the form with the winds as they stand."""
        form = await self.service.wind_form(
            community_of(interaction), division=division, round_=round, event_name=event
        )
        await interaction.response.send_modal(winds_form(form))

    async def _winds_typed(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        coach, rows = actor_of(interaction), typed(interaction).get("rows", "")
        form = await self.service.wind_form_of(coach.community_id, WindsForm.read(custom_id))
        try:
            holes = await self.service.set_winds(
                coach.community_id, coach.member_id, form, rows, author=coach.author
            )
        except RowsError as error:
            label = WindsForm.labels["rows"]
            embeds = rows_refused_embeds(error, rows, label, "No wind was set")
            await refused(interaction, error, embeds)
            return
        event = await self.service.book.event(coach.community_id, form.event)
        embed = winds_set_embed(holes, event, division=form.division, round_=form.round)
        await respond(interaction, embed=embed, ephemeral=True)

    @copy.autocomplete("event")
    @use.autocomplete("event")
    @hole.autocomplete("event")
    @winds.autocomplete("event")
    async def _events(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.events(self.service.book, community_of(interaction), current)
        )

    @round.autocomplete("round")
    @winds.autocomplete("round")
    async def _rounds(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.rounds(self.service.book, community_of(interaction), current)
        )

    @winds.autocomplete("division")
    async def _divisions(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.divisions(self.service.book, community_of(interaction), current)
        )
