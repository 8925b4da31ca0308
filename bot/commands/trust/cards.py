"""A club's trust as an embed: what matters first, then gains, latest shots, what is set aside."""

import discord

from bot.chat.message import SAND, SEA
from bot.services.learning.report import ClubReport, GradeGain, Shot
from shared import limits
from shared.text import clipped, plain
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset_in, plural
from storage.decisions import Decision

CLEAR_CUT = 0.1  # a gain this far from 1 is worth saying first


def trust_embed(report: ClubReport, units: UnitSystem) -> discord.Embed:
    """What a community's shots say of a club."""
    embed = discord.Embed(
        title=f"{report.club}: {_headline(report)}",
        description="\n".join(_about(report, units)),
        colour=SAND if report.frozen or (report.drift and report.drift.changed) else SEA,
    )
    gains = "\n".join(_gain_line(grade, units) for grade in report.grades)
    embed.add_field(name="Gain (90% interval)", value=clipped(gains, limits.FIELD), inline=False)
    if report.shots:
        rows = "\n".join(_shot_line(shot, units) for shot in reversed(report.shots))
        name = "Latest shots: missed beyond what the gain explains"
        embed.add_field(name=name, value=clipped(rows, limits.FIELD), inline=False)
    if report.aside:
        rows = "\n".join(_aside_line(shot, units) for shot in reversed(report.aside))
        embed.add_field(name="Set aside", value=clipped(rows, limits.FIELD), inline=False)
    embed.set_footer(text="A gain of 1.20 along: the wind does 20% more than computed")
    return embed


def log_lines(decisions: list[Decision]) -> list[str]:
    """Coaches' decisions, newest first."""
    return [
        f"<t:{int(each.at.timestamp())}:R> {plain(each.coach_name or 'somebody', 40)}"
        f" {plain(each.what)}: {plain(each.reason)}"
        for each in decisions[:15]
    ] or ["No decision yet."]


def _headline(report: ClubReport) -> str:
    shots = sum(grade.shots for grade in report.grades)
    if not shots:
        return "no shots yet"
    best = max(report.grades, key=lambda grade: grade.shots)
    parts: list[str] = []
    for gain, way in ((best.along, "along"), (best.across, "across")):
        if abs(gain[0] - 1) >= CLEAR_CUT:
            parts.append(f"{abs(gain[0] - 1):.0%} {'more' if gain[0] > 1 else 'less'} {way}")
    said = f"the wind does {' and '.join(parts)}" if parts else "as computed"
    return f"{said}, from {plural(shots, 'shot')}"


def _about(report: ClubReport, units: UnitSystem) -> list[str]:
    said: list[str] = []
    if report.frozen:
        said.append(f"**Frozen** by a coach: {plain(report.frozen)}")
    if report.spread_m is not None:
        long, right = (value / METRES_PER_YARD for value in report.spread_m)
        said.append(f"Hits spread ± {length(right, units)} across, ± {length(long, units)} along")
    drift = report.drift
    if drift is not None and drift.changed and report.drift_at is not None:
        when = f"<t:{int(report.drift_at.timestamp())}:R>"
        said.append(
            f"**The game may have changed** {when}: gain {drift.gain_change[0]:+.2f} along, "
            f"{drift.gain_change[1]:+.2f} across since. A coach can /gain reset."
        )
    elif drift is not None:
        said.append("No sign that the game has changed.")
    return said


def _gain_line(grade: GradeGain, units: UnitSystem) -> str:
    bias = offset_in(
        units,
        right_yd=grade.bias_right_m / METRES_PER_YARD,
        long_yd=grade.bias_long_m / METRES_PER_YARD,
    )
    always = "" if bias == "none" else f"; always {bias}"
    aside = f", {grade.set_aside} set aside" if grade.set_aside else ""
    return (
        f"**{grade.grade}** along {_interval(grade.along)}, across {_interval(grade.across)}"
        f"{always} · {plural(grade.shots, 'shot')}{aside}"
    )


def _interval(gain: tuple[float, float, float]) -> str:
    return f"{gain[0]:.2f} ({gain[1]:.2f} to {gain[2]:.2f})"


def _shot_line(shot: Shot, units: UnitSystem) -> str:
    missed = offset_in(
        units,
        right_yd=shot.residual_right_m / METRES_PER_YARD,
        long_yd=shot.residual_long_m / METRES_PER_YARD,
    )
    weight = "" if shot.weight > 0.95 else f" · counts {shot.weight:.0%}"
    return f"`{shot.result_id}` {shot.grade}: {'nothing' if missed == 'none' else missed}{weight}"


def _aside_line(shot: Shot, units: UnitSystem) -> str:
    why = plain(shot.left_out, 80) if shot.left_out else "too far off to be this wind's doing"
    return f"{_shot_line(shot, units).split(' · ')[0]} ({why})"
