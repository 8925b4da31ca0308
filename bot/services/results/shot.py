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
from bot.services.caddie.believed import GradeKey
from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.chances import holing_chances
from bot.services.caddie.ground import roll_factor
from bot.services.caddie.hits import HITS, RUNS
from bot.services.caddie.rack import Choice
from bot.services.members import ToldAim, aim_told, wind_mmps
from bot.services.results.outcome import Outcome
from engine.execution import REACH_M, band_of
from engine.law import Allowances, Runs, Shots
from engine.reach import Verdict
from engine.response_features import Situations
from shared.bag import Bag
from shared.kit import SURFACE_KINDS, SurfaceKind
from shared.quantities import Wind
from shared.units import METRES_PER_YARD
from storage.played import Part, Played

Pair = tuple[float, float]
Whole = tuple[int, int]
CM = 100.0


@dataclass(frozen=True)
class Hit:
    """One try's hit: where it came down from where it was believed to, (long, right), with the
    standard error of that belief; ``miss_m`` None where nobody said where it came down."""

    share: float
    carry_m: float
    sd_m: Pair
    belief_sd_m: Pair
    miss_m: Pair | None


@dataclass(frozen=True)
class ShotFacts:
    """The shot that was to go in, and what became of it; lengths in cm, the wind in mm/s.

    ``miss_cm`` is where it came down and ``ended_cm`` where it ended, from the hole; ``carry_cm``,
    ``height_cm`` and ``share`` are those of the place it was to come down at, ``onto`` is the
    ground it was to finish on. ``effect_cm`` and ``observed_cm`` are None where the law can't be
    compared with what happened: the wind isn't known, or the game's limits cut the set-up;
    ``observed_cm`` also where nobody said where it came down. ``situations`` (1,) is what the law
    was asked, where it could be. ``hit`` and ``run`` are what it says of hits and of the ground,
    ``chance`` that of its going in, by what was known before.
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
    hit: Hit | None
    run: Part | None
    chance: float | None


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
    fits = adapted.fit == Verdict.FINE and bool(found.answered[0])
    seen: _Compared | None = None
    if wind is not None and fits:
        plain_in = outcome.holed and not outcome.named  # it may have come down anywhere near
        seen = _compared(caddie, shots, found, _aim(adapted, told), miss_m, plain_in=plain_in)
    return ShotFacts(
        club=adapted.choice.club,
        grade=adapted.choice.grade,
        ball=adapted.choice.ball,
        share=round(float(found.situations.share[0]), 4),
        wind_mmps=None if wind is None else wind_mmps(wind),
        miss_cm=None if miss_m is None else _cm(miss_m),
        ended_cm=None if ended_m is None else _cm(ended_m),
        onto=onto or "",
        effect_cm=seen and seen.effect,
        observed_cm=seen and seen.observed,
        carry_cm=round(float(found.situations.carry_m[0]) * CM),
        height_cm=round(float(found.situations.height_m[0]) * CM),
        aim_cm=seen and seen.aim,
        backspin=adapted.shot.backspin,
        tilt_deg=float(np.degrees(shots.tilt_rad[0])),
        situations=found.situations if seen is not None else None,
        hit=seen and seen.hit,
        run=_run(caddie, found.runs, onto, miss_m=miss_m, ended_m=ended_m),
        chance=seen and seen.chance,
    )


def hit_part(key: GradeKey, hit: Hit, *, tries: int, went_in: int, set_aside: bool = False) -> Part:
    """What ``tries`` of one kind add to their grade's hits.

    Of a measured miss r only a part is the hit's, the rest what was not known of the response:
    E[hit^2 | r] = (k r)^2 + k v, with k = s^2 / (s^2 + v), s the hit's spread as believed and v the
    belief's variance.
    """
    band = int(band_of(hit.share))
    vector = np.zeros(7)  # measured, holed, missed, mishits, squares twice, catch
    if set_aside:
        vector[3] = 1
    elif hit.miss_m is not None:
        vector[0] = 1
        for axis in range(2):
            hits, belief = hit.sd_m[axis] ** 2, hit.belief_sd_m[axis] ** 2
            part = hits / (hits + belief)
            square = (part * hit.miss_m[axis]) ** 2 + part * belief
            vector[4 + axis] = square / hit.carry_m**2
    else:
        vector[1], vector[2] = went_in, tries - went_in
        vector[6] = tries * REACH_M / hit.carry_m
    return Part(HITS, f"{key[0]}/{key[1]}|{band}", tuple(vector.tolist()))


def run_part(kind: SurfaceKind, *, run_m: float, bounced_m: float, rolled_m: float) -> Part:
    """What one run on a ground adds: as seen, and what was foreseen of bounces and roll with the
    ground's stated speed."""
    rest = run_m - bounced_m
    return Part(RUNS, kind, (1.0, rolled_m**2, rolled_m * rest, rest**2))


@dataclass(frozen=True)
class _Compared:
    """A shot's aim and effects in cm, its hit, and the chance it was given."""

    aim: Whole
    effect: Whole
    observed: Whole | None
    hit: Hit
    chance: float | None


def _compared(
    caddie: Caddie,
    shots: Shots,
    found: Allowances,
    aim_m: Pair,
    miss_m: Pair | None,
    *,
    plain_in: bool,
) -> _Compared:
    """A shot beside what the law says of it."""
    law_m = (float(found.law_long_m[0]), float(found.law_right_m[0]))
    predicted_m, observed_m = effects(miss_m=miss_m or aim_m, aim_m=aim_m, law_m=law_m)
    chance = math.nan if shots.onto is None else float(holing_chances(caddie, shots, found)[0])
    return _Compared(
        aim=_cm(aim_m),
        effect=_cm(predicted_m),
        observed=None if miss_m is None else _cm(_turned(observed_m, found.runs)),
        hit=hit_of(caddie, shots, found, miss_m=None if plain_in else miss_m, aim_m=aim_m),
        chance=None if math.isnan(chance) else chance,
    )


def hit_of(
    caddie: Caddie, shots: Shots, found: Allowances, *, miss_m: Pair | None, aim_m: Pair
) -> Hit:
    """Where it came down from where a ball so aimed was believed to; ``shots`` (1,) is what was
    asked, ``found`` what the law says."""
    carry_m = found.situations.carry_m
    long, right, _ = caddie.hits_of(shots, carry_m=carry_m)
    missed: Pair | None = None
    if miss_m is not None:
        runs = found.runs
        down_m = (float(runs.landed_long_m[0]), float(runs.landed_right_m[0])) if runs else (0, 0)
        told_m = float(found.long_m[0]), float(found.right_m[0])
        missed = (
            miss_m[0] - down_m[0] - (aim_m[0] - told_m[0]),
            miss_m[1] - down_m[1] - (aim_m[1] - told_m[1]),
        )
    return Hit(
        share=float(found.situations.share[0]),
        carry_m=float(carry_m[0]),
        sd_m=(float(long[0]), float(right[0])),
        belief_sd_m=(float(found.sd_long_m[0]), float(found.sd_right_m[0])),
        miss_m=missed,
    )


def _run(
    caddie: Caddie,
    runs: Runs | None,
    onto: SurfaceKind | None,
    *,
    miss_m: Pair | None,
    ended_m: Pair | None,
) -> Part | None:
    """What its run says of the ground; along the line of travel, which hardly turns."""
    if runs is None or onto is None or miss_m is None or ended_m is None or not runs.solved[0]:
        return None
    rolled_m = float(runs.roll_m[0])
    foreseen_m = float(runs.ends_long_m[0] - runs.landed_long_m[0])
    return run_part(
        onto,
        run_m=ended_m[0] - miss_m[0],
        bounced_m=foreseen_m - rolled_m,
        rolled_m=rolled_m / roll_factor(onto, caddie.believed.rolls),
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


def of_hits(row: Played, facts: ShotFacts) -> tuple[Part, ...]:
    """What a try adds to the sums of hits and runs; a ball far off all belief is a mishit."""
    if facts.hit is None:
        return ()
    aside = facts.hit.miss_m is not None and row.weight == 0
    part = hit_part(
        (row.club, row.grade), facts.hit, tries=row.tries, went_in=row.went_in, set_aside=aside
    )
    return (part,) if facts.run is None or aside else (part, facts.run)


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
