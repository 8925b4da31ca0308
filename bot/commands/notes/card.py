"""A hole's note as a message: its card and its buttons."""

import discord

from bot.chat.publisher import body_of
from bot.commands.notes.hole_card import note_page
from bot.services.actions import AskForMe, ButtonFields, LogTry, MoreOfNote
from bot.services.notes.service import Note
from storage.json import JsonObject

ALL = -1


def note_body(note: Note) -> JsonObject:
    """The message of a hole's note, to be kept in the outbox."""
    embed, after = note_page(note)
    buttons: list[ButtonFields] = []
    event, hole = note.event.name, note.hole.number
    if note.hole.lines:
        buttons = [AskForMe(hole, event).as_button(), *LogTry.pair(event=event, hole=hole)]
    return body_of(embed, buttons=buttons + more_button(note, after))


def note_card(note: Note, start: int = 0) -> tuple[discord.Embed, list[ButtonFields]]:
    """A note for the member who asks, from its block ``start`` on, with its buttons."""
    embed, after = note_page(note, start)
    asked = [AskForMe(note.hole.number, note.event.name).as_button()] if note.hole.lines else []
    return embed, asked + more_button(note, after)


def more_button(note: Note, after: int | None) -> list[ButtonFields]:
    """*More*, where there is more."""
    if after is None:
        return []
    division = ALL if note.division is None else note.event.divisions.index(note.division)
    return [MoreOfNote(note.hole.number, after, division, note.event.name).button("More")]
