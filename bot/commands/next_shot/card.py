"""The ways to play what is left as an embed, two rows each."""

import discord

from bot.chat.message import plain_embed
from bot.services.next_shot.service import NextReply
from bot.services.next_shot.ways import NextWay
from shared.answer_text import FOR_WHOM_ROW
from shared.shot_text import format_shot
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import aim_words, length

SHOWN = 3
SMALL_YD = 0.5


def next_embed(reply: NextReply) -> discord.Embed:
    """What to play, best first."""
    asked, units = reply.question, reply.units
    assert asked.shot.distance is not None
    distance = length(asked.shot.distance.m / METRES_PER_YARD, units, 0)
    title = f"{distance} left from the {asked.lie}, onto the {asked.onto}"
    lines = [format_shot(asked.shot), ""]
    for way in reply.ways[:SHOWN]:
        lines += [_aim(way, reply), _ground(way, units)]
    margin = reply.ways[0].margin
    across, along = length(margin.right_yd, units), length(margin.long_yd, units)
    lines += [
        "",
        f"Margin of the {reply.ways[0].choice.club} ± {across} across, ± {along} along (90%), the "
        f"ground's aside; {reply.source}",
        "Ranked by what a shot leaves, with hits spread as is usual: not enough tries to give a "
        "chance of holing.",
    ]
    if not asked.lie_said:
        lines.append("Another lie: add rough, sand or tee.")
    return plain_embed(title, lines, FOR_WHOM_ROW)


def _aim(way: NextWay, reply: NextReply) -> str:
    aim = aim_words(way.allowance, units=reply.units, mark=reply.mark)
    said = "aim straight at the target" if aim == "none" else f"aim {aim}"
    return f"**{way.choice.club} ({way.choice.grade}): {said}**"


def _ground(way: NextWay, units: UnitSystem) -> str:
    setup = "full carry"
    if abs(way.setup_yd) >= SMALL_YD:
        sign = "+" if way.setup_yd > 0 else "−"
        setup = f"full {sign}{length(abs(way.setup_yd), units, 0)}"
    return (
        f"set up {setup} (share {way.swing_share:.0%}); comes down at "
        f"{length(way.carry_yd, units, 0)}, first bounce {length(way.bounce_yd, units, 0)}, "
        f"runs {length(way.run_yd, units, 0)} in all; leaves about "
        f"{length(way.leaves_yd, units, 0)}"
    )
