"""What ties the learned response to a kit: the law's fingerprint, the features of kept results, and
what a reference shot of a club does by the law and by the group's own shots.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.law import Shots, allow
from engine.motion import STANDARD_AIR, Air
from engine.rack import Rack
from engine.response import HALF_WIDTH_90, Posterior, Response, predict
from engine.response_features import ALONG, FEATURES_VERSION, Features, features
from engine.robust import Floats
from shared.units import METRES_PER_YARD, MPS_PER_MPH

ANY_SETUP = 1.0  # what was hit was in reach: the limit of set-ups is no question here

REFERENCE_MPS: Final = 10.0 * MPS_PER_MPH
REFERENCE_UP_M: Final = 10.0 * METRES_PER_YARD
HEIGHT: Final = ALONG.index("height")

STAMP_DIGITS: Final = 6
"""Numbers are rounded to so many significant digits before they are hashed: machines differ in the
last places, laws do not."""


class Reference(IntEnum):
    """Reference shots at full carry: 10 mph from three sides, and ten yards up in a calm."""

    INTO = 0
    HELPING = 1
    ACROSS = 2
    UP = 3


@dataclass(frozen=True, slots=True)
class Effects:
    """Reference shots of n rows; arrays (n, 4) by ``Reference``, metres.

    ``computed_m`` is the law's allowance (long into and helping, right across from the right), or
    what ten yards up add to what the shot plays; ``learned_m`` that by the response, as an answer
    would tell it, ``half_m`` half the width of its 90% interval. ``shots`` (n, 4) as in
    ``Posterior``.
    """

    computed_m: Floats
    learned_m: Floats
    half_m: Floats
    shots: NDArray[np.int64]


def row_stamps(rack: Rack, *, air: Air = STANDARD_AIR) -> tuple[str, ...]:
    """A fingerprint of the law of every row: launch, carry, ball, chart, air, drag and features.

    Sums whose stamp is another hold the features of another law and are made anew from the results.
    """
    profile = np.nan if air.profile_exponent is None else air.profile_exponent
    numbers = np.array((*astuple(air.law), air.density_kgpm3, profile))
    common = repr((FEATURES_VERSION, _rounded(numbers)))
    full = rack.full
    columns = np.column_stack(
        (
            *(full.speed_mps, full.elevation_rad, full.spin_radps),
            *(full.rise_per_mps, full.spin_per_mps, rack.full_m, rack.wind_share),
        )
    )
    return tuple(
        _digest(common + repr(_rounded(row)) + _chart_text(rack, i))
        for i, row in enumerate(columns)
    )


def joined_stamp(stamps: Iterable[str]) -> str:
    """One stamp of several, in any order: of a grade's balls, or of a whole kit."""
    return _digest(" ".join(sorted(stamps)))


def kept_features(
    *, rack: Rack, shots: Shots, air: Air = STANDARD_AIR
) -> tuple[Features, NDArray[np.bool_]]:
    """The features of n kept results under the law of ``rack``, and where the law knows the shot.

    Pure: the same results and law give the same features, however the law was when they came.
    """
    found = allow(rack=rack, shots=shots, over_full=ANY_SETUP, air=air)
    known = found.answered
    return features(found.situations), known


def reference_effects(
    *, rack: Rack, rows: ArrayLike, posterior: Posterior, grade: ArrayLike, air: Air = STANDARD_AIR
) -> Effects:
    """Computed and learned effects of the reference shots of rows (n,) with grades (n,)."""
    row = np.asarray(rows, dtype=np.intp)
    response = posterior.response(grade)
    kinds, count = len(Reference), len(row)
    asked = np.repeat(np.arange(count), kinds + 1)  # the last one level and calm
    none = np.zeros(len(asked))
    shots = Shots(
        row=row[asked],
        distance_m=rack.full_m[row[asked]],
        height_m=np.tile((0.0, 0.0, 0.0, REFERENCE_UP_M, 0.0), count),
        wind_mps=np.tile((REFERENCE_MPS,) * 3 + (0.0, 0.0), count),
        wind_from_deg=np.tile((0.0, 180.0, 90.0, 0.0, 0.0), count),
        spin_factor=none + 1.0,
        tilt_rad=none,
    )
    found = allow(rack=rack, shots=shots, over_full=ANY_SETUP, air=air)
    phi = features(found.situations)
    said = predict(response.take(asked), phi)
    axis = np.array([0, 0, 1, 0])
    law = -phi.law_effect_m.reshape(count, kinds + 1, 2)[:, range(kinds), axis]
    told = -said.effect_m.reshape(count, kinds + 1, 2)[:, range(kinds), axis]
    sd = said.sd_m.reshape(count, kinds + 1, 2)[:, range(kinds), axis]
    plays = (found.plays_m - found.long_m).reshape(count, kinds + 1)
    up_m = plays[:, Reference.UP] - plays[:, -1]
    learned_up, sd_up = _height(response, phi.take(np.arange(count) * (kinds + 1) + Reference.UP))
    law[:, Reference.UP], told[:, Reference.UP] = up_m, up_m + learned_up
    sd[:, Reference.UP] = sd_up
    return Effects(law, told, HALF_WIDTH_90 * sd, posterior.shots[np.asarray(grade)])


def _chart_text(rack: Rack, row: int) -> str:
    """A row's chart without the padding, which other clubs' charts ask for; "" without one."""
    if not rack.charted[row]:
        return ""
    share = rack.chart_share[row]
    points = int(np.argmax(share >= share[-1])) + 1
    marks = rack.chart_marks_per_mph[row][..., :points]
    scale = np.array((rack.mark_full_m[row], rack.mark_short_m[row], rack.short_m[row]))
    return repr([_rounded(part.ravel()) for part in (share[:points], marks, scale)])


def _height(response: Response, up: Features) -> tuple[Floats, Floats]:
    """What the response adds to a shot for its height alone, with its standard error, (n,)."""
    level = up.along.copy()
    level[:, HEIGHT] = 0.0
    step = up.along - level
    added = -(step * response.along_mean).sum(axis=1)
    return added, np.sqrt(np.einsum("ni,nij,nj->n", step, response.along_cov, step))


def _rounded(values: Floats) -> list[str]:
    return [f"{value:.{STAMP_DIGITS}g}" for value in values.tolist()]


def _digest(text: str) -> str:
    return hashlib.blake2b(text.encode(), digest_size=6).hexdigest()
