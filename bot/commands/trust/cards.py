"""What is known of a club as an embed: what its game does, latest shots, what is set aside."""

import discord

from bot.chat.message import SAND, SEA, plain_embed
from bot.services.learning.chances import Earned, earned_sentence
from bot.services.learning.report import ClubReport, GradeGame, Shot
from bot.services.learning.scene import game_words, reference_name
from engine.reliability import Standing
from engine.response import HALF_WIDTH_90
from engine.response_refer import Reference
from shared import limits
from shared.text import clipped, plain
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset_in, plural
from storage.decisions import Decision

SHOWN = 3  # grades, those with most shots first
CLEAR_CUT = 0.1  # a difference of this share of what is computed is worth saying first


def trust_embed(report: ClubReport, units: UnitSystem, own: str | None = None) -> discord.Embed:
    """What a community's shots say of a club; of the reader's ``own`` grade first."""
    embed = discord.Embed(
        title=f"{report.club}: {_headline(report)}",
        description="\n".join(_about(report, units)),
        colour=SAND if report.frozen or (report.drift and report.drift.changed) else SEA,
    )
    for game in _shown(report, own):
        rows = "\n".join(
            f"{reference_name(each.reference, units)}: {game_words(each, units)}"
            for each in game.effects
        )
        name = f"{game.grade} at full carry ({_behind(game)})"
        embed.add_field(name=name, value=clipped(rows, limits.FIELD), inline=False)
    if report.shots:
        rows = "\n".join(_shot_line(shot, units) for shot in reversed(report.shots))
        name = "Latest shots: missed beyond what is expected"
        embed.add_field(name=name, value=clipped(rows, limits.FIELD), inline=False)
    if report.aside:
        rows = "\n".join(_aside_line(shot, units) for shot in reversed(report.aside))
        embed.add_field(name="Set aside", value=clipped(rows, limits.FIELD), inline=False)
    embed.set_footer(text="± is a 90% interval. What to aim off, at full carry")
    return embed


def chances_embed(earned: Earned) -> discord.Embed:
    """Whether the chances of going in have earned to be given."""
    titles = {
        Standing.TOO_FEW: "No chance of going in is given yet",
        Standing.OFF: "No chance of going in is given",
        Standing.EARNED: "Chances of going in are given",
    }
    lines = [
        earned_sentence(earned),
        "A try keeps the chance it was given when it was logged, also when it is corrected.",
        "What is known of one club: /trust and its name.",
    ]
    return plain_embed(titles[earned.diagram.standing], lines)


def _shown(report: ClubReport, own: str | None) -> list[GradeGame]:
    """The reader's grade, then those with shots; the first of the kit where there is neither."""
    mine = [game for game in report.grades if game.grade == own]
    others = [game for game in report.grades if game.grade != own and game.shots]
    return (mine + others or list(report.grades))[: SHOWN if mine or others else 1]


SHOWN_DECISIONS = 15


def log_lines(decisions: list[Decision]) -> list[str]:
    """Coaches' decisions, newest first."""
    lines = [
        f"<t:{int(each.at.timestamp())}:R> {plain(each.coach_name or 'somebody', 40)}"
        f" {plain(each.what)}: {plain(each.reason)}"
        for each in decisions[:SHOWN_DECISIONS]
    ]
    before = len(decisions) - len(lines)
    return [*lines, f"… and {before} before"] if before else lines or ["No decision yet."]


def _headline(report: ClubReport) -> str:
    shots = sum(grade.shots for grade in report.grades)
    if not shots:
        return "no shots yet"
    parts: list[str] = []
    for kind, way in ((Reference.INTO, "along"), (Reference.ACROSS, "across")):
        effect = report.grades[0].effects[kind]
        more = effect.learned_m - effect.computed_m
        share = more / max(abs(effect.computed_m), 1.0) * (1 if effect.computed_m >= 0 else -1)
        if abs(share) >= CLEAR_CUT and abs(more) > effect.half_m:
            parts.append(f"{abs(share):.0%} {'more' if share > 0 else 'less'} {way}")
    said = f"the wind does {' and '.join(parts)}" if parts else "as computed"
    return f"{said}, from {plural(shots, 'shot')}"


def _behind(game: GradeGame) -> str:
    parts = [plural(game.shots, "shot")]
    if game.set_aside:
        parts.append(f"{game.set_aside} set aside")
    if game.missed:
        parts.append(f"{game.missed} not measured")
    return ", ".join(parts)


def _about(report: ClubReport, units: UnitSystem) -> list[str]:
    said: list[str] = []
    if report.frozen:
        said.append(f"**Frozen** by a coach: {plain(report.frozen)}")
    if report.spread_m is not None:
        long, right = (HALF_WIDTH_90 * value / METRES_PER_YARD for value in report.spread_m)
        said.append(
            f"Nine hits in ten within {length(right, units)} across, {length(long, units)} along"
        )
    drift = report.drift
    if drift is not None and drift.changed and report.drift_at is not None:
        when = f"<t:{int(report.drift_at.timestamp())}:R>"
        said.append(
            f"**The game may have changed** {when}: since then the wind does "
            f"{drift.gain_change[0]:+.0%} along, {drift.gain_change[1]:+.0%} across of what is "
            "computed. A coach can /gain reset."
        )
    elif drift is not None:
        said.append("No sign that the game has changed.")
    return said


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
