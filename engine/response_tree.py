"""Pooling weights over the tree group -> family -> club -> grade: exact normal inference.

Each node has a vector of K weights. In units of their prior standard deviations a group's lie
around the prior's mean, every other node's around its parent's, each by a normal deviation of one
variance for a whole level. Results inform grades. One sweep up and one down give every node's
posterior exactly (Gaussian belief propagation on a tree; the tests hold it against conditioning
the one big normal). Nodes nobody has results for are passed over and take their parent's belief.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from engine.robust import Floats
from shared.errors import EngineError

Ints = NDArray[np.int64]

LEVELS: Final = 4
GROUP, FAMILY, CLUB, GRADE = range(LEVELS)


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
        """The tree from each grade's group, family and club; families of two groups, or clubs of
        two families, may share a name. A club that learns from nobody else (a measured chart)
        gets a group of its own."""
        columns: list[Ints] = [
            np.unique(np.asarray(each), return_inverse=True)[1].ravel()
            for each in (group, family, club)
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

    def per_node(self, values: Floats) -> tuple[Floats, ...]:
        """Sums of a grade's quantity (grades, ...) at every group, family, club and grade."""
        found = [values]
        for parent, nodes in zip(self.parents[::-1], self._sizes[::-1], strict=True):
            found.insert(0, gather(found[0], parent, nodes))
        return tuple(found)

    @property
    def _sizes(self) -> tuple[int, int, int]:
        return self.groups, len(self.group_of_family), len(self.family_of_club)


@dataclass(frozen=True, slots=True)
class Belief:
    """Normal knowledge of nodes: ``mean`` (nodes, K) and ``cov`` (nodes, K, K)."""

    mean: Floats
    cov: Floats

    def take(self, which: Ints) -> "Belief":
        return Belief(self.mean[which], self.cov[which])


@dataclass(frozen=True, slots=True)
class Pooled:
    """Beliefs of every level from group to grade, and of each node below the group its squared
    deviation from its parent with how many of its K weights the results settle, (nodes,)."""

    beliefs: tuple[Belief, ...]
    deviations: tuple[tuple[Floats, Floats], ...]


@dataclass(frozen=True, slots=True)
class _Level:
    """What the results say of a level's nodes: precision (nodes, K, K), precision times mean."""

    precision: Floats
    shift: Floats


def pool(
    tree: GradeTree,
    precision: Floats,
    shift: Floats,
    variance: Sequence[Floats],
    *,
    centre: Floats,
    shape: Floats,
) -> Pooled:
    """Every node's posterior from what the results say of each grade.

    ``precision`` (grades, K, K) and ``shift`` (grades, K) are the results' information,
    ``variance`` for each level that of a deviation from the parent at every node, (nodes,), which
    below the group ``shape`` (K,) multiplies weight by weight; ``centre`` (K,) is the mean of a
    group. All in units of the prior standard deviations.
    """
    ups, messages = [_Level(precision, shift)], list[_Level]()
    heard = [np.flatnonzero(np.diagonal(precision, axis1=1, axis2=2).any(axis=1))]
    for level in (GRADE, CLUB, FAMILY):
        parent, nodes = tree.parents[level - 1], len(variance[level - 1])
        message = _towards_parent(ups[0], heard[0], variance[level][:, None] * shape)
        messages.insert(0, message)
        ups.insert(
            0, _Level(*(gather(p, parent, nodes) for p in (message.precision, message.shift)))
        )
        heard.insert(0, np.unique(parent[heard[0]]))
    size = len(centre)
    prior = np.eye(size) / variance[GROUP][:, None, None]
    whole = _Level(ups[0].precision + prior, ups[0].shift + prior @ centre)
    cov = inverse(whole.precision)
    beliefs, deviations = [Belief(_times(cov, whole.shift), cov)], list[tuple[Floats, Floats]]()
    for level in (FAMILY, CLUB, GRADE):
        parent, spread = tree.parents[level - 1], variance[level]
        child = _Child(messages[level - 1], ups[level], heard[level], spread, shape)
        belief, step = child.believe(beliefs[-1].take(parent))
        beliefs.append(belief)
        deviations.append(step)
    return Pooled(tuple(beliefs), tuple(deviations))


def inverse(matrix: Floats) -> Floats:
    """Inverses of symmetric matrices (n, K, K), symmetric to the last place."""
    found = _inv(matrix)
    return 0.5 * (found + np.swapaxes(found, -1, -2))


def gather(values: Floats, parent: Ints, nodes: int) -> Floats:
    """Sums over the children of each of ``nodes`` parents; (children, ...) to (nodes, ...)."""
    total = np.zeros((nodes, *values.shape[1:]))
    np.add.at(total, parent, values)
    return total


def index(values: ArrayLike, *, name: str, below: int | None) -> Ints:
    """Checked whole numbers (n,) in 0..below; EngineError otherwise."""
    array = np.asarray(values)
    if array.ndim != 1 or (array.size and array.dtype.kind not in "iu"):
        raise EngineError(f"{name} must be a row of whole numbers")
    whole = array.astype(np.int64)
    if whole.size and (whole.min() < 0 or (below is not None and whole.max() >= below)):
        raise EngineError(f"{name} points outside the tree")
    return whole


def _inv(matrix: Floats) -> Floats:
    return np.linalg.inv(matrix).astype(np.float64, copy=False)


def _times(matrix: Floats, vector: Floats) -> Floats:
    return (matrix @ vector[..., None])[..., 0]


def _towards_parent(up: _Level, heard: Ints, variance: Floats) -> _Level:
    """What a child says of its parent: (L^-1 + D)^-1 = L (I + D L)^-1, where L may be singular."""
    precision, shift = np.zeros_like(up.precision), np.zeros_like(up.shift)
    if heard.size:
        own = up.precision[heard]
        kept = _inv(np.eye(own.shape[-1]) + variance[heard][:, :, None] * own)
        found = own @ kept
        precision[heard] = 0.5 * (found + np.swapaxes(found, -1, -2))
        shift[heard] = _times(np.swapaxes(kept, -1, -2), up.shift[heard])
    return _Level(precision, shift)


@dataclass(frozen=True, slots=True)
class _Child:
    """Nodes of one level: what they told their parents, what they know from below, which of them
    have results, and the variance t (nodes,) of their deviations D = t ``shape``."""

    message: _Level
    up: _Level
    heard: Ints
    variance: Floats
    shape: Floats

    def believe(self, parent: Belief) -> tuple[Belief, tuple[Floats, Floats]]:
        """Beliefs of the children of ``parent`` (child by child), and their deviations from it.

        With P the parent's covariance without this child, widened by the deviation D, and the
        child's own information L, s: A = (I + P L)^-1 gives the covariance A P and the mean
        A (m + P s); the deviation is D (A' s - L A m), settled to tr(D L A). Squared it is
        measured in ``shape``.
        """
        heard, size = self.heard, parent.mean.shape[1]
        wider = self.variance[:, None, None] * np.diag(self.shape)
        mean, cov = parent.mean.copy(), parent.cov + wider
        deviation2, settled = np.zeros(len(mean)), np.zeros(len(mean))
        if heard.size:
            said, own = self.message.precision[heard], self.up.precision[heard]
            known, s, t = parent.cov[heard], self.up.shift[heard], self.variance[heard]
            # Without this child: (C^-1 - M)^-1 = (I - C M)^-1 C, and its mean likewise.
            apart = _inv(np.eye(size) - known @ said)
            without = apart @ known
            without = 0.5 * (without + np.swapaxes(without, -1, -2))
            told = _times(known, self.message.shift[heard])
            centre = _times(apart, parent.mean[heard] - told)
            wide = without + wider[heard]
            kept = _inv(np.eye(size) + wide @ own)
            found, pull = kept @ wide, own @ kept
            cov[heard] = 0.5 * (found + np.swapaxes(found, -1, -2))
            mean[heard] = _times(kept, centre + _times(wide, s))
            step = _times(np.swapaxes(kept, -1, -2), s) - _times(pull, centre)
            deviation2[heard] = t**2 * (self.shape * step**2).sum(axis=1)
            diagonal = np.diagonal(pull, axis1=1, axis2=2)
            settled[heard] = t * (self.shape * diagonal).sum(axis=1)
        return Belief(mean, cov), (deviation2, settled)
