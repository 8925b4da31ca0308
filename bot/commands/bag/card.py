"""A bag as an embed."""

import discord

from bot.chat.message import plain_embed
from bot.services.kits.changes import lacking
from shared.bag import Bag
from shared.kit import Kit
from shared.text import plain
from shared.units import UNITS, DistanceUnit
from shared.wording import length, listed

DISTANCES: dict[DistanceUnit, str] = {"yd": "yards", "m": "metres"}


def bag_embed(bag: Bag, kit: Kit) -> discord.Embed:
    """Grades with their full carry, ball and units; what is the kit's default is marked so."""
    lines: list[str] = []
    for club in kit.clubs:
        owned = bag.grades.get(club.name)
        known = owned in {grade.name for grade in club.grades}
        grade = club.grade(owned if known else None)
        default = "" if known else " · default"
        carry = length(grade.full_yd, bag.units, 0)
        lines.append(f"**{club.name}** {grade.name}, {carry}{default}")
    known = bag.ball in {each.name for each in kit.balls}
    ball = bag.ball if known else f"{kit.ball(None).name} · default"
    units = UNITS[bag.units]
    lines += ["", f"**Ball** {ball}", f"**Units** {DISTANCES[units.distance]} and {units.speed}"]
    if bag.private:
        lines.append("**Answers** shown to you alone")
    if gone := lacking(bag, kit):
        these = plain(listed(gone, "or"))
        lines += ["", f"*Your game has no {these} any more: kept, should it come back.*"]
    club = kit.clubs[len(kit.clubs) // 2]
    grade = club.grades[-1].name
    footer = f"Set one: /bag club:{club.name} grade:{grade} · all at once: /bag grade:{grade}"
    return plain_embed("Your bag", lines, footer)
