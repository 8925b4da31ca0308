"""What is suggested while the options of /event and /line are typed."""

from collections.abc import Sequence

from discord import app_commands

from bot.chat.respond import Interaction, choices
from bot.services.book.book import Book
from shared import limits
from shared.book import STATUSES, Event, Line
from shared.errors import LeewardError

Numbers = list[app_commands.Choice[int]]
Texts = list[app_commands.Choice[str]]


async def hole_choices(book: Book, interaction: Interaction, current: str) -> Numbers:
    """The holes of the current event, each with its par and its lines."""
    event = await _event(book, interaction)
    found: Numbers = []
    for hole in event.holes if event else ():
        if str(hole.number).startswith(str(current).strip()):
            letters = " ".join(line.variant for line in hole.in_use)
            said = f"{hole.number} · par {hole.par}" + (f" · lines {letters}" if letters else "")
            found.append(app_commands.Choice(name=said[: limits.CHOICE], value=hole.number))
    return found[: limits.CHOICES]


async def line_choices(book: Book, interaction: Interaction, current: str) -> Texts:
    """The lines of the hole chosen before, each with its title and status."""
    event = await _event(book, interaction)
    number = getattr(interaction.namespace, "hole", None)
    hole = event.hole(number) if event and isinstance(number, int) else None
    typed = current.strip().upper()
    return [
        app_commands.Choice(name=_said(line), value=line.variant)
        for line in (hole.lines if hole else ())
        if line.variant.startswith(typed)
    ][: limits.CHOICES]


async def revision_choices(book: Book, interaction: Interaction, current: str) -> Numbers:
    """The revisions of the line chosen before, newest first, without the one that stands."""
    number = getattr(interaction.namespace, "hole", None)
    letter = getattr(interaction.namespace, "line", None)
    if not isinstance(number, int) or not isinstance(letter, str):
        return []
    try:
        found = await book.lines.history(interaction.guild_id or 0, number, letter)
    except LeewardError:
        return []
    return [
        app_commands.Choice(
            name=f"{each.revision} · {each.author_name or 'somebody'} · {each.at:%d %b %H:%M} UTC"[
                : limits.CHOICE
            ],
            value=each.revision,
        )
        for each in found[1:]
        if each.line is not None and str(each.revision).startswith(str(current).strip())
    ][: limits.CHOICES]


async def event_choices(book: Book, interaction: Interaction, current: str) -> Texts:
    """The events of the community."""
    return choices(_like(await book.names(interaction.guild_id or 0), current))


async def division_choices(book: Book, interaction: Interaction, current: str) -> Texts:
    """The divisions of the current event."""
    event = await _event(book, interaction)
    return choices(_like(event.divisions if event else (), current))


async def round_choices(book: Book, interaction: Interaction, current: str) -> Texts:
    """The rounds of the current event."""
    event = await _event(book, interaction)
    return choices(_like(event.rounds if event else (), current))


def status_choices(current: str) -> Texts:
    """How far a line can have come."""
    return choices(_like(STATUSES, current))


def _like(names: Sequence[str], typed: str) -> list[str]:
    word = typed.strip().casefold()
    return [name for name in names if word in name.casefold()]


def _said(line: Line) -> str:
    title = f" · {line.title}" if line.title else ""
    return f"{line.variant}{title} · {line.status}"[: limits.CHOICE]


async def _event(book: Book, interaction: Interaction) -> Event | None:
    try:
        return await book.event(interaction.guild_id or 0)
    except LeewardError:
        return None
