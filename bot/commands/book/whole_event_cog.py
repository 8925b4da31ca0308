"""/event as far as it is about a cup as a whole: its empty file, name, end, dates, winds."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.coaches import COACHES_SEE, coaches_only, require_coach
from bot.chat.direct import tell_member
from bot.chat.forms import OPENS_FORM
from bot.chat.message import plain_embed, view_of
from bot.chat.respond import (
    Interaction,
    Message,
    actor_of,
    change_message,
    community_of,
    respond,
    retry_buttons,
    suggestions,
    typed,
)
from bot.chat.router import Router
from bot.commands.book.event_cards import (
    dated_embed,
    remind_embed,
    reminder_embed,
    rows_refused_embeds,
)
from bot.commands.book.forms import dates_form
from bot.services.actions import RemindMe
from bot.services.book import suggest
from bot.services.book.event_service import EventService
from bot.services.book.rounds import RoundStarts
from bot.services.book.shot_rows import RowsError
from bot.services.book_actions import BringEventBack, DatesForm
from bot.services.reminders import Reminder, RoundReminders
from bot.services.roles import Roles
from shared.text import plain

Name = app_commands.Range[str, 1, 60]
ROUNDS_EVERY_S = 60.0


class WholeEventCommands(commands.Cog):
    """What EventCog stands on."""

    event = app_commands.Group(
        name="event",
        description="Make a cup: its holes, rounds, winds and file (coaches)",
        guild_only=True,
        default_permissions=COACHES_SEE,
    )

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
        self._bot = bot
        self._starts = starts
        self._reminders = reminders
        self.service = service
        self.roles = roles
        router.on(BringEventBack.name, self._bring_back)
        router.on_form(DatesForm, self._dates_typed)
        router.on(RemindMe.name, self._remind_me)
        self.rounds = Background("beginning rounds", self._rounds_due, every_s=ROUNDS_EVERY_S)

    async def cog_load(self) -> None:
        """Begin to look for rounds whose time has come."""
        self.rounds.start()

    async def cog_unload(self) -> None:
        """Stop looking."""
        await self.rounds.stop()

    async def _rounds_due(self) -> None:
        """Begin rounds whose time has come, and remind who asked."""
        await self._starts.begin_due()
        await self._reminders.send_due(self._tell)

    async def _tell(self, reminder: Reminder) -> bool:
        off = RemindMe("off", reminder.community_id).as_button()
        return await tell_member(
            self._bot,
            reminder.member_id,
            reminder_embed(reminder),
            view_of([off]),
            token=reminder.token,
        )

    async def _remind_me(self, interaction: Interaction, custom_id: str) -> None:
        """Remind the member from now on, or no more."""
        asked, member = RemindMe.read(custom_id), interaction.user.id
        if asked.act == "on":
            await self._reminders.asked.ask(asked.community_id, member)
        else:
            await self._reminders.asked.end(asked.community_id, member)
        other = RemindMe("off" if asked.act == "on" else "on", asked.community_id)
        embed = remind_embed(on=asked.act == "on")
        view = view_of([other.as_button()])
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    @event.command(name="file", description="An empty file of a cup, to fill in (coaches)")
    @coaches_only
    async def file(self, interaction: Interaction) -> None:
        """Give a file with every field."""
        name, data = await self.service.empty(actor_of(interaction))
        file = discord.File(io.BytesIO(data), filename=name)
        said = "Fill it in; /event load takes it in. A field you leave out is not known."
        await respond(interaction, content=said, file=file, ephemeral=True)

    @event.command(name="rename", description="Give a draft another name (coaches)")
    @app_commands.describe(event="a cup that is not the current one", name="its new name")
    @coaches_only
    async def rename(self, interaction: Interaction, event: str, name: Name) -> None:
        """Rename a draft."""
        coach = actor_of(interaction)
        found = await self.service.book.whole.rename(
            coach.community_id, event, " ".join(name.split()), author=coach.author
        )
        await respond(
            interaction, embed=plain_embed(f"Now: {plain(found.name)}", []), ephemeral=True
        )

    @event.command(name="delete", description="Take a cup out of the book (coaches)")
    @app_commands.describe(event="a cup that is not the current one")
    @coaches_only
    async def delete(self, interaction: Interaction, event: str) -> None:
        """Delete an event, with a button that brings it back."""
        coach = actor_of(interaction)
        found = await self.service.book.whole.delete(coach.community_id, event, author=coach.author)
        embed = plain_embed(
            f"{plain(found.name)} is deleted",
            ["Results stay. The button brings it back as it was, also later."],
        )
        view = view_of([BringEventBack(found.name).button("Bring it back")])
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def _bring_back(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        coach, asked = actor_of(interaction), BringEventBack.read(custom_id)
        found = await self.service.book.whole.bring_back(
            coach.community_id, asked.event, author=coach.author
        )
        embed = plain_embed(f"{plain(found.name)} is back", [])
        await change_message(interaction, embeds=[embed], view=None)

    @event.command(
        name="dates",
        description="Say when rounds begin (coaches)",
        extras={OPENS_FORM: True},
    )
    @app_commands.describe(event="if not the current one")
    @coaches_only
    async def dates(self, interaction: Interaction, event: str | None = None) -> None:
        """Open the form with the dates as they stand."""
        found, rows = await self.service.date_rows(community_of(interaction), event)
        await interaction.response.send_modal(dates_form(found, rows))

    async def _dates_typed(self, interaction: Interaction, custom_id: str) -> None:
        await require_coach(self.roles, interaction)
        rows = typed(interaction).get("rows", "")
        asked = DatesForm.read(custom_id)
        try:
            found = await self.service.set_dates(actor_of(interaction), asked.event, rows)
        except RowsError as error:
            label = DatesForm.labels["rows"]
            embeds = rows_refused_embeds(error, rows, label, "No date was set")
            await refused(interaction, error, embeds)
            return
        await respond(interaction, embed=dated_embed(found), ephemeral=True)

    @rename.autocomplete("event")
    @delete.autocomplete("event")
    @dates.autocomplete("event")
    async def _every_event(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        return suggestions(
            await suggest.events(self.service.book, community_of(interaction), current)
        )


async def refused(interaction: Interaction, error: RowsError, embeds: list[discord.Embed]) -> None:
    """Say which rows can't be read, with a button that gives them back."""
    message = Message(embeds=embeds)
    if (view := retry_buttons(interaction, error)) is not None:
        message["view"] = view
    await respond(interaction, ephemeral=True, **message)
