"""The allowance for balls that are to *finish* at their targets: first where they come down.

    d = where a ball of this flight comes down that finishes at the target (``engine.finish``)
    allowance = law(d) + d - target

so what was learned of the wind, of balls as they came down, bends the aim and never the run. Where
d lies aside, the law is asked along the line to it.
"""

from dataclasses import replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from engine.batch import Rows
from engine.finish import solve_finish
from engine.ground import Finish, Ground
from engine.law import Allowances, Runs, Shots, Verdict, allow, questions_of
from engine.motion import STANDARD_AIR, Air
from engine.rack import Rack
from engine.response import Response

Array = NDArray[np.float64]

LEAST_CARRY_M = 1.0  # to ask the law of where no ball finishes at the target


class Law(Protocol):
    """``allow_finish``, or whoever has it computed elsewhere."""

    def __call__(
        self,
        *,
        rack: Rack,
        shots: Shots,
        grounds: Ground | None,
        over_full: float,
        response: Response | None,
    ) -> Allowances:
        """The allowances of a batch."""
        ...


def allow_finish(
    *,
    rack: Rack,
    shots: Shots,
    grounds: Ground | None,
    over_full: float,
    response: Response | None = None,
    air: Air = STANDARD_AIR,
) -> Allowances:
    """``engine.law.allow`` of a batch some of whose balls are to finish on a ground of ``grounds``.

    Without grounds, or where no shot names one, it is that law. Allowances and marks are from the
    target; ``law_*``, ``situations`` and what the shot plays are those of coming down where
    ``runs`` says, the azimuth of its aims too is from the target's line. Where no ball finishes at
    its target there is no answer. Errors: as ``engine.law.allow`` and
    ``engine.finish.solve_finish``.
    """
    if grounds is None or shots.onto is None or not (shots.onto >= 0).any():
        return allow(rack=rack, shots=shots, over_full=over_full, response=response, air=air)
    runs, height_m = _runs(rack, shots, grounds, shots.onto, air)
    straight = replace(
        shots,
        distance_m=np.where(runs.solved, runs.carry_m, shots.distance_m),
        height_m=height_m,
        wind_from_deg=shots.wind_from_deg - np.degrees(runs.turn_rad),
    )
    found = allow(rack=rack, shots=straight, over_full=over_full, response=response, air=air)
    return _from_target(found, rack, shots, runs)


def _from_target(found: Allowances, rack: Rack, shots: Shots, runs: Runs) -> Allowances:
    """Allowances of coming down, counted from the targets instead."""
    cos, sin = np.cos(runs.turn_rad), np.sin(runs.turn_rad)
    answered = found.answered & runs.solved
    lost = found.answered & ~runs.solved
    long_m = cos * found.long_m - sin * found.right_m + runs.landed_long_m
    right_m = sin * found.long_m + cos * found.right_m + runs.landed_right_m
    return replace(
        found,
        long_m=np.where(answered, long_m, 0.0),
        right_m=np.where(answered, right_m, 0.0),
        mark_m=rack.take(shots.row).mark_m(shots.distance_m),
        verdict=np.where(lost, Verdict.UNSOLVED, found.verdict),
        answered=answered,
        aims=replace(found.aims, azimuth_rad=found.aims.azimuth_rad + runs.turn_rad),
        runs=runs,
    )


def _runs(rack: Rack, shots: Shots, grounds: Ground, onto: Rows, air: Air) -> tuple[Runs, Array]:
    """What the balls do on the ground, and the height at which they come down, (n,)."""
    rows = np.flatnonzero(onto >= 0)
    asked = shots.take(rows)
    ground = grounds.take(onto[rows])
    questions = questions_of(rack.take(asked.row), asked)
    aims = solve_finish(questions=questions, ground=ground, air=air)
    finish = aims.finish
    solved = aims.solved & (finish.landed_long_m > LEAST_CARRY_M)
    long_m, right_m = finish.landed_long_m - asked.distance_m, finish.landed_right_m
    height_m = shots.height_m.copy()
    rises = asked.height_m + ground.rises_long * long_m + ground.rises_right * right_m
    height_m[rows] = np.where(solved, rises, asked.height_m)
    return _placed(finish, solved, rows, shots.distance_m), height_m


def _placed(finish: Finish, solved: NDArray[np.bool_], rows: Rows, distance_m: Array) -> Runs:
    """Runs of a whole batch, from what the balls of ``rows`` do."""
    here = np.zeros(distance_m.size, dtype=np.bool_)
    here[rows] = True
    fine = np.ones(distance_m.size, dtype=np.bool_)
    fine[rows] = solved

    def whole(values: Array, start_m: Array | float = 0.0) -> Array:
        found = np.zeros(distance_m.size)
        found[rows] = np.where(solved, values - start_m, 0.0)
        return found

    target = distance_m[rows]
    carry = np.where(here, 0.0, distance_m)
    return Runs(
        asked=here,
        solved=fine,
        carry_m=carry + whole(np.hypot(finish.landed_long_m, finish.landed_right_m)),
        turn_rad=whole(np.arctan2(finish.landed_right_m, finish.landed_long_m)),
        landed_long_m=whole(finish.landed_long_m, target),
        landed_right_m=whole(finish.landed_right_m),
        second_long_m=whole(finish.second_long_m, target),
        second_right_m=whole(finish.second_right_m),
        rolls_long_m=whole(finish.rolls_long_m, target),
        rolls_right_m=whole(finish.rolls_right_m),
        ends_long_m=whole(finish.long_m, target),
        ends_right_m=whole(finish.right_m),
    )
