"""A measuring series as an embed: what to hit now, what it is worth, what is known by now."""

import discord

from bot.chat.message import SEA, plain_embed
from bot.services.measure.series import SERIES, Proposal, Standing
from bot.services.measure.service import ChartPreview
from engine.chart import Direction
from engine.measuring import ChartPoint
from shared.units import METRES_PER_YARD, MPS_PER, MPS_PER_MPH, SPEED_UNIT_OF, UnitSystem
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
    if found.points:
        rows = [_point(each, units, mark) for each in found.points]
        embed.add_field(
            name="Chart by now (± is a 90% interval)", value="\n".join(rows), inline=False
        )
    return embed


def chart_embed(
    club: str, found: ChartPreview, *, units: UnitSystem, mark: str, saved: bool
) -> discord.Embed:
    """A measured chart beside what stood before, to be saved or saved."""
    lines = [
        f"{_point(point, units, mark)}, "
        f"{'stood at' if saved else 'stands at'} {before * _mph_per_unit(units):.2f}"
        for point, before in zip(found.points, found.before, strict=True)
    ]
    about = (
        "It is the club's law from now on, and its shots are weighed anew by it. "
        "/decisions says so, and /clubs marks it."
        if saved
        else "Nothing is saved yet. ± is a 90% interval."
    )
    title = f"The {club} has a chart" if saved else f"Chart of the {club}"
    return plain_embed(title, [*lines, "", about])


WINDS = {Direction.INTO: "into", Direction.HELPING: "helping", Direction.ACROSS: "across"}


def _point(point: ChartPoint, units: UnitSystem, mark: str) -> str:
    scale = _mph_per_unit(units)
    return (
        f"{WINDS[point.direction]} at {point.share:.0%} of full: "
        f"{point.marks_per_mph * scale:.2f} ± {point.half_marks_per_mph * scale:.2f} "
        f"{mark}s per {SPEED_UNIT_OF[units]}"
    )


def _mph_per_unit(units: UnitSystem) -> float:
    """Miles an hour in one of the reader's units of speed."""
    return MPS_PER[SPEED_UNIT_OF[units]] / MPS_PER_MPH


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
        return f"Margin now ± {now}; after this shot about ± {after} (90%)"
    before = length(found.margin_before_m / METRES_PER_YARD, units)
    return (
        f"Margin ± {before} at first, ± {now} after {plural(shots, 'shot')}, "
        f"about ± {after} after this one (90%)"
    )
