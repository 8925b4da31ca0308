"""A hole's note as a message: a part for each division, its buttons, and what is one press away."""

import discord

from bot.chat.message import SEA
from bot.chat.publisher import body_of
from bot.commands.notes.part_rows import part_name, part_rows
from bot.services.actions import AskForMe, ButtonFields, LogTry, MoreOfNote
from bot.services.notes.service import Note
from shared import limits
from shared.text import clipped, plain, size
from shared.units import UNITS
from shared.wording import length
from storage.json import JsonObject

CEILINGS, MORE = "Ceilings", "under More"
SPARE = 300  # of an embed's 6,000 characters, for its footer
LONGEST_FOOTER = 250


def note_body(note: Note) -> JsonObject:
    """The message of a hole's note, to be kept in the outbox."""
    return body_of(note_embed(note), buttons=note_buttons(note))


def note_embed(note: Note) -> discord.Embed:
    """The parts of the note, what others say, the ceilings; the footer names what is under More."""
    about = f"{plain(note.event.name)}, {plain(note.round)}"
    embed = discord.Embed(title=note_title(note), description=about, colour=SEA)
    missing: list[str] = []
    for part in note.parts:
        if not _add(embed, part_name(part, note.units, note.hole), part_rows(part, note.units)):
            missing += part.divisions
    for row in note.said:
        text = f"{embed.description}\n{row}"
        if len(embed) + size(row) < limits.EMBED - SPARE and size(text) <= limits.DESCRIPTION:
            embed.description = text
        else:
            missing.append("results and polls")
    if note.held and not _add(embed, CEILINGS, note.held, whole=True):
        missing.append("ceilings")
    footer = f"Aims in {note.mark}s, carries in {UNITS[note.units].distance}."
    if missing:
        names = ", ".join(dict.fromkeys(missing))
        footer = f"{footer} {MORE[0].upper()}{MORE[1:]}: {names}"
    embed.set_footer(text=clipped(footer, LONGEST_FOOTER))
    return embed


def note_title(note: Note) -> str:
    """'Hole 3 · par 4 · 405 yd · The Groyne'."""
    hole = note.hole
    title = f"Hole {hole.number} · par {hole.par} · {length(hole.yards, note.units, 0)}"
    return clipped(f"{title} · {plain(hole.name)}" if hole.name else title, limits.TITLE)


def note_buttons(note: Note) -> list[ButtonFields]:
    """*For me*, *Went in*, *Missed*, *More*."""
    event, hole = note.event.name, note.hole.number
    more = MoreOfNote(hole, 0, event).as_button()
    if not note.hole.lines:
        return [more] if note.said else []
    return [AskForMe(hole, event).as_button(), *LogTry.pair(event=event, hole=hole), more]


def _add(embed: discord.Embed, name: str, rows: list[str], *, whole: bool = False) -> bool:
    """A field of the rows that fit, the last saying how many don't; False where none was added."""
    name = clipped(name, limits.FIELD_NAME)
    room = min(limits.FIELD, limits.EMBED - SPARE - len(embed) - size(name))
    if len(embed.fields) == limits.FIELDS or not rows:
        return False
    kept = list(rows)
    text = "\n".join(kept)
    while kept and size(text) > room:
        if whole:
            return False
        kept.pop()
        text = "\n".join([*kept, f"… {len(rows) - len(kept)} more {MORE}"])
    if not kept:
        return False
    embed.add_field(name=name, value=text, inline=False)
    return True
