"""The highest wind speed at which something still holds, by section of a whole batch at once.

Every round asks about all cases at ``PARTS`` speeds in one call and keeps, for each case, the part
in which it first fails; three rounds narrow 60 mph to an eighth of one.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
Holds = Callable[[Ints, Array], NDArray[np.bool_]]

PARTS = 8
ROUNDS = 3
MOST_MPS = 27.0  # 60 mph, more than any cup is played in


def ceilings(*, holds: Holds, count: int, most_mps: float = MOST_MPS) -> Array:
    """Ceiling in m/s of ``count`` cases: they hold below it and fail at once above.

    ``holds(case, speed_mps)`` takes two arrays of one length and says which hold. A case that fails
    in a calm gets -1, one that holds to ``most_mps`` gets that (it may hold beyond). The answer is
    a speed that was tried and held, so never too high; it is within 8^-3 of the range.
    """
    low, high = np.zeros(count), np.full(count, most_mps)
    case = np.arange(count)
    calm = holds(case, low)
    for _ in range(ROUNDS):
        steps = np.linspace(0.0, 1.0, PARTS + 1)[1:]
        tried = low[:, None] + (high - low)[:, None] * steps
        good = holds(np.repeat(case, PARTS), tried.ravel()).reshape(count, PARTS)
        first_bad = np.where(good.all(axis=1), PARTS, np.argmin(good, axis=1))
        edges = np.concatenate((low[:, None], tried), axis=1)
        low = np.take_along_axis(edges, first_bad[:, None], axis=1)[:, 0]
        upper = np.minimum(first_bad + 1, PARTS)
        high = np.take_along_axis(edges, upper[:, None], axis=1)[:, 0]
    return np.where(calm, low, -1.0)
