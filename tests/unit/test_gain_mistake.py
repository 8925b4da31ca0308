"""A miss that a wind typed from the wrong side explains, and misses that it does not."""

import numpy as np
import pytest

from engine.gain import Posterior, full_pass, moved, posterior_from_sums, predict
from engine.gain_mistake import Mistake, explain_miss, explain_misses
from engine.gain_sums import GainSums, Results
from shared.errors import EngineError
from tests.unit.test_gain import NAN, ONE_GRADE, UNEVEN, some_results


@pytest.fixture(scope="module")
def known() -> Posterior:
    """A grade known well: gains 1.3 and .8, biases -1.5 and .6 m, hits 2 m."""
    return full_pass(some_results(111, shots=300), ONE_GRADE).posterior


@pytest.mark.parametrize(
    ("signs", "mistake"),
    [
        ((1.0, 1.0), Mistake.NONE),
        ((1.0, -1.0), Mistake.MIRRORED),
        ((-1.0, 1.0), Mistake.SWAPPED),
        ((-1.0, -1.0), Mistake.REVERSED),
    ],
)
def test_a_wind_typed_from_the_wrong_side_is_found(
    known: Posterior, signs: tuple[float, float], mistake: Mistake
) -> None:
    blown = (-9.0 * signs[0], 11.0 * signs[1])
    landed = (1.3 * blown[0] - 1.5 + 0.7, 0.8 * blown[1] + 0.6 - 0.5)
    found = explain_miss(known, grade=0, predicted_m=(-9.0, 11.0), observed_m=landed)
    assert found.mistake is mistake
    assert found.ask is (mistake is not Mistake.NONE)
    assert (found.log_ratio > 4.0) is found.ask
    if found.ask:
        assert found.miss_read_so_m == pytest.approx((0.7, -0.5), abs=0.9)
        assert found.probability > 0.75
        assert abs(found.miss_m[0]) + abs(found.miss_m[1]) > 15.0


def test_a_mishit_and_a_light_wind_are_not_asked_about(known: Posterior) -> None:
    far_off = explain_miss(known, grade=0, predicted_m=(-9.0, 11.0), observed_m=(-45.0, 30.0))
    light = explain_miss(known, grade=0, predicted_m=(-1.0, 1.2), observed_m=(0.3, -0.9))
    for found in (far_off, light):
        assert not found.ask and found.mistake is Mistake.NONE


def test_readings_of_the_law_replace_the_change_of_sign(known: Posterior) -> None:
    """Helping gives 6 m where into takes 12: a swapped wind lands by the law's own figure."""
    landed = (1.3 * 6.0 - 1.5, 0.8 * 4.0 + 0.6)
    readings = [[-12.0, -4.0], [6.0, 4.0], [6.0, -4.0]]
    typed = (-12.0, 4.0)
    by_sign = explain_miss(known, grade=0, predicted_m=typed, observed_m=landed)
    by_law = explain_miss(known, grade=0, predicted_m=typed, observed_m=landed, readings_m=readings)
    assert by_law.mistake is Mistake.SWAPPED
    assert by_law.miss_read_so_m == pytest.approx((0.0, 0.0), abs=0.5)
    assert by_law.probability > by_sign.probability


def test_many_misses_are_explained_at_once(known: Posterior) -> None:
    results = Results(
        np.zeros(2, dtype=int),
        np.array([[-9.0, 11.0], [10.0, -8.0]]),
        np.array([[-13.2, -8.2], [11.5, -5.8]]),
    )
    found = explain_misses(known, results)
    assert found.mistake.tolist() == [int(Mistake.MIRRORED), int(Mistake.NONE)]
    assert found.ask.tolist() == [True, False]


def test_posterior_refuses_grades_it_has_not(known: Posterior) -> None:
    for attempt in (
        lambda: known.of(1),
        lambda: predict(known, [1], [[2.0, 3.0]]),
        lambda: predict(known, [0], [[2.0, NAN]]),
        lambda: explain_miss(known, grade=3, predicted_m=(1.0, 2.0), observed_m=(1.0, 2.5)),
        lambda: moved(known, posterior_from_sums(GainSums.zero(grades=9), UNEVEN)),
    ):
        with pytest.raises(EngineError):
            attempt()
