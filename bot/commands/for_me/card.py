"""A line re-computed for one member: two rows a shot, and behind a press what changed and why."""

from dataclasses import replace

import discord

from bot.chat.message import SAND, SEA
from bot.services.caddie.adapt import AdaptedLine, AdaptedShot, said_for, shot_said
from bot.services.caddie.caddie import check_spin
from bot.services.for_me import ForMe
from bot.services.verdicts.words import row_of
from engine.reach import Verdict
from shared import limits
from shared.answer import Allowance
from shared.answer_text import FOR_WHOM_ROW, do_row, ground_row, inside_row
from shared.errors import InputError
from shared.shot_text import format_shot
from shared.text import clipped, plain
from shared.units import UnitSystem
from shared.wording import aim_words, from_full, length, listed, offset, offset_in, wind_words


def for_me_embed(found: ForMe, heading: str = "") -> discord.Embed:
    """The line for this member as a phone shows it whole: what to do and in what, shot by shot.

    ``heading`` takes the place of the hole and the line.
    """
    rows = [row for shot in _numbered(found) for row in shot_rows(*shot, found)]
    about = [
        heading or f"Hole {found.hole.number}, line {found.line.letter} · {_whose(found)}",
    ]
    about += _other_line(found)
    about += [plain(each) for each in (*_lacking(found), *found.problems)]
    embed = discord.Embed(
        title=clipped(rows[0], limits.TITLE),
        description="\n".join([*rows[1:], *about]),
        colour=SEA if found.line.playable else SAND,
    )
    embed.set_footer(text=FOR_WHOM_ROW)
    return embed


def shot_rows(number: str, shot: AdaptedShot, found: ForMe) -> list[str]:
    """What to do for one shot and in what; why not, where it can't be played."""
    before = f"{number} · " if number else ""
    bold = "**" if number not in ("", "1") else ""
    if problem := problem_words(shot, found):
        return [f"{bold}⚠ {before}{shot.choice.club}: not in this wind{bold}", problem]
    row = do_row(
        club=shot.choice.club,
        shot=shot.shot,
        plays_yd=shot.plays_yd,
        setup_yd=shot.setup_yd,
        swing_share=shot.swing_share,
        allowance=shot.allowance,
        units=found.units,
        mark=found.mark,
    )
    mark_yd = found.caddie.mark_yd(shot.choice, carry_yd=shot.distance_yd)
    inside = inside_row(
        wind=shot.shot.wind,
        distance_yd=shot.distance_yd,
        shot=shot.shot,
        margin=Allowance(
            right_yd=shot.margin.right_yd,
            long_yd=shot.margin.long_yd,
            right_marks=shot.margin.right_yd / mark_yd,
            long_marks=shot.margin.long_yd / mark_yd,
        ),
        units=found.units,
    )
    lands = _lands(shot, found.units)
    cut = [f"The set-up is cut at its limit: lands {lands}, inside the room"] if lands else []
    ground = [ground_row(shot.ground, units=found.units)] if shot.ground else []
    return [f"{bold}{before}{row}{bold}", inside, *ground, *cut]


def _numbered(found: ForMe) -> list[tuple[str, AdaptedShot]]:
    shots = found.line.shots
    return [("" if len(shots) == 1 else str(n), shot) for n, shot in enumerate(shots, start=1)]


def why_line_embed(found: ForMe) -> discord.Embed:
    """What stands behind the line for this member, a field a shot."""
    line = found.line.line.line
    first = found.line.shots[0]
    title = f"Hole {found.hole.number}, line {line.variant}: {_headline(first, found)}"
    about = [
        _wind_line(found),
        _bag_words(found),
    ]
    about += _other_line(found)
    about += [plain(each) for each in (*_lacking(found), *found.problems)]
    embed = discord.Embed(
        title=clipped(title, limits.TITLE),
        description="\n".join(about),
        colour=SEA if found.line.playable else SAND,
    )
    for number, shot in enumerate(found.line.shots, start=1):
        own = shot.shot.model_copy(update={"wind": None})
        name = (
            f"{number} · {shot_said(replace(shot.read, shot=own), format_shot(own), found.units)}"
        )
        value = "\n".join(_shot_lines(shot, found))
        embed.add_field(
            name=clipped(plain(name), limits.FIELD_NAME),
            value=clipped(value, limits.FIELD),
            inline=False,
        )
    embed.set_footer(text=FOR_WHOM_ROW)
    return embed


def problem_words(shot: AdaptedShot, found: ForMe) -> str:
    """Why a shot can't be played, and what would reach; empty where it can."""
    units = found.units
    try:
        check_spin(shot=shot.shot, kit=found.caddie.kit, given="")
    except InputError as error:
        return error.sentence
    if shot.fit == Verdict.FINE:
        return ""
    club = f"the {shot.choice.club} ({shot.choice.grade})"
    plays, most = length(shot.plays_yd, units, 0), length(shot.most_yd, units, 0)
    said = {
        Verdict.UNSOLVED: f"No aim holds {club} in this wind.",
        Verdict.TOO_LONG: f"It plays {plays} and {club} can be set up for {most} at most.",
        Verdict.TOO_SHORT: (
            f"It plays {plays} and {club} carries {length(shot.short_yd, units, 0)} at least."
        ),
        Verdict.TOO_HIGH: f"The target is higher than {club} flies.",
        Verdict.TOO_LOW: (
            f"The target is so far down that it plays {plays}, and {club} carries "
            f"{length(shot.short_yd, units, 0)} at least."
        ),
        Verdict.AIM_LIMIT: (
            f"It needs an aim farther off than the {found.caddie.kit.limits.marks:g} "
            f"{found.mark}s the kit allows."
        ),
    }[shot.fit]
    if shot.answered and (lands := _lands(shot, units)):
        said += f" It would land {lands}, outside the room."
    reaching = found.caddie.reaching(shot=shot.shot, choice=shot.choice, bag=found.bag)
    ways = f"The {listed(reaching)} would reach." if reaching else "No club of yours reaches."
    return f"{said} {ways}"


def _wind_line(found: ForMe) -> str:
    text, bearing = found.line.line.line.wind, found.hole.bearing_deg
    tested = said_for(text, kit=found.caddie.kit, bearing_deg=bearing, units=found.units)
    yours = wind_words(found.wind, found.units)
    return f"Your wind **{plain(yours)}**, tested in {plain(tested)}"


def _headline(shot: AdaptedShot, found: ForMe) -> str:
    if not shot.answered:
        return "not in this wind"
    aim = offset(
        right=shot.allowance.right_marks, long=shot.allowance.long_marks, unit=f"{found.mark}s"
    )
    aimed = "aim straight" if aim == "none" else f"aim {aim}"
    return aimed if found.line.playable else f"{aimed}, but see below"


def _shot_lines(shot: AdaptedShot, found: ForMe) -> list[str]:
    units, mark = found.units, found.mark
    problem = problem_words(shot, found)
    said = [f"⚠ {problem}"] if problem else []
    if not shot.answered:
        return said
    aim = aim_words(shot.allowance, units=units, mark=mark)
    said.append(f"**Aim {'straight' if aim == 'none' else aim}**")
    said.append(
        f"{shot.choice.club} ({shot.choice.grade}): set up {from_full(shot.setup_yd, units)}, "
        f"share {shot.swing_share:.0%}, plays {length(shot.plays_yd, units, 0)}"
    )
    said += _changes(shot, units, mark)
    margin = offset_in(units, right_yd=shot.margin.right_yd, long_yd=shot.margin.long_yd)
    if margin == "none":
        said.append("Margin: as tested")
    else:
        said.append(_margin(shot, found))
    if not problem and (lands := _lands(shot, units)):
        said.append(f"The set-up is cut at its limit: lands {lands}, inside the room")
    return said


def _margin(shot: AdaptedShot, found: ForMe) -> str:
    """The margin in the reader's unit and in marks, and where it comes from."""
    units, mark = found.units, found.mark
    mark_yd = found.caddie.mark_yd(shot.choice, carry_yd=shot.distance_yd)
    across, along = (
        f"{length(yards, units)} ({yards / mark_yd:.1f} {mark}s)"
        for yards in (shot.margin.right_yd, shot.margin.long_yd)
    )
    basis = "of this move" if shot.read.worked else "no allowance was noted, so of the law"
    source = found.caddie.source(shot.choice)
    return f"Margin ± {across} across, ± {along} along (90%), {basis}; {source}"


def _changes(shot: AdaptedShot, units: UnitSystem, mark: str) -> list[str]:
    """What the note says, and what wind and bag changed."""
    tested = aim_words(shot.tested, units=units, mark=mark)
    source = "The note" if shot.read.worked else "As tested (computed)"
    said = [f"{source}: {'straight' if tested == 'none' else tested}"]
    wind = offset_in(units, right_yd=shot.by_wind.right_yd, long_yd=shot.by_wind.long_yd)
    if wind != "none":
        said.append(f"Your wind adds {wind}")
    bag = offset_in(units, right_yd=shot.by_bag.right_yd, long_yd=shot.by_bag.long_yd)
    if bag != "none":
        said.append(f"Your bag adds {bag}")
    other = shot.tested_choice
    if (other.grade, other.ball) != (shot.choice.grade, shot.choice.ball):
        said.append(
            f"The note's {other.club} ({other.grade}, {other.ball}) was set up "
            f"{from_full(shot.tested_setup_yd, units)}"
        )
    return said


def _lands(shot: AdaptedShot, units: UnitSystem) -> str:
    words = offset_in(units, right_yd=shot.lands.right_yd, long_yd=shot.lands.long_yd)
    return "" if words == "none" else words


def _lacking(found: ForMe) -> list[str]:
    """What of the member's bag the game no longer has, each said once."""
    notes = (note for shot in found.line.shots for note in shot.choice.notes)
    return [f"{note[0].upper()}{note[1:]}" for note in dict.fromkeys(notes)]


def _whose(found: ForMe) -> str:
    return "your bag" if found.bag_is_set else "default grades, set yours with /bag"


def _bag_words(found: ForMe) -> str:
    if found.bag_is_set:
        return "Your own grades and ball (/bag)"
    return "No bag set: default grades. Set yours with /bag"


def _other_line(found: ForMe) -> list[str]:
    """Which other line is better or safer, and why."""
    if found.better is not None:
        return [_better_words(found, found.better)]
    return [] if found.safer is None else [found.safer.words]


def _better_words(found: ForMe, better: AdaptedLine) -> str:
    letter, own = better.letter, found.line
    if not own.playable:
        return f"**Line {letter} fits better:** all its shots can be played in your wind."
    row = row_of(found.verdict, letter)
    if row is not None and found.verdict is not None and letter in found.verdict.lines[:1]:
        said = f"expected to hole {row.rate:.0%} in winds like yours"
        mine = row_of(found.verdict, own.letter)
        return f"**Line {letter} fits better:** {said}" + (
            f", this one {mine.rate:.0%}." if mine is not None else "."
        )
    mine_yd, theirs_yd = (length(line.margin_yd, found.units) for line in (own, better))
    return f"**Line {letter} is surer for you:** margin {theirs_yd} instead of {mine_yd}."
