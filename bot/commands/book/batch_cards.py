"""What a coach sees of many lines at once: what they will be, what looks wrong, what was kept."""

from collections.abc import Sequence

import discord

from bot.chat.forms import Form
from bot.chat.message import SAND, SEA
from bot.services.actions import ButtonFields
from bot.services.book.batches import BatchPreview, Previewed
from bot.services.book.stored import KeptLine
from bot.services.book_actions import BatchForm, DecideBatch
from engine.reach import Verdict
from shared import limits
from shared.text import clipped, plain, size
from shared.units import METRES_PER_YARD, UnitSystem, distance_number
from shared.wording import offset, plural, wind_words

MOST = limits.DESCRIPTION - 200
LONGEST_TITLE = 30


def batch_form(event: str, *, example: str, rows: str = "") -> Form:
    """Many lines, one a row."""
    form = Form("Lines, one a row", BatchForm(event))
    form.ask(
        "rows",
        about="hole, division, status, title | wind (empty: the hole's) | shot | shot",
        value=rows,
        hint=example,
        most=limits.FORM_TEXT,
        required=True,
    )
    return form


def batch_embed(found: BatchPreview) -> discord.Embed:
    """What looks wrong first, then a row a line with its aims where it is to be played."""
    count = plural(len(found.lines), "line")
    doubts = [
        f"⚠ **{each.hole}{each.letter}** {plain(text, 200)}"
        for each in found.lines
        for text in each.doubts
    ]
    rows = doubts + [""] * bool(doubts) + [_row(each, found.units) for each in found.lines]
    embed = discord.Embed(
        title=f"{count}, not saved yet",
        description=_fitting(rows),
        colour=SAND if doubts else SEA,
    )
    embed.set_footer(text=f"For {plain(found.draft.event)}. Aims in marks, in the wind on now.")
    return embed


def batch_buttons(found: BatchPreview) -> list[ButtonFields]:
    """*Save*, *Change* where it was typed, *Give up*."""
    token = found.draft.token
    buttons = [DecideBatch("save", token).button(f"Save {len(found.lines)}", "success")]
    if found.draft.rows:
        buttons.append(DecideBatch("change", token).button("Change"))
    return [*buttons, DecideBatch("drop", token).button("Give up")]


def kept_embed(kept: Sequence[KeptLine]) -> discord.Embed:
    """What was saved."""
    names = ", ".join(f"{each.hole}{each.variant}" for each in kept)
    return discord.Embed(
        title=f"Saved: {plural(len(kept), 'line')}", description=clipped(names, 1000), colour=SEA
    )


def _row(each: Previewed, units: UnitSystem) -> str:
    line = each.line
    mark = "★ " if line.status == "recommended" else ""
    title = f" {plain(line.title, LONGEST_TITLE)}" if line.title else ""
    whose = ", ".join(plain(name) for name in line.divisions) or "all divisions"
    aims = "; ".join(_aims(each, units)) or "not computed"
    start = f"{mark}**{each.hole}{each.letter}**{title} · {whose}: {aims}"
    if line.copied:
        start = f"{start} · copied from {plain(line.copied)}, not tested"
    return f"{start} · in {plain(wind_words(each.wind, units))}" if each.wind else start


def _aims(each: Previewed, units: UnitSystem) -> list[str]:
    said: list[str] = []
    for shot in each.moved.shots if each.moved else ():
        distance = distance_number(shot.distance_yd * METRES_PER_YARD, units)
        start = f"{plain(shot.choice.club)} {distance:.0f}"
        words = offset(right=shot.allowance.right_marks, long=shot.allowance.long_marks)
        words = "straight" if words == "none" else words
        fits = shot.answered and shot.fit == Verdict.FINE
        said.append(f"{start} {words}" if fits else f"{start} ⚠ can't be played so")
    return said


def _fitting(rows: Sequence[str]) -> str:
    kept: list[str] = []
    left = MOST
    for place, row in enumerate(rows):
        left -= size(row) + 1
        if left < 0:
            return "\n".join([*kept, f"… {len(rows) - place} more rows"])
        kept.append(row)
    return "\n".join(kept)
