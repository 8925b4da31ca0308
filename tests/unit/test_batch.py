"""Batches of arrays: taken apart and joined, whatever they hold."""

from dataclasses import dataclass

import numpy as np

from engine.batch import Batch
from engine.launch import Array


@dataclass(frozen=True)
class Inner(Batch):
    name: Array


@dataclass(frozen=True)
class Outer(Batch):
    inner: Inner
    pair: Array
    rounds: int = 7


def outer() -> Outer:
    return Outer(Inner(np.array([1.0, 2.0, 3.0])), np.array([[1.0, 4.0], [2.0, 5.0], [3.0, 6.0]]))


def test_every_part_is_taken_in_the_order_asked_and_a_number_stays() -> None:
    found = outer().take(np.array([2, 0, 2]))
    assert type(found) is Outer and type(found.inner) is Inner
    assert found.inner.name.tolist() == [3.0, 1.0, 3.0]
    assert found.pair.tolist() == [[3.0, 6.0], [1.0, 4.0], [3.0, 6.0]]
    assert found.rounds == 7
    assert outer().take(slice(1, None)).pair.tolist() == [[2.0, 5.0], [3.0, 6.0]]


def test_two_batches_join_this_one_first() -> None:
    one, other = Inner(np.array([4.0])), Inner(np.array([1.0, 2.0]))
    assert one.joined(other).name.tolist() == [4.0, 1.0, 2.0]
