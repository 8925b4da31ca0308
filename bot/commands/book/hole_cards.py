"""Holes and lines as embeds that a phone shows whole, within Discord's limits."""

from collections.abc import Sequence
from datetime import datetime

import discord

from bot.chat.embeds import SAND, SEA
from bot.chat.plain import plain
from bot.services.book.reading import LineReading, ShotReading
from shared import limits
from shared.book import Event, Hole, Line, LineShot, Room, Status, Worked
from shared.text import clipped, size
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import aim_words, length, offset

SPARE = 200  # of an embed's 6,000 characters, for its footer
SPARE_FIELD = 1100  # for a field that somebody adds to a hole's notes
MOST_LINES_SHOWN = limits.FIELDS - 1  # one is left for others
CLIPPED_NOTE = 160
STATUS_MARK: dict[Status, str] = {
    "recommended": "★ recommended",
    "tested": "tested",
    "idea": "idea",
    "retired": "retired",
}


def line_embed(
    reading: LineReading, *, hole: Hole, units: UnitSystem, mark: str, heading: str = ""
) -> discord.Embed:
    """One line in full: its wind, then a field a shot with what worked and what is computed."""
    line = reading.line
    title = heading or f"Hole {hole.number}, line {line.variant}"
    if line.title:
        title = f"{title}: {plain(line.title)}"
    about = [f"Tested in **{plain(line.wind)}**", _about(line)]
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


def when(at: datetime) -> str:
    """A time as Discord shows it to each reader: '5 minutes ago'."""
    return f"<t:{int(at.timestamp())}:R>"


def worked_words(worked: Worked, mark: str) -> str:
    """An allowance in words: '5.2 marks right, 2.0 long'; 'straight' for none."""
    unit = f"{mark}s" if worked.unit == "marks" else "yd"
    words = offset(right=worked.right, long=worked.long, unit=unit)
    return "straight" if words == "none" else words


def shot_words(reading: ShotReading, *, units: UnitSystem, mark: str) -> list[str]:
    """What to do with a shot, then what is computed, the room, what it leaves; one line each."""
    shot, answer = reading.shot, reading.answer
    said: list[str] = []
    if shot.worked is not None:
        said.append(f"**Aim {worked_words(shot.worked, mark)}** (worked)")
    if answer is None:
        said.append(f"Not computed: {plain(reading.trouble)}")
    else:
        aim = aim_words(answer.allowance, units=units, mark=mark)
        aim = "straight" if aim == "none" else aim
        said.append(f"Computed {aim}" if shot.worked else f"**Aim {aim}** (computed)")
        carry, plays = length(answer.distance_yd, units, 0), length(answer.plays_yd, units, 0)
        said.append(f"Carry {carry}, plays {plays} · {answer.club} {answer.grade}")
    said += _around(shot, units)
    return said


def _around(shot: LineShot, units: UnitSystem) -> list[str]:
    said: list[str] = []
    room = _room(shot.room, units) if shot.room else ""
    if room:
        said.append(f"Room {room}")
    if shot.leaves_yd:
        least, most = shot.leaves_yd
        said.append(f"Leaves {_bare(least, units)} to {length(most, units, 0)}")
    return said


def _room(room: Room, units: UnitSystem) -> str:
    sides = (
        ("short", room.short_yd),
        ("long", room.long_yd),
        ("left", room.left_yd),
        ("right", room.right_yd),
    )
    return ", ".join(
        f"{length(yards, units, 0)} {way}" for way, yards in sides if yards is not None
    )


def _bare(yards: float, units: UnitSystem) -> str:
    return f"{yards * METRES_PER_YARD if units == 'metric' else yards:.0f}"


def _about(line: Line) -> str:
    whose = ", ".join(plain(name) for name in line.divisions) or "all divisions"
    return f"{STATUS_MARK[line.status]} · for {whose} · by {plain(line.author)}"


def _winds(event: Event, hole: Hole, round_: str, division: str | None) -> list[str]:
    divisions = event.divisions if division is None else (division,)
    said: list[str] = []
    for each in divisions:
        wind = hole.wind(division=each, round_=round_)
        known = f"**{plain(wind)}**" if wind else "not known yet"
        said.append(f"Wind for {plain(each)}: {known}")
    return said


def _add_shots(
    embed: discord.Embed, reading: LineReading, budget: int, *, units: UnitSystem, mark: str
) -> None:
    """One field a shot; notes are cut first where the budget ends."""
    heads = [f"{n} · {plain(each.shot.shot)}" for n, each in enumerate(reading.shots, start=1)]
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
    said = [f"tested in {plain(line.wind)}"]
    for place, each in enumerate(reading.shots, start=1):
        said.append(f"**{place}** {plain(each.shot.shot)}")
        said += shot_words(each, units=units, mark=mark)
        if each.shot.note:
            said.append(plain(each.shot.note, CLIPPED_NOTE))
    if line.notes:
        said.append(plain(line.notes, CLIPPED_NOTE))
    return "\n".join(said)
