"""Equivalents: every club and grade that reaches a carry, with its set-up: whole shots before part
shots, least margin first."""

from dataclasses import dataclass

import numpy as np

from bot.services.caddie.caddie import Caddie, Choice, batch
from engine.law import Allowances, Shots, Verdict
from shared.answer import Allowance
from shared.bag import Bag
from shared.errors import EngineError, TooStrongWindError, UnreachableShotError
from shared.shot import Shot
from shared.units import METRES_PER_YARD

PART_SHOT = 0.8
"""Share of the full carry below which a shot counts as a part shot. Common practice: a nearly full
swing repeats best, and the margin, which is the wind's alone, says nothing of that."""


@dataclass(frozen=True)
class Equivalent:
    """One way to reach the carry; ``owned`` says that it is in the member's bag."""

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

    Errors: UnreachableShotError or TooStrongWindError where none does.
    """
    kit = caddie.kit
    ball = kit.ball(shot.ball or bag.ball).name
    choices = [Choice(club.name, grade.name, ball) for club in kit.clubs for grade in club.grades]
    shots = batch(shots=[shot] * len(choices), choices=choices, kit=kit, kit_rack=caddie.kit_rack)
    found = caddie.allow(shots)
    fine = np.flatnonzero(found.verdict == Verdict.FINE)
    if not fine.size:
        raise _unreachable(found, shots, choices, caddie)
    margin = np.hypot(found.sd_long_m, found.sd_right_m)
    full_m = caddie.kit_rack.rack.full_m[shots.row]
    share = shots.distance_m / full_m
    by_margin = np.lexsort((-share[fine], margin[fine].round(2), share[fine] < PART_SHOT))
    order: list[int] = fine[by_margin].tolist()
    return [
        Equivalent(
            club=choices[i].club,
            grade=choices[i].grade,
            owned=_owns(bag, choices[i], caddie),
            share=float(share[i]),
            plays_yd=float(found.plays_m[i]) / METRES_PER_YARD,
            setup_yd=float(found.plays_m[i] - full_m[i]) / METRES_PER_YARD,
            allowance=Allowance(
                right_yd=float(found.right_m[i]) / METRES_PER_YARD,
                long_yd=float(found.long_m[i]) / METRES_PER_YARD,
                right_marks=float(found.right_m[i] / found.mark_m[i]),
                long_marks=float(found.long_m[i] / found.mark_m[i]),
            ),
            margin=Allowance(
                right_yd=float(found.sd_right_m[i]) / METRES_PER_YARD,
                long_yd=float(found.sd_long_m[i]) / METRES_PER_YARD,
                right_marks=float(found.sd_right_m[i] / found.mark_m[i]),
                long_marks=float(found.sd_long_m[i] / found.mark_m[i]),
            ),
            source=caddie.source(choices[i]),
        )
        for i in order
    ]


def _unreachable(
    found: Allowances, shots: Shots, choices: list[Choice], caddie: Caddie
) -> EngineError:
    """Why no club reaches: too far for the longest, too near for the shortest, or the wind."""
    rack = caddie.kit_rack.rack
    full_m, short_m = rack.full_m[shots.row], rack.short_m[shots.row]
    distance_m = float(shots.distance_m[0])
    far, near = distance_m > full_m.max(), distance_m < short_m.min()
    if not (far or near) and (found.verdict == Verdict.UNSOLVED).any():
        miss_m = float(found.aims.miss_m.min())
        return TooStrongWindError(
            "no aim holds any ball against this wind", float(shots.wind_mps[0]), miss_m
        )
    at = int(np.argmin(short_m) if near else np.argmax(full_m))
    return UnreachableShotError(
        "no club of the kit can be set up for this carry",
        needed_m=distance_m if far or near else float(found.plays_m[at]),
        least_m=float(short_m[at]),
        most_m=float(found.most_m[at]),
        club=choices[at].club,
        grade=choices[at].grade,
        distance_m=distance_m,
        reaching=(),
    )


def _owns(bag: Bag, choice: Choice, caddie: Caddie) -> bool:
    club = caddie.kit.club(choice.club)
    owned = bag.grades.get(choice.club)
    known = owned in {grade.name for grade in club.grades}
    return club.grade(owned if known else None).name == choice.grade
