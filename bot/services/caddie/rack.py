"""From a kit to the engine's rack: one row for every club, grade and ball."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from engine.launch import FullShot, full_shots, launch_rows
from engine.rack import Rack
from engine.response_refer import joined_stamp, row_stamps
from shared.kit import Ball, Club, Grade, Kit
from shared.units import METRES_PER_YARD

Key = tuple[str, str, str]  # club, grade, ball


@dataclass(frozen=True)
class Choice:
    """The club, grade and ball a shot is hit with, and what had to be said about choosing them."""

    club: str
    grade: str
    ball: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class KitRack:
    """A kit's rack, with the row of each (club, grade, ball) and back."""

    rack: Rack
    keys: tuple[Key, ...]
    row_of: dict[Key, int]

    @cached_property
    def grade_of_row(self) -> NDArray[np.intp]:
        """Of every row which of the kit's club grades it is, in their order."""
        grades = list(dict.fromkeys((club, grade) for club, grade, _ in self.keys))
        return np.array([grades.index((club, grade)) for club, grade, _ in self.keys], np.intp)

    @cached_property
    def stamps(self) -> dict[tuple[str, str], str]:
        """The fingerprint of the law of every club grade, all its balls together."""
        by_grade: dict[tuple[str, str], list[str]] = {}
        for (club, grade, _), stamp in zip(self.keys, row_stamps(self.rack), strict=True):
            by_grade.setdefault((club, grade), []).append(stamp)
        return {key: joined_stamp(stamps) for key, stamps in by_grade.items()}


def build_rack(kit: Kit) -> KitRack:
    """Solve every full shot of ``kit`` in one batch and lay out its rows.

    Errors: NotConvergedError where a carry can't be flown from the club's launch.
    """
    ways = [
        (club, grade, ball) for club in kit.clubs for grade in club.grades for ball in kit.balls
    ]
    keys = tuple((club.name, grade.name, ball.name) for club, grade, ball in ways)
    gain = np.array([1 + ball.carry_gain for _, _, ball in ways])
    full_m = np.array([grade.full_m for _, grade, _ in ways]) * gain
    marks = np.array(
        [(kit.mark_of(club).full_yd, kit.mark_of(club).short_yd) for club, _, _ in ways]
    )
    share, per_mph = _charts(ways)
    rack = Rack(
        full=_full_shots(ways, full_m),
        full_m=full_m,
        short_m=np.array([grade.short_m for _, grade, _ in ways]) * gain,
        mark_full_m=marks[:, 0] * METRES_PER_YARD,
        mark_short_m=marks[:, 1] * METRES_PER_YARD,
        wind_share=np.array([ball.wind_share for _, _, ball in ways]),
        charted=np.array([club.charted for club, _, _ in ways]),
        chart_share=share,
        chart_marks_per_mph=per_mph,
    )
    return KitRack(rack, keys, {key: row for row, key in enumerate(keys)})


def launch_of(club: Club) -> str:
    """The launch row of a club: what it names, its own name, or its family's middle club."""
    rows = launch_rows()
    for name in (club.launch, club.name):
        if name in rows:
            return name
    return {
        "wood": "5-wood",
        "hybrid": "hybrid",
        "long iron": "5-iron",
        "short iron": "8-iron",
        "wedge": "gap wedge",
    }[club.family]


def _full_shots(ways: list[tuple[Club, Grade, Ball]], full_m: np.ndarray) -> FullShot:
    return full_shots(rows=[launch_of(club) for club, _, _ in ways], carry_m=full_m)


def _charts(ways: list[tuple[Club, Grade, Ball]]) -> tuple[np.ndarray, np.ndarray]:
    """Shares (n, k) and marks per mph (n, 3, k) by direction, padded with the last point."""
    charts = [
        _chart(club) if club.charted else (np.zeros(1), np.zeros((3, 1))) for club, _, _ in ways
    ]
    longest = max(len(share) for share, _ in charts)
    shares, marks = np.zeros((len(ways), longest)), np.zeros((len(ways), 3, longest))
    for row, (share, per_mph) in enumerate(charts):
        more = longest - len(share)
        shares[row] = np.pad(share, (0, more), mode="edge")
        marks[row] = np.pad(per_mph, ((0, 0), (0, more)), mode="edge")
    return shares, marks


def _chart(club: Club) -> tuple[np.ndarray, np.ndarray]:
    """A club's charts by direction at all shares that any of them has: (k,) and (3, k)."""
    tables = [np.array(table) for table in club.by_direction]
    share = np.unique(np.concatenate([table[:, 0] for table in tables]))
    return share, np.stack([np.interp(share, table[:, 0], table[:, 1]) for table in tables])
