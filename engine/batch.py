"""Batches: dataclasses of arrays whose first axis counts the same things."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

Rows = NDArray[np.intp]


@dataclass(frozen=True)
class Batch:
    """What every batch can do. Its parts are arrays (n, ...), batches themselves, or plain numbers
    that hold for the whole of it, or None in all of them."""

    def take(self, index: Rows | slice) -> Self:
        """The batch at ``index``, in its order; one may come more than once."""
        return type(self)(
            **{each.name: _taken(getattr(self, each.name), index) for each in _of(self)}
        )

    def joined(self, other: Self) -> Self:
        """Both as one, this one first; for batches of arrays and batches alone."""
        parts = {
            each.name: _joined(getattr(self, each.name), getattr(other, each.name))
            for each in _of(self)
        }
        return type(self)(**parts)


B = TypeVar("B", bound=Batch)


def joined(parts: Sequence[B]) -> B:
    """All of them as one, in their order; there must be one."""
    whole = parts[0]
    for part in parts[1:]:
        whole = whole.joined(part)
    return whole


def _of(batch: Batch) -> tuple[Any, ...]:
    return fields(batch)


def _taken(part: Any, index: Rows | slice) -> Any:
    if isinstance(part, Batch):
        return part.take(index)
    return part if part is None or np.isscalar(part) else part[index]


def _joined(part: Any, other: Any) -> Any:
    if isinstance(part, Batch):
        return part.joined(other)
    arrays: Any = (part, other)
    return None if part is None and other is None else np.concatenate(arrays)
