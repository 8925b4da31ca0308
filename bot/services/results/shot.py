"""From a try as told to what is kept and learned of it. Plain computation, for a thread.

A member aims by the allowance A they were told, or else by the line's moved to their wind and bag.
Where the ball came down from the target, the miss m, is what the wind did plus the aim: observed
effect = m - A. The law said the wind would do minus its own allowance: predicted effect = -law. All
pairs are (long, right).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bot.services.caddie.adapt import AdaptedShot, Case, ReadLine, adapt
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.shots import batch
from bot.services.members import ToldAim, aim_told, wind_mmps
from bot.services.results.outcome import Outcome
from engine.reach import Verdict
from engine.response_features import Situations
from shared.bag import Bag
from shared.quantities import Wind
from shared.units import METRES_PER_YARD

Pair = tuple[float, float]
Whole = tuple[int, int]
CM = 100.0


@dataclass(frozen=True)
class ShotFacts:
    """The shot that was to go in, and what became of it; lengths in cm, the wind in mm/s.

    ``effect_cm`` and ``observed_cm`` are None where the law can't be compared with what happened:
    the wind isn't known, or the game's limits cut the set-up; ``observed_cm`` also where the miss
    isn't. ``situations`` (1,) is what the law was asked, where it could be.
    """

    club: str
    grade: str
    ball: str
    share: float
    wind_mmps: Whole | None
    miss_cm: Whole | None
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
    miss_m = outcome.miss_m(mark_m=float(found.mark_m[0]))
    effect: Whole | None = None
    observed: Whole | None = None
    aim: Whole | None = None
    fits = adapted.fit == Verdict.FINE and bool(found.answered[0])
    if wind is not None and fits:
        law_m = (float(found.law_long_m[0]), float(found.law_right_m[0]))
        aim_m = _aim(adapted, told)
        predicted_m, observed_m = effects(miss_m=miss_m or aim_m, aim_m=aim_m, law_m=law_m)
        aim, effect = _cm(aim_m), _cm(predicted_m)
        observed = None if miss_m is None else _cm(observed_m)
    return ShotFacts(
        club=adapted.choice.club,
        grade=adapted.choice.grade,
        ball=adapted.choice.ball,
        share=round(adapted.share, 4),
        wind_mmps=None if wind is None else wind_mmps(wind),
        miss_cm=None if miss_m is None else _cm(miss_m),
        effect_cm=effect,
        observed_cm=observed,
        carry_cm=round(float(shots.distance_m[0]) * CM),
        height_cm=round(float(shots.height_m[0]) * CM),
        aim_cm=aim,
        backspin=adapted.shot.backspin,
        tilt_deg=float(np.degrees(shots.tilt_rad[0])),
        situations=found.situations if effect is not None else None,
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
