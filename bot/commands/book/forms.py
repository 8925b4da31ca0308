"""The forms in which a coach writes a line or the winds of a round."""

from collections.abc import Awaitable, Callable

import discord

from bot.chat.respond import Interaction, answer_error
from bot.services.book.drafts import LineDraft
from bot.services.book.event_service import WindForm
from shared import limits
from shared.book import Status

MOST_NOTES, MOST_WIND = 600, 200
MOST_TYPED = 3500  # read back with its units written out it is longer, and has to fit a form again
STATUSES: dict[Status, str] = {
    "idea": "nobody has tried it yet",
    "tested": "it went in",
    "recommended": "the one to play",
    "retired": "not shown to members any more",
}
Submitted = Callable[[Interaction, LineDraft], Awaitable[None]]
WindsSubmitted = Callable[[Interaction, str], Awaitable[None]]


class Form(discord.ui.Modal):
    """A modal whose errors are answered as those of a command are."""

    async def on_error(self, interaction: Interaction, error: Exception, /) -> None:
        """Answer with one sentence."""
        await answer_error(interaction, error)


class LineForm(Form):
    """A line: its wind, a shot a row, notes, status, divisions."""

    def __init__(
        self, draft: LineDraft, *, divisions: tuple[str, ...], example: str, done: Submitted
    ) -> None:
        """``example`` is a right row."""
        name = "new line" if draft.variant is None else f"line {draft.variant}"
        super().__init__(title=f"Hole {draft.hole}, {name}")
        self._draft = draft
        self._done = done
        self.wind = _input("wind", draft.wind, most=MOST_WIND, placeholder="8.4 mph from 2")
        most = limits.FORM_TEXT if len(draft.rows) > MOST_TYPED else MOST_TYPED
        self.rows = _input("rows", draft.rows, most=most, long=True, placeholder=example)
        self.notes = _input("notes", draft.notes, most=MOST_NOTES, long=True, required=False)
        self.status = discord.ui.Select[discord.ui.LayoutView](
            custom_id="status",
            options=[
                discord.SelectOption(label=status, description=said, default=status == draft.status)
                for status, said in STATUSES.items()
            ],
        )
        self.divisions = discord.ui.Select[discord.ui.LayoutView](
            custom_id="divisions",
            options=[
                discord.SelectOption(label=name, default=name in draft.divisions)
                for name in divisions
            ],
            max_values=len(divisions),
            min_values=0,
            required=False,
            placeholder="all divisions",
        )
        for text, description, component in (
            (
                "Wind it was tested in",
                "an hour, or into, helping, off the left",
                self.wind,
            ),
            (
                "Shots, one a row",
                "shot text, then what you know of: aim … room … leaves … note …",
                self.rows,
            ),
            ("Notes", None, self.notes),
            ("Status", None, self.status),
            ("For which divisions", "none chosen is all of them", self.divisions),
        ):
            self.add_item(discord.ui.Label(text=text, description=description, component=component))

    async def on_submit(self, interaction: Interaction, /) -> None:
        """Hand on the draft as it is typed now."""
        typed = self._draft.model_copy(
            update={
                "wind": self.wind.value,
                "rows": self.rows.value,
                "notes": self.notes.value,
                "status": self.status.values[0] if self.status.values else self._draft.status,
                "divisions": tuple(self.divisions.values),
            }
        )
        await self._done(interaction, typed)


class WindsForm(Form):
    """The winds of a division and a round, one hole a row."""

    def __init__(self, form: WindForm, *, done: WindsSubmitted) -> None:
        super().__init__(title="Winds, one hole a row")
        self._done = done
        self.rows = _input(
            "rows", form.rows, most=limits.FORM_TEXT, long=True, placeholder="1: 8.4 mph from 2"
        )
        self.add_item(
            discord.ui.Label(
                text=f"{form.division}, {form.round}"[: limits.LABEL],
                description="a hole without a wind: not known; a hole left out stays as it is",
                component=self.rows,
            )
        )

    async def on_submit(self, interaction: Interaction, /) -> None:
        """Hand on the rows as typed."""
        await self._done(interaction, self.rows.value)


def _input(
    name: str,
    text: str,
    *,
    most: int,
    long: bool = False,
    required: bool = True,
    placeholder: str = "",
) -> discord.ui.TextInput[discord.ui.LayoutView]:
    return discord.ui.TextInput(
        custom_id=name,
        style=discord.TextStyle.paragraph if long else discord.TextStyle.short,
        default=text or None,
        max_length=most,
        required=required,
        placeholder=placeholder[: limits.PLACEHOLDER] or None,
    )
