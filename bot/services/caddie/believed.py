"""What a community's own shots say of the law: a trust in every row, and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from bot.drawing.scene import Spread
from bot.services.caddie.rack import KitRack
from engine.gain import Posterior
from engine.gain_sums import GradeTree
from engine.trust import PRIOR_GAIN_SD, Trust, prior_trust
from shared.kit import Kit

NOTHING_YET = f"no shots logged yet: wind taken as known to {PRIOR_GAIN_SD:.0%}"
GradeKey = tuple[str, str]  # club, grade
Spreads = Mapping[GradeKey, Spread]
LEAST_SHOTS = 12
"""Shots with the grade itself from which its spread is called known."""


@dataclass(frozen=True)
class Believed:
    """Trust in every row of a kit's rack, in words where each comes from, and how shots spread."""

    trust: Trust
    sources: tuple[str, ...]
    spreads: Spreads = field(default_factory=dict[GradeKey, Spread])


def unlearned(kit_rack: KitRack) -> Believed:
    """What is believed before any shot was logged."""
    rows = len(kit_rack.rack)
    return Believed(prior_trust(rows=rows), (NOTHING_YET,) * rows)


def grade_keys(kit: Kit) -> tuple[GradeKey, ...]:
    """Every club grade of a kit, in the order of ``tree_of``."""
    return tuple((club.name, grade.name) for club in kit.clubs for grade in club.grades)


def tree_of(kit: Kit) -> GradeTree:
    """The kit as the learning's tree: one group, its families, clubs and grades."""
    families = sorted({club.family for club in kit.clubs})
    rows = [
        (families.index(club.family), number)
        for number, club in enumerate(kit.clubs)
        for _ in club.grades
    ]
    family, club = np.array(rows).T
    return GradeTree.from_labels(group=np.zeros(len(rows), dtype=int), family=family, club=club)


def learned(*, kit: Kit, kit_rack: KitRack, posterior: Posterior) -> Believed:
    """What a posterior over the kit's grades says of every row; balls of a grade share it."""
    if not posterior.shots.any():
        return unlearned(kit_rack)
    index = {key: number for number, key in enumerate(grade_keys(kit))}
    grade = np.array([index[club, name] for club, name, _ in kit_rack.keys], dtype=np.intp)
    trust = Trust(posterior.grades.mean[grade], posterior.grades.cov[grade])
    counts: list[list[int]] = posterior.shots.tolist()
    words = [_source(kit, key, counts[number]) for key, number in index.items()]
    sources = [words[index[club, name]] for club, name, _ in kit_rack.keys]
    return Believed(trust, tuple(sources), spreads_of(kit, posterior))


def _source(kit: Kit, key: GradeKey, shots: list[int]) -> str:
    """In a player's words; ``shots`` are those of the grade, its club, family and group."""
    own, club, family, group = shots
    name = key[0]
    if own:
        others = f", {club - own} more with its other grades" if club > own else ""
        return f"from {_shots(own)} with this grade in your group{others}"
    if club:
        return f"no shots yet with this grade: borrowed from {_shots(club)} with other {name}s"
    if family:
        kin = kit.club(name).family
        return f"no shots yet with this club: borrowed from {_shots(family)} with the {kin}s"
    return f"no shots yet with its kin: borrowed from {_shots(group)} with your group's other clubs"


def _shots(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"


def spreads_of(kit: Kit, posterior: Posterior) -> dict[GradeKey, Spread]:
    """How shots come down round where they were meant to, by club and grade where it is known.

    Mishits are not in it, and the bias is aimed off.
    """
    own: list[int] = posterior.shots[:, 0].tolist()
    sd: list[list[float]] = posterior.hit_sd_m.tolist()
    return {
        key: Spread(right_sd_m=right, long_sd_m=long, shots=shots)
        for key, shots, (long, right) in zip(grade_keys(kit), own, sd, strict=True)
        if shots >= LEAST_SHOTS
    }
