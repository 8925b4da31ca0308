"""A measuring series as an embed: what to hit now, what it is worth, what is known by now."""

import discord

from bot.chat.message import SEA, plain_embed
from bot.services.measure.series import SERIES, Proposal, Standing
from engine.measure import ChartPoint
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset, plural, wind_words


def measure_embed(found: Standing, *, units: UnitSystem, mark: str) -> discord.Embed:
    """Where a series stands: the next shot first."""
    series = found.series
    best = found.proposals[0]
    embed = discord.Embed(
        title=f"{series.club} ({series.grade}): hit {_shot(best, units)}",
        description="\n".join(
            [
                f"**Aim {_aim(best, mark)}** and log where it comes down.",
                f"Shot {len(series.shots) + 1} of about {SERIES}. Leave at any time: it is kept.",
                "",
                _margins(found, units),
            ]
        ),
        colour=SEA,
    )
    others = [f"{_shot(each, units)}: aim {_aim(each, mark)}" for each in found.proposals[1:]]
    if others:
        name = "Not on offer? These tell nearly as much"
        embed.add_field(name=name, value="\n".join(others), inline=False)
    if series.shots:
        gains = [
            f"at {share:.0%} of full: {along:.2f} along, {across:.2f} across"
            for share, along, across in found.gains
        ]
        embed.add_field(name="Gain by now", value="\n".join(gains), inline=False)
    return embed


def chart_embed(club: str, points: tuple[ChartPoint, ...], mark: str) -> discord.Embed:
    """A saved chart."""
    lines = [
        f"at {point.share:.0%} of full: {point.marks_per_mph:.2f} ± "
        f"{point.sd_marks_per_mph:.2f} {mark}s per mph"
        for point in points
    ]
    lines += ["", "It is the club's law from now on. /gain log says so, and /kit marks it."]
    return plain_embed(f"The {club} has a chart", lines)


def _shot(each: Proposal, units: UnitSystem) -> str:
    carry = length(each.carry_m / METRES_PER_YARD, units, 0)
    return f"{carry} in {wind_words(each.wind, units)}"


def _aim(each: Proposal, mark: str) -> str:
    words = offset(right=each.right_marks, long=each.long_marks, unit=f"{mark}s")
    return "straight" if words == "none" else words


def _margins(found: Standing, units: UnitSystem) -> str:
    now = length(found.margin_now_m / METRES_PER_YARD, units)
    after = length(found.proposals[0].margin_after_m / METRES_PER_YARD, units)
    shots = len(found.series.shots)
    if not shots:
        return f"Margin now ± {now}; after this shot about ± {after}"
    before = length(found.margin_before_m / METRES_PER_YARD, units)
    return (
        f"Margin ± {before} at first, ± {now} after {plural(shots, 'shot')}, "
        f"about ± {after} after this one"
    )
