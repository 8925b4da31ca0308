"""What the learning keeps: the tree of grades, the results, and sums to add each result to once.

A *predicted effect* is what the law says the wind does to a shot, a pair (long, right) in metres:
minus the law's allowance. An *observed effect* is where the ball really came down minus where
still air would have put it. Everything the gain needs of a grade's results is fourteen sums.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.robust import Floats, finite
from shared.errors import EngineError

Ints = NDArray[np.int64]

SUM_NAMES: Final = (
    "shots",
    "set_aside",
    "w",
    "w2",
    "w_e_long",
    "w_e2_long",
    "w_y_long",
    "w_ey_long",
    "w_y2_long",
    "w_e_right",
    "w_e2_right",
    "w_y_right",
    "w_ey_right",
    "w_y2_right",
)
"""Column names of the sums: w weight, e predicted effect, y observed effect (m). ``shots`` counts
results with a weight, ``set_aside`` those with none."""

SHOTS, SET_ASIDE, W, W2 = range(4)
AXIS_COLUMNS: Final = (4, 9)
"""Where the five sums of the long and of the right axis begin."""

EFFECT_GRID_M: Final = 2.0**-7
WEIGHT_GRID: Final = 2.0**-8
"""Effects are rounded to 1/128 m and weights to 1/256 before they are summed: products then have at
most 22 binary places, so sums in doubles are exact and do not depend on the order; taking a result
out leaves no trace. Holds to some 900,000 results of 40 m in one grade."""

MAX_EFFECT_M: Final = 1000.0
"""No wind moves a golf ball further; larger numbers are mistakes of the caller."""


@dataclass(frozen=True, slots=True)
class GradeTree:
    """Which club each grade belongs to, which family each club, which group each family.

    Three index arrays: ``club_of_grade`` (grades,), ``family_of_club`` (clubs,),
    ``group_of_family`` (families,). Raises EngineError when an index points nowhere.
    """

    club_of_grade: Ints
    family_of_club: Ints
    group_of_family: Ints

    def __post_init__(self) -> None:
        clubs, families = len(self.family_of_club), len(self.group_of_family)
        for name, parents in (("club_of_grade", clubs), ("family_of_club", families)):
            checked = index(getattr(self, name), name=name, below=parents)
            object.__setattr__(self, name, checked)
        checked = index(self.group_of_family, name="group_of_family", below=families + 1)
        object.__setattr__(self, "group_of_family", checked)
        if self.grades == 0:
            raise EngineError("a tree needs at least one grade")

    @classmethod
    def from_labels(cls, *, group: ArrayLike, family: ArrayLike, club: ArrayLike) -> Self:
        """From one whole-number label per grade and level, each (grades,).

        The same family number in two groups is two families; the same club number in two
        families is two clubs. Grades keep their order.
        """
        columns = [
            index(values, name=name, below=None)
            for name, values in (("group", group), ("family", family), ("club", club))
        ]
        if len({len(column) for column in columns}) != 1 or len(columns[0]) == 0:
            raise EngineError("group, family and club need one label for every grade")
        rows = np.column_stack(columns)
        clubs, club_of_grade = np.unique(rows, axis=0, return_inverse=True)
        families, family_of_club = np.unique(clubs[:, :2], axis=0, return_inverse=True)
        _, group_of_family = np.unique(families[:, 0], return_inverse=True)
        return cls(club_of_grade.ravel(), family_of_club.ravel(), group_of_family.ravel())

    @property
    def grades(self) -> int:
        return len(self.club_of_grade)

    @property
    def groups(self) -> int:
        return int(self.group_of_family.max()) + 1

    @property
    def parents(self) -> tuple[Ints, Ints, Ints]:
        """Parent index of every family, club and grade, in that order."""
        return self.group_of_family, self.family_of_club, self.club_of_grade

    @property
    def group_of(self) -> tuple[Ints, Ints, Ints, Ints]:
        """Group index of every group, family, club and grade, in that order."""
        club = self.group_of_family[self.family_of_club]
        return np.arange(self.groups), self.group_of_family, club, club[self.club_of_grade]


@dataclass(frozen=True, slots=True)
class Results:
    """Played shots: ``grade`` (n,) index into the tree, ``predicted_m`` and ``observed_m`` (n, 2).

    The two columns are long and right. Raises EngineError on shapes, on values that are not
    finite and on effects beyond ``MAX_EFFECT_M``.
    """

    grade: Ints
    predicted_m: Floats
    observed_m: Floats

    def __post_init__(self) -> None:
        grade = index(self.grade, name="grade", below=None)
        object.__setattr__(self, "grade", grade)
        for name in ("predicted_m", "observed_m"):
            effect = effects(getattr(self, name), name=name, shots=len(grade))
            object.__setattr__(self, name, effect)

    def __len__(self) -> int:
        return len(self.grade)


@dataclass(frozen=True, slots=True)
class GainSums:
    """Sufficient statistics by grade: ``values`` (grades, 14), columns as in ``SUM_NAMES``.

    Sums of two sets of results add, and subtract again without a trace. Raises EngineError on
    shapes, values that are not finite, and counts or squares below zero.
    """

    values: Floats

    def __post_init__(self) -> None:
        values = finite(self.values, name="sums", shape=(None, len(SUM_NAMES)))
        never_negative = [SHOTS, SET_ASIDE, W, W2, *(at + k for at in AXIS_COLUMNS for k in (1, 4))]
        if (values[:, never_negative] < 0.0).any():
            raise EngineError("sums hold a negative count: a result was taken out that was not in")
        object.__setattr__(self, "values", values)

    @classmethod
    def zero(cls, *, grades: int) -> Self:
        """The sums of no results."""
        return cls(np.zeros((grades, len(SUM_NAMES))))

    @classmethod
    def of(cls, results: Results, weight: ArrayLike, *, grades: int) -> Self:
        """The sums of all ``results`` with ``weight`` (n,), for a tree of ``grades`` grades."""
        index(results.grade, name="grade", below=grades)
        weights = weights_of(weight, shots=len(results))
        columns = [
            np.bincount(results.grade, weights=column, minlength=grades)
            for column in _columns(results.predicted_m, results.observed_m, weights)
        ]
        return cls(np.column_stack(columns).astype(np.float64))

    @classmethod
    def from_rows(cls, rows: Sequence[Sequence[float]]) -> Self:
        """From one flat row of fourteen numbers for each grade, as ``row`` gives them."""
        if not rows:
            raise EngineError("sums need a row for every grade")
        return cls(finite(rows, name="sums", shape=(len(rows), len(SUM_NAMES))))

    def row(self, grade: int) -> tuple[float, ...]:
        """The fourteen sums of one grade as plain floats, for storage."""
        if not 0 <= grade < len(self.values):
            raise EngineError(f"there is no grade {grade} in these sums")
        return tuple(float(value) for value in self.values[grade])

    def __add__(self, other: "GainSums") -> "GainSums":
        return GainSums(self.values + self._alike(other))

    def __sub__(self, other: "GainSums") -> "GainSums":
        return GainSums(self.values - self._alike(other))

    def _alike(self, other: "GainSums") -> Floats:
        if other.values.shape != self.values.shape:
            raise EngineError("sums of different trees cannot be added")
        return other.values


def shot_sums(predicted_m: ArrayLike, observed_m: ArrayLike, weight: ArrayLike) -> Floats:
    """What each result adds to its grade's row: (n, 14), columns as in ``SUM_NAMES``.

    ``predicted_m`` and ``observed_m`` (n, 2), ``weight`` (n,). Adding this row in storage gives
    bit for bit what ``GainSums.of`` gives. Errors as there.
    """
    predicted = effects(predicted_m, name="predicted_m", shots=None)
    observed = effects(observed_m, name="observed_m", shots=len(predicted))
    weights = weights_of(weight, shots=len(predicted))
    return np.column_stack(list(_columns(predicted, observed, weights)))


def _columns(predicted: Floats, observed: Floats, weight: Floats) -> Iterator[Floats]:
    """The terms of each sum in the order of ``SUM_NAMES``, one column at a time to spare memory."""
    used = weight > 0.0
    yield used.astype(np.float64)
    yield (~used).astype(np.float64)
    yield weight
    yield weight * weight
    for axis in range(2):
        e = np.round(predicted[:, axis] / EFFECT_GRID_M) * EFFECT_GRID_M
        y = np.round(observed[:, axis] / EFFECT_GRID_M) * EFFECT_GRID_M
        yield weight * e
        yield weight * e * e
        yield weight * y
        yield weight * e * y
        yield weight * y * y


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


def index(values: ArrayLike, *, name: str, below: int | None) -> Ints:
    """Checked whole numbers (n,) in 0..below; EngineError otherwise."""
    array = np.asarray(values)
    if array.ndim != 1 or (array.size and array.dtype.kind not in "iu"):
        raise EngineError(f"{name} must be a row of whole numbers")
    whole = array.astype(np.int64)
    if whole.size and (whole.min() < 0 or (below is not None and whole.max() >= below)):
        raise EngineError(f"{name} points outside the tree")
    return whole
