"""/line: writing lines, their status and their history."""

from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import coaches_only, require_coach
from bot.chat.forms import OPENS_FORM
from bot.chat.message import plain_embed, view_of, with_pictures
from bot.chat.respond import (
    Interaction,
    acknowledge,
    actor_of,
    change_message,
    chosen,
    community_of,
    respond,
    suggestions,
    typed,
)
from bot.chat.router import Router
from bot.commands.book.forms import draft_button, draft_typed, line_form
from bot.commands.book.line_cards import (
    conflict_embeds,
    given_up_embed,
    history_embed,
    preview_embed,
    refused_embeds,
    shown_embed,
)
from bot.services.actions import DecideDraft, DraftForm
from bot.services.book import suggest
from bot.services.book.drafts import LineDraft
from bot.services.book.line_service import LineService
from bot.services.book.lines import LineConflictError
from bot.services.pictures.service import PictureService
from bot.services.roles import Roles
from shared.book import STATUSES, Event, Status
from shared.errors import InputError

HOLE = app_commands.Range[int, 1, 18]
Number = list[app_commands.Choice[int]]
Letter = list[app_commands.Choice[str]]


class LineCog(commands.Cog):
    """Discord in and out for lines."""

    line = app_commands.Group(
        name="line", description="The lines of a hole: write, change, look back", guild_only=True
    )

    def __init__(
        self, *, router: Router, service: LineService, roles: Roles, pictures: PictureService
    ) -> None:
        self.service = service
        self.roles = roles
        self._pictures = pictures
        router.on(DecideDraft.name, self._deciding)
        router.on(DraftForm.name, self._filled)

    @line.command(
        name="add",
        description="Write a new line for a hole, one shot a row (coaches)",
        extras={OPENS_FORM: True},
    )
    @app_commands.describe(title="a short name, such as: over the bunker", hole="1 to 18")
    @coaches_only
    async def add(self, interaction: Interaction, hole: HOLE, title: str = "") -> None:
        """Open the form of a new line."""
        draft, event = await self.service.begin(actor_of(interaction), hole=hole, title=title)
        await self._open(interaction, draft, event)

    @line.command(name="edit", description="Change a line (coaches)", extras={OPENS_FORM: True})
    @app_commands.describe(hole="1 to 18", line="its letter", title="a new short name")
    @coaches_only
    async def edit(
        self, interaction: Interaction, hole: HOLE, line: str, title: str | None = None
    ) -> None:
        """Open the form of a line that stands."""
        draft, event = await self.service.change(
            actor_of(interaction), hole=hole, variant=line, title=title
        )
        await self._open(interaction, draft, event)

    @line.command(name="show", description="Show a line in full")
    @app_commands.describe(hole="1 to 18", line="its letter")
    async def show(self, interaction: Interaction, hole: HOLE, line: str) -> None:
        """Show a line to the member who asks."""
        await acknowledge(interaction)
        _, shown = await self.service.show(actor_of(interaction), hole=hole, variant=line)
        answers = [each.answer for each in shown.reading.shots if each.answer is not None]
        pictures = await self._pictures.answers(community_of(interaction), answers, shown.units)
        embeds, files = with_pictures(shown_embed(shown), pictures)
        await respond(interaction, embeds=embeds, files=files, ephemeral=True)

    @line.command(name="status", description="Say how far a line has come (coaches)")
    @app_commands.describe(
        hole="1 to 18", line="its letter", status="idea, tested, recommended or retired"
    )
    @coaches_only
    async def status(self, interaction: Interaction, hole: HOLE, line: str, status: str) -> None:
        """Give a line another status."""
        await self._set_status(interaction, hole, line, _status(status))

    @line.command(name="retire", description="Take a line off the notes; it is kept (coaches)")
    @app_commands.describe(hole="1 to 18", line="its letter")
    @coaches_only
    async def retire(self, interaction: Interaction, hole: HOLE, line: str) -> None:
        """Retire a line."""
        await self._set_status(interaction, hole, line, "retired")

    @line.command(name="history", description="Every revision of a line; coaches bring one back")
    @app_commands.describe(
        hole="1 to 18", line="its letter", bring_back="the number of a revision (coaches)"
    )
    async def history(
        self, interaction: Interaction, hole: HOLE, line: str, bring_back: int | None = None
    ) -> None:
        """Show the revisions of a line, after bringing one back where that is asked."""
        coach = actor_of(interaction)
        lines = self.service.book.lines
        if bring_back is not None:
            await require_coach(self.roles, interaction)
            await lines.bring_back(coach.community_id, hole, line, bring_back, author=coach.author)
        found = await lines.history(coach.community_id, hole, line)
        mark = await self.service.mark(coach)
        said = f"Revision {bring_back} is back." if bring_back is not None else ""
        embed = history_embed(found, mark=mark)
        await respond(interaction, content=said, embed=embed, ephemeral=True)

    @add.autocomplete("hole")
    @edit.autocomplete("hole")
    @show.autocomplete("hole")
    @status.autocomplete("hole")
    @retire.autocomplete("hole")
    @history.autocomplete("hole")
    async def _holes(self, interaction: Interaction, current: str) -> Number:
        return suggestions(
            await suggest.holes(self.service.book, community_of(interaction), current)
        )

    @edit.autocomplete("line")
    @show.autocomplete("line")
    @status.autocomplete("line")
    @retire.autocomplete("line")
    @history.autocomplete("line")
    async def _lines(self, interaction: Interaction, current: str) -> Letter:
        hole = getattr(interaction.namespace, "hole", None)
        return suggestions(
            await suggest.lines(self.service.book, community_of(interaction), hole, current)
        )

    @status.autocomplete("status")
    async def _statuses(self, interaction: Interaction, current: str) -> Letter:
        return suggestions(suggest.statuses(current))

    @history.autocomplete("bring_back")
    async def _revisions(self, interaction: Interaction, current: str) -> Number:
        hole = getattr(interaction.namespace, "hole", None)
        line = getattr(interaction.namespace, "line", None)
        return suggestions(
            await suggest.revisions(
                self.service.book, community_of(interaction), hole, line, current
            )
        )

    # Forms and buttons ------------------------------------------------------------------------

    async def _deciding(self, interaction: Interaction, custom_id: str) -> None:
        """What the buttons under a draft do."""
        await require_coach(self.roles, interaction)
        coach, asked = actor_of(interaction), DecideDraft.read(custom_id)
        if asked.act == "change":
            await self._open(interaction, *(await self.service.again(coach, asked.token)))
        elif asked.act == "drop":
            draft = await self.service.give_up(coach, asked.token)
            await change_message(interaction, embeds=[given_up_embed(draft)], view=None)
        else:
            await self._save(interaction, asked.token)

    async def _open(self, interaction: Interaction, draft: LineDraft, event: Event) -> None:
        coach = actor_of(interaction)
        await self.service.wait(coach, draft)
        example = await self.service.example_row(coach)
        form = line_form(draft, divisions=event.divisions, example=example)
        await interaction.response.send_modal(form)

    async def _filled(self, interaction: Interaction, custom_id: str) -> None:
        """Read the draft back as it is typed now, and show it with its buttons."""
        await require_coach(self.roles, interaction)
        coach, token = actor_of(interaction), DraftForm.read(custom_id).token
        fields, picked = typed(interaction), chosen(interaction)
        before, _ = await self.service.again(coach, token)
        draft = draft_typed(before, fields, picked)
        try:
            preview = await self.service.preview(coach, draft)
        except InputError as error:
            embeds, acts = refused_embeds(draft, error), ("change", "drop")
        else:
            embeds = [preview_embed(draft, preview.shown)]
            acts = ("save", "change", "drop")
        view = view_of([draft_button(act, token) for act in acts])
        if interaction.message is not None:  # the form was opened from the card: it changes
            await change_message(interaction, embeds=embeds, view=view)
        else:
            await respond(interaction, embeds=embeds, view=view, ephemeral=True)

    async def _save(self, interaction: Interaction, token: str) -> None:
        coach = actor_of(interaction)
        try:
            kept, shown = await self.service.save(coach, token)
        except LineConflictError as conflict:
            embeds = conflict_embeds(conflict, mark=await self.service.mark(coach))
            view = view_of([draft_button(act, token) for act in ("over", "change", "drop")])
            await change_message(interaction, embeds=embeds, view=view)
            return
        heading = f"Saved: hole {kept.hole}, line {kept.variant}"
        embed = shown_embed(shown, heading=heading)
        embed.set_footer(text=f"Revision {kept.revision}")
        await change_message(interaction, embeds=[embed], view=None)

    async def _set_status(
        self, interaction: Interaction, hole: int, line: str, status: Status
    ) -> None:
        kept = await self.service.set_status(
            actor_of(interaction), hole=hole, variant=line, status=status
        )
        lines = [f"Back with: /line status hole:{hole} line:{kept.variant} status:tested"]
        embed = plain_embed(
            f"Line {kept.hole}{kept.variant} is now: {status}",
            lines if status == "retired" else [],
        )
        await respond(interaction, embed=embed, ephemeral=True)


def _status(typed: str) -> Status:
    statuses = STATUSES
    word = typed.strip().casefold()
    for status in statuses:
        if status == word:
            return status
    raise InputError(f"A line is {', '.join(statuses[:-1])} or {statuses[-1]}.", "tested", typed)
