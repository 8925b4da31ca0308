"""Equivalents as an embed: the member's own clubs first, one row each, the rest behind a press."""

from collections.abc import Sequence
from math import hypot

import discord

from bot.chat.message import plain_embed
from bot.services.actions import ButtonFields
from bot.services.answer_actions import EveryClub
from bot.services.caddie.equivalents import PART_SHOT, Equivalent
from shared import limits
from shared.answer_text import FOR_WHOM_ROW, do_row
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.units import UNITS, UnitSystem
from shared.wording import from_full, length, offset, plural

SHOWN = 16  # lines of all clubs; a phone shows about 25 of 40 columns


def equal_embed(
    found: list[Equivalent], *, asked: str, units: UnitSystem, mark: str, every: bool = False
) -> discord.Embed:
    """The ways to reach a carry in their order: the member's own, or with ``every`` all of them."""
    own = [each for each in found if each.owned]
    shown = _shown(found, own) if every or not own else own
    row = _own_row if own and not every else _line
    lines = [row(each, units) for each in shown if not each.part]
    if any(each.part for each in shown):
        lines.append(f"*Part shots, under {PART_SHOT:.0%}:*")
        lines += [row(each, units) for each in shown if each.part]
    if every and len(shown) < len(found):
        lines.append(f"*and {plural(len(found) - len(shown), 'other set-up')}*")
    best = own[0] if own else found[0]
    title = "None of your grades reaches this; these would"
    if best.owned:
        title = do_row(
            club=best.club,
            shot=Shot(),
            plays_yd=best.plays_yd,
            setup_yd=best.setup_yd,
            swing_share=best.share,
            allowance=best.allowance,
            units=units,
            mark=mark,
        )
    unit = UNITS[units].distance
    legend = f"Yours in bold · share, set-up in {unit}: aim in {mark}s ± {unit} (90%)"
    if row is _own_row:
        legend = f"Set-up from full in {unit}: aim in {mark}s ± {unit} (90%), surest first"
    yards = hypot(best.margin.right_yd, best.margin.long_yd)
    marks = hypot(best.margin.right_marks, best.margin.long_marks)
    margin = f"{length(yards, units)} ({marks:.1f} {mark}s)"
    lines.append(f"Margin of the {best.club} {margin}: {best.source}")
    return plain_embed(title, [f"For {asked}", legend, "", *lines], FOR_WHOM_ROW)


def equal_buttons(found: Sequence[Equivalent], shot: Shot) -> list[ButtonFields]:
    """*All clubs*, where there are others than one's own and the shot is short enough to keep."""
    action = EveryClub(format_shot(shot))
    others = any(not each.owned for each in found) and any(each.owned for each in found)
    return [action.button("All clubs")] if others and len(action.id) <= limits.CUSTOM_ID else []


def _shown(found: list[Equivalent], own: list[Equivalent]) -> list[Equivalent]:
    """As many as a phone shows; one's own are never cut off."""
    room = max(0, SHOWN - len(own))
    others = [each for each in found if not each.owned][:room]
    return [each for each in found if each.owned or each in others]


def _own_row(each: Equivalent, units: UnitSystem) -> str:
    """One of the member's own in a row of a phone; the grade is that of their bag."""
    aim = offset(right=each.allowance.right_marks, long=each.allowance.long_marks)
    margin = length(hypot(each.margin.right_yd, each.margin.long_yd), units).split()[0]
    setup = from_full(each.setup_yd, units, bare=True).removeprefix("full ")
    return f"**{each.club}** {setup}: {'straight' if aim == 'none' else aim} ± {margin}"


def _line(each: Equivalent, units: UnitSystem) -> str:
    aim = offset(right=each.allowance.right_marks, long=each.allowance.long_marks)
    margin = length(hypot(each.margin.right_yd, each.margin.long_yd), units).split()[0]
    name = f"**{each.club} {each.grade}**" if each.owned else f"{each.club} {each.grade}"
    setup = from_full(each.setup_yd, units, bare=True)
    aimed = "straight" if aim == "none" else aim
    return f"{name} {each.share:.0%}, {setup}: {aimed} ± {margin}"
