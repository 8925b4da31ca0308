"""The lines of a hole as an embed that a phone shows whole."""

from collections.abc import Sequence

import discord

from bot.chat.message import SEA
from bot.services.book.reading import LineReading
from bot.services.book.words import STATUS_MARK, shot_words
from shared import limits
from shared.book import Event, Hole
from shared.text import clipped, plain, size
from shared.units import UnitSystem
from shared.wording import length

SPARE = 200  # of an embed's 6,000 characters, for its footer
SPARE_FIELD = 1100  # for a field that somebody adds to a hole's notes
MOST_LINES_SHOWN = limits.FIELDS - 1  # one is left for others
CLIPPED_NOTE = 160


def hole_embed(
    readings: Sequence[LineReading],
    *,
    event: Event,
    hole: Hole,
    round_: str,
    division: str | None,
    units: UnitSystem,
    mark: str,
) -> discord.Embed:
    """The notes of a hole for a division and a round, or for all divisions: best lines first.

    One more field fits in, of at most 1,024 characters.
    """
    title = f"Hole {hole.number} · par {hole.par} · {length(hole.yards, units, 0)}"
    if hole.name:
        title = f"{title} · {plain(hole.name)}"
    about = [*_winds(event, hole, round_, division), f"{plain(event.name)}, {plain(round_)}"]
    embed = discord.Embed(
        title=clipped(title, limits.TITLE), description="\n".join(about), colour=SEA
    )
    of = {reading.line.variant: reading for reading in readings}
    shown = [of[line.variant] for line in hole.lines_for(division) if line.variant in of]
    budget = limits.EMBED - SPARE - SPARE_FIELD - size(title) - size("\n".join(about))
    left_out = _add_lines(embed, shown, budget, units=units, mark=mark)
    if not shown:
        embed.add_field(name="No line yet", value="A coach adds one with /line add.", inline=False)
    if left_out:
        embed.set_footer(text=f"Not shown here: {', '.join(left_out)}; see /line show")
    return embed


def _winds(event: Event, hole: Hole, round_: str, division: str | None) -> list[str]:
    divisions = event.divisions if division is None else (division,)
    said: list[str] = []
    for each in divisions:
        wind = hole.wind(division=each, round_=round_)
        known = f"**{plain(wind)}**" if wind else "not known yet"
        said.append(f"Wind for {plain(each)}: {known}")
    return said


def _add_lines(
    embed: discord.Embed,
    readings: Sequence[LineReading],
    budget: int,
    *,
    units: UnitSystem,
    mark: str,
) -> list[str]:
    """One field a line while they fit; the letters of those that don't come back."""
    left_out: list[str] = []
    for reading in readings:
        line = reading.line
        name = f"{line.variant} · {STATUS_MARK[line.status]}"
        if line.title:
            name = f"{name} · {plain(line.title)}"
        value = clipped(_brief(reading, units, mark), limits.FIELD)
        budget -= size(name) + size(value)
        if budget < 0 or left_out or len(embed.fields) == MOST_LINES_SHOWN:
            left_out.append(line.variant)
        else:
            embed.add_field(name=clipped(name, limits.FIELD_NAME), value=value, inline=False)
    return left_out


def _brief(reading: LineReading, units: UnitSystem, mark: str) -> str:
    line = reading.line
    said = [f"tested in {plain(reading.wind)}"]
    for place, each in enumerate(reading.shots, start=1):
        said.append(f"**{place}** {plain(each.words)}")
        said += shot_words(each, units=units, mark=mark)
        if each.shot.note:
            said.append(plain(each.shot.note, CLIPPED_NOTE))
    if line.notes:
        said.append(plain(line.notes, CLIPPED_NOTE))
    return "\n".join(said)
