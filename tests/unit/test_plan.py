"""The next shot from where the ball lies, and the leave from which it is likeliest to go in."""

import numpy as np
import pytest

from engine.holing import draws
from engine.plan import Place, Values, holing_values, next_shots, step_back, with_spins
from shared.errors import EngineError
from tests.finishing import ground_of, ways_of

IRONS = ("5-iron", "7-iron", "8-iron", "sand wedge")


def place(**changes: float) -> Place:
    """A fairway lie before a green of stimp 10, in a wind of 3 m/s from 120 degrees."""
    return Place(wind_mps=3.0, wind_from_deg=120.0, ground=ground_of(1), **changes)


def test_only_clubs_that_can_be_set_up_for_it_are_played() -> None:
    ways = ways_of(*IRONS, hit_long_m=0.5, hit_right_m=0.4)
    found = next_shots(
        ways=ways, distance_m=np.full(4, 130.0), place=place(), draws=draws(count=1024)
    )
    assert found.playable.tolist() == [True, True, True, False]
    for row in found.order():
        assert ways.least_m[row] <= found.setup_m[row] <= ways.most_m[row]
    assert found.chances.holed[3] == 0.0


def test_the_order_puts_the_likeliest_first_and_past_the_hole_is_where_to_send_it() -> None:
    ways = ways_of(*IRONS)
    spread = np.array([0.9, 0.35, 0.6, 0.3])  # the 7-iron is by far the surest that reaches
    ways.execution.hit_long_m[:] = ways.execution.hit_right_m[:] = spread
    found = next_shots(
        ways=ways, distance_m=np.full(4, 130.0), place=place(), draws=draws(count=2048)
    )
    order = found.order().tolist()
    assert order[0] == 1 and set(order) == {0, 1, 2}
    holed = found.chances.holed[order]
    assert (np.diff(holed) <= 0).all() and holed[0] > 1.5 * holed[1]
    assert found.past_m[1, 0] > 0.2


def test_spin_is_searched_with_the_club() -> None:
    """Each club with each spin: more of it runs less, and the best of all is as good as any."""
    plain = ways_of("5-iron", "8-iron", hit_long_m=0.5, hit_right_m=0.4)
    ways = with_spins(plain, spin_factor=np.array([0.8, 1.0, 1.25]))
    found = next_shots(
        ways=ways, distance_m=np.full(6, 130.0), place=place(), draws=draws(count=1024)
    )
    assert found.playable.all()
    run = found.aims.total_m - found.aims.carry_m
    assert run[0] > run[1] > run[2] and run[3] > run[4] > run[5]
    assert found.chances.holed[found.order()[0]] == found.chances.holed.max()
    alone = next_shots(
        ways=plain, distance_m=np.full(2, 130.0), place=place(), draws=draws(count=1024)
    )
    assert alone.chances.holed == pytest.approx(found.chances.holed[[1, 4]], abs=1e-12)


def test_a_lie_takes_carry_and_spin_and_widens_hits() -> None:
    ways = ways_of("7-iron", hit_long_m=0.4, hit_right_m=0.4)
    clean, heavy, flier = (
        next_shots(ways=ways, distance_m=np.array([115.0]), place=lie, draws=draws(count=1024))
        for lie in (place(), place(carry_share=0.9, spread=2.0), place(spin_share=0.7))
    )
    assert heavy.setup_m[0] == pytest.approx(clean.setup_m[0] / 0.9, rel=1e-3)
    assert heavy.chances.holed[0] < 0.6 * clean.chances.holed[0]
    run = [f.aims.total_m[0] - f.aims.carry_m[0] for f in (clean, flier)]
    assert run[1] > run[0] + 0.5  # less spin runs further
    assert flier.setup_m[0] < clean.setup_m[0]


def test_the_table_of_values_knows_the_gap_no_club_fills() -> None:
    """Between the longest sand wedge and the shortest 9-iron nothing can be played."""
    ways = ways_of("9-iron", "sand wedge", over_full=0.0, hit_long_m=0.4, hit_right_m=0.4)
    distances = np.array([60.0, 71.0, 95.0, 108.0])
    values = holing_values(ways=ways, distances_m=distances, place=place(), draws=draws(count=1024))
    assert values.way.tolist()[0] == 1 and values.way.tolist()[-2:] == [0, 0]
    assert (values.chance[values.way >= 0] > 0.03).all()
    none = holing_values(
        ways=ways, distances_m=np.array([74.0, 300.0]), place=place(), draws=draws(count=64)
    )
    assert none.way[1] == -1 and none.chance[1] == 0.0


def test_a_step_back_chooses_the_leave_that_is_worth_most() -> None:
    """Values with one peak at 110 m: a sure driver leaves 110; a wild one is worth less."""
    distances = np.arange(60.0, 181.0, 2.0)
    chance = 0.08 * np.exp(-((distances - 110.0) ** 2) / (2 * 12.0**2))
    after = Values(1, distances, chance, np.zeros(distances.size, dtype=np.intp), 0 * distances)
    assert after.best_leave_m == 110.0
    worth: list[float] = []
    for spread in (1.0, 15.0):
        back = step_back(
            after=after,
            ways=ways_of("driver", "3-wood", hit_long_m=spread, hit_right_m=spread),
            distances_m=np.array([325.0]),
            targets_m=np.arange(190.0, 241.0, 5.0),
            place=Place(wind_mps=2.0, wind_from_deg=300.0, ground=ground_of(1, slowing_mps2=1.285)),
            draws=draws(count=256),
        )
        assert back.shots == 2 and back.way[0] in (0, 1)
        assert back.leave_m[0] == pytest.approx(110.0, abs=6.0)
        worth.append(float(back.chance[0]))
    assert worth[0] == pytest.approx(0.08, abs=0.002)
    assert worth[1] < 0.06
    # the mean of the peak over a normal of 15 m along; across adds next to nothing at 110 m
    expected = 0.08 * 12 / np.hypot(12, 15)
    assert worth[1] == pytest.approx(expected, rel=0.08)


def test_distances_must_rise_from_above_nothing() -> None:
    for distances in (np.array([100.0, 90.0]), np.array([0.0, 10.0]), np.array([])):
        with pytest.raises(EngineError, match="rise"):
            holing_values(
                ways=ways_of("9-iron"),
                distances_m=distances,
                place=place(),
                draws=draws(count=64),
            )
