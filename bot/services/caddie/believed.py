"""What a community's own shots say of the law: a response in every row, and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from bot.drawing.scene import Spread
from bot.services.caddie.rack import KitRack
from engine.response import Posterior, Response, Source, prior_response, provenance
from engine.response_tree import GradeTree, Ints
from shared.kit import Kit, SurfaceKind

NOTHING_YET = "computed: no shots logged yet"
CHARTED = "from the measured chart: no shots logged since"
GradeKey = tuple[str, str]  # club, grade
Spreads = Mapping[GradeKey, Spread]
LEAST_SHOTS = 12
"""Shots with the grade itself from which its spread is called known."""


@dataclass(frozen=True)
class Roll:
    """What a ground's roll is multiplied by, its standard error, and from how many runs."""

    factor: float
    sd: float
    runs: int


Sums = Mapping[str, tuple[float, ...]]
Rolls = Mapping[SurfaceKind, Roll]


@dataclass(frozen=True)
class Believed:
    """The response in every row of a kit's rack, in words where each comes from, and how shots
    spread; the sums of hits (``bot.services.caddie.hits``) and how far balls roll by ground."""

    response: Response
    sources: tuple[str, ...]
    spreads: Spreads = field(default_factory=dict[GradeKey, Spread])
    hits: Sums = field(default_factory=dict[str, tuple[float, ...]])
    rolls: Rolls = field(default_factory=dict[SurfaceKind, Roll])


def unlearned(kit: Kit, kit_rack: KitRack) -> Believed:
    """What is believed before any shot was logged."""
    words = tuple(_computed(kit, club) for club, _, _ in kit_rack.keys)
    return Believed(prior_response(rows=len(kit_rack.rack)), words)


def grade_keys(kit: Kit) -> tuple[GradeKey, ...]:
    """Every club grade of a kit, in the order of ``tree_of``."""
    return tuple((club.name, grade.name) for club in kit.clubs for grade in club.grades)


def tree_of(kit: Kit) -> GradeTree:
    """The kit as the learning's tree: one group, its families, clubs and grades.

    A club with a measured chart is a group of its own: what others taught of the flight law says
    nothing of its chart.
    """
    families = sorted({club.family for club in kit.clubs})
    rows = [
        (number + 1 if club.charted else 0, families.index(club.family), number)
        for number, club in enumerate(kit.clubs)
        for _ in club.grades
    ]
    group, family, club = np.array(rows).T
    return GradeTree.from_labels(group=group, family=family, club=club)


def parents_of(kit: Kit) -> tuple[Ints, Ints, Ints]:
    """The same tree for the spread of hits: group by family, family by club, club by grade."""
    tree = tree_of(kit)
    return tree.group_of_family, tree.family_of_club, tree.club_of_grade


def learned(*, kit: Kit, kit_rack: KitRack, posterior: Posterior) -> Believed:
    """What a posterior over the kit's grades says of every row; balls of a grade share it."""
    if not posterior.shots.any():
        return unlearned(kit, kit_rack)
    index = {key: number for number, key in enumerate(grade_keys(kit))}
    grade = np.array([index[club, name] for club, name, _ in kit_rack.keys], dtype=np.intp)
    nearest, counts = provenance(posterior, np.arange(len(index)))
    words = [
        _source(kit, key[0], Source(int(source)), int(count))
        for key, source, count in zip(index, nearest, counts, strict=True)
    ]
    sources = [words[index[club, name]] for club, name, _ in kit_rack.keys]
    return Believed(posterior.response(grade), tuple(sources), spreads_of(kit, posterior))


def _source(kit: Kit, club: str, source: Source, count: int) -> str:
    """In a player's words."""
    shots = "1 shot" if count == 1 else f"{count} shots"
    return {
        Source.OWN: f"from {shots} with this grade",
        Source.CLUB: f"from {shots} with other grades of {club}",
        Source.FAMILY: f"from {shots} with other {kit.club(club).family}s",
        Source.GROUP: f"from {shots} with clubs of other kinds",
        Source.COMPUTED: _computed(kit, club),
    }[source]


def _computed(kit: Kit, club: str) -> str:
    return CHARTED if kit.club(club).charted else NOTHING_YET


def spreads_of(kit: Kit, posterior: Posterior) -> dict[GradeKey, Spread]:
    """How shots come down round where they were meant to, by club and grade where it is known.

    Mishits are not in it, and what is always off is aimed off.
    """
    own: list[int] = posterior.shots[:, 0].tolist()
    sd: list[list[float]] = posterior.hit_sd_m.tolist()
    return {
        key: Spread(right_sd_m=right, long_sd_m=long, shots=shots)
        for key, shots, (long, right) in zip(grade_keys(kit), own, sd, strict=True)
        if shots >= LEAST_SHOTS
    }
