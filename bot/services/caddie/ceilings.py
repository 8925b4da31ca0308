"""Ceilings: the wind from each direction above which a line stops being playable."""

from dataclasses import dataclass

import numpy as np

from bot.services.caddie.adapt import Case, Plan, turned
from bot.services.caddie.caddie import Caddie
from engine.ceiling import ceilings
from engine.move import Fit

HOURS = tuple(range(1, 13))
DEGREES_PER_HOUR = 30.0


@dataclass(frozen=True)
class Ceiling:
    """Of one line: ``speed_mps`` by clock hour 1 to 12; -1 where it fails even in a calm."""

    speed_mps: tuple[float, ...]

    def at(self, hour: int) -> float:
        """The ceiling of a wind from that hour, m/s."""
        return self.speed_mps[hour - 1]


def line_ceilings(*, caddie: Caddie, cases: list[Case]) -> list[Ceiling]:
    """The ceilings of every case's line, all lines and all hours in one batch."""
    if not cases:
        return []
    plan = Plan(caddie, cases)
    owner = np.repeat(np.arange(len(cases)), [len(case.line.shots) for case in cases])
    first = np.concatenate(([0], np.cumsum(np.bincount(owner, minlength=len(cases)))))
    lengths = np.diff(first)
    turns = _turns(cases)

    def holds(question: np.ndarray, speed_mps: np.ndarray) -> np.ndarray:
        line, hour = question // len(HOURS), question % len(HOURS)
        count = lengths[line]
        asked = np.repeat(np.arange(question.size), count)
        shot = (
            first[line][asked] + np.arange(asked.size) - np.repeat(np.cumsum(count) - count, count)
        )
        ratio, turn = turns[shot].T
        direction = (hour[asked] + 1) * DEGREES_PER_HOUR + turn
        winds = np.stack((speed_mps[asked] * ratio, direction % 360.0), axis=1)
        bad = plan.fits(shot, winds) != Fit.FINE
        return np.bincount(asked, weights=bad, minlength=question.size) == 0

    found = ceilings(holds=holds, count=len(cases) * len(HOURS)).reshape(len(cases), len(HOURS))
    return [Ceiling(tuple(float(speed) for speed in row)) for row in found]


def _turns(cases: list[Case]) -> np.ndarray:
    """Of every shot: ratio of its wind's speed to the line's, and its turn in degrees; (n, 2)."""
    rows: list[tuple[float, float]] = []
    for case in cases:
        for read in case.line.shots:
            assert read.shot.wind is not None
            rows.append(
                turned(line=case.line.wind, shot=read.shot.wind, speed_mps=1.0, from_deg=0.0)
            )
    return np.array(rows)
