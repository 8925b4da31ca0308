"""What a variant's results count in winds like the reader's, and what their misses come to.

A try in another wind or with another grade counts as a part of one. What is kept of the misses are
running sums, so that no question costs more with more results.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.group_rates import MemberTries
from engine.intervals import Floats, counts, numbers
from shared.errors import EngineError
from shared.units import MPS_PER_MPH

WIND_WIDTH_MPS = 4 * MPS_PER_MPH
"""Kernel width for winds like yours: a result 4 mph away counts .61, 8 mph .14, 12 mph .01.

A narrower kernel throws results away, a wider one counts shots whose allowance was wrong for this
wind by more than the hole forgives; ``tests/bench/practice.py`` measures the trade.
"""
OTHER_GRADE_WEIGHT = 0.5  # a judgement: the carry is adapted to the grade, the roll is not
UNKNOWN_WIND_WEIGHT = 0.3  # a judgement: what results in all winds of an event weigh on average
LEAST_WEIGHT = 1e-12  # below it a cell (7.4 widths away) counts nothing, so that squares stay exact
ROUNDING = 1e-9  # relative slack when sums of squares are checked against sums


@dataclass(frozen=True)
class MissSums:
    """Running sums over results whose miss is known; long + and right +.

    ``weight`` is the sum of weights (the number of results when nothing is weighted) and
    ``squared_weight`` that of their squares, then the same number.
    """

    weight: float
    squared_weight: float
    along_m: float
    across_m: float
    along2_m2: float
    across2_m2: float
    product_m2: float


@dataclass(frozen=True)
class MissSummary:
    """Mean miss and its spread; the latter is None while fewer than two results are known.

    ``covariance_m2`` has along first and across second; ``spread_m`` is the standard deviation per
    axis, the root of half its trace. ``weight`` says how many results in the very same wind these
    are worth, ``results`` how many equal ones the mean was taken over (large also for far winds).
    """

    along_m: float
    across_m: float
    weight: float
    results: float
    covariance_m2: Floats | None
    spread_m: float | None


@dataclass(frozen=True)
class WindCells:
    """One variant's (or club's) running sums by wind cell and grade; all arrays of shape (cells,).

    ``along_mps`` and ``across_mps`` are the cell's middle (any axes, the reader's the same);
    ``same_grade`` says where the grade is the reader's; ``measured`` counts results with a miss.
    """

    along_mps: ArrayLike
    across_mps: ArrayLike
    same_grade: ArrayLike
    tries: ArrayLike
    holed: ArrayLike
    measured: ArrayLike
    sum_along_m: ArrayLike
    sum_across_m: ArrayLike
    sum_along2_m2: ArrayLike
    sum_across2_m2: ArrayLike
    sum_product_m2: ArrayLike


@dataclass(frozen=True)
class MemberCells:
    """One line's holed and tries by member, wind and grade; all arrays of shape (cells,).

    ``member`` is any whole number from 0 per member; winds as in WindCells, NaN where not known.
    """

    member: ArrayLike
    along_mps: ArrayLike
    across_mps: ArrayLike
    same_grade: ArrayLike
    tries: ArrayLike
    holed: ArrayLike


@dataclass(frozen=True)
class LikeYours:
    """What the results count in the reader's wind: weighted tries, holed and miss sums."""

    tries: float
    holed: float
    misses: MissSums
    width_mps: float


def miss_summary(sums: MissSums) -> MissSummary | None:
    """Mean and covariance of the misses, from sums alone; None while no miss is known.

    Mean S / W; covariance (Q / W - mean mean^T) / (1 - W2 / W^2), the unbiased one (n - 1 when
    nothing is weighted). Results W^2 / W2 (Kish's effective number).
    Raises EngineError when sums are not finite or cannot belong together.
    """
    fields = (sums.weight, sums.squared_weight, sums.along2_m2, sums.across2_m2)
    weight, squared, along2, across2 = numbers(fields, "sums of weights and squares", least=0)
    first = (sums.along_m, sums.across_m, sums.product_m2)
    along, across, product = numbers(first, "sums of misses")
    if weight == 0:
        return None
    if squared > weight * weight * (1 + ROUNDING) or squared == 0:
        raise EngineError("the sum of squared weights does not belong to the sum of weights")
    mean = np.array([along, across]) / weight
    second = np.array([[along2, product], [product, across2]]) / weight
    scatter = second - np.outer(mean, mean)
    slack = ROUNDING * float(np.trace(second)) + 1e-12
    if float(np.min(np.linalg.eigvalsh(scatter))) < -slack:
        raise EngineError("the sums of squares are too small for the sums of misses")
    results = float(weight * weight / squared)
    if results < 2 - ROUNDING:
        return MissSummary(float(mean[0]), float(mean[1]), float(weight), results, None, None)
    covariance = scatter / (1 - 1 / results)
    np.fill_diagonal(covariance, np.maximum(np.diagonal(covariance), 0.0))
    spread = math.sqrt(float(np.trace(covariance)) / 2)
    return MissSummary(float(mean[0]), float(mean[1]), float(weight), results, covariance, spread)


def _cell_columns(cells: WindCells) -> tuple[Floats, NDArray[np.bool_]]:
    """All number columns as (10, cells) and the grade flags, checked against each other."""
    anything = -math.inf
    columns = (
        ("the wind along", cells.along_mps, anything),
        ("the wind across", cells.across_mps, anything),
        ("tries", cells.tries, 0.0),
        ("holed", cells.holed, 0.0),
        ("measured", cells.measured, 0.0),
        ("the sums along", cells.sum_along_m, anything),
        ("the sums across", cells.sum_across_m, anything),
        ("the squares along", cells.sum_along2_m2, 0.0),
        ("the squares across", cells.sum_across2_m2, 0.0),
        ("the products", cells.sum_product_m2, anything),
    )
    arrays = [np.atleast_1d(numbers(part, what, least=least)) for what, part, least in columns]
    same = np.atleast_1d(np.asarray(cells.same_grade))
    if same.dtype != np.bool_:
        raise EngineError("same grade must be true or false for each cell")
    if {array.shape for array in arrays} | {same.shape} != {(arrays[0].size,)}:
        raise EngineError("every column must have one number for each cell")
    if np.any(arrays[3] > arrays[2]) or np.any(arrays[4] > arrays[2]):
        raise EngineError("no more can be holed or measured in a cell than were tried")
    return np.stack(arrays), same


def winds_like_yours(
    cells: WindCells, *, along_mps: float, across_mps: float, width_mps: float = WIND_WIDTH_MPS
) -> LikeYours:
    """What all results count in the reader's wind, from the cells' sums alone.

    A cell weighs exp(-|difference of winds|^2 / (2 width^2)), halved where the grade is another;
    never more than 1, so that no result is counted twice. No cells (empty arrays) is no result.
    The cost grows with the number of cells only, whatever is in them. The weight used goes out
    as ``width_mps``. Raises EngineError for columns of unequal length, negative or not finite
    numbers, more holed than tried, or a width that is not positive.
    """
    reader, width = _reader(along_mps, across_mps, width_mps)
    if np.size(cells.tries) == 0 and np.size(cells.along_mps) == 0:
        return LikeYours(0.0, 0.0, MissSums(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), width)
    columns, same = _cell_columns(cells)
    weight = _wind_weights(columns[:2], reader, same, width)
    tries, holed, measured, along, across, along2, across2, product = (
        float(total) for total in columns[2:] @ weight
    )
    squared = float(columns[4] @ (weight * weight))
    sums = MissSums(measured, squared, along, across, along2, across2, product)
    return LikeYours(tries, min(holed, tries), sums, width)


def members_like_yours(
    cells: MemberCells, *, along_mps: float, across_mps: float, width_mps: float = WIND_WIDTH_MPS
) -> MemberTries:
    """Holed and tries of each member, weighted for the reader's wind as winds_like_yours does.

    A result whose wind is not known weighs UNKNOWN_WIND_WEIGHT. Members who have none are left in
    with 0 tries; shapes (greatest member + 1,). Raises EngineError as winds_like_yours does, and
    for members that are not whole numbers from 0.
    """
    reader, width = _reader(along_mps, across_mps, width_mps)
    if np.size(cells.member) == 0 and np.size(cells.tries) == 0:
        return MemberTries(np.empty(0), np.empty(0))
    holed, tries = counts(cells.holed, cells.tries)
    member = np.asarray(cells.member)
    along, across = (np.asarray(v, np.float64) for v in (cells.along_mps, cells.across_mps))
    same = np.asarray(cells.same_grade)
    if not (member.shape == along.shape == across.shape == same.shape == (tries.size,)):
        raise EngineError("every column must have one number for each cell")
    if not np.issubdtype(member.dtype, np.integer) or np.any(member < 0):
        raise EngineError("members must be whole numbers from 0")
    if same.dtype != np.bool_:
        raise EngineError("same grade must be true or false for each cell")
    weight = _wind_weights(np.stack([along, across]), reader, same, width)
    sums = (np.bincount(member, weights=weight * part) for part in (holed, tries))
    return MemberTries(*sums)


def _reader(along_mps: float, across_mps: float, width_mps: float) -> tuple[Floats, float]:
    width = float(numbers(width_mps, "the width", least=0))
    if width == 0:
        raise EngineError("the width must be more than zero")
    return numbers((along_mps, across_mps), "the wind"), width


def _wind_weights(
    winds: Floats, reader: Floats, same_grade: NDArray[np.bool_], width: float
) -> Floats:
    """Weight of each cell, 0 to 1; ``winds`` (2, cells), NaN where not known."""
    away = np.sum((winds - reader[:, None]) ** 2, axis=0)
    near = np.where(np.isnan(away), UNKNOWN_WIND_WEIGHT, np.exp(-away / (2 * width * width)))
    weight = near * np.where(same_grade, 1.0, OTHER_GRADE_WEIGHT)
    return np.where(weight < LEAST_WEIGHT, 0.0, weight)
