"""Pooling over the tree group -> family -> club -> grade: exact normal inference in two sweeps.

Each node has, on each axis, two unknowns: gain (no unit) and bias (m). A child's are its parent's
plus a normal deviation; a group's are normal around (1, 0). Results inform grades. One sweep up
and one down give every node's posterior exactly (Gaussian belief propagation on a tree; checked in
the tests against conditioning the one big normal). Arrays have nodes first: (nodes, axis, 2, 2).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from engine.gain_sums import GradeTree, Ints
from engine.robust import Floats

LEVELS: Final = 4
GROUP, FAMILY, CLUB, GRADE = range(LEVELS)
SOURCES: Final = ("own", "club", "family", "group", "prior")
"""Where a grade's estimate comes from: its own shots, other grades of the club, other clubs of the
family, other families of the group, what is assumed before any shot."""

PRIOR_MEAN: Final = (1.0, 0.0)
"""Gain 1 and bias 0 m: without shots the law is taken as it is."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Normal knowledge of nodes: ``mean`` (nodes, 2, 2) by axis and (gain, bias in m), ``cov``
    (nodes, 2, 2, 2) by axis; axis 0 is long, 1 right."""

    mean: Floats
    cov: Floats


@dataclass(frozen=True, slots=True)
class Pooled:
    """All levels' beliefs from group to grade, each grade's sources (grades, 2, 5), and by level
    each node's squared deviation from its parent with the part results settle, (nodes, 2, 2)."""

    beliefs: tuple[Belief, ...]
    sources: Floats
    deviations: tuple[tuple[Floats, Floats], ...]


@dataclass(frozen=True, slots=True)
class _Info:
    """A normal in information form: precision (nodes, 2, 2, 2) and precision times mean."""

    precision: Floats
    shift: Floats

    def __sub__(self, other: "_Info") -> "_Info":
        return _Info(self.precision - other.precision, self.shift - other.shift)

    def __add__(self, other: "_Info") -> "_Info":
        return _Info(self.precision + other.precision, self.shift + other.shift)

    def take(self, which: Ints) -> "_Info":
        return _Info(self.precision[which], self.shift[which])


def pool(tree: GradeTree, precision: Floats, shift: Floats, spread: tuple[Floats, ...]) -> Pooled:
    """Every node's posterior from what the results say of each grade.

    ``precision`` (grades, 2, 2, 2) and ``shift`` (grades, 2, 2) are the results' information,
    ``spread`` the variance of (gain, bias) around the parent for every node by level, (nodes, 2).
    """
    up = [_Info(precision, shift)]
    messages: list[_Info] = []
    for level in (GRADE, CLUB, FAMILY):
        message = _towards_parent(up[0], spread[level])
        messages.insert(0, message)
        up.insert(0, _gather(message, tree.parents[level - 1], len(spread[level - 1])))

    above = _root(spread[GROUP])
    whole = up[GROUP] + above
    beliefs = [_belief(whole)]
    nothing = np.zeros((len(spread[GROUP]), 2, 2))
    deviations = [(nothing, nothing)]
    shares = np.zeros((len(spread[GROUP]), 2, 0))
    for level in (FAMILY, CLUB, GRADE):
        parent = tree.parents[level - 1]
        message = messages[level - 1]
        without = whole.take(parent) - message
        siblings = up[level - 1].take(parent) - message
        nearest = _share(siblings.precision, without.precision)
        shares = np.concatenate([nearest[..., None], shares[parent]], axis=-1)
        deviations.append(_deviations(up[level], without, spread[level]))
        whole = up[level] + _towards_child(without, spread[level])
        beliefs.append(_belief(whole))
    own = _share(precision, whole.precision)
    return Pooled(tuple(beliefs), _sources(own, shares), tuple(deviations))


def inverse2(matrix: Floats) -> Floats:
    """Inverse of 2x2 matrices in the last two places; many times faster than LAPACK one by one."""
    a, b, c, d = matrix[..., 0, 0], matrix[..., 0, 1], matrix[..., 1, 0], matrix[..., 1, 1]
    scale = 1.0 / (a * d - b * c)
    inverse = np.empty_like(matrix)
    inverse[..., 0, 0], inverse[..., 0, 1] = d * scale, -b * scale
    inverse[..., 1, 0], inverse[..., 1, 1] = -c * scale, a * scale
    return inverse


def _diagonal(variance: Floats) -> Floats:
    """(nodes, 2) variances of gain and bias as (nodes, 1, 2, 2), the same on both axes."""
    return variance[:, None, :, None] * np.eye(2)


def _times(matrix: Floats, vector: Floats) -> Floats:
    return (matrix @ vector[..., None])[..., 0]


def _root(variance: Floats) -> _Info:
    """The prior of the groups, independent on both axes."""
    precision = np.repeat(_diagonal(1.0 / variance), 2, axis=1)
    return _Info(precision, precision @ np.array(PRIOR_MEAN))


def _towards_parent(info: _Info, variance: Floats) -> _Info:
    """What a child says of its parent: its information with the deviation integrated out.

    (L^-1 + S)^-1 = L - L (L + S^-1)^-1 L, which also holds where L is singular.
    """
    kept = info.precision @ inverse2(info.precision + _diagonal(1.0 / variance))
    return _Info(
        info.precision - kept @ info.precision,
        info.shift - _times(kept, info.shift),
    )


def _towards_child(info: _Info, variance: Floats) -> _Info:
    """What is known of a child from elsewhere: the parent's belief widened by the deviation."""
    cov = inverse2(info.precision)
    precision = inverse2(cov + _diagonal(variance))
    return _Info(precision, _times(precision, _times(cov, info.shift)))


def _gather(message: _Info, parent: Ints, nodes: int) -> _Info:
    """Sums the children's messages at each parent."""

    def total(values: Floats) -> Floats:
        flat = values.reshape(len(values), -1)
        columns = [np.bincount(parent, weights=column, minlength=nodes) for column in flat.T]
        whole = np.column_stack(columns).astype(np.float64)
        return whole.reshape(nodes, *values.shape[1:])

    return _Info(total(message.precision), total(message.shift))


def _belief(info: _Info) -> Belief:
    cov = inverse2(info.precision)
    return Belief(_times(cov, info.shift), cov)


def _deviations(up: _Info, parent: _Info, variance: Floats) -> tuple[Floats, Floats]:
    """A node's squared mean deviation from its parent, and which part of it the results settle.

    ``parent`` is the parent's belief without this node. With its precision Q and the node's
    information L, what the results say of the deviation is M = L - L (L + Q)^-1 L. Settled is
    1 - posterior over prior variance: 0 without results, 1 with very many.
    """
    kept = up.precision @ inverse2(up.precision + parent.precision)
    precision = up.precision - kept @ up.precision
    shift = up.shift - _times(kept, up.shift + parent.shift)
    cov = inverse2(precision + _diagonal(1.0 / variance))
    settled = 1.0 - np.diagonal(cov, axis1=-2, axis2=-1) / variance[:, None, :]
    return _times(cov, shift) ** 2, settled


def _share(part: Floats, whole: Floats) -> Floats:
    """Which share of a belief's precision a part gives: the mean eigenvalue of whole^-1 part.

    It does not depend on the units of gain and bias. (nodes, 2), between 0 and 1.
    """
    product = inverse2(whole) @ part
    return np.clip((product[..., 0, 0] + product[..., 1, 1]) / 2.0, 0.0, 1.0)


def _sources(own: Floats, borrowed: Floats) -> Floats:
    """Shares (nodes, 2, 5) that add to one: each source takes its part of what nearer ones left."""
    taken = np.concatenate([own[..., None], borrowed], axis=-1)
    left = np.cumprod(1.0 - taken, axis=-1)
    before = np.concatenate([np.ones_like(own)[..., None], left[..., :-1]], axis=-1)
    return np.concatenate([taken * before, left[..., -1:]], axis=-1).astype(np.float64)
