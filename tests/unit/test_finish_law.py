"""The allowance for balls that finish at their targets: played again they do, whatever else."""

from dataclasses import replace

import numpy as np
import pytest

from bot.services.caddie.ground import NOWHERE
from engine.finish import Swings, fly_swings, solve_finish, touchdown_of
from engine.finish_law import allow_finish
from engine.ground import Ground, settle
from engine.law import Shots, Verdict, allow, questions_of
from engine.motion import wind_vector
from engine.response import prior_response
from engine.response_features import ALONG
from tests.finishing import ground_of, rows_of
from tests.kits import demo_caddie

OVER_FULL = 0.12
CLUBS = ("driver", "5-iron", "9-iron", "sand wedge")
TILTED = ground_of(1, rises_long=0.03, rises_right=-0.04)
GROUNDS = ground_of(1, green_radius_m=9.0).joined(TILTED)


def shots_of(*onto: int, height_m: float = 3.0) -> Shots:
    """A shot at nearly full carry for each of CLUBS, its wind and ground its own."""
    rack, row = demo_caddie().kit_rack.rack, rows_of(*CLUBS)
    return Shots(
        row=row,
        distance_m=rack.full_m[row] * [0.97, 0.93, 0.9, 0.95],
        height_m=np.array([0.0, height_m, -height_m, 0.0]),
        wind_mps=np.array([3.0, 4.5, 2.0, 3.5]),
        wind_from_deg=np.array([200.0, 70.0, 310.0, 20.0]),
        spin_factor=np.array([1.0, 1.08, 1.0, 0.92]),
        tilt_rad=np.radians([0.0, -4.0, 3.0, 0.0]),
        onto=np.array(onto, dtype=np.intp),
    )


def plain(shots: Shots) -> Shots:
    """The same shots, their targets where they come down."""
    return replace(shots, onto=None)


@pytest.mark.parametrize("onto", [0, 1])
def test_the_aim_is_that_of_the_ball_that_finishes_at_its_target(onto: int) -> None:
    """Against the solve of the finish alone, whose aim point is where its swing lands in still
    air; on the tilted ground a ball comes down metres aside."""
    rack, shots = demo_caddie().kit_rack.rack, shots_of(onto, onto, onto, onto)
    found = allow_finish(rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL)
    ground = GROUNDS.take(np.full(4, onto))
    alone = solve_finish(questions=questions_of(rack.take(shots.row), shots), ground=ground)
    assert alone.solved.all() and found.answered.all() and found.runs is not None
    assert np.abs(found.runs.carry_m - alone.carry_m).max() < 1e-9
    assert found.right_m == pytest.approx(alone.still.right_m, abs=0.05)
    still = alone.still.long_m - shots.distance_m
    if onto == 0:
        assert found.long_m == pytest.approx(still, abs=0.02)
    else:  # the aim point is at the height where the ball comes down, there at the target's
        higher_m = GROUNDS.rises_long[1] * found.runs.landed_long_m
        higher_m += GROUNDS.rises_right[1] * found.runs.landed_right_m
        steep = np.tan(np.radians(alone.still.descent_deg))
        assert found.long_m == pytest.approx(still - higher_m / steep, abs=0.1)
        assert np.abs(found.runs.landed_right_m).max() > 0.5


@pytest.mark.parametrize("onto", [0, 1])
def test_its_swings_played_again_end_at_their_targets(onto: int) -> None:
    rack, shots = demo_caddie().kit_rack.rack, shots_of(onto, onto, onto, onto)
    found = allow_finish(rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL)
    rows = rack.take(shots.row)
    swings = Swings(questions_of(rows, shots), found.aims.speed_factor, found.aims.azimuth_rad)
    wind = wind_vector(speed_mps=shots.wind_mps * rows.wind_share, from_deg=shots.wind_from_deg)
    hole = np.stack((shots.distance_m, shots.height_m, np.zeros(4)))
    ends = settle(
        touchdown=touchdown_of(fly_swings(swings, wind_mps=wind)),
        ground=GROUNDS.take(np.full(4, onto)),
        hole_m=hole,
        capture=False,
    )
    assert np.hypot(ends.long_m - shots.distance_m, ends.right_m).max() < 0.06


def test_shots_without_a_ground_are_answered_as_before() -> None:
    rack, shots = demo_caddie().kit_rack.rack, shots_of(0, NOWHERE, 1, NOWHERE)
    found = allow_finish(rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL)
    before = allow(rack=rack, shots=plain(shots), over_full=OVER_FULL)
    for row in (1, 3):
        assert found.long_m[row] == pytest.approx(before.long_m[row], abs=1e-9)
        assert found.right_m[row] == pytest.approx(before.right_m[row], abs=1e-9)
        assert found.plays_m[row] == pytest.approx(before.plays_m[row], abs=1e-9)
    assert found.runs is not None
    assert found.runs.asked.tolist() == [True, False, True, False]
    assert found.runs.carry_m[1] == shots.distance_m[1] and found.runs.landed_long_m[1] == 0
    assert found.long_m[0] < before.long_m[0] - 5.0  # a driver runs
    none = allow_finish(rack=rack, shots=plain(shots), grounds=GROUNDS, over_full=OVER_FULL)
    assert none.runs is None and (none.long_m == before.long_m).all()


def test_what_was_learned_bends_the_aim_and_never_the_run() -> None:
    """The law learned to be 1.3 times as strong: the aim moves by what that does to the wind at
    the place where the ball comes down, and that place stays."""
    rack, shots = demo_caddie().kit_rack.rack, shots_of(0, 0, 1, 1, height_m=0.0)
    prior = prior_response(rows=len(rack))
    mean = prior.along_mean.copy()
    mean[:, ALONG.index("law")] = 1.3
    strong = replace(prior, along_mean=mean)
    was = allow_finish(rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL)
    now = allow_finish(
        rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL, response=strong
    )
    assert was.runs is not None and now.runs is not None
    assert (now.runs.landed_long_m == was.runs.landed_long_m).all()
    bent_m = 0.3 * was.law_long_m * np.cos(was.runs.turn_rad)
    assert now.long_m - was.long_m == pytest.approx(bent_m, abs=1e-9)
    assert np.abs(now.long_m - was.long_m).min() > 0.3


def test_a_target_nearer_than_the_ball_runs_has_no_answer_and_leaves_the_others_alone() -> None:
    rack, shots = demo_caddie().kit_rack.rack, shots_of(0, 0, 0, 0)
    near = replace(shots, distance_m=np.array([0.4, *shots.distance_m[1:]]))
    found = allow_finish(rack=rack, shots=near, grounds=GROUNDS, over_full=OVER_FULL)
    whole = allow_finish(rack=rack, shots=shots, grounds=GROUNDS, over_full=OVER_FULL)
    assert not found.answered[0] and found.verdict[0] != Verdict.FINE
    assert found.runs is not None and not found.runs.solved[0]
    assert found.long_m[0] == 0.0
    assert found.long_m[1:] == pytest.approx(whole.long_m[1:], abs=1e-3)


def test_firmer_and_faster_ground_has_balls_come_down_farther_off() -> None:
    rack = demo_caddie().kit_rack.rack
    grounds: Ground = ground_of(1, slowing_mps2=0.9, firmness=0.8).joined(
        ground_of(1, slowing_mps2=0.45, firmness=1.1)
    )
    slow, fast = (
        allow_finish(
            rack=rack, shots=shots_of(*(n,) * 4), grounds=grounds, over_full=OVER_FULL
        ).runs
        for n in (0, 1)
    )
    assert slow is not None and fast is not None
    assert (np.abs(fast.landed_long_m) > np.abs(slow.landed_long_m) + 0.3).all()
    assert slow.landed_long_m[3] > 0  # into the wind the wedge draws back, the others run on
    assert (slow.landed_long_m[:3] < 0).all()
    assert (fast.roll_m > slow.roll_m).all()
