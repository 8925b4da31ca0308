"""What logged tries teach of hits and of the ground: parts of the running sums, and what they say.

A try adds to its grade's hits in one of four ways (``engine.execution``): measured where it is
known where the ball came down, holed, missed by nobody knows how much, or set aside as a mishit.
Where a ball is known to have come down and ended on a ground, its run adds to that ground's.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bot.services.caddie.believed import GradeKey, Roll, grade_keys, parents_of
from engine.execution import BANDS, REACH_M, HitSpread, HitSums, band_of, learn_spread
from engine.roll_learn import RunSums, learn_roll
from shared.kit import SURFACE_KINDS, Kit, SurfaceKind
from storage.played import Part

HITS, RUNS = "hits", "runs"
"""The scopes of their sums."""

Pair = tuple[float, float]
Rows = Mapping[str, tuple[float, ...]]


@dataclass(frozen=True)
class Hit:
    """One try's hit: where it came down from where it was believed to, (long, right), with the
    standard error of that belief; ``miss_m`` None where nobody said where it came down."""

    share: float
    carry_m: float
    sd_m: Pair
    belief_sd_m: Pair
    miss_m: Pair | None


def hit_part(key: GradeKey, hit: Hit, *, tries: int, went_in: int, set_aside: bool = False) -> Part:
    """What ``tries`` of one kind add to their grade's hits.

    Of a measured miss r only a part is the hit's, the rest what was not known of the response:
    E[hit^2 | r] = (k r)^2 + k v, with k = s^2 / (s^2 + v), s the hit's spread as believed and v the
    belief's variance.
    """
    band = int(band_of(hit.share))
    vector = np.zeros(7)  # measured, holed, missed, mishits, squares twice, catch
    if set_aside:
        vector[3] = 1
    elif hit.miss_m is not None:
        vector[0] = 1
        for axis in range(2):
            hits, belief = hit.sd_m[axis] ** 2, hit.belief_sd_m[axis] ** 2
            part = hits / (hits + belief)
            square = (part * hit.miss_m[axis]) ** 2 + part * belief
            vector[4 + axis] = square / hit.carry_m**2
    else:
        vector[1], vector[2] = went_in, tries - went_in
        vector[6] = tries * REACH_M / hit.carry_m
    return Part(HITS, f"{key[0]}/{key[1]}|{band}", tuple(vector.tolist()))


def run_part(kind: SurfaceKind, *, run_m: float, bounced_m: float, rolled_m: float) -> Part:
    """What one run on a ground adds: as seen, and what was foreseen of bounces and roll with the
    ground's stated speed."""
    rest = run_m - bounced_m
    return Part(RUNS, kind, (1.0, rolled_m**2, rolled_m * rest, rest**2))


def spread_from(kit: Kit, rows: Rows) -> HitSpread:
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


def rolls_from(rows: Rows) -> dict[SurfaceKind, Roll]:
    """What a roll is multiplied by, by ground; without runs 1."""
    sums = np.array([rows.get(kind, (0.0,) * 4) for kind in SURFACE_KINDS]).T
    found = learn_roll(RunSums(*sums))
    return {
        kind: Roll(float(found.factor[n]), float(found.sd[n]), round(float(sums[0, n])))
        for n, kind in enumerate(SURFACE_KINDS)
    }
