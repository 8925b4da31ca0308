"""The chance that a shot which is to finish on a ground goes in, as a community is believed to hit.

Sampling, wind as read, response, hits and ground vary (``engine.holing``); the points are common to
all that is compared. Nobody is shown a chance before it has earned it (``engine.reliability``).
"""

from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bot.services.caddie.caddie import Caddie
from engine.execution import Execution
from engine.finish import hole_of, solve_finish
from engine.holing import Draws, chances, cloud_of, draws
from engine.law import Allowances, Shots, questions_of
from shared.units import MPS_PER_MPH

Array = NDArray[np.float64]

POINTS: Final = 4096
READ_MPS: Final = MPS_PER_MPH / 12**0.5
"""A wind read to a whole mile an hour: the standard deviation of an even spread over one."""

READ_DEG: Final = 15.0 / 12**0.5  # read to half an hour of the clock
GROUND_LOG: Final = 0.15
"""Standard deviation of the logarithm of a ground's firmness and speed, from one of its kind to
another; a judgement."""


def execution_of(caddie: Caddie, shots: Shots, law: Allowances) -> Execution:
    """What varies of n shots, with ``law`` for what is not known of the response."""
    return varying(
        caddie,
        shots,
        carry_m=law.situations.carry_m,
        response_long_m=np.where(law.answered, law.sd_long_m, 0.0),
        response_right_m=np.where(law.answered, law.sd_right_m, 0.0),
    )


def varying(
    caddie: Caddie, shots: Shots, *, carry_m: Array, response_long_m: Array, response_right_m: Array
) -> Execution:
    """What varies of n shots that come down at ``carry_m``, (n,), with one standard deviation of
    what is not known of the response."""
    long, right, mishits = caddie.hits_of(shots, carry_m=carry_m)
    every = np.ones(len(shots))
    return Execution(
        hit_long_m=long,
        hit_right_m=right,
        mishit_share=mishits,
        response_long_m=response_long_m,
        response_right_m=response_right_m,
        wind_mps=READ_MPS * every,
        wind_deg=READ_DEG * every,
        slowing_log=GROUND_LOG * every,
        firmness_log=GROUND_LOG * every,
    )


def holing_chances(caddie: Caddie, shots: Shots, law: Allowances) -> Array:
    """The chance of each of n shots, aimed to finish at its target; nan where none is to.

    Takes some 60 ms: for a thread.
    """
    found = np.full(len(shots), np.nan)
    if shots.onto is None or law.runs is None:
        return found
    rows = np.flatnonzero((shots.onto >= 0) & law.answered)
    if not rows.size:
        return found
    asked, onto = shots.take(rows), shots.onto[rows]
    execution = execution_of(caddie, asked, law.take(rows))
    questions = questions_of(caddie.kit_rack.rack.take(asked.row), asked)
    ground = caddie.grounds.take(onto)
    aims = solve_finish(questions=questions, ground=ground)
    holed = chances(
        cloud=cloud_of(swings=aims.swings, execution=execution),
        ground=ground,
        hole_m=hole_of(questions),
        execution=execution,
        draws=_points(),
    ).holed
    found[rows] = np.where(aims.solved, holed, np.nan)
    return found


@cache
def _points() -> Draws:
    return draws(count=POINTS)
