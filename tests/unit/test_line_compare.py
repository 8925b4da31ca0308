"""How sure a difference between lines is: closed forms, and lines played anew."""

from dataclasses import replace

import numpy as np
import pytest

from engine.holing import Draws, draws, unlimited
from engine.line_chance import line_chances, lines_chances
from engine.line_compare import (
    CLEAR,
    LegDoubt,
    Outcomes,
    difference,
    estimate,
    in_order,
)
from shared.errors import EngineError
from tests.finishing import execution_of
from tests.unit.test_line_chance import leg

POINTS = draws(shots=2, count=8192)
IRON = LegDoubt(("7-iron", "ash"), common=0.0, own=0.3)
NOBODY = replace(IRON, own=0.0)


def within(radius: float, points: Draws = POINTS, shot: int = -1) -> np.ndarray:
    """Which hits of standard deviation 1 come within a disc about their aim, by point."""
    z = points.shots[shot]
    return (z[0] ** 2 + z[1] ** 2 < radius**2).astype(float)


def test_the_effect_of_wider_hits_is_the_closed_form() -> None:
    """P = 1 - exp(-r^2 / 2 f^2), so dP / d ln f = -r^2 exp(-r^2 / 2) at f = 1."""
    for radius in (0.4, 1.3, 2.2):
        found = estimate(Outcomes(within(radius), (IRON,)), POINTS)
        assert found.value == pytest.approx(1 - np.exp(-(radius**2) / 2), abs=0.004)
        assert found.model_sd == pytest.approx(
            0.3 * radius**2 * np.exp(-(radius**2) / 2), rel=0.04, abs=0.006
        )


def test_the_effect_of_a_response_that_is_off_is_the_closed_form() -> None:
    """A ball is short where its response is by more than a; E[1(z < a) z] = -phi(a), and
    E[1(z < a)(z^2 - 1)] = -a phi(a)."""
    at = 0.6
    short = (POINTS.shots[-1, 3] < at).astype(float)
    found = estimate(Outcomes(short, (NOBODY,)), POINTS)
    phi = np.exp(-(at**2) / 2) / np.sqrt(2 * np.pi)
    assert found.model_sd == pytest.approx(phi * np.sqrt(1 + at**2 / 2), rel=0.02)


def test_what_two_lines_share_is_no_doubt_of_their_difference() -> None:
    near, far = within(0.9), within(1.4)
    wood = replace(IRON, club=("5-wood", "oak"))
    one = Outcomes(far, (IRON,)), Outcomes(near, (IRON,))
    same = difference(*one, POINTS)
    other = difference(one[0], Outcomes(near, (wood,)), POINTS)
    slope = [0.3 * r**2 * np.exp(-(r**2) / 2) for r in (1.4, 0.9)]
    assert same.value == other.value > 0
    assert same.model_sd == pytest.approx(abs(slope[0] - slope[1]), abs=0.006)
    assert other.model_sd == pytest.approx(np.hypot(*slope), abs=0.006)
    shared = [replace(each, common=0.3, own=0.0) for each in (IRON, wood)]
    group = difference(Outcomes(far, (shared[0],)), Outcomes(near, (shared[1],)), POINTS)
    assert group.model_sd == pytest.approx(same.model_sd, abs=0.006)
    itself = difference(one[0], one[0], POINTS)
    assert (itself.value, itself.sd, itself.clear) == (0.0, 0.0, False)


def test_an_interval_is_nine_in_ten_and_clear_is_beyond_it() -> None:
    for own, clear in ((0.2, True), (0.4, False)):
        doubt = replace(IRON, own=own)
        found = difference(Outcomes(within(1.0), (doubt,)), Outcomes(within(0.5), ()), POINTS)
        assert found.half_width == pytest.approx(
            CLEAR * np.hypot(found.sampling_se, found.model_sd)
        )
        assert found.clear is clear and (found.value > found.half_width) is clear


def test_lines_that_cannot_be_told_apart_stand_together() -> None:
    doubt = replace(IRON, own=0.05)
    radii = (1.02, 0.3, 1.0, 2.0)
    lines = [Outcomes(within(radius), (replace(doubt, club=(str(radius),)),)) for radius in radii]
    assert in_order(lines, POINTS) == [[3], [0, 2], [1]]
    with pytest.raises(EngineError, match="points"):
        difference(lines[0], Outcomes(within(1.0, draws(count=64)), ()), POINTS)


def test_the_effects_agree_with_lines_played_anew() -> None:
    """Hits wider by a twentieth and a response off by a third of its error, both last shots."""
    points = draws(shots=2, count=8192)
    green = replace(unlimited(1), radius_m=np.array([6.0]))
    hits = execution_of(1, hit_long_m=3.0, hit_right_m=2.5, response_long_m=2.0, wind_mps=0.3)
    first = leg("driver", distance_m=215.0, last=False)
    second = leg("8-iron", distance_m=112.0, last=True, room=green, execution=hits)
    base = line_chances(legs=(first, second), draws=points)
    values = base.stayed.astype(float)
    shot = points.shots[-1]
    apart = values - values.mean()

    def stays(factor: float, past_m: float) -> float:
        wide = replace(hits, hit_long_m=hits.hit_long_m * factor)
        wide = replace(wide, hit_right_m=hits.hit_right_m * factor)
        last = replace(second, execution=wide, past_m=(past_m, 0.0))
        return float(line_chances(legs=(first, last), draws=points).line.in_room[0])

    slope = (stays(1.05, 0.0) - stays(1 / 1.05, 0.0)) / (2 * np.log(1.05))
    score = float((apart * (shot[0] ** 2 + shot[1] ** 2 - 2)).mean())
    assert score == pytest.approx(slope, abs=0.02) and slope < -0.2
    shift = 2.0 / 3
    moved = (stays(1.0, shift) - stays(1.0, -shift)) * 3 / 2
    assert float((apart * shot[3]).mean()) == pytest.approx(moved, abs=0.02)


def test_lines_in_one_batch_are_each_as_alone_at_the_last_points() -> None:
    """Of one, two and two shots, one of which no swing plays; it leaves the others alone."""
    points = draws(shots=3, count=512)
    green = replace(unlimited(1), radius_m=np.array([9.0]))
    short = leg("8-iron", distance_m=112.0, last=True, room=green)
    first = leg("driver", distance_m=215.0, last=False)
    never = leg("8-iron", distance_m=112.0, last=True, height_m=150.0)
    found = lines_chances(lines=[(short,), (first, short), (first, never)], draws=points)
    assert found[2] is None
    for legs, each in (((short,), found[0]), ((first, short), found[1])):
        assert each is not None
        alone = line_chances(legs=legs, draws=replace(points, shots=points.shots[-len(legs) :]))
        assert each.line.in_room[0] == pytest.approx(alone.line.in_room[0], abs=0.002)
        assert each.line.left_m[0] == pytest.approx(alone.line.left_m[0], abs=0.01)
        assert each.stayed.mean() == each.line.in_room[0] and 0.5 < each.stayed.mean() < 1
        assert each.went_in.mean() == each.line.holed[0]
    with pytest.raises(EngineError, match="cannot be played"):
        line_chances(legs=(never,), draws=points)
