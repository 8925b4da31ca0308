"""The allowance law on a batch: flight or chart, whichever a row of the rack has.

Every question is a row of the rack with a target and a wind. The answer is the allowance along and
across, what the shot plays like, its flight, and whether the game lets it be hit.
"""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from engine.aim import Aims, Questions, solve
from engine.batch import Batch, Rows
from engine.chart import chart_marks, marks_per_mph
from engine.flight import STANDARD_AIR, Air
from engine.rack import Rack
from engine.response import HALF_WIDTH_90, Response, predict, prior_response
from engine.response_features import Situations, features
from engine.trust import Trust, correct
from shared.errors import EngineError
from shared.units import MPS_PER_MPH

Array = NDArray[np.float64]

REACH_SLACK_M = 0.01  # a centimetre beyond the limit is not worth a refusal


class Verdict(IntEnum):
    """What became of a question."""

    FINE = 0
    UNSOLVED = 1
    TOO_LONG = 2
    TOO_SHORT = 3


@dataclass(frozen=True)
class Shots(Batch):
    """n shots to be set up; arrays (n,). ``row`` is their row of the rack."""

    row: Rows
    distance_m: Array
    height_m: Array
    wind_mps: Array
    wind_from_deg: Array
    spin_factor: Array
    tilt_rad: Array

    def __len__(self) -> int:
        return self.row.shape[0]

    def with_wind(self, *, wind_mps: Array, wind_from_deg: Array) -> "Shots":
        """The same shots in another wind."""
        return replace(self, wind_mps=wind_mps, wind_from_deg=wind_from_deg)


@dataclass(frozen=True)
class Allowances(Batch):
    """Answers of a batch; arrays (n,). Where ``verdict`` is UNSOLVED the rest means nothing.

    ``long_m`` and ``right_m`` are what the learned response makes of the law's allowance, with
    standard errors; ``law_long_m`` and ``law_right_m`` are the law's own, ``situations`` what the
    response was asked. ``most_m`` is the longest set-up the game allows
    for the shot, ``mark_m`` the metres of a mark, ``row`` the row of the rack.
    """

    row: Rows
    long_m: Array
    right_m: Array
    sd_long_m: Array
    sd_right_m: Array
    law_long_m: Array
    law_right_m: Array
    plays_m: Array
    most_m: Array
    mark_m: Array
    verdict: NDArray[np.intp]
    aims: Aims
    situations: Situations

    @property
    def half_long_m(self) -> Array:
        """Half the width of the 90% interval along, (n,)."""
        return HALF_WIDTH_90 * self.sd_long_m

    @property
    def half_right_m(self) -> Array:
        """Half the width of the 90% interval across, (n,)."""
        return HALF_WIDTH_90 * self.sd_right_m


def allow(
    *,
    rack: Rack,
    shots: Shots,
    over_full: float,
    trust: Trust | None = None,
    response: Response | None = None,
    air: Air = STANDARD_AIR,
) -> Allowances:
    """Allowances of a batch of shots.

    ``over_full`` is how far past full carry the game lets a shot be set up, as a share of it; a
    target beyond full carry may use none of that, only a helping wind. ``response`` is that of the
    rack's rows, the prior where None. Errors: EngineError for numbers that are not finite.
    """
    rows = rack.take(shots.row)
    aims = solve(questions=_questions(rows, shots), air=air)
    long_m, right_m, plays_m = aims.allowance_long_m, aims.allowance_right_m, aims.plays_m
    mark_m = rows.mark_m(shots.distance_m)
    if rows.charted.any():
        chart_long_m, chart_right_m = _chart(rows, shots, mark_m)
        level_m = np.where(aims.solved, plays_m - long_m, shots.distance_m + shots.height_m)
        chart_plays_m = level_m + chart_long_m
        long_m = np.where(rows.charted, chart_long_m, long_m)
        right_m = np.where(rows.charted, chart_right_m, right_m)
        plays_m = np.where(rows.charted, chart_plays_m, plays_m)
    known = aims.solved | rows.charted
    situations = _situations(
        rows, shots, np.where(known, long_m, 0.0), np.where(known, right_m, 0.0)
    )
    fixed_long_m, fixed_right_m, sd_long_m, sd_right_m = _fixed(situations, shots, trust, response)
    plays_m = plays_m + (fixed_long_m - long_m)
    most_m = rows.full_m * np.where(
        shots.distance_m > rows.full_m + REACH_SLACK_M, 1.0, 1 + over_full
    )
    verdict = _verdict(rows, shots, aims, plays_m, most_m)
    return Allowances(
        row=shots.row,
        long_m=fixed_long_m,
        right_m=fixed_right_m,
        sd_long_m=sd_long_m,
        sd_right_m=sd_right_m,
        law_long_m=long_m,
        law_right_m=right_m,
        plays_m=plays_m,
        most_m=most_m,
        mark_m=mark_m,
        verdict=verdict,
        aims=aims,
        situations=situations,
    )


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
    situations: Situations, shots: Shots, trust: Trust | None, response: Response | None
) -> tuple[Array, Array, Array, Array]:
    """The allowances after what was learned, long and right, and their standard errors."""
    if trust is not None:
        old = correct(
            trust=trust.take(shots.row),
            law_long_m=situations.law_long_m,
            law_right_m=situations.law_right_m,
        )
        return old.long_m, old.right_m, old.sd_long_m, old.sd_right_m
    count = len(shots)
    here = prior_response(rows=count) if response is None else response.take(shots.row)
    said = predict(here, features(situations))
    effect, sd = said.effect_m, said.sd_m
    return -effect[:, 0], -effect[:, 1], sd[:, 0], sd[:, 1]


def _verdict(
    rows: Rack, shots: Shots, aims: Aims, plays_m: Array, most_m: Array
) -> NDArray[np.intp]:
    verdict = np.full(len(shots), Verdict.FINE, dtype=np.intp)
    least_m = np.minimum(plays_m, shots.distance_m)
    verdict[least_m < rows.short_m - REACH_SLACK_M] = Verdict.TOO_SHORT
    verdict[plays_m > most_m + REACH_SLACK_M] = Verdict.TOO_LONG
    verdict[~aims.solved & ~rows.charted] = Verdict.UNSOLVED
    return verdict


def spin_factor(*, backspin_steps: Array, share_per_step: float) -> Array:
    """What the club's backspin is multiplied by; topspin (negative steps) takes some away."""
    factor = 1 + backspin_steps * share_per_step
    if (factor <= 0).any():
        raise EngineError("so much topspin leaves no backspin to fly with")
    return factor


def _questions(rows: Rack, shots: Shots) -> Questions:
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
