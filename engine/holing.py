"""The chance of holing, of staying in the room, and the distance left, by low-discrepancy sampling.

Every quantity that varies is one coordinate of a scrambled Sobol point (Owen, J. Complexity 14:466,
1998), turned normal; the same points serve every set-up and every aim that is compared, so that a
changed input moves the answer and not the dice. The points come in independent scrambles, whose
spread is the standard error. What a wind other than the one read does to the landing is taken as
quadratic between one standard deviation either side (six flights a set-up, not one a point).
"""

from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import GRAVITY_MPS2
from engine.batch import Batch
from engine.bounce import Surface
from engine.execution import MISHIT_FACTOR, Execution
from engine.finish import Swings, fly_swings, touchdown_of
from engine.ground import Finish, Ground, Touchdown, settle_aims
from engine.motion import STANDARD_AIR, Air, wind_vector
from engine.roll import ROLLING_SHARE
from shared.errors import EngineError

Array = NDArray[np.float64]

SCRAMBLES = 16
COMMON = 4  # coordinates that hold for all shots of a line: wind speed, direction; ground twice
PER_SHOT = 5  # hit long and right, mishit or not, response long and right
MOST_SHOTS = 8
HOLDS = 1.02  # of the deceleration at which a ball would roll for ever
TOGETHER = 32_768  # balls settled in one call, to bound memory
STATE = 9  # position, velocity, spin


@dataclass(frozen=True)
class Draws:
    """Points common to all that is compared: ``common`` (4, n) and ``shots`` (k, 5, n).

    Standard normal but for ``shots[:, 2]``, uniform. Scrambles follow each other, equally long.
    """

    common: Array
    shots: Array

    def __len__(self) -> int:
        return self.common.shape[1]

    def standard_error(self, values: Array) -> Array:
        """Standard error of the means of ``values`` (..., n), from the scrambles' own means."""
        means = values.reshape(*values.shape[:-1], SCRAMBLES, -1).mean(axis=-1)
        return means.std(axis=-1, ddof=1) / np.sqrt(SCRAMBLES)


def draws(*, shots: int = 1, count: int = 4096, seed: int = 1) -> Draws:
    """Points for a line of ``shots`` shots; ``count`` a multiple of 16 with a power of 2.

    Errors: EngineError for another count and for lines of no or more than 8 shots.
    """
    special: Any = import_module("scipy.special")  # when asked: it takes longer than any answer
    qmc: Any = import_module("scipy.stats.qmc")
    each, rest = divmod(count, SCRAMBLES)
    if rest or each < 2 or each & (each - 1):
        raise EngineError("draw 16 times a power of two, at least 32")
    if not 1 <= shots <= MOST_SHOTS:
        raise EngineError(f"a line has 1 to {MOST_SHOTS} shots")
    dimensions = COMMON + PER_SHOT * shots
    random = np.random.default_rng(seed)
    parts = [
        qmc.Sobol(dimensions, scramble=True, rng=random).random(each) for _ in range(SCRAMBLES)
    ]
    points = np.clip(np.concatenate(parts).T, 1e-12, 1 - 1e-12)
    normal = np.asarray(special.ndtri(points), dtype=np.float64)
    per_shot = normal[COMMON:].reshape(shots, PER_SHOT, count).copy()
    per_shot[:, 2] = points[COMMON:].reshape(shots, PER_SHOT, count)[:, 2]
    return Draws(normal[:COMMON], per_shot)


@dataclass(frozen=True)
class Room(Batch):
    """How far n balls may end from their hole and still be fine, m; (n,), inf for no limit.

    ``radius_m`` (n,) holds whatever the side; None for no limit of the kind.
    """

    short_m: Array
    long_m: Array
    left_m: Array
    right_m: Array
    radius_m: Array | None = None

    def holds(self, long_m: Array, right_m: Array) -> NDArray[np.bool_]:
        """Whether misses (n,) or (n, points) stay within."""
        shape = (-1,) + (1,) * (long_m.ndim - 1)
        short, far, left, right = (
            each.reshape(shape) for each in (self.short_m, self.long_m, self.left_m, self.right_m)
        )
        inside = (long_m >= -short) & (long_m <= far) & (right_m >= -left) & (right_m <= right)
        if self.radius_m is None:
            return inside
        return inside & (np.hypot(long_m, right_m) <= self.radius_m.reshape(shape))


def unlimited(count: int) -> Room:
    """No limit for ``count`` shots."""
    return Room(*(np.full(count, np.inf) for _ in range(4)))


@dataclass(frozen=True)
class Chances(Batch):
    """Of n set-ups: chance of holing, of staying in the room, metres left (0 where holed); (n,).

    With one standard error each, of the sampling alone.
    """

    holed: Array
    holed_se: Array
    in_room: Array
    in_room_se: Array
    left_m: Array
    left_se_m: Array


@dataclass(frozen=True)
class Cloud(Batch):
    """Landing states of n set-ups in winds near the one read: (n, 9, 6).

    State = c0 + c1 s + c2 s^2 + c3 t + c4 t^2 + c5 s t, with s and t the standard normal errors of
    the wind's speed and direction.
    """

    coefficients: Array
    reached: NDArray[np.bool_]

    def at(self, speed: Array, turn: Array) -> Array:
        """States (n, 9, points) at errors (points,) of speed and direction."""
        return self.coefficients @ basis_of(speed, turn)


def basis_of(speed: Array, turn: Array) -> Array:
    """What the coefficients of a cloud are multiplied by, (6, points)."""
    return np.stack((np.ones_like(speed), speed, speed**2, turn, turn**2, speed * turn))


def cloud_of(*, swings: Swings, execution: Execution, air: Air = STANDARD_AIR) -> Cloud:
    """Landing states of n set-ups in the wind read and one standard deviation off it."""
    asked, count = swings.questions, len(swings)
    speed = asked.wind_mps + np.array([0, 1, -1, 0, 0, 1])[:, None] * execution.wind_mps
    turn = asked.wind_from_deg + np.array([0, 0, 0, 1, -1, 1])[:, None] * execution.wind_deg
    landing = fly_swings(
        swings.take(np.tile(np.arange(count), 6)),
        wind_mps=wind_vector(speed_mps=speed.ravel(), from_deg=turn.ravel()),
        air=air,
    )
    down = touchdown_of(landing)
    state = np.concatenate((down.position_m, down.velocity_mps, down.spin_radps), axis=1)
    read, faster, slower, clockwise, back, both = state.reshape(6, count, STATE)
    coefficients = np.stack(
        (
            read,
            (faster - slower) / 2,
            (faster + slower) / 2 - read,
            (clockwise - back) / 2,
            (clockwise + back) / 2 - read,
            both - faster - clockwise + read,
        ),
        axis=-1,
    )
    return Cloud(coefficients, np.logical_and.reduce(landing.reached.reshape(6, count)))


def hit_errors(execution: Execution, points: Array) -> Array:
    """Misses (2, n, points) of n shots by hit, mishit and response at ``points`` (5, points)."""
    wide = points[2] < execution.mishit_share[:, None]
    factor = np.where(wide, MISHIT_FACTOR, 1.0)
    long = execution.hit_long_m[:, None] * points[0] * factor
    right = execution.hit_right_m[:, None] * points[1] * factor
    return np.stack(
        (
            long + execution.response_long_m[:, None] * points[3],
            right + execution.response_right_m[:, None] * points[4],
        )
    )


def varied(ground: Ground, execution: Execution, common: Array) -> Ground:
    """The ground of n shots at every point, flat (n points,), as fast and firm as it may be.

    No point is so fast that a ball would not come to rest on the slope.
    """
    count = common.shape[1]
    each = ground.take(np.repeat(np.arange(ground.rises_long.size), count))
    slowing = np.exp(-execution.slowing_log[:, None] * common[2]).ravel()
    firmness = np.exp(execution.firmness_log[:, None] * common[3]).ravel()

    rise = np.hypot(each.rises_long, each.rises_right)
    least = HOLDS * ROLLING_SHARE * GRAVITY_MPS2 * rise

    def changed(surface: Surface) -> Surface:
        held = np.minimum(
            surface.slowing_mps2, least
        )  # of ground that holds none: for its own error
        return Surface(
            surface.firmness * firmness,
            surface.friction,
            np.maximum(surface.slowing_mps2 * slowing, held),
        )

    return replace(each, surface=changed(each.surface), green=changed(each.green))


def finishes(
    *,
    cloud: Cloud,
    ground: Ground,
    hole_m: Array,
    execution: Execution,
    draws: Draws,
    past_m: Array | None = None,
) -> tuple[Finish, NDArray[np.bool_]]:
    """Where n set-ups end at every point, flat (n points,), the points of a set-up together.

    ``hole_m`` (3, n) as in ``engine.ground.settle``. Also which would be holed were they aimed by
    each of ``past_m`` (2, m), or (2, m, n) each its own, further and to the right, (m, n points);
    without, as they are aimed.
    """
    past = np.zeros((2, 1)) if past_m is None else past_m
    if past.ndim == 3:
        past = np.repeat(past, len(draws), axis=2)
    state = cloud.at(draws.common[0], draws.common[1])
    state[:, (0, 2)] += hit_errors(execution, draws.shots[0]).transpose(1, 0, 2)
    flat = state.transpose(0, 2, 1).reshape(-1, STATE)
    return settle_aims(
        touchdown=Touchdown(flat[:, :3], _downward(flat[:, 3:6]), flat[:, 6:]),
        ground=varied(ground, execution, draws.common),
        hole_m=np.repeat(hole_m, len(draws), axis=1),
        past_m=past,
    )


def _downward(velocity_mps: Array) -> Array:
    """Velocities (n, 3) with those that a far wind would turn upwards held level."""
    velocity_mps[:, 1] = np.minimum(velocity_mps[:, 1], 0.0)
    return velocity_mps


def chances(
    *,
    cloud: Cloud,
    ground: Ground,
    hole_m: Array,
    execution: Execution,
    draws: Draws,
    room: Room | None = None,
) -> Chances:
    """Chances of n set-ups at one hole each, all at the same points."""
    count = hole_m.shape[1]
    limits = unlimited(count) if room is None else room
    size = max(1, TOGETHER // len(draws))
    parts: list[Chances] = []
    for start in range(0, count, size):
        rows = slice(start, min(start + size, count))
        finish, _ = finishes(
            cloud=cloud.take(rows),
            ground=ground.take(rows),
            hole_m=hole_m[:, rows],
            execution=execution.take(rows),
            draws=draws,
        )
        hole = hole_m[:, rows, None]
        shape = (hole.shape[1], len(draws))
        long = finish.long_m.reshape(shape) - hole[0]
        right = finish.right_m.reshape(shape) - hole[2]
        parts.append(tally(finish.holed.reshape(shape), long, right, limits.take(rows), draws))
    whole = parts[0]
    for part in parts[1:]:
        whole = whole.joined(part)
    return whole


def tally(
    holed: NDArray[np.bool_], long_m: Array, right_m: Array, room: Room, draws: Draws
) -> Chances:
    """Chances from outcomes (n, points): holed, and misses of the hole along and across."""
    left = np.where(holed, 0.0, np.hypot(long_m, right_m))
    values = (holed.astype(np.float64), room.holds(long_m, right_m).astype(np.float64), left)
    means = [value.mean(axis=-1) for value in values]
    errors = [draws.standard_error(value) for value in values]
    (a, b, c), (x, y, z) = means, errors
    return Chances(a, x, b, y, c, z)
