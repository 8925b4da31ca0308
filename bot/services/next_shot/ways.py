"""The ways of a member's bag to play what is left: where each comes down, runs and ends.

The ground decides how far short of the target a ball is to come down; what the wind does on the
way there is then asked of the law as the community's shots have bent it. The margins are those of
that answer; the ground's own are not in them.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from bot.services.caddie.caddie import Caddie, batch, choose
from bot.services.caddie.chances import execution_of
from bot.services.caddie.ground import onto_of
from bot.services.caddie.rack import Choice, launch_of
from bot.services.next_shot.reading import NextQuestion
from engine.ground import Ground
from engine.holing import draws
from engine.law import Allowances, Shots, Verdict
from engine.plan import NextShots, Place, Ways, next_shots
from shared.answer import Allowance, Offset
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Kit, Surface
from shared.units import METRES_PER_YARD

POINTS: Final = 256  # of the sample: what a shot leaves is told to the yard
MOST_OF_FULL: Final = 2.0


@dataclass(frozen=True)
class NextWay:
    """One way to play what is left; lengths in yards.

    ``allowance`` is where to aim, from the target. ``carry_yd`` is how far the ball comes down,
    ``bounce_yd`` its first bounce, ``run_yd`` all that it goes on, ``leaves_yd`` what it leaves on
    average. ``plays_yd`` is the carry to set up, ``setup_yd`` the same counted from the full one.
    ``chance`` is that of its going in as computed, to be put right, and shown once chances have
    earned it.
    """

    choice: Choice
    allowance: Allowance
    margin: Offset
    plays_yd: float
    setup_yd: float
    swing_share: float
    carry_yd: float
    bounce_yd: float
    run_yd: float
    leaves_yd: float
    chance: float


def next_ways(*, caddie: Caddie, question: NextQuestion, bag: Bag) -> list[NextWay]:
    """The member's ways, those that leave least first; within a yard the fullest swing first.

    Errors: InputError where none of them reaches. Takes some tenths of a second: for a thread.
    """
    kit = caddie.kit
    choices = _in_reach(_choices(question, bag, kit), question, caddie)
    if not choices:
        raise _none()
    shots = batch(
        shots=[question.shot] * len(choices), choices=choices, kit=kit, kit_rack=caddie.kit_rack
    )
    lie = kit.surface(question.lie)
    ways = _ways(caddie, shots)
    played = next_shots(
        ways=ways,
        distance_m=shots.distance_m,
        place=_place(shots, lie, caddie.grounds.take(np.array([onto_of(question.onto)]))),
        draws=draws(count=POINTS),
    )
    landed = played.aims.finish
    asked = replace(
        shots,
        distance_m=np.where(played.playable, landed.landed_long_m, shots.distance_m),
        spin_factor=shots.spin_factor * lie.spin_share,
    )
    found = caddie.allow(asked)
    rows = [int(i) for i in played.order() if found.verdict[i] == Verdict.FINE]
    if not rows:
        raise _none()
    found_ways = [_way(caddie, choices[i], played, found, asked, shots, lie, i) for i in rows]
    return sorted(found_ways, key=lambda way: (round(way.leaves_yd), abs(1 - way.swing_share)))


def _choices(question: NextQuestion, bag: Bag, kit: Kit) -> list[Choice]:
    """The club asked for, or every club of the kit that can be played from the lie."""
    if question.shot.club is not None:
        return [choose(shot=question.shot, bag=bag, kit=kit)]
    clubs = [c for c in kit.clubs if question.lie == "tee" or launch_of(c) != "driver"]
    named = [question.shot.model_copy(update={"club": club.name}) for club in clubs]
    return [choose(shot=shot, bag=bag, kit=kit) for shot in named]


def _in_reach(choices: list[Choice], question: NextQuestion, caddie: Caddie) -> list[Choice]:
    """Those a flight may be asked of: nothing carries and runs twice what the kit allows."""
    assert question.shot.distance is not None
    rack, row_of = caddie.kit_rack.rack, caddie.kit_rack.row_of
    row = np.array([row_of[each.club, each.grade, each.ball] for each in choices], dtype=np.intp)
    fine = rack.full_m[row] * MOST_OF_FULL >= question.shot.distance.m
    return [each for each, may in zip(choices, fine.tolist(), strict=True) if may]


def _none() -> InputError:
    return InputError("No club of yours plays that from there.", "/equal lists what reaches")


def _ways(caddie: Caddie, shots: Shots) -> Ways:
    rack = caddie.kit_rack.rack.take(shots.row)
    execution = execution_of(caddie, shots, caddie.allow(shots))
    return Ways(
        full=rack.full,
        least_m=rack.short_m,
        most_m=rack.full_m * (1 + caddie.kit.limits.over_full),
        wind_share=rack.wind_share,
        spin_factor=shots.spin_factor,
        tilt_rad=shots.tilt_rad,
        execution=execution,
    )


def _place(shots: Shots, lie: Surface, ground: Ground) -> Place:
    return Place(
        wind_mps=float(shots.wind_mps[0]),
        wind_from_deg=float(shots.wind_from_deg[0]),
        height_m=float(shots.height_m[0]),
        carry_share=lie.carry_share,
        spin_share=lie.spin_share,
        spread=lie.spread,
        ground=ground,
    )


def _way(
    caddie: Caddie,
    choice: Choice,
    played: NextShots,
    found: Allowances,
    asked: Shots,
    shots: Shots,
    lie: Surface,
    i: int,
) -> NextWay:
    """Row ``i``: the aim is counted from the target, the allowance of the law from where the ball
    is to come down."""
    landed, rack = played.aims.finish, caddie.kit_rack.rack
    long = landed.landed_long_m[i] + found.long_m[i] - shots.distance_m[i]
    right = landed.landed_right_m[i] + found.right_m[i]
    setup_m = float(found.plays_m[i]) / lie.carry_share
    full_m = float(rack.full_m[asked.row[i]])
    carry_m = float(played.aims.carry_m[i])
    yd, mark_m = METRES_PER_YARD, found.mark_m[i]
    return NextWay(
        choice=choice,
        allowance=Allowance(
            right_yd=float(right / yd),
            long_yd=float(long / yd),
            right_marks=float(right / mark_m),
            long_marks=float(long / mark_m),
        ),
        margin=Offset(
            right_yd=float(found.half_right_m[i] / yd), long_yd=float(found.half_long_m[i] / yd)
        ),
        plays_yd=setup_m / yd,
        setup_yd=(setup_m - full_m) / yd,
        swing_share=setup_m / full_m,
        carry_yd=carry_m / yd,
        bounce_yd=float(played.aims.first_bounce_m[i]) / yd,
        run_yd=(float(played.aims.total_m[i]) - carry_m) / yd,
        leaves_yd=float(played.chances.left_m[i]) / yd,
        chance=float(played.chances.holed[i]),
    )
