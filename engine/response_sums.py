"""What the learning keeps: results as features and effects, and sums to add each to once.

An *observed effect* is where the ball came down minus where still air would have put it, a pair
(long, right) in metres. With z = (features, observed effect) of an axis, everything the learning
needs of a grade's results is the sums of w, w^2 and w z z' of both axes. Hole-outs are kept apart
from measured misses, because misses that nobody measured leave hole-outs over-represented: when
the sums are read, hole-outs count in the proportion in which misses were measured.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.response_features import ACROSS, ALONG, Features
from engine.response_tree import GRADE, GradeTree, Ints, index
from engine.robust import CLEAN_SCALE, Floats, finite
from shared.errors import EngineError

Flags = NDArray[np.bool_]

SHOTS, SET_ASIDE, W, W2 = range(4)
COUNTS: Final = 4
SIZES: Final = (len(ALONG) + 1, len(ACROSS) + 1)
"""Features of each axis and the observed effect."""

COLUMNS: Final = COUNTS + sum(size * (size + 1) // 2 for size in SIZES)
"""Length of one row of sums: four counts, then the upper triangle of each axis row by row."""

MISSED_COLUMNS: Final = 5
"""Misses nobody measured: how many, and of them how many were said short, long, left, right."""

KINDS: Final = ("measured", "holed", "missed")
"""Under which names a grade's three rows are kept; lengths as in ``LENGTHS``."""

LENGTHS: Final = (COLUMNS, COLUMNS, MISSED_COLUMNS)

GRID: Final = 2.0**-7
WEIGHT_GRID: Final = 2.0**-8
"""Features and effects are rounded to 1/128 and weights to 1/256 before they are summed: products
then have at most 22 binary places, so sums in doubles are exact and do not depend on the order;
taking a result out leaves no trace. Holds to some 900,000 results of 40 m in one grade."""

MAX_EFFECT_M: Final = 1000.0
"""No wind moves a golf ball further; larger numbers are mistakes of the caller."""

SHARE_SHOTS: Final = 8.0
"""How many misses' worth the group's share of measured misses counts in a grade's."""


@dataclass(frozen=True, slots=True)
class Results:
    """Played shots: ``grade`` (n,) index into the tree, their features, ``observed_m`` (n, 2), and
    ``holed`` (n,), whether it went in (its miss is then taken as none).

    Raises EngineError on shapes, numbers that are not finite, effects beyond ``MAX_EFFECT_M``.
    """

    grade: Ints
    features: Features
    observed_m: Floats
    holed: Flags

    def __post_init__(self) -> None:
        grade = index(self.grade, name="grade", below=None)
        object.__setattr__(self, "grade", grade)
        observed = effects(self.observed_m, name="observed_m", shots=len(grade))
        object.__setattr__(self, "observed_m", observed)
        for values, size in zip(self.features.axes, SIZES, strict=True):
            checked = finite(values, name="features", shape=(len(grade), size - 1))
            if (np.abs(checked) > MAX_EFFECT_M).any():
                raise EngineError(f"features hold an effect of more than {MAX_EFFECT_M:.0f} m")
        if np.shape(self.holed) != (len(grade),):
            raise EngineError("holed needs one flag for every result")

    def __len__(self) -> int:
        return len(self.grade)

    def take(self, which: Ints | Flags) -> "Results":
        """The results at ``which``."""
        at = np.flatnonzero(which) if np.asarray(which).dtype == np.bool_ else which
        part = self.features.take(at.astype(np.intp))
        return Results(self.grade[at], part, self.observed_m[at], self.holed[at])


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums by grade: ``measured`` and ``holed`` (grades, ``COLUMNS``), ``missed`` (grades, 5).

    Sums of two sets of results add, and subtract again without a trace. Raises EngineError on
    shapes, values that are not finite, and counts below zero.
    """

    measured: Floats
    holed: Floats
    missed: Floats

    def __post_init__(self) -> None:
        grades = len(np.asarray(self.measured))
        for name, length in zip(KINDS, LENGTHS, strict=True):
            values = finite(getattr(self, name), name=name, shape=(grades, length))
            if (values[:, :COUNTS] < 0.0).any():
                raise EngineError("sums hold a negative count: a result went that never came")
            object.__setattr__(self, name, values)

    @classmethod
    def zero(cls, *, grades: int) -> Self:
        """The sums of no results."""
        return cls(*(np.zeros((grades, length)) for length in LENGTHS))

    @classmethod
    def of(cls, results: Results, weight: ArrayLike, *, grades: int) -> Self:
        """The sums of all ``results`` with ``weight`` (n,), for a tree of ``grades`` grades."""
        index(results.grade, name="grade", below=grades)
        weights = weights_of(weight, shots=len(results))
        kinds: list[Floats] = []
        for flags in (~results.holed, results.holed):
            part, w = results.take(flags), weights[flags]
            total = [np.bincount(part.grade, col, grades) for col in _columns(part, w)]
            kinds.append(np.column_stack(total).astype(np.float64))
        return cls(kinds[0], kinds[1], np.zeros((grades, MISSED_COLUMNS)))

    @classmethod
    def from_rows(cls, rows: Mapping[tuple[int, str], Sequence[float]], *, grades: int) -> Self:
        """From the flat rows of (grade, kind), as ``shot_rows`` and ``missed_row`` give them."""
        found = cls.zero(grades=grades)
        for (grade, kind), row in rows.items():
            length = LENGTHS[KINDS.index(kind)]
            getattr(found, kind)[grade] = finite(row, name="sums", shape=(length,))
        return cls(found.measured, found.holed, found.missed)

    def __add__(self, other: "Sums") -> "Sums":
        self._alike(other)
        return Sums(*(getattr(self, kind) + getattr(other, kind) for kind in KINDS))

    def __sub__(self, other: "Sums") -> "Sums":
        self._alike(other)
        return Sums(*(getattr(self, kind) - getattr(other, kind) for kind in KINDS))

    def _alike(self, other: "Sums") -> None:
        if other.measured.shape != self.measured.shape:
            raise EngineError("sums of different trees cannot be added")

    def joined(self, tree: GradeTree) -> Floats:
        """Measured misses and, for what they tell, hole-outs: (grades, ``COLUMNS``).

        A hole-out counts by ``measured_share`` of its grade, times what it tells beside a measured
        miss (``hole_out_information``). Among the shots by which squares are divided it counts as
        what it would add to a Student-t scale, which is ``CLEAN_SCALE`` of a standard deviation.
        """
        part = self.measured_share(tree) * hole_out_information(self.goes_in(tree))
        counts = self.measured + self.holed * part[:, None]
        counts[:, SHOTS] = self.measured[:, SHOTS] + self.holed[:, SHOTS] * part / CLEAN_SCALE**2
        counts[:, SET_ASIDE] = self.measured[:, SET_ASIDE] + self.holed[:, SET_ASIDE]
        return counts

    def measured_share(self, tree: GradeTree) -> Floats:
        """Which share of its misses somebody measured, (grades,).

        A grade's own share, drawn to its group's by ``SHARE_SHOTS`` misses; a group's starts as if
        one miss had gone unmeasured, so that hole-outs alone teach nothing.
        """
        measured = self.measured[:, SHOTS] + self.measured[:, SET_ASIDE]
        return _drawn_part(measured, measured + self.missed[:, 0], tree)

    def goes_in(self, tree: GradeTree) -> Floats:
        """Which part of its shots went in, (grades,), below 1.

        A grade's own part, drawn to its group's by ``SHARE_SHOTS`` shots; a group's starts as if
        one shot had missed.
        """
        holed = self.holed[:, SHOTS] + self.holed[:, SET_ASIDE]
        misses = self.measured[:, SHOTS] + self.measured[:, SET_ASIDE] + self.missed[:, 0]
        return _drawn_part(holed, holed + misses, tree)


def _drawn_part(part: Floats, whole: Floats, tree: GradeTree) -> Floats:
    """``part`` of ``whole`` (grades,), drawn to the group's by ``SHARE_SHOTS``; a group starts with
    one that is no part."""
    group = tree.group_of[GRADE]
    all_part, all_whole = (np.bincount(group, each)[group] for each in (part, whole))
    shared = all_part / (all_whole + 1.0)
    return (part + SHARE_SHOTS * shared) / (whole + SHARE_SHOTS)


def hole_out_information(goes_in: Floats) -> Floats:
    """What a hole-out tells of the mean and the noise, beside a measured miss; any shape.

    It says that the miss was within the radius r of what the hole takes in, not that it was none.
    Of centred normal misses of spread s a part p = 1 - exp(-u) goes in, with u = r^2 / 2 s^2; those
    are spread by s^2 (1 - u / (exp(u) - 1)) each way about their mean, and the missing-information
    principle (Orchard & Woodbury, Proc. 6th Berkeley Symposium, 1972) leaves
    u / (exp(u) - 1) = -ln(1 - p) (1 - p) / p: near 1 where little goes in, 0 where all does. So
    neither r nor s is needed, only the part p that ``goes_in``.
    """
    some = np.maximum(goes_in, 1e-9)
    return np.where(goes_in > 0.0, -np.log1p(-some) * (1.0 - some) / some, 1.0)


def shot_rows(results: Results, weight: ArrayLike) -> Floats:
    """What each result adds to its grade's row, (n, ``COLUMNS``); to "holed" or "measured".

    Adding this row in storage gives bit for bit what ``Sums.of`` gives. Errors as there.
    """
    weights = weights_of(weight, shots=len(results))
    return np.column_stack(list(_columns(results, weights)))


def missed_row(*, short: bool, long: bool, left: bool, right: bool) -> tuple[float, ...]:
    """What a miss nobody measured adds to its grade's row "missed", with its side as said."""
    return (1.0, *(float(side) for side in (short, long, left, right)))


def set_aside_row() -> tuple[float, ...]:
    """What a result a coach left out adds: a count, nothing else."""
    return tuple(1.0 if column == SET_ASIDE else 0.0 for column in range(COLUMNS))


def squares(rows: Floats) -> tuple[Floats, Floats]:
    """Sums of w z z' of both axes from rows (n, ``COLUMNS``): (n, 13, 13) and (n, 9, 9)."""
    found: list[Floats] = []
    start = COUNTS
    for size in SIZES:
        upper = np.triu_indices(size)
        matrix = np.zeros((len(rows), size, size))
        part = rows[:, start : start + len(upper[0])]
        matrix[:, upper[0], upper[1]] = part
        matrix[:, upper[1], upper[0]] = part
        found.append(matrix)
        start += len(upper[0])
    return found[0], found[1]


def _columns(results: Results, weight: Floats) -> Iterator[Floats]:
    """The terms of each sum in their order, one column at a time to spare memory."""
    used = weight > 0.0
    yield used.astype(np.float64)
    yield (~used).astype(np.float64)
    yield weight
    yield weight * weight
    for axis, values in enumerate(results.features.axes):
        z = np.column_stack((values, results.observed_m[:, axis]))
        z = np.round(z / GRID) * GRID
        for row in range(z.shape[1]):
            weighted = weight * z[:, row]
            for column in range(row, z.shape[1]):
                yield weighted * z[:, column]


def on_weight_grid(weight: Floats) -> Floats:
    """Weights rounded to ``WEIGHT_GRID``, the form in which they are stored and summed."""
    return np.round(weight / WEIGHT_GRID) * WEIGHT_GRID


def weights_of(weight: ArrayLike, *, shots: int) -> Floats:
    """Checked weights (n,) on the grid; EngineError when negative or not finite."""
    weights = finite(weight, name="weight", shape=(shots,))
    if (weights < 0.0).any():
        raise EngineError("a weight is never negative")
    return on_weight_grid(weights)


def effects(values: ArrayLike, *, name: str, shots: int | None) -> Floats:
    """Checked effects (n, 2) in metres; EngineError beyond ``MAX_EFFECT_M`` or not finite."""
    array = finite(values, name=name, shape=(shots, 2))
    if (np.abs(array) > MAX_EFFECT_M).any():
        raise EngineError(f"{name} holds an effect of more than {MAX_EFFECT_M:.0f} m")
    return array
