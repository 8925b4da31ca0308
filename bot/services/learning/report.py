"""What is known of a club: gains, shots, residuals, what was set aside and why, drift."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from bot.services.caddie.believed import grade_keys, tree_of
from engine.drift import Drift, find_change
from engine.gain import Posterior, posterior_from_sums, standard_errors
from engine.gain_sums import SUM_NAMES, GainSums
from engine.intervals import two_sided_z
from shared.kit import Kit
from storage.played import Result

CONFIDENCE = 0.90
LATEST = 8
STEPS = 12  # points of the picture of a gain over its shots
GAIN_SCOPE = "gain"
CM = 100.0


@dataclass(frozen=True)
class GradeGain:
    """The gain of one grade along and across with its 90% interval, and its shots."""

    grade: str
    along: tuple[float, float, float]
    across: tuple[float, float, float]
    bias_long_m: float
    bias_right_m: float
    shots: int
    set_aside: int


@dataclass(frozen=True)
class Step:
    """A gain after so many shots: (gain, low, high) along and across."""

    shots: int
    along: tuple[float, float, float]
    across: tuple[float, float, float]


@dataclass(frozen=True)
class Shot:
    """One logged shot: what the gain leaves unexplained, and whether it is learned from."""

    result_id: int
    at: datetime
    grade: str
    residual_long_m: float
    residual_right_m: float
    weight: float
    left_out: str


@dataclass(frozen=True)
class ClubReport:
    """A club as it is trusted now; ``frozen`` is the reason where a coach holds its gain.

    ``track`` is the best known grade's gain after so many shots, along and across.
    """

    club: str
    track: tuple[Step, ...]
    grades: tuple[GradeGain, ...]
    shots: tuple[Shot, ...]
    spread_m: tuple[float, float] | None
    aside: tuple[Shot, ...]
    drift: Drift | None
    drift_at: datetime | None
    frozen: str


def club_report(
    *, kit: Kit, club: str, posterior: Posterior, results: list[Result], frozen: str
) -> ClubReport:
    """The report from a posterior and the club's results, oldest first.

    Takes a tenth of a second with many shots: not for the event loop.
    """
    index = {grade: n for n, (name, grade) in enumerate(grade_keys(kit)) if name == club}
    known = [r for r in results if r.played.grade in index and r.played.observed_cm is not None]
    shots = tuple(_shot(result, posterior, index[result.played.grade]) for result in known)
    used = [shot for shot in shots if shot.weight > 0]
    drift = _drift(known)
    return ClubReport(
        club=club,
        track=_track(kit, posterior, known, index),
        grades=tuple(_grade_gain(posterior, grade, n) for grade, n in index.items()),
        shots=shots[-LATEST:],
        spread_m=_spread(used),
        aside=tuple(shot for shot in shots if shot.weight == 0)[-LATEST:],
        drift=drift,
        drift_at=known[drift.first].created_at if drift and drift.changed else None,
        frozen=frozen,
    )


def _grade_gain(posterior: Posterior, grade: str, n: int) -> GradeGain:
    z = two_sided_z(CONFIDENCE)
    mean, error = posterior.grades.mean[n], standard_errors(posterior.grades)[n]
    along, across = (
        (
            float(mean[axis, 0]),
            float(mean[axis, 0] - z * error[axis, 0]),
            float(mean[axis, 0] + z * error[axis, 0]),
        )
        for axis in range(2)
    )
    return GradeGain(
        grade=grade,
        along=along,
        across=across,
        bias_long_m=float(mean[0, 1]),
        bias_right_m=float(mean[1, 1]),
        shots=int(posterior.shots[n, 0]),
        set_aside=int(posterior.set_aside[n]),
    )


def _track(
    kit: Kit, posterior: Posterior, known: list[Result], index: dict[str, int]
) -> tuple[Step, ...]:
    """The gain of the club's most played grade, from its own shots alone, as they came in."""
    if len(known) < 2:
        return ()
    grade, n = max(index.items(), key=lambda item: int(posterior.shots[item[1], 0]))
    rows = [r.played for r in known if r.played.grade == grade and r.played.parts]
    if len(rows) < 2:
        return ()
    counts = sorted({max(1, round(len(rows) * part / STEPS)) for part in range(1, STEPS + 1)})
    tree = tree_of(kit)
    steps: list[Step] = []
    for count in counts:
        values = np.zeros((tree.grades, len(SUM_NAMES)))
        for played in rows[:count]:
            part = next((each for each in played.parts if each.scope == GAIN_SCOPE), None)
            values[n] += part.vector if part else 0.0
        found = _grade_gain(posterior_from_sums(GainSums(values), tree), grade, n)
        steps.append(Step(count, found.along, found.across))
    return tuple(steps)


def _shot(result: Result, posterior: Posterior, n: int) -> Shot:
    played = result.played
    assert played.observed_cm is not None
    observed = np.array(played.observed_cm) / CM
    predicted = np.array(played.effect_cm or (0, 0)) / CM
    mean = posterior.grades.mean[n]
    residual = observed - mean[:, 0] * predicted - mean[:, 1]
    return Shot(
        result_id=result.id,
        at=result.created_at,
        grade=played.grade,
        residual_long_m=float(residual[0]),
        residual_right_m=float(residual[1]),
        weight=played.weight,
        left_out=played.left_out,
    )


def _spread(shots: list[Shot]) -> tuple[float, float] | None:
    if len(shots) < 2:
        return None
    long = np.array([shot.residual_long_m for shot in shots])
    right = np.array([shot.residual_right_m for shot in shots])
    return float(long.std(ddof=1)), float(right.std(ddof=1))


def _drift(results: list[Result]) -> Drift | None:
    rows = [(r.played.effect_cm or (0, 0), r.played.observed_cm) for r in results]
    predicted = np.array([effect for effect, _ in rows], float).reshape(-1, 2) / CM
    observed = np.array([seen for _, seen in rows], float).reshape(-1, 2) / CM
    return find_change(predicted, observed - predicted)
