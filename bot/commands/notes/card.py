"""A hole's note as a message: its card and its buttons."""

import discord

from bot.chat.publisher import body_of
from bot.commands.notes.hole_card import hole_embed
from bot.services.actions import AskForMe, ButtonFields, LogTry
from bot.services.notes.service import Note
from shared import limits
from shared.text import size
from storage.json import JsonObject

CEILINGS = "Ceilings"


def note_body(note: Note) -> JsonObject:
    """The message of a hole's note, to be kept in the outbox."""
    return body_of(note_embed(note), buttons=_buttons(note))


def note_embed(note: Note) -> discord.Embed:
    """The lines of the hole, what others say of them, how much wind each holds."""
    embed = hole_embed(
        note.readings,
        event=note.event,
        hole=note.hole,
        round_=note.round,
        division=note.division,
        units=note.units,
        mark=note.mark,
    )
    _add_lines(embed, note.said)
    _add_ceilings(embed, note.held)
    return embed


def _buttons(note: Note) -> list[ButtonFields]:
    if not note.hole.lines:
        return []
    event, hole = note.event.name, note.hole.number
    return [AskForMe(hole, event).as_button(), *LogTry.pair(event=event, hole=hole)]


def _add_lines(embed: discord.Embed, lines: list[str]) -> None:
    """Lines under the winds, while they fit."""
    for line in lines:
        text = f"{embed.description}\n{line}"
        room = limits.EMBED - len(embed) - size(line) - 1
        if room >= 0 and size(text) <= limits.DESCRIPTION:
            embed.description = text


def _add_ceilings(embed: discord.Embed, held: list[str]) -> None:
    """How much wind each line holds, in what room is left, line by line."""
    room = min(limits.FIELD, limits.EMBED - len(embed) - size(CEILINGS))
    said = ""
    for line in held:
        more = f"{said}\n{line}" if said else line
        if size(more) > room:
            break
        said = more
    if said:
        embed.add_field(name=CEILINGS, value=said, inline=False)
