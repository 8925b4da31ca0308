"""The allowance law on a batch: flight or chart, whichever a row of the rack has.

Every question is a row of the rack with a target and a wind. The answer is the allowance along and
across, what the shot plays like, its flight, and whether the game lets it be hit.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.aim import Aims, Questions, solve
from engine.batch import Batch, Rows
from engine.chart import chart_marks, marks_per_mph
from engine.motion import STANDARD_AIR, Air
from engine.rack import Rack
from engine.reach import REACH_SLACK_M, Verdict, blame, verdicts
from engine.response import HALF_WIDTH_90, Response, predict, prior_response
from engine.response_features import Situations, features
from shared.errors import EngineError
from shared.units import MPS_PER_MPH

Array = NDArray[np.float64]

__all__ = [
    "REACH_SLACK_M",
    "Allowances",
    "Runs",
    "Shots",
    "Verdict",
    "allow",
    "answers",
    "help_turns",
    "questions_of",
    "spin_factor",
]
HELPS_DEG = 60.0  # how far from straight behind a wind still counts as helping


@dataclass(frozen=True)
class Shots(Batch):
    """n shots to be set up; arrays (n,). ``row`` is their row of the rack.

    ``onto`` is the ground each ball is to finish on (``engine.finish_law``), negative where its
    target is where it comes down; None where that holds for all.
    """

    row: Rows
    distance_m: Array
    height_m: Array
    wind_mps: Array
    wind_from_deg: Array
    spin_factor: Array
    tilt_rad: Array
    onto: Rows | None = None

    def __len__(self) -> int:
        return self.row.shape[0]

    def with_wind(self, *, wind_mps: Array, wind_from_deg: Array) -> "Shots":
        """The same shots in another wind."""
        return replace(self, wind_mps=wind_mps, wind_from_deg=wind_from_deg)


@dataclass(frozen=True)
class Runs(Batch):
    """What n balls do from where they are to come down until they rest; arrays (n,), metres.

    ``landed_*`` is where they are to come down from their targets, ``second_*``, ``rolls_*`` and
    ``ends_*`` where they come down again, begin to roll and rest, ``carry_m`` how far they come
    down from the ball. Where not ``asked`` the target is where the ball comes down, and all but the
    carry is nothing; where not ``solved`` no ball ends at the target, and the rest means nothing.
    ``turn_rad`` is how far the line to where it comes down is turned to the right of the target's.
    """

    asked: NDArray[np.bool_]
    solved: NDArray[np.bool_]
    carry_m: Array
    turn_rad: Array
    landed_long_m: Array
    landed_right_m: Array
    second_long_m: Array
    second_right_m: Array
    rolls_long_m: Array
    rolls_right_m: Array
    ends_long_m: Array
    ends_right_m: Array

    @property
    def first_bounce_m(self) -> Array:
        """Length of the first bounce, along the ground."""
        along = self.second_long_m - self.landed_long_m
        return np.hypot(along, self.second_right_m - self.landed_right_m)

    @property
    def roll_m(self) -> Array:
        """Straight distance of the roll at the end."""
        along = self.ends_long_m - self.rolls_long_m
        return np.hypot(along, self.ends_right_m - self.rolls_right_m)


@dataclass(frozen=True)
class Allowances(Batch):
    """Answers of a batch; arrays (n,) in metres.

    ``long_m`` and ``right_m`` are what the learned response makes of the law's allowance, with
    standard errors; ``law_long_m`` and ``law_right_m`` are the law's own, ``situations`` what the
    response was asked. ``plays_m`` is what the swing carries level in still air, ``full_m`` the
    full carry, ``most_m`` the longest set-up the game allows, ``mark_m`` the metres of a mark,
    ``row`` the row of the rack. Where ``answered`` is False there is no allowance (0 stands
    there); ``plays_m`` is then beyond ``most_m`` by what the longest swing lands short of a target
    too far, and means nothing under another verdict. ``runs`` is what balls do on the ground, where
    any is to finish on one.
    """

    row: Rows
    long_m: Array
    right_m: Array
    sd_long_m: Array
    sd_right_m: Array
    law_long_m: Array
    law_right_m: Array
    plays_m: Array
    full_m: Array
    most_m: Array
    mark_m: Array
    verdict: NDArray[np.intp]
    answered: NDArray[np.bool_]
    aims: Aims
    situations: Situations
    runs: Runs | None = None

    @property
    def half_long_m(self) -> Array:
        """Half the width of the 90% interval along, (n,)."""
        return HALF_WIDTH_90 * self.sd_long_m

    @property
    def half_right_m(self) -> Array:
        """Half the width of the 90% interval across, (n,)."""
        return HALF_WIDTH_90 * self.sd_right_m

    @property
    def swing_share(self) -> Array:
        """Share of the full swing: what the shot plays over the full carry."""
        return self.plays_m / self.full_m

    @property
    def setup_m(self) -> Array:
        """The same swing counted from the full carry, plus beyond it."""
        return self.plays_m - self.full_m

    @property
    def aim_marks(self) -> Array:
        """How far off the target the aim point is, in marks."""
        return np.hypot(self.long_m, self.right_m) / self.mark_m


def allow(
    *,
    rack: Rack,
    shots: Shots,
    over_full: float,
    response: Response | None = None,
    air: Air = STANDARD_AIR,
) -> Allowances:
    """Allowances of a batch of shots; ``response`` is the rack's rows', the prior where None.

    ``over_full`` is how far past full carry the game lets a shot be set up, as a share of it; what
    a shot plays is held against that. Errors: EngineError for numbers that are not finite.
    """
    rows = rack.take(shots.row)
    aims = solve(questions=(questions := questions_of(rows, shots)), air=air)
    answered = aims.solved | rows.charted
    law_long_m, law_right_m, plays_m = _by_law(rows, shots, aims)
    situations = _situations(rows, shots, law_long_m, law_right_m)
    long_m, right_m, sd_long_m, sd_right_m = _fixed(situations, shots, answered, response)
    most_m = rows.full_m * (1 + over_full)
    plays_m = np.where(answered, plays_m + (long_m - law_long_m), plays_m)
    verdict = verdicts(
        plays_m=plays_m,
        distance_m=shots.distance_m,
        height_m=shots.height_m,
        short_m=rows.short_m,
        most_m=most_m,
    )
    if (lost := np.flatnonzero(~answered)).size:
        asked, least_m, longest_m = questions.take(lost), rows.short_m[lost], most_m[lost]
        verdict[lost], short_m = blame(questions=asked, least_m=least_m, most_m=longest_m, air=air)
        plays_m[lost] = np.where(short_m > 0, longest_m + short_m, plays_m[lost])
    return Allowances(
        row=shots.row,
        long_m=long_m,
        right_m=right_m,
        sd_long_m=sd_long_m,
        sd_right_m=sd_right_m,
        law_long_m=law_long_m,
        law_right_m=law_right_m,
        plays_m=plays_m,
        full_m=rows.full_m,
        most_m=most_m,
        mark_m=rows.mark_m(shots.distance_m),
        verdict=verdict,
        answered=answered,
        aims=aims,
        situations=situations,
    )


def _by_law(rows: Rack, shots: Shots, aims: Aims) -> tuple[Array, Array, Array]:
    """The law's allowance, long and right, and what the shot plays, by flight or by chart."""
    long_m = np.where(aims.solved, aims.allowance_long_m, 0.0)
    right_m = np.where(aims.solved, aims.allowance_right_m, 0.0)
    if not rows.charted.any():
        return long_m, right_m, aims.plays_m.copy()
    chart_long_m, chart_right_m = _chart(rows, shots, rows.mark_m(shots.distance_m))
    level_m = np.where(aims.solved, aims.plays_m - long_m, shots.distance_m + shots.height_m)
    return (
        np.where(rows.charted, chart_long_m, long_m),
        np.where(rows.charted, chart_right_m, right_m),
        np.where(rows.charted, level_m + chart_long_m, aims.plays_m),
    )


def answers(found: Allowances, *, most_marks: float) -> NDArray[np.bool_]:
    """Which questions (n,) really get an answer: within reach, and aimed within ``most_marks``."""
    return (found.verdict == Verdict.FINE) & (found.aim_marks <= most_marks)


def help_turns(
    found: Allowances, windier: Allowances, *, wind_from_deg: Array
) -> NDArray[np.bool_]:
    """Where a wind helps (n,) and more of it takes no more off the shot.

    ``windier`` is the same batch in a little more wind. Help takes lift away as well as drag: past
    some speed the lost lift costs as much carry as the wind gives, and d(long)/d(speed) >= 0 where
    it was negative. Never where one of both has no answer.
    """
    behind = np.cos(np.radians(wind_from_deg)) <= -np.cos(np.radians(HELPS_DEG))
    stuck = windier.long_m >= found.long_m
    return behind & stuck & found.answered & windier.answered


def _situations(rows: Rack, shots: Shots, long_m: Array, right_m: Array) -> Situations:
    return Situations(
        law_long_m=long_m,
        law_right_m=right_m,
        carry_m=shots.distance_m,
        share=shots.distance_m / rows.full_m,
        height_m=shots.height_m,
        wind_mps=shots.wind_mps * rows.wind_share,
        from_deg=shots.wind_from_deg,
    )


def _fixed(
    situations: Situations,
    shots: Shots,
    answered: NDArray[np.bool_],
    response: Response | None,
) -> tuple[Array, Array, Array, Array]:
    """The allowances after what was learned, long and right, and their standard errors."""
    count = len(shots)
    here = prior_response(rows=count) if response is None else response.take(shots.row)
    said = predict(here, features(situations))
    effect, sd = np.where(answered[:, None], said.effect_m, 0.0), said.sd_m
    return -effect[:, 0], -effect[:, 1], sd[:, 0], sd[:, 1]


def spin_factor(*, backspin_steps: Array, share_per_step: float) -> Array:
    """What the club's backspin is multiplied by; topspin (negative steps) takes some away."""
    factor = 1 + backspin_steps * share_per_step
    if (factor <= 0).any():
        raise EngineError("so much topspin leaves no backspin to fly with")
    return factor


def questions_of(rows: Rack, shots: Shots) -> Questions:
    """What the flight is asked of n shots, with the rows of the rack they are hit with."""
    return Questions(
        full=rows.full,
        distance_m=shots.distance_m,
        height_m=shots.height_m,
        wind_mps=shots.wind_mps * rows.wind_share,
        wind_from_deg=shots.wind_from_deg,
        spin_factor=shots.spin_factor,
        tilt_rad=shots.tilt_rad,
    )


def _chart(rows: Rack, shots: Shots, mark_m: Array) -> tuple[Array, Array]:
    per_mph = marks_per_mph(
        chart_share=rows.chart_share,
        chart_marks_per_mph=rows.chart_marks_per_mph,
        share=shots.distance_m / rows.full_m,
    )
    long_marks, right_marks = chart_marks(
        per_mph=per_mph,
        wind_mph=shots.wind_mps * rows.wind_share / MPS_PER_MPH,
        wind_from_deg=shots.wind_from_deg,
        height_fraction=shots.height_m / shots.distance_m,
    )
    return long_marks * mark_m, right_marks * mark_m
