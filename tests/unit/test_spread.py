"""The spread of a grade's shots: known from so many of its own, the half ellipse really a half."""

import numpy as np
import pytest

from bot.drawing.view import HALF_INSIDE
from bot.services.caddie.believed import LEAST_SHOTS, grade_keys, spreads_of, tree_of
from engine.response import full_pass
from engine.response_features import Situations, features
from engine.response_sums import Results
from tests.kits import demo_kit

SD_M = (3.0, 1.5)  # long, right


def results(
    rng: np.random.Generator, *, shots: int, grade: int, sd_m: tuple[float, float] = SD_M
) -> Results:
    law = rng.uniform(-12.0, 12.0, (shots, 2))
    seen = 1.2 * law + rng.normal(0.0, sd_m, (shots, 2))
    turn = rng.uniform(0.0, 360.0, shots)
    carry, wind = rng.uniform(90.0, 150.0, shots), rng.uniform(1.0, 6.0, shots)
    asked = Situations(
        law_long_m=-law[:, 0],
        law_right_m=-law[:, 1],
        carry_m=carry,
        share=carry / 150.0,
        height_m=np.zeros(shots),
        wind_mps=wind,
        from_deg=turn,
    )
    none = np.zeros(shots, dtype=bool)
    return Results(np.full(shots, grade), features(asked), seen, none)


def test_a_spread_is_known_from_a_dozen_shots_with_the_grade_itself() -> None:
    kit = demo_kit()
    keys = grade_keys(kit)
    for shots, known in ((LEAST_SHOTS - 1, False), (LEAST_SHOTS, True)):
        logged = results(np.random.default_rng(3), shots=shots, grade=4)
        found = spreads_of(kit, full_pass(logged, tree_of(kit)).posterior)
        assert (keys[4] in found) is known
        assert set(found) <= {keys[4]}  # its kin borrow, and are not said to be known
        if known:
            assert found[keys[4]].shots == LEAST_SHOTS


def test_with_many_shots_half_come_down_in_the_ellipse() -> None:
    kit, rng = demo_kit(), np.random.default_rng(8)
    logged = results(rng, shots=600, grade=7)
    spread = spreads_of(kit, full_pass(logged, tree_of(kit)).posterior)[grade_keys(kit)[7]]
    assert spread.long_sd_m == pytest.approx(SD_M[0], rel=0.1)
    assert spread.right_sd_m == pytest.approx(SD_M[1], rel=0.1)
    hits = rng.normal(0.0, SD_M, (4000, 2)) / (spread.long_sd_m, spread.right_sd_m)
    inside = (np.hypot(hits[:, 0], hits[:, 1]) <= HALF_INSIDE).mean()
    assert inside == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("sd_m", [(2.0, 1.0), (8.0, 5.0)])
def test_as_soon_as_it_is_shown_the_ellipse_holds_about_half(sd_m: tuple[float, float]) -> None:
    kit, key = demo_kit(), grade_keys(demo_kit())[7]
    inside: list[float] = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        logged = results(rng, shots=LEAST_SHOTS, grade=7, sd_m=sd_m)
        spread = spreads_of(kit, full_pass(logged, tree_of(kit)).posterior)[key]
        hits = rng.normal(0.0, sd_m, (1000, 2)) / (spread.long_sd_m, spread.right_sd_m)
        inside.append(float((np.hypot(hits[:, 0], hits[:, 1]) <= HALF_INSIDE).mean()))
    assert np.mean(inside) == pytest.approx(0.5, abs=0.1)
    assert np.mean(np.array(inside) < 0.3) < 0.1


def test_mishits_do_not_widen_it_much() -> None:
    kit, rng = demo_kit(), np.random.default_rng(9)
    logged = results(rng, shots=200, grade=7)
    logged.observed_m[::10] -= (35.0, 0.0)
    spread = spreads_of(kit, full_pass(logged, tree_of(kit)).posterior)[grade_keys(kit)[7]]
    assert spread.long_sd_m == pytest.approx(SD_M[0], rel=0.2)
