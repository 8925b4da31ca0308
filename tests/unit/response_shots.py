"""Shots for tests of the learning, without a kit: features from plain numbers."""

import numpy as np
from numpy.typing import ArrayLike

from engine.response_features import Features, Situations, features
from engine.response_sums import Results
from engine.response_tree import GradeTree
from engine.robust import Floats

MPH = 0.44704


def situations(count: int, **fields: Floats | float) -> Situations:
    """Shots of 150 m at full carry in a calm, but for ``fields``."""
    plain: dict[str, float] = {
        "law_long_m": 0.0,
        "law_right_m": 0.0,
        "carry_m": 150.0,
        "share": 1.0,
        "height_m": 0.0,
        "wind_mps": 0.0,
        "from_deg": 0.0,
    }
    given = {name: np.zeros(count) + value for name, value in {**plain, **fields}.items()}
    return Situations(**given)


def law_of(wind_mps: Floats, from_deg: Floats, carry_m: Floats) -> tuple[Floats, Floats]:
    """An invented law: into costs more than helping gives."""
    turn = np.radians(from_deg)
    along = wind_mps * np.cos(turn) * carry_m * 0.012
    return along * np.where(along > 0, 1.2, 0.75), wind_mps * np.sin(turn) * carry_m * 0.011


def shots(rng: np.random.Generator, count: int) -> Features:
    """Shots of 90 to 200 m in winds to 6 m/s from anywhere, up and down."""
    carry, wind = rng.uniform(90.0, 200.0, count), rng.uniform(0.0, 6.0, count)
    from_deg = rng.uniform(0.0, 360.0, count)
    long, right = law_of(wind, from_deg, carry)
    return features(
        situations(
            count,
            law_long_m=long,
            law_right_m=right,
            carry_m=carry,
            share=rng.uniform(0.65, 1.0, count),
            height_m=rng.uniform(-8.0, 8.0, count),
            wind_mps=wind,
            from_deg=from_deg,
        )
    )


def plain_tree() -> GradeTree:
    """Five grades of three clubs in two families, one group."""
    return GradeTree.from_labels(
        group=[0, 0, 0, 0, 0], family=[0, 0, 0, 1, 1], club=["a", "a", "b", "c", "c"]
    )


def results(grade: ArrayLike, phi: Features, observed_m: Floats, *, holed: bool = False) -> Results:
    """Results, all holed or none."""
    return Results(np.asarray(grade), phi, observed_m, np.full(len(phi), holed))
