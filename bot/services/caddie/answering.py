"""From the engine's numbers to an answer, or to why there is none."""

import numpy as np

from bot.services.caddie.ground import ground_facts
from bot.services.caddie.numbers import changed, flight_facts, tidy
from bot.services.caddie.rack import Choice
from engine.law import Allowances, Shots, help_turns
from shared.answer import Allowance, Answer, IfWind, Margin
from shared.bag import Bag
from shared.errors import InputError, UnreachableShotError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text import format_shot
from shared.units import METRES_PER_YARD
from shared.wording import length


def answer_from(
    found: Allowances,
    base: Shots,
    *,
    shot: Shot,
    choice: Choice,
    kit: Kit,
    charted: bool,
    source: str,
) -> Answer:
    """The answer to a shot from its allowances (3,): as asked, windier, with the wind turned.

    ``base`` (1,) is what was asked of the law, ``source`` where the answer comes from in words.
    """
    long_yd, right_yd = found.long_m / METRES_PER_YARD, found.right_m / METRES_PER_YARD
    mark_yd = float(found.mark_m[0]) / METRES_PER_YARD
    margin = _margin(found, mark_yd, source)
    return Answer(
        shot=shot,
        text=format_shot(shot),
        kit=kit.name,
        club=choice.club,
        grade=choice.grade,
        ball=choice.ball,
        law="chart" if charted else "flight",
        allowance=_allowance(float(right_yd[0]), float(long_yd[0]), mark_yd),
        distance_yd=tidy(base.distance_m[0] / METRES_PER_YARD),
        plays_yd=tidy(found.plays_m[0] / METRES_PER_YARD),
        share=tidy(base.distance_m[0] / found.full_m[0]),
        swing_share=tidy(found.swing_share[0]),
        setup_yd=tidy(found.setup_m[0] / METRES_PER_YARD),
        help_turns=bool(
            help_turns(
                found.take(slice(1)), found.take(slice(1, 2)), wind_from_deg=base.wind_from_deg
            )[0]
        ),
        flight=flight_facts(found, right_yd, long_yd),
        ground=found.runs
        and ground_facts(found.runs, 0, onto=shot.onto, distance_m=float(base.distance_m[0])),
        if_wind=IfWind(
            per_mph=changed(right_yd, long_yd, 1), per_10_deg=changed(right_yd, long_yd, 2)
        ),
        margin=margin,
        margin_yd=tidy(np.hypot(margin.right_yd, margin.long_yd)),
        mark_yd=mark_yd,
        notes=choice.notes,
    )


def _allowance(right_yd: float, long_yd: float, mark_yd: float) -> Allowance:
    return Allowance(
        right_yd=tidy(right_yd),
        long_yd=tidy(long_yd),
        right_marks=tidy(right_yd / mark_yd),
        long_marks=tidy(long_yd / mark_yd),
    )


def _margin(found: Allowances, mark_yd: float, source: str) -> Margin:
    right_yd = float(found.half_right_m[0]) / METRES_PER_YARD
    long_yd = float(found.half_long_m[0]) / METRES_PER_YARD
    return Margin(
        right_yd=tidy(right_yd),
        long_yd=tidy(long_yd),
        right_marks=tidy(right_yd / mark_yd),
        long_marks=tidy(long_yd / mark_yd),
        source=source,
    )


def unreachable(
    found: Allowances,
    choice: Choice,
    base: Shots,
    least_m: float,
    reaching: tuple[str, ...],
    example: str,
) -> UnreachableShotError:
    """That a club can't be set up for what was asked: its shortest and longest, and who reaches."""
    most_m, distance_m = float(found.most_m[0]), float(base.distance_m[0])
    if found.runs is not None:  # what is out of reach is what it plays, not where it ends
        distance_m = min(max(float(found.runs.carry_m[0]), least_m), most_m)
    return UnreachableShotError(
        "the club can't be set up for this carry",
        needed_m=float(found.plays_m[0]),
        least_m=least_m,
        most_m=most_m,
        club=choice.club,
        grade=choice.grade,
        distance_m=distance_m,
        windy=bool(base.wind_mps[0] > 0),
        reaching=reaching,
        example=example,
    )


def no_finish(shot: Shot, choice: Choice, bag: Bag, example: str, given: str) -> InputError:
    """That no swing of a club has its ball end at the target."""
    assert shot.distance is not None
    far = length(shot.distance.m / METRES_PER_YARD, bag.units, 0)
    return InputError(
        f"No swing of the {choice.club} has its ball end {far} away on the {shot.onto}; without"
        " the ground you get the aim for where it comes down.",
        example,
        given,
    )
