"""Moving tested shots to new conditions, in one batch.

    allowance = worked + (told(new wind, new bag) - told(tested wind, tested bag))

What was told wrongly in both cancels, so the variance is that of the difference of the features
under the learned response, what another grade may do otherwise, and the spread with which the
tested aim worked. Where the game's limits cut a set-up, the ball lands off the target; a shot is
playable while that stays inside its room.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engine.law import REACH_SLACK_M, Allowances, Runs, Verdict
from engine.rack import Rack
from engine.response import Response, differences, prior_response
from engine.response_features import Array, features
from shared.errors import EngineError

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Tested:
    """What is known of n shots as tested: the allowance noted (m) where ``noted``, and the room.

    ``room_m`` (4, n) is how far short, long, left and right of the target is still fine; 0 where
    there is none to spare. ``holed`` (n,) is how often the noted aim went in, once where None.
    """

    noted: Flags
    long_m: Array
    right_m: Array
    room_m: Array
    holed: Array | None = None

    def take(self, index: NDArray[np.intp]) -> "Tested":
        """What is known of the shots at ``index``, in its order."""
        return Tested(
            self.noted[index],
            self.long_m[index],
            self.right_m[index],
            self.room_m[:, index],
            None if self.holed is None else self.holed[index],
        )


@dataclass(frozen=True)
class Moves:
    """Moved shots; arrays (n,) in metres.

    ``tested_*`` is the allowance the move starts from, ``wind_*`` and ``bag_*`` what the new wind
    and then the new bag change; they add up to ``long_m`` and ``right_m``. ``setup_m`` is the
    still-air set-up counted from full carry, ``lands_*`` where the ball comes down from the target
    when the limits cut the set-up. ``runs`` are those of the new shots where they are to finish.
    """

    long_m: Array
    right_m: Array
    sd_long_m: Array
    sd_right_m: Array
    tested_long_m: Array
    tested_right_m: Array
    wind_long_m: Array
    wind_right_m: Array
    bag_long_m: Array
    bag_right_m: Array
    plays_m: Array
    setup_m: Array
    tested_setup_m: Array
    most_m: Array
    mark_m: Array
    lands_long_m: Array
    lands_right_m: Array
    answered: Flags
    fit: NDArray[np.intp]
    runs: Runs | None = None


@dataclass(frozen=True)
class Limits:
    """The game's limits: set-ups past full carry as a share of it, and aim in marks."""

    over_full: float
    marks: float


def move(
    *,
    rack: Rack,
    was: Allowances,
    between: Allowances,
    now: Allowances,
    tested: Tested,
    limits: Limits,
    response: Response | None = None,
) -> Moves:
    """Move n shots from ``was`` (as tested) to ``now`` (the new bag in the new wind).

    ``between`` is the tested bag in the new wind; it only tells what of the change is the wind's.
    ``response`` is that of the rack's rows, the prior where None.
    Errors: EngineError for batches of different length.
    """
    if len({len(was.long_m), len(between.long_m), len(now.long_m), len(tested.long_m)}) != 1:
        raise EngineError("the batches of a move must be of one length")
    start_long, start_right = _start(tested, was)
    wind_long = np.where(between.answered, between.long_m, now.long_m) - was.long_m
    wind_right = np.where(between.answered, between.right_m, now.right_m) - was.right_m
    long_m = start_long + now.long_m - was.long_m
    right_m = start_right + now.right_m - was.right_m
    sd_long, sd_right = _errors(response or prior_response(rows=len(rack)), tested, was, now)
    plays_m = now.plays_m + long_m - now.long_m
    lands_long, lands_right, aim_cut = _lands(now, plays_m, long_m, right_m, limits)
    inside = _inside(lands_long, lands_right, tested.room_m)
    return Moves(
        long_m=long_m,
        right_m=right_m,
        sd_long_m=sd_long,
        sd_right_m=sd_right,
        tested_long_m=start_long,
        tested_right_m=start_right,
        wind_long_m=wind_long,
        wind_right_m=wind_right,
        bag_long_m=now.long_m - was.long_m - wind_long,
        bag_right_m=now.right_m - was.right_m - wind_right,
        plays_m=plays_m,
        setup_m=plays_m - rack.full_m[now.row],
        tested_setup_m=was.plays_m + start_long - was.long_m - rack.full_m[was.row],
        most_m=now.most_m,
        mark_m=now.mark_m,
        lands_long_m=lands_long,
        lands_right_m=lands_right,
        answered=now.answered & was.answered,
        fit=_fit(now, plays_m, rack.short_m[now.row], was.answered, aim_cut, inside),
        runs=now.runs,
    )


def _start(tested: Tested, was: Allowances) -> tuple[Array, Array]:
    """The allowance that worked: as noted, else as told."""
    long_m = np.where(tested.noted, tested.long_m, was.long_m)
    return long_m, np.where(tested.noted, tested.right_m, was.right_m)


def _errors(
    response: Response, tested: Tested, was: Allowances, now: Allowances
) -> tuple[Array, Array]:
    """Of the move where an allowance was noted, else of what is told."""
    here, there = response.take(now.row), response.take(was.row)
    variance = differences(here, features(now.situations), there, features(was.situations))
    times = 1.0 if tested.holed is None else np.maximum(tested.holed, 1.0)[:, None]
    sd = np.sqrt(variance + there.tested_m**2 / times)
    long_m = np.where(tested.noted, sd[:, 0], now.sd_long_m)
    return long_m, np.where(tested.noted, sd[:, 1], now.sd_right_m)


def _lands(
    now: Allowances, plays_m: Array, long_m: Array, right_m: Array, limits: Limits
) -> tuple[Array, Array, Flags]:
    """Where a set-up cut by the limits comes down, and whether the aim was cut."""
    aim_m = np.hypot(long_m, right_m)
    most_aim_m = limits.marks * now.mark_m
    kept = np.minimum(1.0, most_aim_m / np.maximum(aim_m, 1e-9))
    short_m = np.maximum(0.0, plays_m - now.most_m - REACH_SLACK_M)
    lands_long = -np.maximum(short_m, (1 - kept) * np.maximum(long_m, 0.0))
    lands_long += (1 - kept) * np.maximum(-long_m, 0.0)
    return lands_long, -(1 - kept) * right_m, kept < 1


def _inside(lands_long: Array, lands_right: Array, room_m: Array) -> Flags:
    short, long, left, right = room_m + REACH_SLACK_M
    along = (lands_long >= -short) & (lands_long <= long)
    return along & (lands_right >= -left) & (lands_right <= right)


def _fit(
    now: Allowances, plays_m: Array, short_m: Array, known: Flags, aim_cut: Flags, inside: Flags
) -> NDArray[np.intp]:
    fit = np.full(plays_m.shape, Verdict.FINE, dtype=np.intp)
    fit[(now.verdict == Verdict.TOO_SHORT) | (plays_m < short_m - REACH_SLACK_M)] = (
        Verdict.TOO_SHORT
    )
    fit[now.verdict == Verdict.TOO_LOW] = Verdict.TOO_LOW
    fit[aim_cut & ~inside] = Verdict.AIM_LIMIT
    fit[(plays_m > now.most_m + REACH_SLACK_M) & ~inside] = Verdict.TOO_LONG
    fit[~now.answered] = now.verdict[~now.answered]
    fit[~known] = Verdict.UNSOLVED
    return fit
