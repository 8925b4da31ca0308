"""The ways to play what is left as an embed: the first in its title, the others two rows each."""

import discord

from bot.chat.message import plain_embed
from bot.services.learning.chances import ranked_sentence
from bot.services.next_shot.reading import NextQuestion
from bot.services.next_shot.service import NextReply
from bot.services.next_shot.ways import NextWay
from shared.answer_text import FOR_WHOM_ROW, do_row
from shared.shot import Shot
from shared.units import METRES_PER_YARD, UNITS, UnitSystem
from shared.wording import from_full, length, offset, wind_words

SHOWN = 3


def next_embed(reply: NextReply) -> discord.Embed:
    """What to play, best first."""
    first, *others = reply.ways[:SHOWN]
    unit = UNITS[reply.units].distance
    lines = [_asked(reply.question, reply.units), _ground(first, reply), ""]
    if others:
        lines.append(f"*Or, set-up from full in {unit}: aim in {reply.mark}s*")
    for way in others:
        lines += [_row(way, reply), _ground(way, reply)]
    across, along = (length(each, reply.units) for each in _margin(first))
    lines += [
        "",
        f"The first ± {across} across, ± {along} along (90%), the ground's aside; {reply.source}",
        ranked_sentence(reply.earned),
    ]
    if not reply.question.lie_said:
        lines.append("Another lie: add rough, sand or tee.")
    return plain_embed(_do(first, reply), lines, FOR_WHOM_ROW)


def _do(way: NextWay, reply: NextReply) -> str:
    asked = reply.question.shot
    bent = Shot(backspin=asked.backspin, sidespin=asked.sidespin, curve=asked.curve)
    return do_row(
        club=way.choice.club,
        shot=bent,
        plays_yd=way.plays_yd,
        setup_yd=way.setup_yd,
        swing_share=way.swing_share,
        allowance=way.allowance,
        units=reply.units,
        mark=reply.mark,
    )


def _asked(question: NextQuestion, units: UnitSystem) -> str:
    """In what it is played: '6 mph from 4 · 171 yd, rough onto green'."""
    assert question.shot.distance is not None and question.shot.wind is not None
    away = length(question.shot.distance.m / METRES_PER_YARD, units, 0)
    return f"{wind_words(question.shot.wind, units)} · {away}, {question.lie} onto {question.onto}"


def _row(way: NextWay, reply: NextReply) -> str:
    """Another way in a row of a phone: '5-wood −62: 5.9 right, 37.8 short'."""
    aim = offset(right=way.allowance.right_marks, long=way.allowance.long_marks)
    setup = from_full(way.setup_yd, reply.units, bare=True).removeprefix("full ")
    return f"**{way.choice.club}** {setup}: {'straight' if aim == 'none' else aim}"


def _ground(way: NextWay, reply: NextReply) -> str:
    run, leaves = (length(each, reply.units, 0).split()[0] for each in (way.run_yd, way.leaves_yd))
    chance, _ = reply.earned.goes_in(way.chance)
    goes_in = f"; goes in {chance:.1%}" if reply.earned.shown else ""
    down = length(way.carry_yd, reply.units, 0)
    return f"down at {down}, runs {run}, leaves about {leaves}{goes_in}"


def _margin(way: NextWay) -> tuple[float, float]:
    return way.margin.right_yd, way.margin.long_yd
