"""Equivalents: every club and grade that reaches a carry, with its set-up: whole shots before part
shots, least margin first."""

from dataclasses import dataclass

import numpy as np

from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.rack import Choice
from engine.law import Allowances, Shots, Verdict, answers
from shared.answer import Allowance
from shared.bag import Bag
from shared.errors import (
    EngineError,
    TargetHeightError,
    TooStrongWindError,
    UnreachableShotError,
)
from shared.shot import Shot
from shared.units import METRES_PER_YARD

PART_SHOT = 0.8
"""Share of the full swing below which a shot counts as a part shot. Common practice: a nearly full
swing repeats best, and the margin, which is the wind's alone, says nothing of that."""


@dataclass(frozen=True)
class Equivalent:
    """One way to reach the carry; ``owned`` says that it is in the member's bag, ``share`` is the
    swing's: what the shot plays over the full carry.
    """

    club: str
    grade: str
    owned: bool
    share: float
    plays_yd: float
    setup_yd: float
    allowance: Allowance
    margin: Allowance
    source: str

    @property
    def part(self) -> bool:
        """Whether it is a part shot."""
        return self.share < PART_SHOT


def equivalents(*, caddie: Caddie, shot: Shot, bag: Bag) -> list[Equivalent]:
    """Every club and grade that reaches ``shot`` (wind and distance known): whole shots first, then
    part shots, each by margin.

    Errors: UnreachableShotError, TargetHeightError or TooStrongWindError where none does.
    """
    kit = caddie.kit
    ball = kit.ball(shot.ball or bag.ball).name
    choices = [Choice(club.name, grade.name, ball) for club in kit.clubs for grade in club.grades]
    shots = batch(shots=[shot] * len(choices), choices=choices, kit=kit, kit_rack=caddie.kit_rack)
    found = caddie.allow(shots)
    fine = np.flatnonzero(answers(found, most_marks=kit.limits.marks))
    if not fine.size:
        raise _unreachable(found, shots, choices, caddie)
    margin = np.hypot(found.half_long_m, found.half_right_m)
    share = found.swing_share
    by_margin = np.lexsort((-share[fine], margin[fine].round(2), share[fine] < PART_SHOT))
    order: list[int] = fine[by_margin].tolist()
    return [
        Equivalent(
            club=choices[i].club,
            grade=choices[i].grade,
            owned=_owns(bag, choices[i], caddie),
            share=float(share[i]),
            plays_yd=float(found.plays_m[i]) / METRES_PER_YARD,
            setup_yd=float(found.setup_m[i]) / METRES_PER_YARD,
            allowance=Allowance(
                right_yd=float(found.right_m[i]) / METRES_PER_YARD,
                long_yd=float(found.long_m[i]) / METRES_PER_YARD,
                right_marks=float(found.right_m[i] / found.mark_m[i]),
                long_marks=float(found.long_m[i] / found.mark_m[i]),
            ),
            margin=Allowance(
                right_yd=float(found.half_right_m[i]) / METRES_PER_YARD,
                long_yd=float(found.half_long_m[i]) / METRES_PER_YARD,
                right_marks=float(found.half_right_m[i] / found.mark_m[i]),
                long_marks=float(found.half_long_m[i] / found.mark_m[i]),
            ),
            source=caddie.source(choices[i]),
        )
        for i in order
    ]


def _unreachable(
    found: Allowances, shots: Shots, choices: list[Choice], caddie: Caddie
) -> EngineError:
    """Why no club reaches: the wind, the target's height, too far or too near for all."""
    distance_m, height_m = float(shots.distance_m[0]), float(shots.height_m[0])
    if np.isin(found.verdict, (Verdict.FINE, Verdict.UNSOLVED)).any():
        miss_m = float(found.aims.miss_m.min())
        return TooStrongWindError(
            "no aim holds any ball against this wind", float(shots.wind_mps[0]), miss_m
        )
    short_m = caddie.kit_rack.rack.short_m[shots.row]
    longest = int(np.argmax(found.most_m))
    near = found.verdict[longest] != Verdict.TOO_LONG
    at = int(np.argmin(short_m)) if near else longest
    club, grade = choices[at].club, choices[at].grade
    if near and not found.answered.any():
        return TargetHeightError(
            "no club of the kit comes down on a target at this height",
            club=club,
            grade=grade,
            distance_m=distance_m,
            height_m=height_m,
            reaching=(),
        )
    return UnreachableShotError(
        "no club of the kit can be set up for this carry",
        needed_m=float(found.plays_m[at]),
        least_m=float(short_m[at]),
        most_m=float(found.most_m[at]),
        club=club,
        grade=grade,
        distance_m=distance_m,
        windy=bool(shots.wind_mps[0] > 0),
        reaching=(),
    )


def _owns(bag: Bag, choice: Choice, caddie: Caddie) -> bool:
    club = caddie.kit.club(choice.club)
    owned = bag.grades.get(choice.club)
    known = owned in {grade.name for grade in club.grades}
    return club.grade(owned if known else None).name == choice.grade
