"""What is shown of whole events: what a load changed, what is wrong in a file, the overview."""

from collections.abc import Sequence

import discord

from bot.chat.message import SAND, SEA, plain_embed
from bot.services.actions import ButtonFields
from bot.services.book.against import against_lines
from bot.services.book.changes import EventDiff, diff_lines
from bot.services.book.event_service import LoadQuestion
from bot.services.book.hole_history import HoleRevision
from bot.services.book.hole_rows import hole_row
from bot.services.book.shot_rows import RowsError
from bot.services.book.wind_table import WindColumn
from bot.services.book_actions import BringHoleBack
from bot.services.reminders import Reminder
from shared import limits
from shared.book import Event, Hole, Tee
from shared.text import clipped, code_block, plain, size, when
from shared.units import SPEED_UNIT_OF, UnitSystem
from shared.wording import length, quoted

MOST_BACK = 10  # buttons
MOST_CHANGED = 200  # characters of a row


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


def begun_embed(diff: EventDiff) -> discord.Embed:
    """A new event, with what was read of what a coach typed."""
    embed, event = loaded_embed(diff), diff.event
    read = [
        f"Divisions: {'; '.join(plain(name) for name in event.divisions)}",
        f"Rounds: {'; '.join(plain(name) for name in event.rounds)}",
        *(plain(hole_row(hole)) for hole in event.holes),
    ]
    embed.add_field(name="Read as", value="\n".join(read), inline=False)
    return embed


def question_embed(asked: LoadQuestion) -> discord.Embed:
    """What stands against a file, before anything of it is loaded."""
    lines = [plain(line, 900) for line in against_lines(asked.against)]
    lines.append("Nothing is loaded yet. What is replaced or taken out stays in its history.")
    return plain_embed(clipped(f"{plain(asked.event)}: load this file?", limits.TITLE), lines)


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
    error: RowsError, rows: str, label: str, what: str = "Nothing was kept"
) -> list[discord.Embed]:
    """Which rows of a form's field can't be read, and all of them to be copied from."""
    said: list[str] = []
    for place, row in enumerate(error.errors):
        said.append(f"**Row {row.row}** {quoted(row.given)}: {plain(row.sentence)}")
        if row.example not in (each.example for each in error.errors[place + 1 :]):
            said.append(f"For example: `{row.example}`")
    told = discord.Embed(
        title=f"{what}: a row under “{label}” can't be read",
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
    tees = "".join(f" · {plain(tee.division)} {_tee(hole, tee, units)}" for tee in hole.tees)
    fact = f"par {hole.par} · {length(hole.yards, units, 0)}"
    return f"**{hole.number}**{name} · {fact}{tees}{lines}"


def _tee(hole: Hole, tee: Tee, units: UnitSystem) -> str:
    """'340 yd', 'par 3 200 yd': what is otherwise from a division's tee."""
    its = hole.from_tee(tee.division)
    par = "" if its.par == hole.par else f"par {its.par} "
    return f"{par}{length(its.yards, units, 0)}"


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


def hole_history_embed(event: Event, hole: int, revisions: Sequence[HoleRevision]) -> discord.Embed:
    """The last revisions of a hole, newest first: when, by whom, what changed."""
    told = ""
    for each in revisions:
        who = plain(each.author_name or "somebody")
        rows = [f"**{each.number}** {when(each.at)} by {who}"]
        rows += [plain(row, MOST_CHANGED) for row in each.changed]
        more = "\n".join(rows) + "\n"
        if size(told + more) > limits.DESCRIPTION:
            break
        told += more
    title = f"History of hole {hole}, {plain(event.name)}"
    return discord.Embed(title=clipped(title, limits.TITLE), description=told, colour=SEA)


def hole_back_buttons(
    event: Event, hole: int, revisions: Sequence[HoleRevision]
) -> list[ButtonFields]:
    """A button for each of the last earlier states, to bring it back."""
    earlier = [each for each in revisions[1:] if each.hole is not None]
    return [
        BringHoleBack(hole, each.number, event.name).button(f"Bring back {each.number}")
        for each in earlier[:MOST_BACK]
    ]


def remind_embed(*, on: bool) -> discord.Embed:
    """What a member asked for."""
    if not on:
        return plain_embed("No more reminders", ["You are reminded of no round."])
    said = "Once a round that has a date, by direct message, unless you have logged a shot of it."
    return plain_embed("You will be reminded to log", [said])


def reminder_embed(reminder: Reminder) -> discord.Embed:
    """What a member is told by direct message."""
    title = f"{plain(reminder.round)}, {plain(reminder.event)}: how did it go?"
    lines = [
        "Nothing of yours is logged for this round yet.",
        "/round leads you through it; Went in and Missed under the notes do too.",
    ]
    return plain_embed(clipped(title, limits.TITLE), lines)


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
        width = max([CELL, *(len(cell) + 1 for column in own for cell in column.cells)])
        across = max(ACROSS * CELL // width, 1)
        for at in range(0, len(own), across):
            part = own[at : at + across]
            heads = [_head(column, event, len(part)) for column in part]
            rows = _table(heads, part, numbers)
            name = f"{plain(round_)}{' (now)' if round_ == now else ''}"
            text = code_block("\n".join(rows), limits.FIELD - 12)
            embed.add_field(name=clipped(name, limits.FIELD_NAME), value=text, inline=False)
    return embed


def _head(column: WindColumn, event: Event, side_by_side: int) -> str:
    """Whose winds: by name where there is room, else the first and how many more."""
    if column.divisions == event.divisions:
        return "all"
    room = max(CELL, ACROSS * CELL // side_by_side) - 1
    whole = ", ".join(column.divisions)
    if len(whole) <= room:
        return whole
    first, *others = column.divisions or ("",)
    more = f"+{len(others)}" if others else ""
    return f"{first[: room - len(more)]}{more}"


def _table(heads: list[str], columns: list[WindColumn], holes: list[str]) -> list[str]:
    """A row a hole under the heads, each column as wide as its longest cell."""
    widths = [
        max(CELL, *(len(cell) + 1 for cell in (head, *column.cells)))
        for head, column in zip(heads, columns, strict=True)
    ]
    cells = [heads, *([column.cells[place] for column in columns] for place in range(len(holes)))]
    rows = zip(["", *holes], cells, strict=True)
    return [
        hole.ljust(HOLE_WIDTH) + "".join(map(str.ljust, each, widths)).rstrip()
        for hole, each in rows
    ]
