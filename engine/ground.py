"""What a batch of balls does once it is down: bounces, rolls, and falls into the hole or not.

Input are landing states, axes as in ``engine.flight``. The ground is a plane through the hole; the
motion is worked out in axes along it: the first is the line of play on the plane, then the normal,
then the right. Each bounce is ``engine.bounce``; between bounces a ball flies a parabola, for air
hardly matters to hops of a metre; the rest is ``engine.roll``. Balls that are done leave the batch.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from engine.aerodynamics import GRAVITY_MPS2
from engine.batch import Batch, Rows
from engine.bounce import (
    FADES_MPS,
    GRIP_SHARE,
    RESTITUTION,
    Contact,
    Surface,
    bounce,
    slip_mps,
)
from engine.roll import (
    CAPTURE_MPS,
    ROLLING_SHARE,
    STILL_MPS,
    crossing,
    holed,
    passed,
    roll_from,
    taken,
)
from shared.errors import EngineError

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

STIMP_RELEASE_MPS = 1.83  # USGA Stimpmeter
MOST_BOUNCES = 100  # no ball bounces so often; what is left then rolls
MOST_CROSSINGS = 4  # of the green's edge while rolling
BLOCK = 2048  # shots worked on together, whose arrays stay in the processor's cache
STEEPEST = 0.5  # rise over run


@dataclass(frozen=True)
class Ground(Batch):
    """The ground of n shots; arrays (n,).

    ``surface`` is what the ball comes down on, ``green`` what lies within ``green_radius_m`` of the
    hole (0: nothing else does). The plane rises by ``rises_long`` and ``rises_right`` metres a
    metre, beyond and to the right.
    """

    surface: Surface
    green: Surface
    green_radius_m: Array
    rises_long: Array
    rises_right: Array

    def check(self) -> None:
        """EngineError unless all is finite, in proportion, and a ball comes to rest everywhere."""
        kinds = (self.surface, self.green)
        parts = [part for s in kinds for part in (s.firmness, s.friction, s.slowing_mps2)]
        parts += [self.green_radius_m, self.rises_long, self.rises_right]
        if not all(np.isfinite(part).all() for part in parts):
            raise EngineError("the ground needs finite numbers")
        if any((part < 0).any() for part in parts[:-2]):
            raise EngineError("firmness, friction, slowing and a green's radius are never negative")
        rise = np.hypot(self.rises_long, self.rises_right)
        if rise.max(initial=0.0) > STEEPEST:
            raise EngineError(f"no ground rises by more than {STEEPEST:g} m a metre")
        pull = ROLLING_SHARE * GRAVITY_MPS2 * rise  # over the cosine that both have
        if any((pull >= s.slowing_mps2).any() for s in kinds):
            raise EngineError("no ball would come to rest on ground so fast and steep")


@dataclass(frozen=True)
class Touchdown(Batch):
    """How n balls come down: place, velocity and spin, each (n, 3), near the ground.

    Where the ground is tilted a ball is carried onto it along its parabola, forwards or back in
    time; on level ground its height is taken to be the hole's.
    """

    position_m: Array
    velocity_mps: Array
    spin_radps: Array


@dataclass(frozen=True)
class Finish(Batch):
    """Where n balls end; arrays (n,), long and right from the ball's start, axes of the landing.

    ``landed_*`` is where it meets the ground, ``second_*`` where it does so again (or begins to
    roll), ``rolls_*`` where the roll begins. ``rolled_m`` is the straight distance of the roll,
    ``bounces`` their number. A ball that is ``holed`` ends in the hole.
    """

    long_m: Array
    right_m: Array
    landed_long_m: Array
    landed_right_m: Array
    second_long_m: Array
    second_right_m: Array
    rolls_long_m: Array
    rolls_right_m: Array
    rolled_m: Array
    bounces: Array
    holed: Flags


def stimp_deceleration_mps2(*, stimp_m: Array) -> Array:
    """Deceleration of a rolling ball on a green of this Stimpmeter reading: v^2 / (2 S)."""
    return STIMP_RELEASE_MPS**2 / (2 * stimp_m)


def settle(*, touchdown: Touchdown, ground: Ground, hole_m: Array, capture: bool = True) -> Finish:
    """Bounce and roll a batch until every ball rests; ``hole_m`` (3, n) is each one's hole.

    Without ``capture`` balls go over the hole as if it were not there. Errors: EngineError for
    numbers that are not finite, balls that come up instead of down, and ground on which none would
    come to rest.
    """
    past = np.zeros((2, 1 if capture else 0))
    return settle_aims(touchdown=touchdown, ground=ground, hole_m=hole_m, past_m=past)[0]


def settle_aims(
    *, touchdown: Touchdown, ground: Ground, hole_m: Array, past_m: Array
) -> tuple[Finish, Flags]:
    """As ``settle``, and which balls the hole would take were they aimed by ``past_m`` more.

    ``past_m`` (2, m) is long and right for all of them, (2, m, n) for each its own.
    The flags (m, n) come from one run: aiming a metre further is the same path past a hole a metre
    nearer on the same plane. With one aim its balls end in the hole, with several they go on.
    """
    ground.check()
    given = (touchdown.position_m, touchdown.velocity_mps, touchdown.spin_radps, hole_m, past_m)
    if not all(np.isfinite(array).all() for array in given):
        raise EngineError("a bounce needs finite numbers")
    count = hole_m.shape[1]
    if not count:
        raise EngineError("a bounce needs a ball")
    done: list[Finish] = []
    caught: list[Flags] = []
    for start in range(0, count, BLOCK):
        part = slice(start, start + BLOCK)
        past = past_m[..., None] if past_m.ndim == 2 else past_m[..., part]
        block = _Settling(touchdown.take(part), ground.take(part), hole_m[:, part], past)
        done.append(block.run())
        caught.append(block.caught)
    return _together(done), np.concatenate(caught, axis=1)


def _together(parts: list[Finish]) -> Finish:
    names = Finish.__dataclass_fields__
    return Finish(**{n: np.concatenate([getattr(each, n) for each in parts]) for n in names})


class _Plane:
    """Axes of each shot's ground, (3, n): ``first``, ``second`` along it, ``normal`` off it."""

    def __init__(self, ground: Ground) -> None:
        along, right = ground.rises_long, ground.rises_right
        one, none = np.ones_like(along), np.zeros_like(along)
        self.tilted = bool(along.any() or right.any())
        self.normal = np.stack((-along, one, -right)) / np.sqrt(1 + along**2 + right**2)
        self.first = np.stack((one, along, none)) / np.sqrt(1 + along**2)
        self.second = np.cross(self.first, self.normal, axis=0)
        self.gravity = -GRAVITY_MPS2 * np.stack((self.first[1], self.second[1]))  # along it, (2, n)
        self.weight = GRAVITY_MPS2 * self.normal[1]  # into it, (n,)
        self.rises = np.stack((along, none, right))

    def into(self, vectors: Array) -> Array:
        """Vectors (3, n) of the landing's axes in these: first, normal, second."""
        axes = (self.first, self.normal, self.second)
        return np.stack([(axis * vectors).sum(axis=0) for axis in axes])

    def out(self, places: Array) -> Array:
        """Places (2, n) on the plane as long and right (2, n)."""
        rows = (0, 2)
        return np.stack([self.first[r] * places[0] + self.second[r] * places[1] for r in rows])


class _Settling:
    """One block of shots on its way to rest; places are from the hole, on the plane."""

    def __init__(self, touchdown: Touchdown, ground: Ground, hole_m: Array, past_m: Array) -> None:
        self.holes = -past_m.transpose(1, 0, 2)  # from the hole, (m, 2, n) or (m, 2, 1)
        self.ground, self.hole, self.plane = ground, hole_m, _Plane(ground)
        velocity, place = self._on_plane(touchdown, hole_m)
        self.along, self.place = velocity[::2].copy(), place
        self.off = np.maximum(-velocity[1], 0.0)  # 0: it never comes down to ground that rises
        if (touchdown.velocity_mps[:, 1] > 0).any():
            raise EngineError("a ball that bounces comes down, it does not come up")
        self.spin = self.plane.into(touchdown.spin_radps.T)
        count = self.off.shape[0]
        self.landed, self.second, self.rolls = (self.place.copy() for _ in range(3))
        self.caught = np.zeros((len(self.holes), count), dtype=np.bool_)
        self.ends = self.caught[0] if len(self.holes) == 1 else np.zeros(count, dtype=np.bool_)
        self.bounces = np.zeros(count)

    def _on_plane(self, touchdown: Touchdown, hole_m: Array) -> tuple[Array, Array]:
        """Velocity (3, n) and place (2, n) in the plane's axes where the parabola meets it."""
        position, velocity = touchdown.position_m.T, touchdown.velocity_mps.T
        turned, place = self.plane.into(velocity), self.plane.into(position - hole_m)
        if not self.plane.tilted:
            return turned, place[::2]
        # height over the plane y + v t - g t^2 / 2 = 0, the root at which the ball falls
        rise, weight = turned[1], self.plane.weight
        time = (rise + np.sqrt(np.maximum(rise**2 + 2 * weight * place[1], 0.0))) / weight
        moved = place[::2] + turned[::2] * time + self.plane.gravity * time**2 / 2
        turned = turned.copy()
        turned[::2] += self.plane.gravity * time
        turned[1] -= weight * time
        return turned, moved

    def run(self) -> Finish:
        open_ = np.arange(self.off.shape[0], dtype=np.intp)
        for count in range(MOST_BOUNCES):
            self._drop(open_)
            open_ = open_[~self.ends[open_]]
            if not open_.size:
                break
            self._bounce(open_)
            if count == 0:
                self.second = self.place.copy()
            open_ = open_[self.off[open_] >= FADES_MPS]
        return self._finish()

    def _drop(self, rows: Rows) -> None:
        """Catch the balls that touch the ground at ``rows`` in a hole."""
        speed = np.hypot(*self.along[:, rows])
        slow = np.flatnonzero(speed <= CAPTURE_MPS)
        for caught, hole in zip(self.caught, self.holes, strict=True):
            offset = np.hypot(*(self.place[:, rows[slow]] - _at(hole, rows[slow])))
            caught[rows[slow]] |= taken(off_centre_m=offset, speed_mps=speed[slow])

    def _on_green(self, rows: Rows) -> Flags:
        return np.hypot(*self.place[:, rows]) < self.ground.green_radius_m[rows]

    def _surface(self, rows: Rows, green: Flags) -> Surface:
        """What lies under the balls at ``rows``, where ``green`` the green."""
        ground = self.ground.take(rows)
        if not green.any():
            return ground.surface
        here, there = ground.green, ground.surface
        return Surface(
            np.where(green, here.firmness, there.firmness),
            np.where(green, here.friction, there.friction),
            np.where(green, here.slowing_mps2, there.slowing_mps2),
        )

    def _bounce(self, rows: Rows) -> None:
        """Bounce the balls at ``rows`` and carry each to where it comes down again.

        A ball that rises slower than ``FADES_MPS`` makes its last hops: the first of them, sliding
        until it rolls, and the time the others would take, at the speed of the roll. Put so, the
        end does not jump where the last bounce that counts becomes one more.
        """
        surface = self._surface(rows, self._on_green(rows))
        found = bounce(Contact(self.along[:, rows], self.off[rows], self.spin[:, rows]), surface)
        gravity, weight = self.plane.gravity[:, rows], self.plane.weight[rows]
        time = 2 * found.off_mps / weight
        place = self.place[:, rows] + found.along_mps * time + gravity * (time * time / 2)
        along = found.along_mps + gravity * time
        self.bounces[rows] += 1
        self.off[rows], self.spin[:, rows] = found.off_mps, found.spin_radps
        last = np.flatnonzero(found.off_mps < FADES_MPS)
        if last.size:
            spring = np.minimum(RESTITUTION[0] * surface.firmness[last], 0.95)
            slip = slip_mps(along_mps=along[:, last], spin_radps=found.spin_radps[:, last])
            rolls = along[:, last] - GRIP_SHARE * slip
            slides_s = (
                GRIP_SHARE
                * np.hypot(*slip)
                / np.maximum(surface.friction[last] * weight[last], STILL_MPS)
            )
            hops_s = time[last] * spring / (1 - spring)
            start = self.place[:, rows[last]]
            gains = ROLLING_SHARE * gravity[:, last] * hops_s
            place[:, last] += (along[:, last] + rolls) / 2 * slides_s + (rolls + gains / 2) * hops_s
            along[:, last] = rolls = rolls + gains
            for caught, hole in zip(self.caught, self.holes, strict=True):
                caught[rows[last]] |= passed(
                    start_m=start - _at(hole, rows[last]),
                    end_m=place[:, last] - _at(hole, rows[last]),
                    speed_mps=np.hypot(*rolls),
                )
        self.place[:, rows], self.along[:, rows] = place, along

    def _finish(self) -> Finish:
        self.rolls = self.place.copy()
        rolling = np.flatnonzero(~self.ends)
        green = self._on_green(rolling)
        for _ in range(MOST_CROSSINGS):
            if not rolling.size:
                break
            crossed = self._roll(rolling, green)
            rolling, green = rolling[crossed], ~green[crossed]
        self.place[:, self.ends] = 0.0
        rolled = np.hypot(*(self.place - self.rolls))
        parts = [
            self.plane.out(p) + self.hole[::2]
            for p in (self.place, self.landed, self.second, self.rolls)
        ]
        (long, right), (down, aside), (again, beside), (begin, next_) = parts
        return Finish(
            long, right, down, aside, again, beside, begin, next_, rolled, self.bounces, self.ends
        )

    def _roll(self, rows: Rows, green: Flags) -> Rows:
        """Roll the balls at ``rows`` to rest or to the green's edge; which of them are at the edge.

        ``green`` says which are on the green now; the hole, where there is a green, is on it.
        """
        surface = self._surface(rows, green)
        roll = roll_from(
            start_m=self.place[:, rows],
            velocity_mps=self.along[:, rows],
            slowing_mps2=surface.slowing_mps2 * self.plane.normal[1, rows],
            pull_mps2=ROLLING_SHARE * self.plane.gravity[:, rows],
        )
        radius = self.ground.green_radius_m[rows]
        for caught, hole in zip(self.caught, self.holes, strict=True):
            aimed = replace(roll, start_m=roll.start_m - _at(hole, rows))
            caught[rows] |= holed(aimed) & (green | (radius == 0))
        end = roll.end_m()
        from_edge = np.abs(np.hypot(*roll.start_m) - radius)
        near = (radius > 0) & (roll.length_m() >= from_edge) & ~self.ends[rows]
        edge = np.flatnonzero(near)
        if edge.size:
            at = crossing(roll.take(edge), radius[edge], green[edge])
            edge, at = edge[at > 0], at[at > 0]
            end[:, edge], direction, speed, _ = roll.take(edge).at(at)
            self.along[:, rows[edge]] = direction * speed
        self.place[:, rows] = end
        return edge


def _at(hole: Array, rows: Rows) -> Array:
    """A hole (2, n) at ``rows``, or the one (2, 1) that is everyone's."""
    return hole if hole.shape[1] == 1 else hole[:, rows]
