"""Everything a hole's note has to say, in as many pages as it takes: what *More* shows."""

from collections.abc import Sequence

import discord

from bot.chat.message import SEA
from bot.commands.notes.card import CEILINGS, note_title
from bot.commands.notes.part_rows import part_name, part_rows
from bot.services.book.reading import LineReading
from bot.services.book.words import STATUS_MARK, shot_words
from bot.services.notes.service import Note
from shared import limits
from shared.text import clipped, plain, size
from shared.units import UnitSystem

SPARE = 100  # of an embed's 6,000 characters, for its footer

Block = tuple[str, list[str]]  # a field's name and its rows


def more_pages(note: Note, readings: Sequence[LineReading]) -> list[discord.Embed]:
    """The parts, every line as it was tested, what others say and the ceilings, page by page."""
    blocks: list[Block] = [
        (part_name(part, note.units, note.hole), part_rows(part, note.units)) for part in note.parts
    ]
    blocks += [_line_block(reading, note.units, note.mark) for reading in readings]
    blocks += [("Results and polls", note.said), (CEILINGS, note.held)]
    fields = [(name, text) for name, rows in blocks for text in _texts(rows)]
    about = f"{plain(note.event.name)}, {plain(note.round)}"
    pages = [_page(note, about)]
    for name, text in fields:
        name = clipped(name, limits.FIELD_NAME)
        page = pages[-1]
        full = len(page) + size(name) + size(text) > limits.EMBED - SPARE
        if full or len(page.fields) == limits.FIELDS:
            page = _page(note, about)
            pages.append(page)
        page.add_field(name=name, value=text, inline=False)
    if len(pages) > 1:
        for number, page in enumerate(pages, start=1):
            page.set_footer(text=f"Page {number} of {len(pages)}")
    return pages


def _page(note: Note, about: str) -> discord.Embed:
    return discord.Embed(title=note_title(note), description=about, colour=SEA)


def _line_block(reading: LineReading, units: UnitSystem, mark: str) -> Block:
    line = reading.line
    name = f"{line.variant} · {STATUS_MARK[line.status]}"
    if line.title:
        name = f"{name} · {plain(line.title)}"
    rows = [f"tested in {plain(reading.wind)} by {plain(line.author)}"]
    if line.copied:
        rows = [f"copied from {plain(line.copied)}, which was {rows[0]}"]
    for place, each in enumerate(reading.shots, start=1):
        rows.append(f"**{place}** {plain(each.words)}")
        rows += shot_words(each, units=units, mark=mark)
        rows += plain(each.shot.note).split("\n") if each.shot.note else []
    rows += plain(line.notes).split("\n") if line.notes else []
    return name, rows


def _texts(rows: Sequence[str]) -> list[str]:
    """Rows joined into texts of a field's length; a row longer than a field is parted."""
    texts: list[str] = []
    for row in rows:
        for piece in _pieces(row):
            if texts and size(texts[-1]) + 1 + size(piece) <= limits.FIELD:
                texts[-1] = f"{texts[-1]}\n{piece}"
            else:
                texts.append(piece)
    return [text for text in texts if text.strip()]


def _pieces(row: str) -> list[str]:
    most = limits.FIELD // 2  # characters; each counts two at most
    if size(row) <= limits.FIELD:
        return [row]
    return [row[start : start + most] for start in range(0, len(row), most)]
