"""The ways to play what is left as an embed, two rows each."""

import discord

from bot.chat.message import plain_embed
from bot.services.learning.chances import ranked_sentence
from bot.services.next_shot.service import NextReply
from bot.services.next_shot.ways import NextWay
from shared.answer_text import FOR_WHOM_ROW, NEARLY_FULL
from shared.shot_text import format_shot
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import from_full, length, offset

SHOWN = 3


def next_embed(reply: NextReply) -> discord.Embed:
    """What to play, best first."""
    asked, units = reply.question, reply.units
    assert asked.shot.distance is not None
    distance = length(asked.shot.distance.m / METRES_PER_YARD, units, 0)
    title = f"{distance} from the {asked.lie} onto the {asked.onto}"
    lines = [format_shot(asked.shot), ""]
    for way in reply.ways[:SHOWN]:
        goes_in = (
            f"; goes in {reply.earned.goes_in(way.chance)[0]:.1%}" if reply.earned.shown else ""
        )
        lines += [_aim(way, reply), f"{_ground(way, units)}{goes_in}"]
    margin = reply.ways[0].margin
    across, along = length(margin.right_yd, units), length(margin.long_yd, units)
    lines += [
        "",
        f"The first ± {across} across, ± {along} along (90%), the ground's aside; {reply.source}",
        ranked_sentence(reply.earned),
    ]
    if not asked.lie_said:
        lines.append("Another lie: add rough, sand or tee.")
    return plain_embed(title, lines, FOR_WHOM_ROW)


def _aim(way: NextWay, reply: NextReply) -> str:
    right, long = way.allowance.right_marks, way.allowance.long_marks
    aim = offset(right=right, long=long, unit=f"{reply.mark}s")
    setup = from_full(way.setup_yd, reply.units, bare=True)
    if way.swing_share < NEARLY_FULL:
        setup += f", {way.swing_share:.0%}"
    said = "aim straight" if aim == "none" else f"aim {aim}"
    return f"**{way.choice.club} · {setup} · {said}**"


def _ground(way: NextWay, units: UnitSystem) -> str:
    run, leaves = (length(each, units, 0).split()[0] for each in (way.run_yd, way.leaves_yd))
    return f"down at {length(way.carry_yd, units, 0)}, runs {run}, leaves about {leaves}"
