"""Bounce, roll and capture of a batch: against the reference, and what physics asks of any ball."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.aerodynamics import BALL_RADIUS_M, GRAVITY_MPS2
from engine.bounce import Contact, Surface, bounce
from engine.ground import Finish, Ground, Touchdown, settle
from engine.roll import FEW_NODES, HOLE_RADIUS_M, SAG_SHARE, holed, path, roll_from
from shared.errors import EngineError
from tests.finishing import ground_of
from tests.reference_ground import Turf, settled

FAR = 500.0


def down(count: int, *, seed: int, side: float = 1.0) -> Touchdown:
    """Balls that land at the origin as clubs make them; ``side`` 0 leaves out all sideways."""
    random = np.random.default_rng(seed)
    velocity = np.stack(
        (
            random.uniform(4, 24, count),
            -random.uniform(3, 22, count),
            side * random.normal(0, 2, count),
        ),
        axis=1,
    )
    spin = np.stack(
        (
            side * random.normal(0, 60, count),
            side * random.normal(0, 60, count),
            random.uniform(-100, 900, count),
        ),
        axis=1,
    )
    return Touchdown(np.zeros((count, 3)), velocity, spin)


def hole_at(count: int, *, long_m: float, right_m: float = 0.0) -> np.ndarray:
    """The same hole for every shot."""
    return np.tile([[long_m], [0.0], [right_m]], count)


def mixed(count: int, *, seed: int) -> tuple[Touchdown, Ground, np.ndarray]:
    """Mixed balls and grounds with a hole about where each ends, so that some fall in."""
    random = np.random.default_rng(seed)
    surface = Surface(
        random.uniform(0.3, 1.3, count),
        random.uniform(0.2, 0.7, count),
        random.uniform(0.75, 2.0, count),
    )
    rises = random.uniform(-0.06, 0.06, (2, count))
    ground = Ground(surface, surface, np.zeros(count), *rises)
    balls = down(count, seed=seed + 1)
    hole = hole_at(count, long_m=5.0)
    for spread_m in (0.0, 0.0, 0.0, 0.08):
        finish = settle(touchdown=_lifted(balls, ground, hole), ground=ground, hole_m=hole)
        end = np.stack((finish.long_m, np.zeros(count), finish.right_m))
        hole = end + spread_m * np.stack(
            (random.normal(size=count), np.zeros(count), random.normal(size=count))
        )
    return _lifted(balls, ground, hole), ground, hole


def _lifted(balls: Touchdown, ground: Ground, hole: np.ndarray) -> Touchdown:
    """The balls where they meet the plane through the hole."""
    place = balls.position_m.copy()
    place[:, 1] = ground.rises_long * (place[:, 0] - hole[0])
    place[:, 1] += ground.rises_right * (place[:, 2] - hole[2])
    return replace(balls, position_m=place)


def test_the_engine_agrees_with_the_reference() -> None:
    """Bounces about a tilted normal, slips and grips, curved rolls, balls in and past the hole."""
    count = 60
    balls, ground, hole = mixed(count, seed=5)
    finish = settle(touchdown=balls, ground=ground, hole_m=hole)
    assert 10 < finish.holed.sum() < count - 10
    for row in range(count):
        turf = Turf(
            float(ground.surface.firmness[row]),
            float(ground.surface.friction[row]),
            float(ground.surface.slowing_mps2[row]),
            float(ground.rises_long[row]),
            float(ground.rises_right[row]),
        )
        start = balls.position_m[row] - hole[:, row]
        rest = settled(start, balls.velocity_mps[row], balls.spin_radps[row], turf)
        ours = np.array([finish.long_m[row], finish.right_m[row]]) - hole[::2, row]
        assert (rest.holed, rest.bounces) == (finish.holed[row], finish.bounces[row])
        assert ours == pytest.approx(rest.place[::2], abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    level=st.floats(0, 40),
    off=st.floats(0.01, 40),
    spin=st.tuples(*(st.floats(-900, 900) for _ in range(3))),
    firmness=st.floats(0, 1.8),
    friction=st.floats(0.01, 2),
)
def test_no_bounce_adds_energy(
    level: float, off: float, spin: tuple[float, float, float], firmness: float, friction: float
) -> None:
    """Energy over mass: v^2 / 2 + r^2 w^2 / 5, for a solid ball."""
    before = Contact(
        np.array([[level * 0.8], [level * 0.6]]), np.array([off]), np.array(spin)[:, None]
    )
    after = bounce(before, Surface(*(np.array([v]) for v in (firmness, friction, 0.5))))

    def energy(contact: Contact) -> float:
        moving = (contact.along_mps**2).sum() + contact.off_mps[0] ** 2
        return float(moving / 2 + BALL_RADIUS_M**2 * (contact.spin_radps**2).sum() / 5)

    assert energy(after) <= energy(before) * (1 + 1e-12)
    assert after.off_mps[0] >= 0


def test_no_roll_adds_energy() -> None:
    """7/10 v^2 + g h falls all the way, also downhill, where it falls by what friction takes."""
    angles = np.linspace(0, 2 * np.pi, 7)
    pull = 5 / 7 * GRAVITY_MPS2 * 0.04
    roll = roll_from(
        start_m=np.zeros((2, 7)),
        velocity_mps=2.3 * np.stack((np.cos(angles), np.sin(angles))),
        slowing_mps2=np.full(7, 0.5),
        pull_mps2=np.tile([[pull], [0.0]], 7),
    )
    q, place = path(roll, 40)
    speed = np.stack([roll.at(np.full(7, at))[2] for at in q[:, 0]])
    energy = 0.7 * speed**2 - 7 / 5 * pull * place[0]
    assert (np.diff(energy, axis=0) < 1e-12).all()
    steps = np.hypot(*np.diff(place, axis=1)).sum(axis=0)
    assert energy[0] - energy[-1] == pytest.approx(7 / 5 * 0.5 * steps, rel=2e-3)


def test_a_roll_curves_downhill_and_stops_sooner_uphill() -> None:
    directions = np.array([[1.0, -1.0, 0.0], [0.0, 0.0, 1.0]])
    roll = roll_from(
        start_m=np.zeros((2, 3)),
        velocity_mps=2.0 * directions,
        slowing_mps2=np.full(3, 0.6),
        pull_mps2=np.tile([[0.25], [0.0]], 3),
    )
    (downhill, uphill, across), side = roll.end_m()
    assert downhill == pytest.approx(2.0**2 / (2 * (0.6 - 0.25)), rel=1e-9)
    assert uphill == pytest.approx(-(2.0**2) / (2 * (0.6 + 0.25)), rel=1e-9)
    assert across > 0.5 and side[2] < 2.0**2 / (2 * 0.6) + 0.4


@pytest.mark.parametrize(("firmness", "share"), [(1.0, 0.7), (1.5, 0.4)])
def test_no_ball_bounces_or_rolls_for_ever(firmness: float, share: float) -> None:
    """Wild spins, firm ground, downhill: ``share`` of the steepest: all come to rest."""
    count = 400
    spin = np.random.default_rng(3).uniform(-950, 950, (count, 3))
    steepest = 0.549 * 7 / 5 / GRAVITY_MPS2
    ground = ground_of(count, firmness=firmness, rises_long=-share * steepest)
    hole = hole_at(count, long_m=FAR)
    balls = _lifted(replace(down(count, seed=9), spin_radps=spin), ground, hole)
    finish = settle(touchdown=balls, ground=ground, hole_m=hole)
    assert finish.bounces.max() < 100
    assert np.abs(finish.long_m).max() < 300 and np.abs(finish.right_m).max() < 100


def test_ground_on_which_no_ball_would_rest_is_refused() -> None:
    steepest = 0.549 * 7 / 5 / GRAVITY_MPS2
    hole = hole_at(3, long_m=9.0)
    for share in (0.999, 1.001):
        ground = ground_of(3, rises_right=share * steepest)
        balls = _lifted(down(3, seed=2), ground, hole)
        if share < 1:
            assert np.isfinite(settle(touchdown=balls, ground=ground, hole_m=hole).right_m).all()
        else:
            with pytest.raises(EngineError, match="rest"):
                settle(touchdown=balls, ground=ground, hole_m=hole)


def test_mirrored_input_gives_a_mirrored_result() -> None:
    """Right becomes left: places and velocities as vectors, spin as the axial vector it is."""
    count = 300
    balls, ground, hole = mixed(count, seed=17)
    flip = np.array([1.0, 1.0, -1.0])
    mirrored = Touchdown(
        balls.position_m * flip, balls.velocity_mps * flip, balls.spin_radps * -flip
    )
    other = replace(ground, rises_right=-ground.rises_right)
    finish = settle(touchdown=balls, ground=ground, hole_m=hole)
    mirror = settle(touchdown=mirrored, ground=other, hole_m=hole * flip[:, None])
    assert (finish.holed == mirror.holed).all()
    assert mirror.long_m == pytest.approx(finish.long_m, abs=1e-9)
    assert mirror.right_m == pytest.approx(-finish.right_m, abs=1e-9)


def test_level_ground_and_no_sidespin_leave_no_sideways_motion() -> None:
    count = 200
    finish = settle(
        touchdown=down(count, seed=23, side=0.0),
        ground=ground_of(count),
        hole_m=hole_at(count, long_m=7.0),
    )
    assert np.abs(finish.right_m).max() == 0.0
    assert 0 < finish.holed.sum() < count


@pytest.mark.parametrize("slope", [0.0, 0.02])
def test_a_little_more_spin_or_speed_moves_the_finish_a_little(slope: float) -> None:
    """Away from the hole, through grip and slide and one bounce more or less.

    Below 20 m/s into the ground: there the published restitution itself steps by .001.
    """
    count = 20001
    along = np.linspace(0, 1, count)
    start, end = np.array([16.0, -13.0, 1.0]), np.array([12.0, -12.0, -1.0])
    velocity = start + along[:, None] * (end - start)
    spin = np.stack((40 * along, 0 * along, 150 + 700 * along), axis=1)
    finish = settle(
        touchdown=Touchdown(np.zeros((count, 3)), velocity, spin),
        ground=ground_of(count, rises_long=slope, rises_right=-slope / 2),
        hole_m=hole_at(count, long_m=10.0, right_m=40.0),
    )
    assert len(np.unique(finish.bounces)) > 4
    jumps = np.hypot(np.diff(finish.long_m), np.diff(finish.right_m))
    assert finish.long_m.max() - finish.long_m.min() > 10
    assert jumps.max() < 0.015


def test_a_ball_that_stops_short_of_the_centre_but_within_the_edge_is_holed() -> None:
    short = np.array([0.02, -0.03, -HOLE_RADIUS_M - 0.001, HOLE_RADIUS_M - 0.001])
    speed = np.sqrt(2 * 0.5 * (2.0 + short))
    for pull in (0.0, 1e-4):
        roll = roll_from(
            start_m=np.tile([[-2.0], [0.0]], 4),
            velocity_mps=np.stack((speed, np.zeros(4))),
            slowing_mps2=np.full(4, 0.5 + pull),
            pull_mps2=np.tile([[pull], [0.0]], 4),
        )
        assert holed(roll).tolist() == [True, True, False, True]


def test_the_hole_takes_a_ball_on_its_way_and_not_at_its_end_alone() -> None:
    """.4 m/s over the far edge is taken through the centre, 2 m/s is not, nor a wide one."""
    passing = np.sqrt(2 * 0.5 * 1.5 + np.array([0.4, 2.0, 0.4]) ** 2)
    roll = roll_from(
        start_m=np.array([[-1.5, -1.5, -1.5], [0.0, 0.0, 0.053]]),
        velocity_mps=np.stack((passing, np.zeros(3))),
        slowing_mps2=np.full(3, 0.5),
        pull_mps2=np.zeros((2, 3)),
    )
    assert (np.hypot(*roll.end_m()) > HOLE_RADIUS_M).all()
    assert holed(roll).tolist() == [True, False, False]


def test_a_first_look_at_a_path_passes_over_no_hole() -> None:
    """Six chords lie off their path by less than the share of its length that is allowed for."""
    count = 4000
    random = np.random.default_rng(4)
    angle = random.uniform(0, 2 * np.pi, count)
    slowing = random.uniform(0.4, 2.0, count)
    roll = roll_from(
        start_m=np.zeros((2, count)),
        velocity_mps=random.uniform(0.2, 5, count) * np.stack((np.cos(angle), np.sin(angle))),
        slowing_mps2=slowing,
        pull_mps2=np.stack((slowing * random.uniform(0, 0.98, count), np.zeros(count))),
    )
    fine = 16
    few, many = path(roll, FEW_NODES)[1], path(roll, FEW_NODES * fine)[1]
    chord = few[:, 1:] - few[:, :-1]
    apart = np.zeros(count)
    for part in range(FEW_NODES):
        away = many[:, part * fine : (part + 1) * fine + 1] - few[:, part, None]
        length2 = np.maximum((chord[:, part] ** 2).sum(axis=0), 1e-24)
        along = np.clip((away * chord[:, part, None]).sum(axis=0) / length2, 0, 1)
        off = np.hypot(*(away - along * chord[:, part, None]))
        apart = np.maximum(apart, off.max(axis=0))
    assert (apart / roll.length_m()).max() < SAG_SHARE
    assert (apart / roll.length_m()).max() > SAG_SHARE / 2


def finish_rolled(ground: Ground, *, speed_mps: float, from_m: float) -> Finish:
    """A ball that skims along the ground towards a hole 20 m on, ``from_m`` before it."""
    balls = Touchdown(
        np.array([[20 - from_m, 0.0, 0.0]]),
        np.array([[speed_mps, -1e-6, 0.0]]),
        np.array([[0.0, 0.0, -speed_mps / BALL_RADIUS_M]]),
    )
    return settle(touchdown=balls, ground=ground, hole_m=hole_at(1, long_m=20.0))


def test_a_roll_changes_its_pace_at_the_greens_edge() -> None:
    """Onto the green and off again, each length with its own deceleration (v^2 = u^2 - 2 a s)."""
    ground = ground_of(1, slowing_mps2=0.5, around_mps2=1.5, green_radius_m=3.0)
    onto = finish_rolled(ground, speed_mps=3.0, from_m=5.0)
    left = 3.0**2 - 2 * 1.5 * 2.0
    assert onto.long_m[0] == pytest.approx(20 - 3 + left / (2 * 0.5), abs=1e-6)
    over = finish_rolled(ground, speed_mps=4.0, from_m=5.0)
    beyond = 4.0**2 - 2 * 1.5 * 2.0 - 2 * 0.5 * 6.0
    assert over.long_m[0] == pytest.approx(20 + 3 + beyond / (2 * 1.5), abs=1e-6)
    gentle = np.sqrt(2 * 1.5 * 2.0 + 2 * 0.5 * 3.0 + 0.5**2)
    assert finish_rolled(ground, speed_mps=float(gentle), from_m=5.0).holed[0]


def test_a_ball_above_a_tilted_green_meets_it_along_its_parabola() -> None:
    """Started a little earlier on the same parabola, it comes to rest at the same place."""
    balls, ground, hole = mixed(50, seed=31)
    early = 0.03
    velocity = balls.velocity_mps.copy()
    place = balls.position_m - early * velocity
    place[:, 1] -= GRAVITY_MPS2 * early**2 / 2
    velocity[:, 1] += GRAVITY_MPS2 * early
    falls = velocity[:, 1] < -1
    earlier = Touchdown(place, velocity, balls.spin_radps)
    finish = settle(touchdown=balls, ground=ground, hole_m=hole)
    other = settle(touchdown=earlier, ground=ground, hole_m=hole)
    assert falls.sum() > 30
    assert other.long_m[falls] == pytest.approx(finish.long_m[falls], abs=1e-6)
    assert other.right_m[falls] == pytest.approx(finish.right_m[falls], abs=1e-6)


@pytest.mark.parametrize(
    ("velocity", "spin"),
    [((8.0, 2.0, 0.0), 300.0), ((float("nan"), -9.0, 0.0), 300.0), ((8.0, -9.0, 1.0), np.inf)],
)
def test_what_cannot_bounce_is_refused(velocity: tuple[float, ...], spin: float) -> None:
    balls = Touchdown(np.zeros((1, 3)), np.array([velocity]), np.array([[0.0, 0.0, spin]]))
    with pytest.raises(EngineError, match="bounce"):
        settle(touchdown=balls, ground=ground_of(1), hole_m=hole_at(1, long_m=9.0))
