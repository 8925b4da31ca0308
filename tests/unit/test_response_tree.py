"""The tree of grades, and pooling over it against one big normal."""

from collections.abc import Callable

import numpy as np
import pytest

from engine.response_tree import CLUB, FAMILY, GRADE, GROUP, GradeTree, pool
from shared.errors import EngineError
from tests.unit.response_shots import plain_tree


def test_pooling_is_conditioning_of_one_big_normal() -> None:
    """Against the joint normal of all nodes' weights, written out and conditioned at once."""
    tree, rng, size = plain_tree(), np.random.default_rng(2), 3
    variance = [np.full(1, 0.81), np.full(2, 0.3), np.full(3, 0.2), np.full(5, 0.1)]
    shape, centre = np.array([1.0, 0.2, 0.6]), np.array([2.0, 0.0, -1.0])
    root = rng.normal(size=(5, 7, size))
    precision = np.einsum("gni,gnj->gij", root, root)
    precision[2] = 0.0
    shift = rng.normal(size=(5, size)) * 2.0
    shift[2] = 0.0
    found = pool(tree, precision, shift, variance, centre=centre, shape=shape)
    # Nodes: group, 2 families, 3 clubs, 5 grades; each grade's path from the group down.
    paths = [
        (0, 1 + f, 3 + c, 6 + g)
        for g, (f, c) in enumerate(((0, 0), (0, 0), (0, 1), (1, 2), (1, 2)))
    ]
    steps = [0.81 * np.ones(size)] + [0.3 * shape] * 2 + [0.2 * shape] * 3 + [0.1 * shape] * 5
    lines = [np.zeros((size, 11 * size)) for _ in range(11)]
    for path in paths:
        for depth, node in enumerate(path):
            for above in path[: depth + 1]:
                lines[node][:, above * size : (above + 1) * size] = np.eye(size)
    prior = np.diag(1.0 / np.concatenate(steps))
    mean = np.zeros(11 * size)
    mean[:size] = centre
    whole, pull = prior.copy(), prior @ mean
    for grade in range(5):
        line = lines[6 + grade]
        whole += line.T @ precision[grade] @ line
        pull += line.T @ shift[grade]
    cov = np.linalg.inv(whole)
    for level, start in ((GROUP, 0), (FAMILY, 1), (CLUB, 3), (GRADE, 6)):
        belief = found.beliefs[level]
        for node in range(len(belief.mean)):
            line = lines[start + node]
            np.testing.assert_allclose(belief.mean[node], line @ cov @ pull, atol=1e-9)
            np.testing.assert_allclose(belief.cov[node], line @ cov @ line.T, atol=1e-9)
    for level, start in ((FAMILY, 1), (CLUB, 3), (GRADE, 6)):
        deviation2, settled = found.deviations[level - 1]
        for node in range(len(deviation2)):
            own = slice((start + node) * size, (start + node + 1) * size)
            before = steps[start + node]
            step = (cov @ pull)[own]
            assert deviation2[node] == pytest.approx((step**2 / shape).sum(), abs=1e-9)
            left = (np.diag(cov)[own] / before).sum()
            assert settled[node] == pytest.approx(size - left, abs=1e-9)


def test_a_tree_of_labels_keeps_namesakes_of_two_groups_apart() -> None:
    tree = GradeTree.from_labels(
        group=["b", "a", "b", "a", "b"], family=[0, 0, 0, 0, 1], club=["p", "p", "q", "p", "q"]
    )
    assert (tree.grades, tree.groups) == (5, 2)
    families = [tuple(tree.family_of_club[[c]]) for c in tree.club_of_grade]
    same_club = [[int(a == b) for b in tree.club_of_grade] for a in tree.club_of_grade]
    same_family = [[int(a == b) for b in families] for a in families]
    assert same_club == [
        [1, 0, 0, 0, 0],
        [0, 1, 0, 1, 0],
        [0, 0, 1, 0, 0],
        [0, 1, 0, 1, 0],
        [0, 0, 0, 0, 1],
    ]
    assert same_family == [
        [1, 0, 1, 0, 0],
        [0, 1, 0, 1, 0],
        [1, 0, 1, 0, 0],
        [0, 1, 0, 1, 0],
        [0, 0, 0, 0, 1],
    ]
    assert tree.group_of[GRADE].tolist() == [1, 0, 1, 0, 1]
    sums = tree.per_node(np.array([1.0, 2.0, 4.0, 8.0, 16.0]))
    assert sums[GROUP].tolist() == [10.0, 21.0]
    assert sums[FAMILY][tree.family_of_club[tree.club_of_grade]].tolist() == [5, 10, 5, 10, 16]
    assert sums[CLUB][tree.club_of_grade].tolist() == [1.0, 10.0, 4.0, 10.0, 16.0]


BAD: list[Callable[[], GradeTree]] = [
    lambda: GradeTree.from_labels(group=[0, 0], family=[0, 0], club=["a"]),
    lambda: GradeTree.from_labels(group=[], family=[], club=[]),
    lambda: GradeTree(np.array([0, 2]), np.array([0, 0]), np.array([0])),
    lambda: GradeTree(np.array([0, -1]), np.array([0, 0]), np.array([0])),
    lambda: GradeTree(np.array([0, 1]), np.array([0, 1]), np.array([0])),
    lambda: GradeTree(np.array([0, 1]), np.array([0, 0]), np.array([2])),
    lambda: GradeTree(np.array([[0, 1]]), np.array([0, 0]), np.array([0])),
    lambda: GradeTree(np.array([0.0, 1.0]), np.array([0, 0]), np.array([0])),  # type: ignore[arg-type]
    lambda: GradeTree(np.array([], dtype=np.int64), np.array([0]), np.array([0])),
]


@pytest.mark.parametrize("make", BAD)
def test_a_tree_that_points_nowhere_is_refused(make: Callable[[], GradeTree]) -> None:
    with pytest.raises(EngineError):
        make()
    assert GradeTree(np.array([1]), np.array([0, 0]), np.array([0])).grades == 1


def test_labels_that_do_not_pair_up_are_named() -> None:
    for club in (["a", "b", "c"], []):
        with pytest.raises(EngineError, match="one label for every grade"):
            GradeTree.from_labels(group=[0, 0][: len(club)], family=[0, 0], club=club)
    with pytest.raises(EngineError, match="one label for every grade"):
        GradeTree.from_labels(group=[], family=[], club=[])
