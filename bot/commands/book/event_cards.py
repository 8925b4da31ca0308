"""What is shown of whole events: what a load changed, what is wrong in a file, the overview."""

import discord

from bot.chat.message import SAND, SEA, plain_embed
from bot.services.book.changes import EventDiff, diff_lines
from bot.services.book.shot_rows import RowsError
from bot.services.book.wind_table import WindColumn
from shared import limits
from shared.book import Event, Hole
from shared.text import clipped, code_block, plain, when
from shared.units import SPEED_UNIT_OF, UnitSystem
from shared.wording import length


def loaded_embed(diff: EventDiff) -> discord.Embed:
    """What a load changed."""
    lines = [plain(line) for line in diff_lines(diff)]
    if diff.made_current:
        lines.append("It is the current event now.")
    elif diff.new:
        name = plain(diff.event.name)
        lines.append(f"It is a draft: nothing members see has moved. /event use event:{name}")
    if not any(hole.winds for hole in diff.event.holes):
        lines.append("It has no winds yet: set them with /event winds.")
    elif diff.new:
        lines.append("Post its notes with /publish.")
    title = f"{plain(diff.event.name)}: nothing changed" if diff.nothing else ""
    title = title or f"{plain(diff.event.name)} is in the book"
    return plain_embed(clipped(title, limits.TITLE), lines)


def event_embed(event: Event, *, round_: str | None, units: UnitSystem) -> discord.Embed:
    """An event at a glance; ``round_`` is the current one, None for an event that isn't."""
    rounds = [_round(event, name, name == round_) for name in event.rounds]
    lines = [
        f"Divisions: {', '.join(plain(name) for name in event.divisions)}",
        f"Rounds: {', '.join(rounds)}",
        "",
        *(_hole_line(hole, units) for hole in event.holes),
    ]
    total = sum(hole.yards for hole in event.holes)
    par = sum(hole.par for hole in event.holes)
    embed = discord.Embed(
        title=clipped(plain(event.name), limits.TITLE),
        description=clipped("\n".join(lines), limits.DESCRIPTION),
        colour=SEA,
    )
    embed.set_footer(text=f"Par {par}, {length(total, units, 0)} · ★ recommended")
    return embed


def winds_set_embed(
    holes: tuple[int, ...], event: Event, *, division: str, round_: str
) -> discord.Embed:
    """Which winds a form changed, and all of them as they were read."""
    place = f"{plain(division)}, {plain(round_)}"
    read = [
        f"{hole.number}: {plain(hole.wind(division=division, round_=round_) or 'not known')}"
        for hole in event.holes
    ]
    if not holes:
        return plain_embed("No wind changed", [place, *read])
    noun = "hole" if len(holes) == 1 else "holes"
    return plain_embed(f"Winds set for {noun} {', '.join(map(str, holes))}", [place, *read])


def rows_refused_embeds(
    error: RowsError, rows: str, title: str = "No wind was set: a row can't be read"
) -> list[discord.Embed]:
    """Which rows can't be read, and all of them to be copied from."""
    said = [
        f"**Row {row.row}** {plain(row.sentence)}\nFor example: `{row.example}`"
        for row in error.errors
    ]
    told = discord.Embed(
        title=title,
        description=clipped("\n".join(said), 1700),
        colour=SAND,
    )
    return [told, discord.Embed(title="Your rows", description=code_block(rows, 4000))]


def _hole_line(hole: Hole, units: UnitSystem) -> str:
    letters = [
        f"{line.variant}{' ★' if line.status == 'recommended' else ''}" for line in hole.in_use
    ]
    name = f" {plain(hole.name)}" if hole.name else ""
    lines = f" · {', '.join(letters)}" if letters else " · no line"
    return f"**{hole.number}**{name} · par {hole.par} · {length(hole.yards, units, 0)}{lines}"


def _round(event: Event, name: str, now: bool) -> str:
    said = f"**{plain(name)}** (now)" if now else plain(name)
    at = event.start(name)
    return said if at is None or now else f"{said} {when(at)}"


def dated_embed(event: Event) -> discord.Embed:
    """When rounds begin, each reader's own time."""
    rows: list[str] = []
    for name in event.rounds:
        at = event.start(name)
        said = "not known" if at is None else f"<t:{int(at.timestamp())}:F>, {when(at)}"
        rows.append(f"**{plain(name)}** {said}")
    rows.append("Each becomes the current round by itself, once the cup is the current one.")
    return plain_embed(f"Rounds of {plain(event.name)}", rows)


CELL, HOLE_WIDTH, ACROSS = 8, 4, 3  # characters: four and three times eight fill a phone's row


def wind_table_embed(
    event: Event, now: str, columns: list[WindColumn], units: UnitSystem
) -> discord.Embed:
    """A field for each round, its winds in rows that fit a phone: speed / where it comes from."""
    unit = SPEED_UNIT_OF[units]
    embed = plain_embed(
        f"Winds of {plain(event.name)}", [f"{unit} / hour; 12 is into, 3 off the right"]
    )
    numbers = [str(hole.number) for hole in event.holes]
    for round_ in event.rounds:
        own = [column for column in columns if column.round == round_]
        for at in range(0, len(own), ACROSS):
            part = own[at : at + ACROSS]
            heads = [_head(column, event) for column in part]
            rows = [_table_row("", heads)]
            rows += [
                _table_row(number, [column.cells[place] for column in part])
                for place, number in enumerate(numbers)
            ]
            name = f"{plain(round_)}{' (now)' if round_ == now else ''}"
            text = code_block("\n".join(rows), limits.FIELD - 12)
            embed.add_field(name=clipped(name, limits.FIELD_NAME), value=text, inline=False)
    return embed


def _head(column: WindColumn, event: Event) -> str:
    if column.divisions == event.divisions:
        return "all"
    return "+".join(column.divisions)[: CELL - 1]


def _table_row(hole: str, cells: list[str]) -> str:
    return (hole.ljust(HOLE_WIDTH) + "".join(each.ljust(CELL) for each in cells)).rstrip()
