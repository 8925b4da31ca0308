"""The features of a shot, number by number, and how they are pooled."""

import numpy as np
import pytest

from engine.response_features import ACROSS, ACROSS_SD, ALONG, ALONG_SD, OF_THE_GAME, features
from engine.response_learn import DEFAULT_PRIOR
from shared.errors import EngineError
from tests.unit.response_shots import MPH, situations


def test_features_of_one_shot_by_hand() -> None:
    """165 yd at nine tenths, 12 mph from 300 degrees, 4 m up."""
    carry = 165 * 0.9144
    phi = features(
        situations(
            1,
            law_long_m=5.5,
            law_right_m=-8.25,
            carry_m=carry,
            share=0.9,
            height_m=4.0,
            wind_mps=12 * MPH,
            from_deg=300.0,
        )
    )
    size = 0.006 * carry * 12
    c, x = size * 0.5, -size * 3**0.5 / 2
    light, k = np.exp(-2.0), (carry - 135.0) / 90.0
    along = [-5.5, c, c, c * 1.2, c * 1.2, c * light, c * 0.2, c * k, -x, 4.0, 1.0, 0.05]
    across = [8.25, x, x * 1.2, x * light, x * 0.2, x * k, x * 0.5, 1.0]
    np.testing.assert_allclose(phi.along[0], along, rtol=1e-9)
    np.testing.assert_allclose(phi.across[0], across, rtol=1e-9)
    np.testing.assert_allclose(phi.law_effect_m, [[-5.5, 8.25]])
    np.testing.assert_allclose(phi.wind_m, [[c, x]], rtol=1e-9)
    assert len(phi) == 1 and phi.axes == (phi.along, phi.across)


def test_helping_has_the_same_size_and_the_other_sign() -> None:
    into = features(situations(1, wind_mps=3.0, from_deg=20.0)).along[0]
    helping = features(situations(1, wind_mps=3.0, from_deg=160.0)).along[0]
    for name in ("wind", "speed", "light", "share_wind", "carry_wind"):
        assert into[ALONG.index(name)] == pytest.approx(-helping[ALONG.index(name)])
    for name in ("size", "size_speed", "cross", "offset"):
        assert into[ALONG.index(name)] == pytest.approx(helping[ALONG.index(name)])
        assert into[ALONG.index(name)] > 0
    both = features(situations(2, wind_mps=3.0, from_deg=np.array([160.0, 200.0])))
    size = 0.006 * 150.0 * 3.0 / MPH
    turn = np.radians([160.0, 200.0])
    wind = size * np.column_stack((np.cos(turn), np.sin(turn)))
    np.testing.assert_allclose(both.wind_m, wind, rtol=1e-12)


def test_what_both_axes_know_is_as_wide_on_both() -> None:
    """Nothing tells before the first shot that one axis is better computed than the other."""
    along: dict[str, float] = dict(zip(ALONG, ALONG_SD, strict=True))
    across: dict[str, float] = dict(zip(ACROSS, ACROSS_SD, strict=True))
    both = set(along) & set(across)
    assert both == {"law", "wind", "speed", "light", "share_wind", "carry_wind", "offset"}
    assert {name: along[name] for name in both} == {name: across[name] for name in both}


def test_every_feature_has_a_width_and_the_games_own_are_shared_by_clubs() -> None:
    assert len(ALONG) == len(ALONG_SD) and len(ACROSS) == len(ACROSS_SD)
    assert set(ALONG) | set(ACROSS) > OF_THE_GAME
    along, across = DEFAULT_PRIOR.shape
    assert along[ALONG.index("law")] == 1.0 and across[ACROSS.index("offset")] == 1.0
    assert along[ALONG.index("height")] == across[ACROSS.index("oblique")] == 0.0625


def test_numbers_that_are_not_finite_are_refused() -> None:
    with pytest.raises(EngineError):
        features(situations(1, wind_mps=np.nan))
