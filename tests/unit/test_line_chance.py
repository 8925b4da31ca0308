"""A line's chance: leaves carried through, against playing every ball by itself."""

from dataclasses import replace

import numpy as np
import pytest

from engine.aim import Questions
from engine.finish import Swings, fly_swings, hole_of, solve_finish, touchdown_of
from engine.ground import settle
from engine.holing import Room, chances, cloud_of, draws
from engine.line_chance import Leg, line_chances
from engine.motion import wind_vector
from shared.errors import EngineError
from tests.finishing import execution_of, ground_of, questions_of, rows_of
from tests.kits import demo_caddie

FAIRWAY_MPS2 = 1.285


def leg(club: str, *, distance_m: float, last: bool, **changes: object) -> Leg:
    """A shot of the demo's kit with an ordinary spread, in a wind of 4 m/s from 60 degrees."""
    row = rows_of(club)
    rack = demo_caddie().kit_rack.rack.take(row)
    plain = Leg(
        full=rack.full,
        distance_m=distance_m,
        height_m=0.0,
        wind_mps=4.0,
        wind_from_deg=60.0,
        spin_factor=1.0,
        tilt_rad=0.0,
        ground=ground_of(1) if last else ground_of(1, slowing_mps2=FAIRWAY_MPS2),
        execution=execution_of(1, hit_long_m=3.0, hit_right_m=2.5, wind_mps=0.3, wind_deg=4.0),
        least_m=float(rack.short_m[0]),
        most_m=float(rack.full_m[0]) * 1.12,
        last=last,
    )
    return replace(plain, **changes)


def test_a_line_of_one_shot_is_that_shot() -> None:
    questions = questions_of("8-iron", wind_mps=4.0, wind_from_deg=60.0)
    points = draws(count=2048)
    distance = float(questions.distance_m[0])
    execution = execution_of(1, hit_long_m=0.5, hit_right_m=0.4, wind_mps=0.1)
    found = line_chances(
        legs=(leg("8-iron", distance_m=distance, last=True, execution=execution),), draws=points
    )
    aims = solve_finish(questions=questions, ground=ground_of(1))
    alone = chances(
        cloud=cloud_of(swings=aims.swings, execution=execution),
        ground=ground_of(1),
        hole_m=hole_of(questions),
        execution=execution,
        draws=points,
    )
    assert alone.holed[0] > 0.02
    assert found.line.holed[0] == pytest.approx(alone.holed[0], abs=0.004)
    assert found.line.left_m[0] == pytest.approx(alone.left_m[0], abs=0.02)
    assert found.playable == 1.0


def played_one_by_one(first: Leg, second: Leg, *, count: int, seed: int) -> np.ndarray:
    """Misses (2, n) of the hole, every ball's second aim solved for its own leave, by dice."""
    random = np.random.default_rng(seed)
    one = np.ones(count)
    speed, turn = 0.3 * random.normal(size=count), 4.0 * random.normal(size=count)
    vector = np.stack((one * first.distance_m, 0 * one))
    for shot in (first, second):
        distance, direction = np.hypot(*vector), np.degrees(np.arctan2(vector[1], vector[0]))
        questions = Questions(
            full=shot.full.take(np.zeros(count, dtype=np.intp)),
            distance_m=distance,
            height_m=0 * one,
            wind_mps=one * shot.wind_mps,
            wind_from_deg=shot.wind_from_deg - direction,
            spin_factor=one,
            tilt_rad=0 * one,
        )
        ground = shot.ground.take(np.zeros(count, dtype=np.intp))
        swings: Swings = solve_finish(questions=questions, ground=ground).swings
        landing = fly_swings(
            swings,
            wind_mps=wind_vector(
                speed_mps=shot.wind_mps + speed, from_deg=questions.wind_from_deg + turn
            ),
        )
        down = touchdown_of(landing)
        down.position_m[:, 0] += 3.0 * random.normal(size=count)
        down.position_m[:, 2] += 2.5 * random.normal(size=count)
        finish = settle(touchdown=down, ground=ground, hole_m=hole_of(questions), capture=shot.last)
        long, right = finish.long_m - distance, finish.right_m
        cos, sin = np.cos(np.radians(direction)), np.sin(np.radians(direction))
        miss = np.stack((cos * long - sin * right, sin * long + cos * right))
        vector = np.stack((second.distance_m * one, 0 * one)) - miss
    return miss


def test_every_leave_is_played_as_it_lies() -> None:
    """Sampled legs with interpolated aims against 1,500 balls whose every aim was solved."""
    first = leg("driver", distance_m=215.0, last=False)
    room = Room(*(np.array([v]) for v in (4.0, 5.0, 3.0, 2.0)))
    second = leg("8-iron", distance_m=112.0, last=True, room=room)
    found = line_chances(legs=(first, second), draws=draws(shots=2, count=4096))
    miss = played_one_by_one(first, second, count=1500, seed=11)
    stays = room.holds(miss[0], miss[1]).mean()
    error = np.sqrt(stays * (1 - stays) / 1500)
    assert 0.2 < stays < 0.8
    assert found.line.in_room[0] == pytest.approx(stays, abs=3.5 * error)
    left = np.hypot(*miss)
    assert found.line.left_m[0] == pytest.approx(
        left.mean(), abs=3.5 * left.std() / np.sqrt(1500) + 0.02
    )
    least, middle, most = found.leaves_m[0]
    assert least < 109 < middle < 115 < most


def test_a_wide_first_shot_does_not_spoil_the_second_but_an_unplayable_leave_does() -> None:
    """The second is aimed from where the ball lies: the first hardly reaches its end."""
    points = draws(shots=2, count=1024)
    narrow = leg("driver", distance_m=215.0, last=False, execution=execution_of(1))
    wide = leg(
        "driver",
        distance_m=215.0,
        last=False,
        execution=execution_of(1, hit_long_m=6.0, hit_right_m=8.0),
    )
    second = leg("8-iron", distance_m=112.0, last=True)
    ends = [line_chances(legs=(shot, second), draws=points) for shot in (narrow, wide)]
    assert ends[1].line.left_m[0] == pytest.approx(ends[0].line.left_m[0], rel=0.1)
    assert ends[1].playable > 0.98
    short = replace(second, most_m=107.0)
    limited = line_chances(legs=(wide, short), draws=points)
    assert limited.playable < 0.7
    assert limited.line.left_m[0] > ends[1].line.left_m[0] + 1.0


def test_a_line_that_turns_keeps_its_geometry() -> None:
    """Perfect shots round a corner: the leave is what the plan says, and the ball goes in."""
    points = draws(shots=2, count=64)
    exact = execution_of(1)
    first = leg("driver", distance_m=215.0, last=False, execution=exact)
    second = leg("8-iron", distance_m=112.0, last=True, execution=exact, turn_deg=35.0)
    found = line_chances(legs=(first, second), draws=points)
    assert found.leaves_m[0] == pytest.approx(np.full(3, 112.0), abs=0.02)
    assert found.line.holed[0] == 1.0 and found.line.left_m[0] == 0.0


def test_points_are_needed_for_every_shot() -> None:
    with pytest.raises(EngineError, match="every shot"):
        line_chances(legs=(leg("8-iron", distance_m=110.0, last=True),) * 2, draws=draws(count=64))
