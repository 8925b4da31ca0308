"""A line in full as an embed."""

import discord

from bot.chat.message import SAND, SEA
from bot.services.book.reading import LineReading
from bot.services.book.words import STATUS_MARK, shot_words
from shared import limits
from shared.book import Hole, Line
from shared.text import clipped, plain, size
from shared.units import UnitSystem

SPARE = 200  # of an embed's 6,000 characters, for its footer


def line_embed(
    reading: LineReading, *, hole: Hole, units: UnitSystem, mark: str, heading: str = ""
) -> discord.Embed:
    """One line in full: its wind, then a field a shot with what worked and what is computed."""
    line = reading.line
    title = heading or f"Hole {hole.number}, line {line.variant}"
    if line.title:
        title = f"{title}: {plain(line.title)}"
    about = [f"Tested in **{plain(reading.wind)}**", _about(line)]
    if line.copied:
        about[0] = (
            f"Copied from {plain(line.copied)}, which was tested in **{plain(reading.wind)}**"
        )
    if line.notes:
        about.append(plain(line.notes))
    embed = discord.Embed(
        title=clipped(title, limits.TITLE),
        description="\n".join(about),
        colour=SAND if line.retired else SEA,
    )
    budget = limits.EMBED - SPARE - size(title) - size("\n".join(about))
    _add_shots(embed, reading, budget, units=units, mark=mark)
    return embed


def _about(line: Line) -> str:
    whose = ", ".join(plain(name) for name in line.divisions) or "all divisions"
    return f"{STATUS_MARK[line.status]} · for {whose} · by {plain(line.author)}"


def _add_shots(
    embed: discord.Embed, reading: LineReading, budget: int, *, units: UnitSystem, mark: str
) -> None:
    """One field a shot; notes are cut first where the budget ends."""
    heads = [f"{n} · {plain(each.words)}" for n, each in enumerate(reading.shots, start=1)]
    bodies = ["\n".join(shot_words(each, units=units, mark=mark)) for each in reading.shots]
    left = budget - sum(map(size, (*heads, *bodies)))
    for head, body, each in zip(heads, bodies, reading.shots, strict=True):
        note = plain(each.shot.note)
        if note:
            note = clipped(note, max(0, min(left, limits.FIELD - size(body)) - 1))
            left -= size(note) + 1
        text = f"{body}\n{note}" if size(note) > 1 else body
        embed.add_field(
            name=clipped(head, limits.FIELD_NAME), value=clipped(text, limits.FIELD), inline=False
        )
