"""The tables as embeds a phone shows whole: what matters first, a field a variant."""

import discord

from bot.chat.message import SAND, SEA
from bot.services.compare.service import HoleRow, HoleTable, Rated, RoundTable, VariantRow
from bot.services.line_chances.order import order_words, untried_words
from bot.services.results.outcome import tries_words
from bot.services.verdicts.words import INTERVALS, chance_words, verdict_words
from shared import limits
from shared.shot_text.write import example_wind_text
from shared.text import clipped, plain
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, listed, offset_in, speed, wind_words


def compare_embed(table: HoleTable) -> discord.Embed:
    """A hole's variants beside each other."""
    embed = discord.Embed(
        title=f"Hole {table.hole.number}: {compare_headline(table)}",
        description="\n".join(_about(table)),
        colour=SEA if table.verdict and table.verdict.lines else SAND,
    )
    fits = len(table.rows) <= limits.FIELDS
    shown = table.rows if fits else table.rows[: limits.FIELDS - 1]
    for row in shown:
        whose = f" · for {listed(row.divisions, 'and')}" if row.divisions else ""
        name = f"{row.variant} · {row.status}{plain(whose)}" + (
            f" · {plain(row.title)}" if row.title else ""
        )
        value = "\n".join(_row_lines(row, table))
        embed.add_field(
            name=clipped(name, limits.FIELD_NAME), value=clipped(value, limits.FIELD), inline=False
        )
    if not fits:
        rest = table.rows[len(shown) :]
        counts = ", ".join(f"{row.variant} {row.all.holed:.0f}/{row.all.tries:.0f}" for row in rest)
        embed.add_field(name=f"and {len(rest)} more", value=counts, inline=False)
    return embed


def compare_headline(table: HoleTable) -> str:
    """What matters, in words before any number."""
    if not table.rows:
        return "no line yet"
    if table.verdict is None or not table.tries:
        return "nobody has logged a try yet"
    if not table.verdict.tries:
        return "nobody has tried the lines now in play"
    if len(table.rows) == 1:
        return f"only line {table.rows[0].variant} is here"
    return verdict_words(table.verdict)


def round_embed(table: RoundTable) -> discord.Embed:
    """A row a hole, and where most is lost."""
    worst = table.worst
    if worst:
        holes = listed([str(row.number) for row in worst], "and")
        many = "holes" if len(worst) > 1 else "hole"
        title = f"The group loses most on {many} {holes}"
    else:
        tried = any(row.tries for row in table.rows)
        title = "Every try went in" if tried else "Nobody has logged a try yet"
    rows = ["hole   in/tries  best line", *(_round_row(row) for row in table.rows)]
    said = ["```", *rows, "```"]
    if any(0 < row.tries < 10 for row in table.rows):
        said.append("Holes with fewer than ten tries (?) may look better or worse than they are.")
    embed = discord.Embed(title=title, description="\n".join(said), colour=SEA)
    embed.set_footer(text=f"{table.event.name}; = about equal, – none ahead")
    return embed


def _round_row(row: HoleRow) -> str:
    if not row.tries:
        return f"{row.number:>3}         –    –"
    unsure = "?" if row.tries < 10 else " "
    tried = f"{row.holed}/{row.tries}{unsure}"
    rate = "" if row.best_rate is None else f"  {row.best_rate:.0%}"
    return f"{row.number:>3}  {tried:>10}    {row.best}{rate}"[:30]


def _about(table: HoleTable) -> list[str]:
    said = [f"{plain(table.event.name)} · {tries_words(table.tries)} in all"]
    if table.wind is None:
        blows = example_wind_text(table.units)
        said.append(f"Your wind isn't known here; give it as mine, such as: {blows}")
    elif table.width_mps is not None:
        wind, wide = wind_words(table.wind, table.units), speed(table.width_mps, table.units)
        said.append(
            f"Like yours: **{plain(wind)}**; a try {wide} of wind away counts 0.6, twice as far "
            "0.1, and another grade half"
        )
    if table.computed is not None:
        said.append(order_words(table.computed))
    if table.tries:
        said.append(f"What to expect: {INTERVALS}")
    else:
        said.append("Press Went in or Missed under the hole's note after a try.")
    return said


def _row_lines(row: VariantRow, table: HoleTable) -> list[str]:
    everything = row.all
    if not everything.tries:
        words = untried_words(table.computed, row.variant) if table.computed else ""
        said = ["not tried yet", *([words] if words else [])]
    else:
        said = [f"**{everything.holed:g} of {tries_words(everything.tries)} went in**"]
        said.append(_rate(everything))
    said += _miss(everything, table.units)
    if row.votes is not None:
        said.append(f"{row.votes} {'vote' if row.votes == 1 else 'votes'}")
    if row.yours is not None and everything.tries:
        said.append(f"Like yours: {_yours(row.yours)}")
    return said


def _rate(rated: Rated) -> str:
    expected = f"expect {rated.rate:.0%} ({rated.low:.0%} to {rated.high:.0%})"
    return (
        expected if rated.best is None else f"{expected}, {chance_words(rated.best)} to be the best"
    )


def _yours(rated: Rated) -> str:
    if rated.tries < 0.5:
        return "hardly a try yet"
    return f"worth {tries_words(round(rated.tries, 1))}, {_rate(rated)}"


def _miss(rated: Rated, units: UnitSystem) -> list[str]:
    miss = rated.miss
    if miss is None:
        return []
    words = offset_in(
        units, right_yd=miss.across_m / METRES_PER_YARD, long_yd=miss.along_m / METRES_PER_YARD
    )
    mean = "on the target" if words == "none" else words
    if miss.spread_m is None:
        return [f"ended {mean} (one try)"]
    spread = length(miss.spread_m / METRES_PER_YARD, units)
    return [f"on average {mean}, spread {spread}"]
