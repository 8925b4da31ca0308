"""Whether the game lets a shot be hit, and what forbids it.

One limit holds for what a shot *plays*, the level still-air carry of its swing:

    short <= plays <= full (1 + over_full)

A question without an aim is asked again in a calm: where that has one, the wind is to blame, else
the target is too far, too high or too low for any swing of the club.
"""

from dataclasses import replace
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from engine.aim import Questions, solve
from engine.flight import fly
from engine.launch import part_shot
from engine.motion import Air

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Verdicts = NDArray[np.intp]

REACH_SLACK_M = 0.01  # a centimetre beyond the limit is not worth a refusal


class Verdict(IntEnum):
    """What became of a question.

    ``UNSOLVED``: no aim holds the ball against the wind, though in a calm there is one.
    ``TOO_LONG``, ``TOO_SHORT``: what it plays, or its target, is beyond the longest set-up or under
    the shortest. ``TOO_HIGH``: no swing of the club comes down on a target so far up. ``TOO_LOW``:
    a target so far down that the shot plays under the shortest set-up, which its distance is not.
    ``AIM_LIMIT``: a moved shot whose aim is farther off than the game allows.
    """

    FINE = 0
    UNSOLVED = 1
    TOO_LONG = 2
    TOO_SHORT = 3
    TOO_HIGH = 4
    TOO_LOW = 5
    AIM_LIMIT = 6


def verdicts(
    *, plays_m: Array, distance_m: Array, height_m: Array, short_m: Array, most_m: Array
) -> Verdicts:
    """The verdicts (n,) of shots that have an aim, from what they play."""
    verdict = np.full(plays_m.shape, Verdict.FINE, dtype=np.intp)
    under = plays_m < short_m - REACH_SLACK_M
    dropped = (height_m < 0) & (distance_m >= short_m)
    verdict[under] = np.where(dropped, Verdict.TOO_LOW, Verdict.TOO_SHORT)[under]
    verdict[plays_m > most_m + REACH_SLACK_M] = Verdict.TOO_LONG
    return verdict


def blame(
    *, questions: Questions, least_m: Array, most_m: Array, air: Air
) -> tuple[Verdicts, Array]:
    """Why questions (n,) have no aim, and how far short of the target the longest swing lands.

    The longest swing carries ``most_m`` (n,) level in still air; its shortfall in a calm is 0 where
    it is long enough. A target no swing comes down on in a calm is too high where it lies above the
    ball, else too near under the shortest set-up ``least_m`` (n,), else too low.
    """
    none = np.zeros(len(questions))
    calm = replace(questions, wind_mps=none, wind_from_deg=none)
    level = replace(calm, distance_m=most_m, height_m=none, spin_factor=none + 1, tilt_rad=none)
    asked = solve(questions=calm.joined(level), air=air)
    count = len(questions)
    launch = part_shot(
        full=questions.full,
        speed_factor=asked.speed_factor[count:],
        azimuth_rad=none,
        spin_factor=questions.spin_factor,
        tilt_rad=questions.tilt_rad,
    )
    longest = fly(launch=launch, wind_mps=np.zeros((3, 1)), height_m=questions.height_m, air=air)
    short_m = questions.distance_m - np.hypot(longest.long_m, longest.right_m)
    short_m = np.where(longest.reached, np.maximum(short_m, 0.0), 0.0)
    near = np.where(questions.distance_m < least_m, Verdict.TOO_SHORT, Verdict.TOO_LOW)
    verdict = np.where(questions.height_m > 0, Verdict.TOO_HIGH, near)
    verdict[asked.solved[:count]] = Verdict.UNSOLVED
    # The wind is not to blame for what is out of reach in a calm too.
    far = asked.solved[:count] & (asked.plays_m[:count] > most_m + REACH_SLACK_M)
    verdict[far | (short_m > REACH_SLACK_M)] = Verdict.TOO_LONG
    return verdict, short_m
