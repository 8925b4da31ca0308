"""From a try as told to what is kept and learned of it. Plain computation, for a thread.

A member aims by the allowance A they were told, or else by the line's moved to their wind and bag.
Where the ball came down from the target, m, is what the wind did plus the aim: observed effect =
m - A. The law said the wind would do minus its own allowance: predicted effect = -law. All pairs
are (long, right).

A plain miss says where the ball came down, but where it was to finish on a ground, where it ended:
that is what its player sees then. Where it ended says nothing of the wind, for the run is in it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bot.services.caddie.adapt import AdaptedShot, Case, ReadLine, adapt
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.shots import Choice, batch
from bot.services.members import ToldAim, aim_told, wind_mmps
from bot.services.results.outcome import Outcome
from engine.law import Runs
from engine.reach import Verdict
from engine.response_features import Situations
from shared.bag import Bag
from shared.kit import SURFACE_KINDS, SurfaceKind
from shared.quantities import Wind
from shared.units import METRES_PER_YARD
from storage.played import Played

Pair = tuple[float, float]
Whole = tuple[int, int]
CM = 100.0


@dataclass(frozen=True)
class ShotFacts:
    """The shot that was to go in, and what became of it; lengths in cm, the wind in mm/s.

    ``miss_cm`` is where it came down and ``ended_cm`` where it ended, from the hole; ``carry_cm``,
    ``height_cm`` and ``share`` are those of the place it was to come down at, ``onto`` is the
    ground it was to finish on. ``effect_cm`` and ``observed_cm`` are None where the law can't be
    compared with what happened: the wind isn't known, or the game's limits cut the set-up;
    ``observed_cm`` also where nobody said where it came down. ``situations`` (1,) is what the law
    was asked, where it could be.
    """

    club: str
    grade: str
    ball: str
    share: float
    wind_mmps: Whole | None
    miss_cm: Whole | None
    ended_cm: Whole | None
    onto: str
    effect_cm: Whole | None
    observed_cm: Whole | None
    carry_cm: int
    height_cm: int
    aim_cm: Whole | None
    backspin: float
    tilt_deg: float
    situations: Situations | None


def shot_facts(
    *,
    caddie: Caddie,
    line: ReadLine,
    bag: Bag,
    wind: Wind | None,
    outcome: Outcome,
    told: Sequence[ToldAim] = (),
) -> ShotFacts:
    """What a member's try of a line comes to; the miss is that of the line's last shot.

    ``wind`` is the wind at the tee as played, None where nobody knows it; ``told`` are the aims the
    member was told lately, newest first.
    """
    adapted = adapt(caddie=caddie, cases=[Case(line, bag, wind)])[0].shots[-1]
    shots = batch(
        shots=[adapted.shot], choices=[adapted.choice], kit=caddie.kit, kit_rack=caddie.kit_rack
    )
    found = caddie.allow(shots)
    onto = adapted.shot.onto
    miss_m, ended_m = places(outcome, mark_m=float(found.mark_m[0]), finishes=onto is not None)
    effect: Whole | None = None
    observed: Whole | None = None
    aim: Whole | None = None
    fits = adapted.fit == Verdict.FINE and bool(found.answered[0])
    if wind is not None and fits:
        law_m = (float(found.law_long_m[0]), float(found.law_right_m[0]))
        aim_m = _aim(adapted, told)
        predicted_m, observed_m = effects(miss_m=miss_m or aim_m, aim_m=aim_m, law_m=law_m)
        aim, effect = _cm(aim_m), _cm(predicted_m)
        observed = None if miss_m is None else _cm(_turned(observed_m, found.runs))
    return ShotFacts(
        club=adapted.choice.club,
        grade=adapted.choice.grade,
        ball=adapted.choice.ball,
        share=round(float(found.situations.share[0]), 4),
        wind_mmps=None if wind is None else wind_mmps(wind),
        miss_cm=None if miss_m is None else _cm(miss_m),
        ended_cm=None if ended_m is None else _cm(ended_m),
        onto=onto or "",
        effect_cm=effect,
        observed_cm=observed,
        carry_cm=round(float(found.situations.carry_m[0]) * CM),
        height_cm=round(float(found.situations.height_m[0]) * CM),
        aim_cm=aim,
        backspin=adapted.shot.backspin,
        tilt_deg=float(np.degrees(shots.tilt_rad[0])),
        situations=found.situations if effect is not None else None,
    )


def places(outcome: Outcome, *, mark_m: float, finishes: bool) -> tuple[Pair | None, Pair | None]:
    """Where a ball came down and where it ended, from the hole, as far as that was said.

    ``finishes``: it was to finish on a ground, so that a plain miss is where it ended. Of one that
    went in the end is the hole, and is not said.
    """
    said = outcome.miss_m(mark_m=mark_m)
    if outcome.named:
        return said, None if outcome.ended is None else outcome.ended.miss_m(mark_m=mark_m)
    if finishes:
        return None, None if outcome.holed else said
    return said, None


def _turned(effect_m: Pair, runs: Runs | None) -> Pair:
    """An effect along the target's line as one along the line to where it was to come down."""
    turn = 0.0 if runs is None else float(runs.turn_rad[0])
    long, right = effect_m
    return (
        math.cos(turn) * long + math.sin(turn) * right,
        math.cos(turn) * right - math.sin(turn) * long,
    )


def effects(*, miss_m: Pair, aim_m: Pair, law_m: Pair) -> tuple[Pair, Pair]:
    """Predicted and observed effect of the wind: -law and miss - aim."""
    predicted = (-law_m[0], -law_m[1])
    return predicted, (miss_m[0] - aim_m[0], miss_m[1] - aim_m[1])


def _aim(shot: AdaptedShot, told: Sequence[ToldAim]) -> Pair:
    """What was aimed by: as it was told, else as it would be told now."""
    long_yd, right_yd = shot.allowance.long_yd, shot.allowance.right_yd
    if shot.shot.wind is not None:
        aim_yd = aim_told(
            told,
            choice=shot.choice,
            wind=shot.shot.wind,
            carry_yd=shot.distance_yd,
            onto=shot.shot.onto,
        )
        long_yd, right_yd = aim_yd or (long_yd, right_yd)
    return long_yd * METRES_PER_YARD, right_yd * METRES_PER_YARD


def _cm(pair: Pair) -> Whole:
    return round(pair[0] * CM), round(pair[1] * CM)


def aimed_by(played: Played) -> tuple[ToldAim, ...]:
    """The aim behind a kept result: as kept, or else its miss less what the wind did."""
    choice = Choice(played.club, played.grade, played.ball)
    if played.aim_cm is not None and played.wind_mmps is not None:
        kept = played.aim_cm[0] / CM / METRES_PER_YARD, played.aim_cm[1] / CM / METRES_PER_YARD
        return (ToldAim(choice, played.wind_mmps, None, kept, _onto(played)),)
    if played.miss_cm is None or played.observed_cm is None or played.wind_mmps is None:
        return ()
    long, right = (
        (miss - did) / CM / METRES_PER_YARD
        for miss, did in zip(played.miss_cm, played.observed_cm, strict=True)
    )
    return (ToldAim(choice, played.wind_mmps, None, (long, right), _onto(played)),)


def _onto(played: Played) -> SurfaceKind | None:
    return next((kind for kind in SURFACE_KINDS if kind == played.onto), None)
