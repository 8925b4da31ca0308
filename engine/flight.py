"""Flight of a batch of shots, step by step, until each has come down through its target's height.

The steps are even in a clock that is stretched as the flight goes on, t = s + STRETCH s^2 / 2: a
ball is fastest, and its forces change most, at the start.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import BALL_RADIUS_M
from engine.batch import Batch
from engine.crossing import Crossings, Landed
from engine.motion import STANDARD_AIR, Air, Launch, Motion
from shared.errors import EngineError

Array = NDArray[np.float64]

STEP_S = 0.2  # tests/unit/test_flight.py holds its landings against DOP853 at rtol 1e-10
STRETCH_PER_S = 0.2  # a step of .2 s is one of .4 s after eight seconds
PROFILE_STEPS = 4  # for one of STEP_S: a wind that changes fast near the ground, at both ends
LONGEST_FLIGHT_S = 30.0  # no golf shot flies half as long
# Up to these the longest steps in use stay stable; measured with random shots.
FASTEST_MPS, STRONGEST_WIND_MPS, MOST_SPIN_RADPS = 300.0, 100.0, 10_000.0
BLOCK = 2048  # shots flown together, whose arrays stay in the processor's cache
STAYS = 0.85  # share still in the air below which those that are down are taken out


@dataclass(frozen=True)
class Landing(Batch):
    """Where and how a batch comes down through its target's height; arrays (n,) or (n, 3).

    ``long_m``, ``height_m`` and ``right_m`` are the position from the ball, ``time_s`` the time in
    the air, ``apex_m`` the top of the path above the ball, ``descent_deg`` the angle below level.
    ``velocity_mps`` (n, 3) and ``spin_radps`` (n, 3) are the vectors of velocity and spin there,
    axes as in this module. ``reached`` is False for a shot whose apex stayed below the target's
    height, or that was not down after 30 s: its other values are finite and mean nothing.
    """

    long_m: Array
    height_m: Array
    right_m: Array
    time_s: Array
    apex_m: Array
    descent_deg: Array
    velocity_mps: Array
    spin_radps: Array
    reached: NDArray[np.bool_]

    @property
    def position_m(self) -> Array:
        """Positions (n, 3)."""
        return np.stack((self.long_m, self.height_m, self.right_m), axis=1)


def fly(
    *,
    launch: Launch,
    wind_mps: Array,
    height_m: Array,
    air: Air = STANDARD_AIR,
    step_s: float = STEP_S,
) -> Landing:
    """Fly a batch until each shot has come down through its target's height ``height_m`` (n,).

    ``wind_mps`` is the air's velocity, (3, n) or (3, 1), level. A shot that never comes down there,
    or not within 30 s, is not ``reached``; the others do not suffer from it. Errors: EngineError
    when an input is not finite or out of all proportion, a spin is negative or a wind not level.
    """
    _require_sane(launch, wind_mps, height_m)
    if air.profile_exponent is not None:
        step_s /= PROFILE_STEPS
    whole: Landing | None = None
    for start in range(0, max(height_m.shape[0], 1), BLOCK):
        part = slice(start, start + BLOCK)
        wind = wind_mps if wind_mps.shape[1] == 1 else wind_mps[:, part]
        shots = Launch(
            launch.velocity_mps[:, part], launch.spin_axis[:, part], launch.spin_radps[part]
        )
        landing = _fly_block(shots, wind, height_m[part], air, step_s)
        whole = landing if whole is None else whole.joined(landing)
    assert whole is not None
    return whole


def _fly_block(
    launch: Launch, wind_mps: Array, height_m: Array, air: Air, step_s: float
) -> Landing:
    """Fly shots together; those that are down leave once they are a good part of the rest."""
    motion = Motion(launch, wind_mps, air)
    frame_mps, state = motion.frame, motion.start(launch)
    state_rows = state[1].shape[0]
    crossings = Crossings(height_m)
    stretch_per_s = STRETCH_PER_S if air.profile_exponent is None else 0.0
    time_s, count = 0.0, 0
    while time_s < LONGEST_FLIGHT_S:
        count += 1
        even_s = count * step_s
        before_s, time_s = time_s, even_s * (1 + stretch_per_s * even_s / 2)
        before, state = state, motion.step(*state, time_s - before_s)
        crossings.watch(time_s=before_s, step_s=time_s - before_s, before=before, after=state)
        left = crossings.down.size - np.count_nonzero(crossings.down)
        if not left:
            break
        if left < STAYS * crossings.down.size:
            flying = np.flatnonzero(~crossings.down)
            motion = motion.take(flying)
            state = state[0].take(flying, axis=1), state[1].take(flying, axis=1)
            crossings.take(flying)
    return _landing(crossings.landed(state_rows=state_rows), frame_mps, launch)


def _landing(landed: Landed, frame_mps: Array, launch: Launch) -> Landing:
    """Where and how the shots crossed, seen from the ground, not from the moving frame."""
    position = landed.position_m + frame_mps * landed.time_s
    velocity = landed.velocity_mps[:3] + frame_mps
    decayed = landed.velocity_mps.shape[0] > 3
    spin_radps = landed.velocity_mps[3] / BALL_RADIUS_M if decayed else launch.spin_radps
    level = np.hypot(velocity[0], velocity[2])
    return Landing(
        long_m=position[0],
        height_m=position[1],
        right_m=position[2],
        time_s=landed.time_s,
        apex_m=landed.apex_m,
        descent_deg=np.degrees(np.arctan2(-velocity[1], level)),
        velocity_mps=velocity.T,
        spin_radps=(spin_radps * launch.spin_axis).T,
        reached=landed.reached,
    )


def _require_sane(launch: Launch, wind_mps: Array, height_m: Array) -> None:
    given = (launch.velocity_mps, launch.spin_axis, launch.spin_radps, wind_mps, height_m)
    if not all(np.isfinite(array).all() for array in given):
        raise EngineError("a flight needs finite numbers")
    if (launch.spin_radps < 0).any():
        raise EngineError("a spin is never negative; its axis says which way it turns")
    for array, most, unit in (
        (launch.velocity_mps, FASTEST_MPS, "m/s"),
        (wind_mps, STRONGEST_WIND_MPS, "m/s of wind"),
        (launch.spin_radps, MOST_SPIN_RADPS, "rad/s of spin"),
    ):
        if np.abs(array).max(initial=0.0) > most:
            raise EngineError(f"no flight is computed beyond {most:g} {unit}")
    if wind_mps[1].any():
        raise EngineError("a wind is level")
