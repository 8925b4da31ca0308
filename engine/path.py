"""Paths of a batch of shots, sampled at equal shares of each shot's own time in the air.

The same motion as ``engine.flight``: a shot's step is its time of flight over the number of steps,
so that the last sample is where it lands.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.flight import PROFILE_STEPS, STEP_S, Landing, fly
from engine.motion import STANDARD_AIR, Air, Launch, Motion
from shared.errors import EngineError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Paths:
    """Positions of n shots: ``position_m`` (3, steps + 1, n), from the ball to the landing.

    ``time_s`` (steps + 1, n) are the times of the samples. Where ``landing.reached`` is False a
    shot's numbers are finite and mean nothing.
    """

    position_m: Array
    time_s: Array
    landing: Landing


def trace(
    *, launch: Launch, wind_mps: Array, height_m: Array, steps: int, air: Air = STANDARD_AIR
) -> Paths:
    """Paths of a batch until each has come down through its target's height ``height_m`` (n,).

    ``wind_mps`` is the air's velocity, (3, n) or (3, 1). Errors: EngineError for ``steps`` below 1
    and for what ``engine.flight.fly`` refuses.
    """
    if steps < 1:
        raise EngineError("a path needs at least one step")
    landing = fly(launch=launch, wind_mps=wind_mps, height_m=height_m, air=air)
    motion = Motion(launch, wind_mps, air)
    position, velocity = motion.start(launch)
    longest_s = STEP_S if air.profile_exponent is None else STEP_S / PROFILE_STEPS
    finer = max(1, int(np.ceil(landing.time_s.max(initial=0.0) / steps / longest_s)))
    step_s = landing.time_s / (steps * finer)
    sampled = np.empty((3, steps + 1, height_m.shape[0]))
    sampled[:, 0] = position
    for count in range(1, steps * finer + 1):
        position, velocity = motion.step(position, velocity, step_s)
        if count % finer == 0:
            sampled[:, count // finer] = position
    time = np.linspace(0.0, 1.0, steps + 1)[:, None] * landing.time_s
    drift = motion.frame[:, None, :] * time  # a uniform wind's motion runs in the wind's frame
    return Paths(sampled + drift, time, landing)
