"""Equivalents as an embed: one short line for each club and grade, the member's own in bold."""

from math import hypot

import discord

from bot.chat.message import plain_embed
from bot.services.caddie.equivalents import PART_SHOT, Equivalent
from shared.answer_text import FOR_WHOM
from shared.units import UNITS, UnitSystem
from shared.wording import from_full, length, offset, plural

SHOWN = 11  # lines; a phone shows about 25 of 40 columns


def equal_embed(
    found: list[Equivalent], *, asked: str, units: UnitSystem, mark: str
) -> discord.Embed:
    """The ways to reach a carry in their order; one's own are never cut off."""
    room = max(0, SHOWN - sum(each.owned for each in found))
    others = [each for each in found if not each.owned][:room]
    shown = [each for each in found if each.owned or each in others]
    lines = [_line(each, units) for each in shown if not each.part]
    if any(each.part for each in shown):
        lines.append(f"*Part shots, under {PART_SHOT:.0%}:*")
        lines += [_line(each, units) for each in shown if each.part]
    if len(shown) < len(found):
        lines.append(f"*and {plural(len(found) - len(shown), 'other set-up')}*")
    best = next((each for each in found if each.owned), found[0])
    title = f"{best.club} ({best.grade}) {from_full(best.setup_yd, units)} is the surest of yours"
    if not best.owned:
        title = "None of your grades reaches this; these would"
    unit = UNITS[units].distance
    legend = f"Yours in bold · share, set-up in {unit}: aim in {mark}s ± {unit} (90%)"
    yards = hypot(best.margin.right_yd, best.margin.long_yd)
    marks = hypot(best.margin.right_marks, best.margin.long_marks)
    margin = f"{length(yards, units)} ({marks:.1f} {mark}s)"
    lines.append(f"Margin of the {best.club} {margin}: {best.source}")
    return plain_embed(title, [f"For {asked}", legend, "", *lines], FOR_WHOM)


def _line(each: Equivalent, units: UnitSystem) -> str:
    aim = offset(right=each.allowance.right_marks, long=each.allowance.long_marks)
    margin = length(hypot(each.margin.right_yd, each.margin.long_yd), units).split()[0]
    name = f"**{each.club} {each.grade}**" if each.owned else f"{each.club} {each.grade}"
    setup = from_full(each.setup_yd, units).removesuffix(" yd").removesuffix(" m")
    aimed = "straight" if aim == "none" else aim
    return f"{name} {each.share:.0%}, {setup}: {aimed} ± {margin}"
