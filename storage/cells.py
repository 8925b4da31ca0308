"""Running sums by wind cell: the sums of one line and grade, packed as rows of whole numbers.

A cell is a square of 2 mph in the plane of winds, calm in the middle of cell (0, 0). The cells of
one line and grade are always read together, so they lie in one value: reading a line's sums then
costs the same whether its results fell into three cells or three hundred.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from shared.units import MPS_PER_MPH

CELL_MMPS = 2 * 1000 * MPS_PER_MPH
M_PER_CM = 0.01
COUNTERS = (
    "tries",
    "holed",
    "measured",
    "sum_long",
    "sum_right",
    "sum_long2",
    "sum_right2",
    "sum_product",
)
"""What is summed: tries, those holed, those with a known miss, and over the latter the miss long
and right (cm), their squares and their product (cm2)."""

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]
Cell = tuple[int, int]
_STORED = np.dtype("<i8")
_WIDTH = 2 + len(COUNTERS)  # a row is the cell's two indices, then its counters


def cell_of(wind_mmps: tuple[int, int]) -> Cell:
    """The indices (along, right) of the cell a wind in mm/s falls into."""
    along, right = (int(np.floor(speed / CELL_MMPS + 0.5)) for speed in wind_mmps)
    return along, right


def unpack(packed: bytes) -> Counts:
    """Rows of (along, right, counters); shape (cells, 10), in no order."""
    return np.frombuffer(packed, dtype=_STORED).reshape(-1, _WIDTH).astype(np.int64)


def pack(rows: Counts) -> bytes:
    """The inverse of ``unpack``."""
    return rows.astype(_STORED).tobytes()


def add_cells(rows: Counts, changes: Mapping[Cell, Counts]) -> Counts:
    """Rows (changed in place) with counters added by cell; a cell without tries is dropped."""
    fresh: list[Counts] = []
    for (along, right), counters in changes.items():
        place = np.flatnonzero((rows[:, 0] == along) & (rows[:, 1] == right))
        if len(place):
            rows[place[0], 2:] += counters
        else:
            fresh.append(np.array([[along, right, *counters]], dtype=np.int64))
    after = np.concatenate([rows, *fresh])
    return after[after[:, 2] != 0]


@dataclass(frozen=True, slots=True)
class LineCells:
    """The sums of one line by wind cell and grade; every column has shape (cells,), SI.

    ``names`` are the (club, grade) pairs there are, ``name_of`` says which each row belongs to.
    """

    line_key: str
    names: tuple[tuple[str, str], ...]
    name_of: Counts
    rows: Counts

    @classmethod
    def join(cls, line_key: str, parts: Sequence[tuple[str, str, bytes]]) -> Self:
        """From (club, grade, packed cells), one for each grade."""
        rows = [unpack(packed) for _, _, packed in parts]
        return cls(
            line_key=line_key,
            names=tuple((club, grade) for club, grade, _ in parts),
            name_of=np.repeat(np.arange(len(parts)), [len(part) for part in rows]),
            rows=np.concatenate(rows),
        )

    def same_grade(self, club: str, grade: str) -> NDArray[np.bool_]:
        """Where the grade is this one."""
        same = [name == (club, grade) for name in self.names]
        return np.array(same, dtype=np.bool_)[self.name_of]

    @property
    def along_mps(self) -> Floats:
        """Middle of each cell along the line of play, + helping."""
        return _scaled(self.rows[:, 0], CELL_MMPS / 1000)

    @property
    def right_mps(self) -> Floats:
        """Middle of each cell across, + blowing to the right."""
        return _scaled(self.rows[:, 1], CELL_MMPS / 1000)

    @property
    def tries(self) -> Counts:
        """Results in each cell."""
        return self.rows[:, 2]

    @property
    def holed(self) -> Counts:
        """Those that went in."""
        return self.rows[:, 3]

    @property
    def measured(self) -> Counts:
        """Those whose miss is known."""
        return self.rows[:, 4]

    @property
    def sum_long_m(self) -> Floats:
        """Sum of misses, + long."""
        return _scaled(self.rows[:, 5], M_PER_CM)

    @property
    def sum_right_m(self) -> Floats:
        """Sum of misses, + right."""
        return _scaled(self.rows[:, 6], M_PER_CM)

    @property
    def sum_long2_m2(self) -> Floats:
        """Sum of squares, long."""
        return _scaled(self.rows[:, 7], M_PER_CM**2)

    @property
    def sum_right2_m2(self) -> Floats:
        """Sum of squares, right."""
        return _scaled(self.rows[:, 8], M_PER_CM**2)

    @property
    def sum_product_m2(self) -> Floats:
        """Sum of products, long times right."""
        return _scaled(self.rows[:, 9], M_PER_CM**2)


def _scaled(column: Counts, unit: float) -> Floats:
    return (column * np.float64(unit)).astype(np.float64)
