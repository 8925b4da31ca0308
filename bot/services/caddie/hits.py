"""What the running sums of logged tries say of hits and of the ground.

``bot.services.results.shot`` says what a try adds: to its grade's hits in one of four ways
(``engine.execution``), measured where it is known where the ball came down, holed, missed by nobody
knows how much, or set aside as a mishit; to a ground's runs where it is known to have come down and
ended there.
"""

import numpy as np

from bot.services.caddie.believed import Roll, Sums, grade_keys, parents_of
from engine.execution import BANDS, HitSpread, HitSums, learn_spread
from engine.roll_learn import RunSums, learn_roll
from shared.kit import SURFACE_KINDS, Kit, SurfaceKind

HITS, RUNS = "hits", "runs"
"""The scopes of their sums."""


def spread_from(kit: Kit, rows: Sums) -> HitSpread:
    """The hit spread of every grade of ``grade_keys`` from the sums; the stated prior without."""
    keys = grade_keys(kit)
    sums = np.zeros((len(keys), BANDS, 7))
    for number, (club, grade) in enumerate(keys):
        for band in range(BANDS):
            row = rows.get(f"{club}/{grade}|{band}")
            if row is not None:
                sums[number, band] = row
    measured, holed, missed, mishits, long, right, catch = np.moveaxis(sums, -1, 0)
    squares = np.stack((long, right), axis=-1)
    return learn_spread(
        sums=HitSums(measured, holed, missed, mishits, squares, catch), parents=parents_of(kit)
    )


def rolls_from(rows: Sums) -> dict[SurfaceKind, Roll]:
    """What a roll is multiplied by, by ground; without runs 1."""
    sums = np.array([rows.get(kind, (0.0,) * 4) for kind in SURFACE_KINDS]).T
    found = learn_roll(RunSums(*sums))
    return {
        kind: Roll(float(found.factor[n]), float(found.sd[n]), round(float(sums[0, n])))
        for n, kind in enumerate(SURFACE_KINDS)
    }
