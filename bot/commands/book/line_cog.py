"""/line: writing lines and their status."""

from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import COACHES_SEE, coaches_only, require_coach
from bot.chat.forms import OPENS_FORM
from bot.chat.message import plain_embed, view_of
from bot.chat.respond import (
    Interaction,
    Message,
    acknowledge,
    actor_of,
    change_message,
    chosen,
    community_of,
    respond,
    retry_buttons,
    suggestions,
    typed,
)
from bot.chat.router import Router
from bot.commands.book.batch_cards import batch_buttons, batch_embed, batch_form, kept_embed
from bot.commands.book.event_cards import rows_refused_embeds
from bot.commands.book.forms import draft_button, draft_typed, line_form
from bot.commands.book.line_cards import (
    conflict_embeds,
    given_up_embed,
    preview_embed,
    refused_embeds,
    shown_embed,
)
from bot.services.book import suggest
from bot.services.book.batches import LineBatches
from bot.services.book.drafts import LineDraft
from bot.services.book.line_service import LineService
from bot.services.book.lines import LineConflictError
from bot.services.book.shot_rows import RowsError
from bot.services.book_actions import BatchForm, DecideBatch, DecideDraft, DraftForm
from bot.services.roles import Roles
from shared import limits
from shared.book import STATUSES, Event, Status
from shared.errors import InputError
from shared.text import code_block

HOLE = app_commands.Range[int, 1, 18]
Number = list[app_commands.Choice[int]]
Letter = list[app_commands.Choice[str]]


class LineCog(commands.Cog):
    """Discord in and out for lines."""

    line = app_commands.Group(
        name="line",
        description="The lines of a hole: write, change, bring back (coaches)",
        guild_only=True,
        default_permissions=COACHES_SEE,
    )

    def __init__(
        self,
        *,
        router: Router,
        service: LineService,
        batches: LineBatches,
        roles: Roles,
    ) -> None:
        self.service = service
        self.batches = batches
        self.roles = roles
        router.on(DecideDraft.name, self._deciding)
        router.on_form(DraftForm, self._filled)
        router.on_form(BatchForm, self._pasted)
        router.on(DecideBatch.name, self._decide_batch)

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

    @line.command(
        name="many",
        description="Write many lines at once, one a row (coaches)",
        extras={OPENS_FORM: True},
    )
    @app_commands.describe(event="if not the current one")
    @coaches_only
    async def many(self, interaction: Interaction, event: str | None = None) -> None:
        """Open the form of many lines."""
        example = await self.batches.example_row(actor_of(interaction), event)
        await interaction.response.send_modal(batch_form(event or "", example=example))

    @line.command(name="copy", description="Copy lines to a division or a hole (coaches)")
    @app_commands.describe(
        division="for which division",
        of="only lines this division plays",
        hole="only of this hole",
        line="only this line of the hole",
        to_hole="to another hole",
        event="if not the current one",
    )
    @coaches_only
    async def copy(
        self,
        interaction: Interaction,
        division: str | None = None,
        of: str | None = None,
        hole: HOLE | None = None,
        line: str | None = None,
        to_hole: HOLE | None = None,
        event: str | None = None,
    ) -> None:
        """Show what the copies will be, in the wind they are to be played in."""
        await acknowledge(interaction)
        found = await self.batches.copy(
            actor_of(interaction),
            division=division,
            source=of,
            hole=hole,
            variant=line,
            to_hole=to_hole,
            event=event,
        )
        view = view_of(batch_buttons(found))
        await respond(interaction, embed=batch_embed(found), view=view, ephemeral=True)

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

    @line.command(name="bring-back", description="Bring an earlier text of a line back (coaches)")
    @app_commands.describe(hole="1 to 18", line="its letter", revision="its number in /cup history")
    @coaches_only
    async def back(self, interaction: Interaction, hole: HOLE, line: str, revision: int) -> None:
        """Bring back a revision that is older than those with a button."""
        coach = actor_of(interaction)
        kept = await self.service.book.lines.bring_back(
            coach.community_id, hole, line, revision, author=coach.author
        )
        title = f"Line {kept.hole}{kept.variant}: revision {revision} is back"
        await respond(interaction, embed=plain_embed(title, []), ephemeral=True)

    @copy.autocomplete("division")
    @copy.autocomplete("of")
    async def _divisions(self, interaction: Interaction, current: str) -> Letter:
        return suggestions(
            await suggest.divisions(self.service.book, community_of(interaction), current)
        )

    @many.autocomplete("event")
    @copy.autocomplete("event")
    async def _events(self, interaction: Interaction, current: str) -> Letter:
        return suggestions(
            await suggest.events(self.service.book, community_of(interaction), current)
        )

    @copy.autocomplete("hole")
    @copy.autocomplete("to_hole")
    @add.autocomplete("hole")
    @edit.autocomplete("hole")
    @status.autocomplete("hole")
    @retire.autocomplete("hole")
    @back.autocomplete("hole")
    async def _holes(self, interaction: Interaction, current: str) -> Number:
        return suggestions(
            await suggest.holes(self.service.book, community_of(interaction), current)
        )

    @copy.autocomplete("line")
    @edit.autocomplete("line")
    @status.autocomplete("line")
    @retire.autocomplete("line")
    @back.autocomplete("line")
    async def _lines(self, interaction: Interaction, current: str) -> Letter:
        hole = getattr(interaction.namespace, "hole", None)
        return suggestions(
            await suggest.lines(self.service.book, community_of(interaction), hole, current)
        )

    @status.autocomplete("status")
    async def _statuses(self, interaction: Interaction, current: str) -> Letter:
        return suggestions(suggest.statuses(current))

    @back.autocomplete("revision")
    async def _revisions(self, interaction: Interaction, current: str) -> Number:
        hole = getattr(interaction.namespace, "hole", None)
        line = getattr(interaction.namespace, "line", None)
        return suggestions(
            await suggest.revisions(
                self.service.book, community_of(interaction), hole, line, current
            )
        )

    # Forms and buttons ------------------------------------------------------------------------

    async def _pasted(self, interaction: Interaction, custom_id: str) -> None:
        """Read many lines back as they are typed, and show them with their buttons."""
        await require_coach(self.roles, interaction)
        event = BatchForm.read(custom_id).event or None
        rows = typed(interaction).get("rows", "")
        await acknowledge(interaction)
        try:
            found = await self.batches.paste(actor_of(interaction), rows, event)
        except RowsError as error:
            message = Message(embeds=rows_refused_embeds(error, rows, BatchForm.labels["rows"]))
            if (view := retry_buttons(interaction, error)) is not None:
                message["view"] = view
            await respond(interaction, ephemeral=True, **message)
            return
        buttons = view_of(batch_buttons(found))
        await respond(interaction, embed=batch_embed(found), view=buttons, ephemeral=True)

    async def _decide_batch(self, interaction: Interaction, custom_id: str) -> None:
        """What the buttons under many lines do."""
        await require_coach(self.roles, interaction)
        coach, asked = actor_of(interaction), DecideBatch.read(custom_id)
        if asked.act == "change":
            draft = await self.batches.waiting(coach, asked.token)
            example = await self.batches.example_row(coach, draft.event)
            form = batch_form(draft.event, example=example, rows=draft.rows)
            await interaction.response.send_modal(form)
        elif asked.act == "drop":
            draft = await self.batches.give_up(coach, asked.token)
            rows = [code_block(draft.rows, limits.DESCRIPTION - 12)] if draft.rows else []
            embed = plain_embed("Given up, nothing was saved", rows)
            await change_message(interaction, embeds=[embed], view=None)
        else:
            kept = await self.batches.save(coach, asked.token)
            await change_message(interaction, embeds=[kept_embed(kept)], view=None)

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
            embeds = [preview_embed(draft, preview.shown, preview.doubts)]
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
