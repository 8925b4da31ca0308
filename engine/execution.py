"""What varies from try to try: hits, mishits, and what nobody knows of response, wind and ground.

A clean hit misses its aim by a normal amount along and across, in proportion to its carry, prior
spread x factor. The factor of every grade, and of bands of share within it, is learned from running
sums, pooled over group -> family -> club -> grade -> band: its logarithm is the parent's plus a
normal step. On a grid of the logarithm that is exact belief propagation on the tree, whatever the
likelihood, so that three kinds of result count as what they are:

    measured   -2 n ln f - (sum x^2 / s_long^2 + sum z^2 / s_right^2) / (2 f^2)
    holed      ln p(f)              missed, by nobody knows how much      ln (1 - p(f))

with p the chance that a hit with this factor comes within the hole's reach of its aim.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.batch import Batch
from shared.errors import EngineError

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

SHARE_EDGES = (0.8, 0.95)  # part shots, most, full: bands of target carry over full carry
BANDS = len(SHARE_EDGES) + 1
PRIOR_RELATIVE_SD = (0.025, 0.020)  # along, across: of the carry; a judgement, before any result
PRIOR_LOG_SD = 0.5  # of the group's factor: half to twice is likely
STEP_LOG_SD = (0.25, 0.20, 0.15, 0.20)  # family, club, grade, band around the parent; judgements
REACH_M = 0.25  # what a ball that runs at a hole is taken within, as a disc; a judgement
LEAST_FACTOR, MOST_FACTOR = 1 / 30, 8.0
GRID: Array = np.log(np.geomspace(LEAST_FACTOR, MOST_FACTOR, 161))
LEAST_CHANCE = 1e-12
MISHIT_PRIOR = (1.0, 49.0)  # beta: one hit in fifty, known as from fifty hits; a judgement
MISHIT_FACTOR = 4.0  # how much wider mishits spread; a judgement


@dataclass(frozen=True)
class HitSums:
    """Running sums of logged hits by grade and band of share; they add and subtract.

    ``measured``, ``holed``, ``missed`` and ``mishits`` (grades, 3) are counts: misses known in
    metres, balls that went in, misses of unknown size, and results set aside as mishits.
    ``squares`` (grades, 3, 2) are sums of squared misses over carry, along and across, of the
    measured. ``catch`` (grades, 3) sums ``REACH_M`` over carry of the holed and the missed.
    """

    measured: Array
    holed: Array
    missed: Array
    mishits: Array
    squares: Array
    catch: Array

    @classmethod
    def zero(cls, *, grades: int) -> "HitSums":
        """The sums of no results."""
        none = np.zeros((grades, BANDS))
        return cls(none, none, none, none, np.zeros((grades, BANDS, 2)), none)

    def __add__(self, other: "HitSums") -> "HitSums":
        return HitSums(
            self.measured + other.measured,
            self.holed + other.holed,
            self.missed + other.missed,
            self.mishits + other.mishits,
            self.squares + other.squares,
            self.catch + other.catch,
        )


@dataclass(frozen=True)
class HitSpread:
    """What is believed of hits by grade and band: relative sd (grades, 3, 2) along and across.

    ``factor_low`` and ``factor_high`` (grades, 3) hold 90% of the belief in the factor, whose mean
    logarithm is in ``relative_sd``. ``mishit_share`` (grades,) is the expected share of mishits.
    ``common_log_sd`` and ``own_log_sd`` (grades, 3) say how little is known of the logarithm of a
    factor: one standard deviation of what all of a group's cells share, and of the cell's own.
    """

    relative_sd: Array
    factor_low: Array
    factor_high: Array
    mishit_share: Array
    common_log_sd: Array
    own_log_sd: Array

    def of(self, *, grade: Ints, share: Array, carry_m: Array) -> tuple[Array, Array, Array]:
        """Standard deviations along and across in metres, and the mishit share; each (n,)."""
        sd = self.relative_sd[grade, band_of(share)] * carry_m[:, None]
        return sd[:, 0], sd[:, 1], self.mishit_share[grade]

    def doubt_of(self, *, grade: Ints, share: Array) -> tuple[Array, Array]:
        """``common_log_sd`` and ``own_log_sd`` of n shots; each (n,)."""
        band = band_of(share)
        return self.common_log_sd[grade, band], self.own_log_sd[grade, band]


@dataclass(frozen=True)
class Execution(Batch):
    """One standard deviation of everything that varies in n shots; arrays (n,).

    ``hit_*`` of a clean hit, ``mishit_share`` of hits spread ``MISHIT_FACTOR`` as wide;
    ``response_*`` of the allowance; ``wind_mps`` and ``wind_deg`` of the wind as read;
    ``slowing_log`` and ``firmness_log`` of the logarithm of the ground's deceleration and firmness.
    """

    hit_long_m: Array
    hit_right_m: Array
    mishit_share: Array
    response_long_m: Array
    response_right_m: Array
    wind_mps: Array
    wind_deg: Array
    slowing_log: Array
    firmness_log: Array


def band_of(share: ArrayLike) -> Ints:
    """The band of each share (n,) of full carry."""
    return np.searchsorted(np.array(SHARE_EDGES), np.asarray(share), side="right")


def hit_sums(
    *,
    grades: int,
    grade: Ints,
    share: Array,
    carry_m: Array,
    miss_m: Array,
    kind: NDArray[np.str_],
) -> HitSums:
    """Sums of results: ``kind`` (n,) is measured, holed, missed or mishit; ``miss_m`` (n, 2).

    A miss counts where it is measured only. Errors: EngineError for another kind and for carries
    that are not positive.
    """
    known = ("measured", "holed", "missed", "mishit")
    if not np.isin(kind, known).all():
        raise EngineError("a result is measured, holed, missed or mishit")
    if not (np.isfinite(carry_m).all() and (carry_m > 0).all()):
        raise EngineError("a result's carry must be a positive number")
    cell = grade * BANDS + band_of(share)
    size = grades * BANDS

    def total(weight: Array) -> Array:
        return np.bincount(cell, weight, size).reshape(grades, BANDS).astype(np.float64)

    measured, holed, missed, mishit = ((kind == name).astype(np.float64) for name in known)
    relative = np.where((measured > 0)[:, None], miss_m / carry_m[:, None], 0.0)
    return HitSums(
        total(measured),
        total(holed),
        total(missed),
        total(mishit),
        np.stack([total(relative[:, axis] ** 2) for axis in range(2)], axis=-1),
        total((holed + missed) * REACH_M / carry_m),
    )


def learn_spread(*, sums: HitSums, parents: tuple[Ints, Ints, Ints]) -> HitSpread:
    """The hit spread of every grade and band from the sums alone.

    ``parents`` are the group of each family, the family of each club and the club of each grade.
    Without results it is the prior. The shape, along over across, is the group's; the factor is
    each cell's own, drawn to its grade, club, family and group.
    """
    group_of = parents[0][parents[1]][parents[2]]
    shape = _shape(sums, group_of)
    cells = _log_likelihood(sums, shape).reshape(-1, GRID.size)
    levels = [*parents, np.repeat(np.arange(len(parents[2])), BANDS)]
    belief, of_groups = _pooled(cells, levels, groups=int(parents[0].max()) + 1)
    weight = _normed(belief)
    mean = np.exp(weight @ GRID).reshape(-1, BANDS)
    rising = np.cumsum(weight, axis=1)
    common, own = _doubt(_log_sd(weight).reshape(-1, BANDS), _log_sd(_normed(of_groups))[group_of])
    low, high = (
        np.exp(GRID[np.argmax(rising >= part, axis=1)]).reshape(-1, BANDS) for part in (0.05, 0.95)
    )
    relative = mean[..., None] * shape[:, None, :]
    return HitSpread(relative, low, high, _mishits(sums, parents), common, own)


def _normed(belief: Array) -> Array:
    return belief / belief.sum(axis=1, keepdims=True)


def _log_sd(weight: Array) -> Array:
    mean = weight @ GRID
    return np.sqrt(np.maximum(weight @ GRID**2 - mean**2, 0.0))


def _doubt(cell_sd: Array, group_sd: Array) -> tuple[Array, Array]:
    """Of each cell (grades, 3) what it shares with its group's others, and the rest.

    As if each cell were drawn to its group at once: a cell that puts the share s on its group has
    variance s t^2 + s^2 g^2, with t^2 that of all steps between and g^2 the group's.
    """
    steps = float(np.square(STEP_LOG_SD).sum())
    group = np.maximum(group_sd, 1e-9)[:, None] ** 2
    share = (np.sqrt(steps**2 + 4 * group * cell_sd**2) - steps) / (2 * group)
    share = np.minimum(share, 1.0)
    return share * np.sqrt(group), np.sqrt(share * steps)


def _shape(sums: HitSums, group_of: Ints) -> Array:
    """Relative sd (grades, 2) at factor 1: the prior's, its ratio corrected by the group's."""
    prior = np.array(PRIOR_RELATIVE_SD)
    groups = int(group_of.max()) + 1
    found = np.zeros((groups, 2))
    np.add.at(found, group_of, (sums.squares / prior**2).sum(axis=1))
    ratio = np.sqrt((found[:, 0] + 6) / (found[:, 1] + 6))  # as if six hits had the prior's shape
    root = np.sqrt(ratio)[group_of]
    return np.stack((prior[0] * root, prior[1] / root), axis=1)


def _log_likelihood(sums: HitSums, shape: Array) -> Array:
    """(grades, bands, grid) log likelihood of the factor."""
    scaled = (sums.squares / shape[:, None, :] ** 2).sum(axis=-1)
    factor2 = np.exp(2 * GRID)
    found = -2 * sums.measured[..., None] * GRID - scaled[..., None] / (2 * factor2)
    tried = sums.holed + sums.missed
    catch = sums.catch / np.maximum(tried, 1.0)
    round_sd2 = (shape[:, 0] * shape[:, 1])[:, None]  # a circle of the ellipse's area
    # chance that a round normal falls within a disc about its own middle: 1 - exp(-R^2 / 2 s^2)
    exponent = (catch**2 / (2 * round_sd2))[..., None] / factor2
    chance = np.clip(-np.expm1(-exponent), LEAST_CHANCE, 1 - LEAST_CHANCE)
    found += sums.holed[..., None] * np.log(chance)
    found += sums.missed[..., None] * np.log1p(-chance)
    return found


def _pooled(cells: Array, levels: list[Ints], *, groups: int) -> tuple[Array, Array]:
    """Beliefs of cells and groups on the grid, (n, grid) each: up the tree, down again."""
    apart = GRID[:, None] - GRID[None, :]
    steps = [np.exp(-(apart**2) / (2 * sd**2)) for sd in STEP_LOG_SD]
    steps = [step / step.sum(axis=0) for step in steps]
    own, messages = [cells], list[Array]()
    for level in reversed(range(len(levels))):
        message = _log(_exp(own[0]) @ steps[level])
        nodes = groups if level == 0 else len(levels[level - 1])
        above = np.zeros((nodes, GRID.size))
        np.add.at(above, levels[level], message)
        own.insert(0, above)
        messages.insert(0, message)
    belief = of_groups = own[0] - GRID**2 / (2 * PRIOR_LOG_SD**2)
    for level, parent in enumerate(levels):
        without = belief[parent] - messages[level]
        belief = own[level + 1] + _log(_exp(without) @ steps[level].T)
    return _exp(belief), _exp(of_groups)


def _exp(log: Array) -> Array:
    return np.exp(log - log.max(axis=1, keepdims=True))


def _log(values: Array) -> Array:
    return np.log(np.maximum(values, 1e-300))


def _mishits(sums: HitSums, parents: tuple[Ints, Ints, Ints]) -> Array:
    """Share of mishits by grade: the group's, drawn to the prior, then the grade's drawn to it."""
    group_of = parents[0][parents[1]][parents[2]]
    bad = sums.mishits.sum(axis=1)
    tries = bad + sums.measured.sum(axis=1) + sums.holed.sum(axis=1) + sums.missed.sum(axis=1)
    groups = int(group_of.max()) + 1
    all_bad, all_tries = (np.bincount(group_of, part, groups) for part in (bad, tries))
    weight = sum(MISHIT_PRIOR)
    drawn = (MISHIT_PRIOR[0] + all_bad) / (weight + all_tries)
    return (weight * drawn[group_of] + bad) / (weight + tries)
