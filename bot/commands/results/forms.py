"""The forms of results. All a form needs stands in its custom id, so it outlives a restart too.

The cog reads every form of ours from the interaction itself (``typed``): a form opened before a
restart comes back to a bot that never saw it.
"""

from typing import Any

import discord

from bot.chat.respond import Interaction
from bot.services.results.outcome import EXAMPLE
from shared import limits

MOST_WIND, MOST_OUTCOME, MOST_REMARK = 80, 60, 300
LOG, FIX, SHARE = "logform|", "fixform|", "shareform|"


class FormBase(discord.ui.Modal):
    """A form whose fields are labelled."""

    def __init__(self, title: str, custom_id: str) -> None:
        super().__init__(title=title[: limits.FORM_TITLE], custom_id=custom_id)

    def ask(
        self,
        name: str,
        label: str,
        *,
        value: str = "",
        hint: str = "",
        most: int,
        required: bool = False,
        long: bool = False,
    ) -> None:
        """Add a field."""
        field = discord.ui.TextInput[discord.ui.View](
            custom_id=name,
            default=value[:most] or None,
            placeholder=hint or None,
            max_length=most,
            required=required,
            style=discord.TextStyle.paragraph if long else discord.TextStyle.short,
        )
        self.add_item(discord.ui.Label(text=label[: limits.LABEL], component=field))


def log_form(
    *,
    act: str,
    event: str,
    hole: int,
    variant: str,
    variants: tuple[str, ...],
    wind: str,
    attempt: int,
) -> FormBase:
    """At most three answers: which line, how far it missed, the wind. ``variants`` empty: known."""
    kept = "" if variants else variant
    custom_id = f"{LOG}{act}|{hole}|{kept}|{attempt}|{event}"
    said = "went in" if act == "in" else "missed"
    form = FormBase(f"Hole {hole}: it {said}", custom_id)
    if variants:
        label = f"Line ({', '.join(variants)})"
        form.ask("line", label, value=variant, most=1, required=True)
    if act != "in":
        form.ask("outcome", "How far it missed, if you know", hint=EXAMPLE, most=MOST_OUTCOME)
    _ask_wind(form, wind)
    return form


def fix_form(*, result_id: int, hole: int, variant: str, outcome: str, wind: str) -> FormBase:
    """What a result should say instead."""
    form = FormBase(f"Hole {hole}, line {variant}: correct it", f"{FIX}{result_id}")
    form.ask("outcome", "in, or how far it missed", value=outcome, hint=EXAMPLE, most=MOST_OUTCOME)
    _ask_wind(form, wind)
    return form


def share_form(*, event: str, hole: int, variant: str, mps: float, deg: float) -> FormBase:
    """How it went, and what others should know."""
    custom_id = f"{SHARE}{hole}|{variant}|{mps:.3f}|{deg:.1f}|{event}"
    form = FormBase(f"Share hole {hole}, line {variant}", custom_id)
    label = "in, or how far it missed"
    form.ask("outcome", label, value="in", hint=EXAMPLE, most=MOST_OUTCOME)
    form.ask("remark", "What others should know", most=MOST_REMARK, long=True)
    return form


def typed(interaction: Interaction) -> dict[str, str]:
    """What was typed into a form, by the names of its fields."""
    data: Any = interaction.data or {}
    found: dict[str, str] = {}
    for row in data.get("components", []):
        for field in (row.get("component"), *row.get("components", [])):
            if isinstance(field, dict) and "value" in field:
                found[str(field["custom_id"])] = str(field["value"] or "")  # pyright: ignore[reportUnknownArgumentType]
    return found


def _ask_wind(form: FormBase, wind: str) -> None:
    label = "Wind as played" if wind else "Wind as played, if you know"
    form.ask("wind", label, value=wind, hint="8.4 mph from 2", most=MOST_WIND)
