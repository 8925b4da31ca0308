"""Equivalents as an embed: one line for each club and grade, the member's own marked."""

import discord

from bot.caddie.equal import Equivalent
from bot.cards.answer import FOR_WHOM
from bot.cards.embeds import plain_embed
from bot.words import length, offset, plural
from shared.units import UnitSystem

SHOWN = 14


def equal_embed(
    found: list[Equivalent], *, asked: str, units: UnitSystem, mark: str
) -> discord.Embed:
    """The ways to reach a carry, least margin first; one's own are never cut off."""
    shown = found[:SHOWN] + [each for each in found[SHOWN:] if each.owned]
    lines = [_line(each, units, mark) for each in shown]
    if len(shown) < len(found):
        lines.append(f"*and {plural(len(found) - len(shown), 'other set-up')} with more margin*")
    best = next((each for each in found if each.owned), found[0])
    title = f"{best.club} ({best.grade}) {_setup(best, units)} is the surest of yours"
    if not best.owned:
        title = "None of your grades reaches this; these would"
    return plain_embed(title, [f"For {asked}", "", *lines], FOR_WHOM)


def _line(each: Equivalent, units: UnitSystem, mark: str) -> str:
    aim = offset(right=each.allowance.right_marks, long=each.allowance.long_marks, unit=f"{mark}s")
    margin = (each.margin.right_yd**2 + each.margin.long_yd**2) ** 0.5
    name = f"**{each.club}** {each.grade}{' (yours)' if each.owned else ''}"
    aimed = "straight" if aim == "none" else aim
    return f"{name} {each.share:.0%}, {_setup(each, units)}: {aimed} ± {length(margin, units)}"


def _setup(each: Equivalent, units: UnitSystem) -> str:
    if abs(each.setup_yd) < 0.5:
        return "full"
    sign = "+" if each.setup_yd > 0 else "−"
    return f"full {sign}{length(abs(each.setup_yd), units, 0)}"
