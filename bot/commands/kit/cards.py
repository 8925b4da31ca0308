"""What is seen of a kit: what it offers, what a loaded one changes, what it was."""

import discord

from bot.chat.message import SAND, SEA, plain_embed
from bot.services.actions import ButtonFields
from bot.services.kits.service import Changed, KitPreview, KitState
from bot.services.setup_actions import BringKitBack, DecideKit
from shared import limits
from shared.kit import Club, Kit
from shared.text import clipped, plain, size, when
from shared.units import UNITS, UnitSystem
from shared.wording import length, listed, plural

LONGEST_ROW = 300
MOST_ROWS = limits.DESCRIPTION - 700
SHOWN_CHANGES = 3
SHOWN_LINES = 12


def kit_embed(kit: Kit, units: UnitSystem, *, whose: str = "") -> discord.Embed:
    """Clubs with the full carry of each grade, balls and the size of a mark."""
    lines = [_club_line(club, units) for club in kit.clubs]
    balls = [
        f"{ball.name} ({ball.wind_share:.0%} of the wind"
        + (f", {ball.carry_gain:+.0%} carry)" if ball.carry_gain else ")")
        for ball in kit.balls
    ]
    full, short = length(kit.mark.full_yd, units), length(kit.mark.short_yd, units)
    lines += ["", f"**Balls** {', '.join(balls)}"]
    lines += [f"**One {kit.mark.name}** {full} at full carry, {short} at the shortest"]
    lines += [f"**Set-ups** up to {kit.limits.over_full:.0%} beyond full carry"]
    unit = "metres" if UNITS[units].distance == "m" else "yards"
    footer = f"Full carries in still air, in {unit}"
    return plain_embed(f"Kit: {kit.name}", lines, f"{footer} · {whose}" if whose else footer)


def _club_line(club: Club, units: UnitSystem) -> str:
    grades = ", ".join(
        f"{grade.name} {length(grade.full_yd, units, 0).split()[0]}" for grade in club.grades
    )
    return f"**{club.name}** {grades}{' · chart' if club.charted else ''}"


def preview_embed(found: KitPreview) -> discord.Embed:
    """What a loaded kit would change, not kept yet."""
    name = plain(found.draft.kit.name)
    if not found.changes and found.own_before:
        return plain_embed(f"{name}: nothing would change", [])
    old = plain(found.before.name)
    versus = f"Against {old}, " + ("your kit now" if found.own_before else "the operator's kit")
    rows = [plain(each, LONGEST_ROW) for each in found.changes] or ["It is the same game."]
    rows = [f"{versus}:", *_fitting(rows)]
    if found.lost_lines:
        these = ", ".join(found.lost_lines[:SHOWN_LINES])
        more = len(found.lost_lines) - SHOWN_LINES
        these += f" and {more} more" if more > 0 else ""
        rows += ["", f"⚠ Lines that name what it lacks: {these}. They stay in the book."]
    if found.lost_bags:
        whose = plural(found.lost_bags, "bag")
        holds = "holds" if found.lost_bags == 1 else "hold"
        rows += ["", f"⚠ {whose} {holds} what it lacks: kept, and its member is told."]
    there = {club.name for club in found.draft.kit.clubs}
    if found.charts:
        kept = [each for each in found.charts if each in there]
        gone = [each for each in found.charts if each not in there]
        rows += ["", f"Measured charts stay: {plain(listed(kept, 'and'))}."] if kept else []
        rows += [f"Charts that wait for their club: {plain(listed(gone, 'and'))}."] if gone else []
    warned = found.lost_lines or found.lost_bags
    return discord.Embed(
        title=clipped(f"{name}: not saved yet", limits.TITLE),
        description=clipped("\n".join(rows), limits.DESCRIPTION),
        colour=SAND if warned else SEA,
    )


def preview_buttons(found: KitPreview) -> list[ButtonFields]:
    """*Save* and *Discard*; none where nothing would change."""
    token = found.draft.token
    if not found.changes and found.own_before:
        return []
    return [
        DecideKit("save", token).button("Save", "success"),
        DecideKit("drop", token).button("Discard"),
    ]


def changed_embed(changed: Changed) -> discord.Embed:
    """Which kit is played now."""
    whose = "" if changed.own else ", the operator's kit"
    lines = ["All answers and notes are made with it from now on."]
    return plain_embed(f"You play {plain(changed.kit.name)}{whose}", lines)


def undo_button(changed: Changed) -> ButtonFields:
    """*Undo*: what was played before, while nobody has changed it since."""
    return BringKitBack(changed.before, changed.number).button("Undo")


def history_embed(states: list[KitState], default: Kit) -> discord.Embed:
    """What was played, the newest first, with what each change was."""
    rows: list[str] = []
    for state in states:
        name = plain((state.kit or default).name)
        said = f"**{state.number}** {name} · {plain(state.reason)} by {plain(state.author)}"
        rows.append(f"{said} {when(state.at)}" if state.at else said)
        rows += [f"　{plain(each, LONGEST_ROW)}" for each in state.changes[:SHOWN_CHANGES]]
        more = len(state.changes) - SHOWN_CHANGES
        rows += [f"　… {more} more"] if more > 0 else []
    rows = _fitting(rows)
    own = states and states[0].kit is not None
    rows.append("" if rows else "No kit was loaded here.")
    rows.append(f"The operator's kit is {plain(default.name)}{'' if own else ': you play it'}.")
    return plain_embed("Your kits", rows)


def history_buttons(states: list[KitState]) -> list[ButtonFields]:
    """A button for each earlier state, and one for the operator's kit."""
    if not states:
        return []
    newest = states[0].number
    buttons = [
        BringKitBack(state.number, newest).button(f"Bring back {state.number}")
        for state in states[1:]
        if state.kit is not None
    ]
    if states[0].kit is not None:
        buttons.append(BringKitBack(0, newest).button("The operator's kit"))
    return buttons


def _fitting(rows: list[str]) -> list[str]:
    """The rows that fit, and how many more there are."""
    kept: list[str] = []
    left = MOST_ROWS
    for place, row in enumerate(rows):
        left -= size(row) + 1
        if left < 0:
            return [*kept, f"… {len(rows) - place} more"]
        kept.append(row)
    return kept
