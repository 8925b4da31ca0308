"""The features of a shot in which the effect of the wind is linear with unknown weights.

    effect = sum_j beta_j phi_j(shot)       along and across apart, in metres

The first feature of each axis is the law's own effect, minus its allowance, with prior mean 1; all
others have prior mean 0. They are sized like the effect of the wind on a middle shot, so that a
weight has no unit: with u = ``WIND_SIZE`` carry speed, c = u cos(from) and x = u sin(from),

- along: law; c and |c| (linear, into and helping apart); c v and |c| v (faster or slower than
  linear); c e (what happens in light winds only); c s (part shots); c k (short and long clubs);
  |x| (what a crosswind costs); height; 1; s
- across: law; x; x v; x e; x s; x k; x cos(from) (a crosswind that also hurts or helps); 1

where v = speed / ``SPEED_UNIT_MPS``, e = exp(-speed / ``LIGHT_MPS``), s and k the share and the
carry from their middle. A wind linear in speed, one that grows faster, one that is felt only above
some speed or no more beyond some speed are all near a sum of these. The choice and the prior
widths are ours; tests/bench/worlds.py measures them on games not drawn from them.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from engine.batch import Batch
from shared.errors import EngineError
from shared.units import METRES_PER_YARD, MPS_PER_MPH

Array = NDArray[np.float64]

FEATURES_VERSION: Final = 1
"""Part of the fingerprint of kept sums: a change of a feature makes them anew."""

WIND_SIZE: Final = 0.006 / MPS_PER_MPH
"""Metres of effect for a metre of carry and a metre a second: 9.9 yd for 165 yd at 10 mph."""

SPEED_UNIT_MPS: Final = 10.0 * MPS_PER_MPH
LIGHT_MPS: Final = 6.0 * MPS_PER_MPH
MIDDLE_SHARE: Final = 0.85
SHARE_UNIT: Final = 0.25
MIDDLE_CARRY_M: Final = 135.0
CARRY_UNIT_M: Final = 90.0

ALONG: Final = (
    "law",
    "wind",
    "size",
    "speed",
    "size_speed",
    "light",
    "share_wind",
    "carry_wind",
    "cross",
    "height",
    "offset",
    "share",
)
ACROSS: Final = ("law", "wind", "speed", "light", "share_wind", "carry_wind", "oblique", "offset")

ALONG_SD: Final = (
    0.25,
    0.30,
    0.25,
    0.15,
    0.10,
    0.20,
    0.20,
    0.12,
    0.08,
    0.20,
    1.3 * METRES_PER_YARD,
    0.8 * METRES_PER_YARD,
)
"""Prior standard deviations of the weights, all clubs, families and grades together; metres for
the offset and the share, without unit else."""

ACROSS_SD: Final = (0.25, 0.30, 0.15, 0.20, 0.20, 0.12, 0.08, 1.3 * METRES_PER_YARD)

OF_THE_GAME: Final = frozenset(
    ("size", "speed", "size_speed", "light", "carry_wind", "cross", "height", "oblique")
)
"""Features that say how the game treats wind, whatever the club: clubs differ little in them."""


@dataclass(frozen=True)
class Situations(Batch):
    """n shots as the learning sees them; every array (n,).

    ``law_long_m`` and ``law_right_m`` are the law's allowance before anything learned, ``share``
    the target's carry over the full carry, ``wind_mps`` the wind that reaches the ball and
    ``from_deg`` where it comes from (shared/units.py).
    """

    law_long_m: Array
    law_right_m: Array
    carry_m: Array
    share: Array
    height_m: Array
    wind_mps: Array
    from_deg: Array

    def __len__(self) -> int:
        return self.law_long_m.shape[0]


@dataclass(frozen=True)
class Features(Batch):
    """Features of n shots: ``along`` (n, 12) and ``across`` (n, 8), columns as in ``ALONG`` and
    ``ACROSS``."""

    along: Array
    across: Array

    def __len__(self) -> int:
        return self.along.shape[0]

    @property
    def axes(self) -> tuple[Array, Array]:
        """Along and across."""
        return self.along, self.across

    @property
    def wind_m(self) -> Array:
        """The size of the wind along and across, (n, 2): the linear features."""
        return np.column_stack((self.along[:, 1], self.across[:, 1]))

    @property
    def law_effect_m(self) -> Array:
        """What the law says the wind does, (n, 2) in metres: minus its allowance."""
        return np.column_stack((self.along[:, 0], self.across[:, 0]))


def features(situations: Situations) -> Features:
    """The features of n shots.

    Errors: EngineError for numbers that are not finite.
    """
    at = situations
    turn = np.radians(at.from_deg)
    size = WIND_SIZE * at.carry_m * at.wind_mps
    along, across = size * np.cos(turn), size * np.sin(turn)
    speed = at.wind_mps / SPEED_UNIT_MPS
    light = np.exp(-at.wind_mps / LIGHT_MPS)
    share = (at.share - MIDDLE_SHARE) / SHARE_UNIT
    carry = (at.carry_m - MIDDLE_CARRY_M) / CARRY_UNIT_M
    one = np.ones(len(at))
    columns_along = (
        -at.law_long_m,
        along,
        np.abs(along),
        along * speed,
        np.abs(along) * speed,
        along * light,
        along * share,
        along * carry,
        np.abs(across),
        at.height_m,
        one,
        share * SHARE_UNIT,
    )
    columns_across = (
        -at.law_right_m,
        across,
        across * speed,
        across * light,
        across * share,
        across * carry,
        across * np.cos(turn),
        one,
    )
    found = Features(np.column_stack(columns_along), np.column_stack(columns_across))
    if not all(np.isfinite(part).all() for part in found.axes):
        raise EngineError("the features of a shot need finite numbers")
    return found
