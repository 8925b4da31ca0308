"""The lines of a hole as an embed that a phone shows whole."""

from collections.abc import Sequence

import discord

from bot.chat.embeds import SEA
from bot.services.book.reading import LineReading
from bot.services.book.words import STATUS_MARK, STATUS_ORDER, shot_words
from shared.book import Event, Hole, Line
from shared.text import clipped, plain, size
from shared.units import UnitSystem
from shared.wording import length

MOST_TITLE, MOST_FIELD_NAME, MOST_FIELD, MOST_EMBED = 256, 256, 1024, 6000
SPARE = 200  # of an embed's 6,000 characters, for its footer
SPARE_FIELD = 1100  # for a field that somebody adds to a hole's notes
MOST_LINES_SHOWN = 24  # of an embed's 25 fields, one is left for others
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
        title=clipped(title, MOST_TITLE), description="\n".join(about), colour=SEA
    )
    shown = [reading for reading in readings if _shows(reading.line, division)]
    shown.sort(key=lambda r: (STATUS_ORDER.index(r.line.status), r.line.variant))
    budget = MOST_EMBED - SPARE - SPARE_FIELD - size(title) - size("\n".join(about))
    left_out = _add_lines(embed, shown, budget, units=units, mark=mark)
    if not shown:
        embed.add_field(name="No line yet", value="A coach adds one with /line add.", inline=False)
    if left_out:
        embed.set_footer(text=f"Not shown here: {', '.join(left_out)}; see /line show")
    return embed


def _shows(line: Line, division: str | None) -> bool:
    fits = division is None or not line.divisions or division in line.divisions
    return fits and line.status != "retired"


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
        value = clipped(_brief(reading, units, mark), MOST_FIELD)
        budget -= size(name) + size(value)
        if budget < 0 or left_out or len(embed.fields) == MOST_LINES_SHOWN:
            left_out.append(line.variant)
        else:
            embed.add_field(name=clipped(name, MOST_FIELD_NAME), value=value, inline=False)
    return left_out


def _brief(reading: LineReading, units: UnitSystem, mark: str) -> str:
    line = reading.line
    said = [f"tested in {plain(line.wind)}"]
    for place, each in enumerate(reading.shots, start=1):
        said.append(f"**{place}** {plain(each.shot.shot)}")
        said += shot_words(each, units=units, mark=mark)
        if each.shot.note:
            said.append(plain(each.shot.note, CLIPPED_NOTE))
    if line.notes:
        said.append(plain(line.notes, CLIPPED_NOTE))
    return "\n".join(said)
