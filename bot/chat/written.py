"""What was typed into a command or a form, and which part of it an error is about."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

import discord

from shared.errors import InputError, LeewardError
from shared.wording import quoted

Interaction = discord.Interaction[discord.Client]

# In an interaction's extras: what was typed and chosen before, in place of its own fields, and
# how these are named to their member.
TYPED, CHOSEN, FIELDS = "typed", "chosen", "fields"


@dataclass(frozen=True)
class Fields:
    """How fields are named to who filled them, and which of them take many rows."""

    labels: Mapping[str, str] = field(default_factory=dict[str, str])
    many: Collection[str] = ()


def typed(interaction: Interaction) -> dict[str, str]:
    """What was typed into a form, by the names of its fields."""
    before: dict[str, str] | None = interaction.extras.get(TYPED)
    if before is not None:
        return dict(before)
    return {name: str(given["value"] or "") for name, given in _filled(interaction, "value")}


def chosen(interaction: Interaction) -> dict[str, tuple[str, ...]]:
    """What was chosen in a form, by the names of its fields."""
    before: dict[str, tuple[str, ...]] | None = interaction.extras.get(CHOSEN)
    if before is not None:
        return dict(before)
    return {
        name: tuple(str(each) for each in given["values"])
        for name, given in _filled(interaction, "values")
    }


def texts(interaction: Interaction) -> dict[str, str]:
    """What was typed, into a form or into the text options of a command, in their order."""
    if TYPED in interaction.extras or interaction.type is discord.InteractionType.modal_submit:
        return typed(interaction)
    given = vars(interaction.namespace)
    return {name: value for name, value in given.items() if isinstance(value, str)}


def written_words(interaction: Interaction, error: LeewardError) -> str:
    """'Under **Your wind** you wrote `8 fron 2`. ': what an error is about; empty for nothing.

    The label is left out where only one thing could be typed.
    """
    fields = texts(interaction)
    labels: Mapping[str, str] = {} if len(fields) == 1 else {name: name for name in fields}
    named: Fields = interaction.extras.get(FIELDS) or Fields(labels)
    return words_of(fields, named.labels, error)


def words_of(fields: Mapping[str, str], labels: Mapping[str, str], error: LeewardError) -> str:
    """``written_words`` for what was typed into fields of these labels."""
    given = error.given.strip() if isinstance(error, InputError) else ""
    wrong = error.asked if isinstance(error, InputError) and error.asked in fields else None
    wrong = wrong or _holding(fields, given)
    if wrong is None:
        return you_wrote(given or ", ".join(filter(None, fields.values())))
    text = fields[wrong]
    said = you_wrote(given if given and len(text.splitlines()) > 1 else text)
    label = labels.get(wrong, "")
    if not said or not label:
        return said
    return f"Under **{label}** {said[:1].lower()}{said[1:]}"


def you_wrote(text: str) -> str:
    """'You wrote `8 fron 2`. ', empty for no text."""
    return f"You wrote {quoted(text)}. " if text else ""


def _holding(fields: Mapping[str, str], given: str) -> str | None:
    """The field an error's text was typed into; None where it may have been several."""
    said = given.casefold()
    if not said:
        filled = [name for name, text in fields.items() if text.strip()]
        return filled[0] if len(filled) == 1 else None
    same = [name for name, text in fields.items() if text.strip().casefold() == said]
    holding = same or [name for name, text in fields.items() if said in text.casefold()]
    return holding[0] if len(holding) == 1 else None


def _filled(interaction: Interaction, key: str) -> list[tuple[str, dict[str, Any]]]:
    data: Any = interaction.data or {}
    found: list[tuple[str, dict[str, Any]]] = []
    for row in data.get("components", []):
        for given in (row.get("component"), *row.get("components", [])):
            if isinstance(given, dict) and key in given:
                known: dict[str, Any] = dict(given)  # pyright: ignore[reportUnknownArgumentType]
                found.append((str(known["custom_id"]), known))
    return found
