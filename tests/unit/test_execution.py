"""The spread of hits from running sums: known worlds are found again."""

import numpy as np
import pytest

from engine.execution import (
    BANDS,
    MISHIT_PRIOR,
    PRIOR_RELATIVE_SD,
    REACH_M,
    HitSums,
    band_of,
    hit_sums,
    learn_spread,
)
from shared.errors import EngineError

# two groups; three families, of two clubs, one and one; five grades
PARENTS = (
    np.array([0, 0, 1], dtype=np.intp),
    np.array([0, 0, 1, 2], dtype=np.intp),
    np.array([0, 0, 1, 2, 3], dtype=np.intp),
)
GRADES = 5


def played(
    *, grade: int, shots: int, sd: tuple[float, float], seed: int, share: float = 0.9
) -> HitSums:
    """Measured normal misses of one grade, ``sd`` relative to a carry of 130 m."""
    random = np.random.default_rng(seed)
    return hit_sums(
        grades=GRADES,
        grade=np.full(shots, grade),
        share=np.full(shots, share),
        carry_m=np.full(shots, 130.0),
        miss_m=130.0 * random.normal(size=(shots, 2)) * sd,
        kind=np.full(shots, "measured"),
    )


def test_without_results_it_is_the_prior() -> None:
    spread = learn_spread(sums=HitSums.zero(grades=GRADES), parents=PARENTS)
    assert spread.relative_sd == pytest.approx(
        np.broadcast_to(PRIOR_RELATIVE_SD, (GRADES, BANDS, 2)), rel=1e-3
    )
    assert (spread.factor_low < 0.5).all() and (spread.factor_high > 2).all()
    assert spread.mishit_share == pytest.approx(np.full(GRADES, MISHIT_PRIOR[0] / 50))


def test_many_hits_are_believed_and_their_shape_too() -> None:
    sums = played(grade=1, shots=900, sd=(0.009, 0.004), seed=1)
    found = learn_spread(sums=sums, parents=PARENTS).relative_sd[1, band_of([0.9])[0]]
    assert found == pytest.approx([0.009, 0.004], rel=0.05)


def test_what_a_grade_lacks_it_takes_from_those_nearest_to_it() -> None:
    """Grade 0 is of the same club, 2 of the family, 3 of another family; 4 of another group."""
    sums = played(grade=1, shots=400, sd=(0.00625, 0.005), seed=2)
    spread = learn_spread(sums=sums, parents=PARENTS)
    at = int(band_of([0.9])[0])
    along = spread.relative_sd[:, at, 0]
    assert along[1] < along[0] < along[2] < along[3] < along[4]
    assert along[4] == pytest.approx(PRIOR_RELATIVE_SD[0], rel=1e-3)
    assert along[1] < spread.relative_sd[1, 0, 0] < along[0] * 1.2


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """200 worlds with their own factor from the prior's tree of one grade, 8 hits each."""
    random = np.random.default_rng(7)
    held = 0
    for world in range(200):
        steps = random.normal(size=5) * [0.5, 0.25, 0.2, 0.15, 0.2]
        factor = float(np.exp(steps.sum()))
        sd = (PRIOR_RELATIVE_SD[0] * factor, PRIOR_RELATIVE_SD[1] * factor)
        sums = played(grade=4, shots=8, sd=sd, seed=1000 + world)
        spread = learn_spread(sums=sums, parents=PARENTS)
        at = int(band_of([0.9])[0])
        held += spread.factor_low[4, at] <= factor <= spread.factor_high[4, at]
    assert 168 <= held <= 192  # 90% of 200, give or take 2.8 standard errors


def test_holed_and_missed_tell_how_wide_hits_spread() -> None:
    """Nobody measured anything: of 400 tries those within the hole's reach went in."""
    random = np.random.default_rng(3)
    for truth in (0.003, 0.03):
        miss = 100.0 * truth * random.normal(size=(400, 2))
        went_in = np.hypot(miss[:, 0], miss[:, 1]) < REACH_M
        sums = hit_sums(
            grades=GRADES,
            grade=np.full(400, 3),
            share=np.full(400, 1.0),
            carry_m=np.full(400, 100.0),
            miss_m=np.full((400, 2), 99.0),
            kind=np.where(went_in, "holed", "missed"),
        )
        found = learn_spread(sums=sums, parents=PARENTS).relative_sd[3, band_of([1.0])[0]]
        assert np.sqrt(found[0] * found[1]) == pytest.approx(truth, rel=0.25)


def test_went_in_alone_does_not_make_a_club_perfect() -> None:
    """Taken as misses of nothing, thirty balls in and 300 missed would say a spread of nothing."""
    count = 330
    sums = hit_sums(
        grades=GRADES,
        grade=np.full(count, 2),
        share=np.full(count, 0.9),
        carry_m=np.full(count, 120.0),
        miss_m=np.zeros((count, 2)),
        kind=np.where(np.arange(count) < 30, "holed", "missed"),
    )
    found = learn_spread(sums=sums, parents=PARENTS).relative_sd[2, 1]
    expected = REACH_M / 120.0 / np.sqrt(-2 * np.log1p(-30 / 330))
    assert np.sqrt(found[0] * found[1]) == pytest.approx(expected, rel=0.2)


def test_mishits_are_a_share_of_their_own() -> None:
    count = 200
    sums = hit_sums(
        grades=GRADES,
        grade=np.full(count, 0),
        share=np.full(count, 0.9),
        carry_m=np.full(count, 120.0),
        miss_m=np.zeros((count, 2)),
        kind=np.where(np.arange(count) < 40, "mishit", "missed"),
    )
    share = learn_spread(sums=sums, parents=PARENTS).mishit_share
    assert 0.17 < share[0] < 0.2 and share[3] == pytest.approx(41 / 250)
    assert share[4] == pytest.approx(0.02)


def test_sums_add_in_any_order_and_refuse_what_they_do_not_know() -> None:
    one = played(grade=1, shots=5, sd=(0.02, 0.01), seed=1)
    other = played(grade=2, shots=7, sd=(0.02, 0.01), seed=2, share=0.99)
    both, turned = one + other, other + one
    assert (both.squares == turned.squares).all() and both.measured.sum() == 12
    assert both.measured[2, 2] == 7 and both.measured[1, 1] == 5
    with pytest.raises(EngineError, match="measured"):
        hit_sums(
            grades=1,
            grade=np.zeros(1, dtype=np.intp),
            share=np.ones(1),
            carry_m=np.ones(1),
            miss_m=np.zeros((1, 2)),
            kind=np.array(["nearly"]),
        )
