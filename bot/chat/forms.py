"""Forms. All a form needs stands in its custom id, and the router hands it on when it is filled.

So a form opened before a restart is answered by the bot that never saw it.
"""

from collections.abc import Collection, Mapping, Sequence
from typing import ClassVar, Protocol

import discord

from shared import limits
from shared.landing_text import LANDING_EXAMPLE
from shared.miss_text import MAX_OUTCOME, MISS_HINT, SEVERAL_EXAMPLE
from shared.text import clipped
from shared.wording import variants_words

OPENS_FORM = "opens_form"  # in a command's extras: it is answered by a form
LONGEST_VARIANT = 3  # characters
REMEMBERED_S = 15 * 60.0  # the router answers a form; discord.py need not keep it for ever

Choice = tuple[str, str, bool]
"""An option of a choice: its name, what is said of it, whether it is chosen now."""


class FormAsked(Protocol):
    """What a form asks for: its text fields by name with their labels, which of them take many
    rows."""

    labels: ClassVar[Mapping[str, str]]
    many: ClassVar[Collection[str]]

    @property
    def id(self) -> str:
        """Its custom id."""
        ...


class Form(discord.ui.Modal):
    """A form whose fields are labelled, as ``asked`` says or else ``labels``."""

    def __init__(
        self,
        title: str,
        asked: FormAsked,
        labels: Mapping[str, str] | None = None,
        many: Collection[str] | None = None,
    ) -> None:
        super().__init__(
            title=clipped(title, limits.FORM_TITLE), custom_id=asked.id, timeout=REMEMBERED_S
        )
        self._labels = asked.labels if labels is None else labels
        self._many = asked.many if many is None else many

    def ask(
        self,
        name: str,
        *,
        more: str = "",
        value: str = "",
        hint: str = "",
        about: str | None = None,
        most: int,
        required: bool = False,
    ) -> None:
        """Add a field for text: ``more`` is shown behind its label, ``about`` stands under it,
        ``hint`` in it while empty."""
        field = discord.ui.TextInput[discord.ui.View](
            custom_id=name,
            default=value[:most] or None,
            placeholder=_fitting(hint) or None,
            max_length=most,
            required=required,
            style=discord.TextStyle.paragraph if name in self._many else discord.TextStyle.short,
        )
        self._label(f"{self._labels[name]}{more}", about, field)

    def ask_line(self, variants: Sequence[str], *, first: str) -> None:
        """Add a field for one of a hole's lines."""
        several = variants_words(variants)
        more = f" ({several})"
        fits = len(self._labels["line"] + more) <= limits.LABEL
        about = None if fits else clipped(several, limits.LABEL_ABOUT)
        more = more if fits else ""
        self.ask("line", more=more, about=about, value=first, most=LONGEST_VARIANT, required=True)

    def ask_outcome(self, *, more: str = "", value: str = "", hint: str = MISS_HINT) -> None:
        """Add a field for how a try went, or several."""
        about = f"or both: {LANDING_EXAMPLE}; of several: {SEVERAL_EXAMPLE}"
        self.ask("outcome", more=more, about=about, value=value, hint=hint, most=MAX_OUTCOME)

    def choose(
        self,
        name: str,
        label: str,
        choices: Sequence[Choice],
        *,
        about: str | None = None,
        several: bool = False,
        hint: str = "",
    ) -> None:
        """Add a field of choices; of ``several`` also none may be taken."""
        field = discord.ui.Select[discord.ui.LayoutView](
            custom_id=name,
            options=[
                discord.SelectOption(label=option, description=said or None, default=chosen)
                for option, said, chosen in choices
            ],
            max_values=len(choices) if several else 1,
            min_values=0 if several else 1,
            required=not several,
            placeholder=_fitting(hint) or None,
        )
        self._label(label, about, field)

    def _label(
        self,
        label: str,
        about: str | None,
        field: "discord.ui.TextInput[discord.ui.View] | discord.ui.Select[discord.ui.LayoutView]",
    ) -> None:
        """Add a field; whoever names it keeps its label short enough, or it is shortened."""
        self.add_item(
            discord.ui.Label(
                text=clipped(label, limits.LABEL),
                description=None if about is None else clipped(about, limits.LABEL_ABOUT),
                component=field,
            )
        )


def _fitting(hint: str) -> str:
    """An example as far as it fits, ended where one of its parts ends."""
    while len(hint) > limits.PLACEHOLDER:
        shorter = hint[: limits.PLACEHOLDER + 1]
        ends = [shorter.rfind(sign) for sign in (" | ", "; ", ", ", " ")]
        hint = hint[: max(next((end for end in ends if end > 0), 0), 0)]
    return hint
