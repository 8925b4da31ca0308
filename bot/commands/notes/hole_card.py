"""A hole's note as fields that a phone shows whole, and as many of them as fit one message."""

from collections.abc import Sequence
from dataclasses import dataclass

import discord

from bot.chat.message import SEA
from bot.services.book.reading import LineReading
from bot.services.book.words import STATUS_MARK, shot_words
from bot.services.caddie.adapt import AdaptedShot
from bot.services.notes.parts import Part, PlayedLine
from bot.services.notes.service import Note
from engine.reach import Verdict
from shared import limits
from shared.quantities import Wind
from shared.shot_text.write import wind_text
from shared.text import clipped, plain, size
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset, wind_words

SPARE = 200  # of an embed's 6,000 characters, for its footer
MOST_SAID = 1200  # of the description, for what other features have to say
CLIPPED_NAME = 40
OUT_OF_REACH = "⚠ out of reach in this wind"


@dataclass(frozen=True)
class Block:
    """A field of a note."""

    name: str
    value: str


def note_page(note: Note, start: int = 0) -> tuple[discord.Embed, int | None]:
    """The message of a note from its block ``start`` on, and where the next one starts.

    Every line in full comes last and begins a message of its own; a note whose readings were not
    asked for ends before it, and says that there is more.
    """
    hole, units = note.hole, note.units
    title = f"Hole {hole.number} · par {hole.par} · {length(hole.yards, units, 0)}"
    if hole.name:
        title = f"{title} · {plain(hole.name)}"
    said, unsaid = _fitting(note.said)
    head = f"{plain(note.event.name)}, {plain(note.round)}"
    about = [head, *said] if not start else [head]
    embed = discord.Embed(
        title=clipped(title, limits.TITLE), description="\n".join(about), colour=SEA
    )
    if not hole.lines_for(note.division):
        embed.add_field(name="No line yet", value="A coach adds one with /line add.", inline=False)
    first = _first_blocks(note, unsaid)
    every = [*first, *_full_blocks(note.readings, units, note.mark)]
    end = _add(embed, every, start, len(first) if start < len(first) else len(every))
    embed.set_footer(text=f"Aims in {note.mark}s · by division, in its wind")
    more = end < len(every) or (end == len(first) and bool(hole.lines_for(note.division)))
    if note.readings and end == len(every):
        more = False
    return embed, end if more else None


def _first_blocks(note: Note, unsaid: Sequence[str]) -> list[Block]:
    blocks: list[Block] = []
    for part in note.parts:
        blocks += _blocks(_part_name(part, note.units), _part_rows(part, note.units))
    return [*blocks, *_blocks("Tries", unsaid), *_blocks("Ceilings", note.held)]


def _add(embed: discord.Embed, blocks: Sequence[Block], start: int, stop: int) -> int:
    """Add blocks while they fit; where the next message starts."""
    end = start
    told = [embed.title or "", embed.description or ""]
    told += [text for field in embed.fields for text in (field.name or "", field.value or "")]
    room = limits.EMBED - SPARE - sum(map(size, told))
    for block in blocks[start:stop]:
        full = len(embed.fields) == limits.FIELDS
        room -= size(block.name) + size(block.value)
        if full or room < 0:
            break
        embed.add_field(name=block.name, value=block.value, inline=False)
        end += 1
    return end


def _fitting(rows: Sequence[str]) -> tuple[list[str], list[str]]:
    """The rows that fit under a title, and the others."""
    room = MOST_SAID
    for at, row in enumerate(rows):
        room -= size(row) + 1
        if room < 0:
            return list(rows[:at]), list(rows[at:])
    return list(rows), []


def _blocks(name: str, rows: Sequence[str]) -> list[Block]:
    """Rows under a name, in as many fields as they need."""
    name = clipped(name, limits.FIELD_NAME)
    blocks: list[Block] = []
    held = ""
    for row in rows:
        row = clipped(row, limits.FIELD)
        longer = f"{held}\n{row}" if held else row
        if size(longer) > limits.FIELD:
            blocks.append(Block(name, held))
            longer = row
        held = longer
    return [*blocks, Block(name, held)] if held else blocks


# A division's part -------------------------------------------------------------------------------


def _part_name(part: Part, units: UnitSystem) -> str:
    names = ", ".join(plain(name, CLIPPED_NAME) for name in part.divisions)
    wind = plain(_wind(part.wind, units)) if part.wind else "wind not known yet"
    mark = f" · {_how(part.lines[0], part, units)}" if part.lines else ""
    return f"{clipped(names, 120)} · {wind}{mark}"


def _part_rows(part: Part, units: UnitSystem) -> list[str]:
    rows: list[str] = []
    for at, line in enumerate(part.lines):
        rows += _first_line(line) if at == 0 else [_other_line(line)]
        if at and _how(line, part, units) != _how(part.lines[0], part, units):
            rows[-1] += f" · {_how(line, part, units)}"
    return rows or ["No line for this division yet"]


def _how(line: PlayedLine, part: Part, units: UnitSystem) -> str:
    """Where a line's aims come from: 'as tested', 'moved from 10 mph', 'computed'."""
    if line.tested_wind is None:
        return "not computed"
    tested = line.tested_wind
    if line.as_tested:
        said = "as tested" if line.noted else "computed"
        return said if part.wind else f"{said} in {plain(_wind(tested, units))}"
    verb = "moved" if line.noted else "computed, noted"
    words = wind_words(tested, units)
    if part.wind and part.wind.relative_deg == tested.relative_deg:
        words = words.split(" from ")[0]
    return f"{verb} from {words}"


def _wind(wind: Wind, units: UnitSystem) -> str:
    return wind_text(wind) if units == "yards" else wind_words(wind, units)


def _first_line(line: PlayedLine) -> list[str]:
    star = "★ " if line.line.status == "recommended" else ""
    title = f" {plain(line.line.title)}" if line.line.title else ""
    status = "" if star else f" ({line.line.status})"
    rows = [f"{star}**{line.line.variant}**{title}{status}"]
    if line.moved is None:
        return [*rows, f"Not computed: {plain(line.trouble, 200)}"]
    return rows + [_shot_row(at, shot) for at, shot in enumerate(line.moved.shots, start=1)]


def _shot_row(number: int, shot: AdaptedShot) -> str:
    choice, unit = shot.choice, "yd"
    distance = shot.distance_yd
    if shot.read.shot.distance is not None and shot.read.shot.distance.unit == "m":
        distance, unit = distance * METRES_PER_YARD, "m"
    of = "" if unit == "yd" else " m"
    club = plain(f"{choice.club} ({choice.grade})", 60)
    return f"{number} {club} {distance:.0f}{of}: **{_aim(shot)}**"


def _aim(shot: AdaptedShot) -> str:
    if shot.fit != Verdict.FINE:
        return OUT_OF_REACH
    aim = offset(right=shot.allowance.right_marks, long=shot.allowance.long_marks)
    return "straight" if aim == "none" else aim


def _other_line(line: PlayedLine) -> str:
    title = f" {plain(line.line.title)}" if line.line.title else ""
    star = "★ " if line.line.status == "recommended" else ""
    name = f"{star}**{line.line.variant}**{title}"
    if line.moved is None:
        return f"{name}: not computed: {plain(line.trouble, 200)}"
    return f"{name}: {'; '.join(_aim(shot) for shot in line.moved.shots)}"


# Lines in full -----------------------------------------------------------------------------------


def _full_blocks(readings: Sequence[LineReading], units: UnitSystem, mark: str) -> list[Block]:
    blocks: list[Block] = []
    for reading in sorted(readings, key=lambda each: each.line.order):
        line = reading.line
        title = f" · {plain(line.title)}" if line.title else ""
        name = f"{line.variant} · {STATUS_MARK[line.status]}{title}"
        blocks += _blocks(name, _full_rows(reading, units, mark))
    return blocks


def _full_rows(reading: LineReading, units: UnitSystem, mark: str) -> list[str]:
    line = reading.line
    whose = ", ".join(plain(name, CLIPPED_NAME) for name in line.divisions)
    rows = [f"for {whose}"] if whose else []
    rows.append(f"tested in {plain(line.wind)}")
    for place, each in enumerate(reading.shots, start=1):
        rows.append(f"**{place}** {plain(each.shot.shot)}")
        rows += shot_words(each, units=units, mark=mark)
        if each.shot.note:
            rows.append(plain(each.shot.note))
    if line.notes:
        rows.append(plain(line.notes))
    return rows
