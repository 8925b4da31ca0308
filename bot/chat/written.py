"""Which part of what was typed into a command or a form an error is about, in words."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from shared.errors import InputError, LeewardError
from shared.units import UnitSystem
from shared.wording import error_example, error_sentence, quoted, with_example

FIELDS = "fields"  # in an interaction's extras: how its fields are named to their member


@dataclass(frozen=True)
class Fields:
    """How fields are named to who filled them, and which of them take many rows."""

    labels: Mapping[str, str] = field(default_factory=dict[str, str])
    many: Collection[str] = ()


def error_text(error: LeewardError, written: str = "", units: UnitSystem = "yards") -> str:
    """The message of an error: ``written``, the person's own text, what is wrong, a right
    example."""
    example = error_example(error)
    return with_example(
        f"{written}{error_sentence(error, units)}", example and f"`{example}`", join="\n"
    )


def words_of(fields: Mapping[str, str], labels: Mapping[str, str], error: LeewardError) -> str:
    """'Under **Your wind** you wrote `8 fron 2`. ': what an error is about; empty for nothing.

    ``fields`` is what was typed by their names; one without a label is not named.
    """
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
