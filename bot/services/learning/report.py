"""What is known of a club: what its game does, shots, residuals, what was set aside, drift."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from bot.services.caddie.believed import grade_keys
from bot.services.caddie.caddie import Caddie
from bot.services.learning.kept import Kept, kept_results
from engine.drift import Drift, find_response_change
from engine.response import Posterior, predict
from engine.response_refer import Reference, reference_effects
from storage.played import Result

LATEST = 8
CM = 100.0
SEEN_M = 0.05  # what is learned and less from what is computed is the same in words


@dataclass(frozen=True)
class GameEffect:
    """A reference shot: what the law says and what the group's game does, with half the width of
    its 90% interval; metres, long + or right +. ``known``: the group's shots say something."""

    reference: Reference
    computed_m: float
    learned_m: float
    half_m: float
    known: bool


@dataclass(frozen=True)
class GradeGame:
    """What the game does with one grade, by ``Reference``, and the results behind it."""

    grade: str
    effects: tuple[GameEffect, ...]
    shots: int
    set_aside: int
    missed: int


@dataclass(frozen=True)
class Shot:
    """One logged shot: what is left of it beyond what is expected, and how far it counts."""

    result_id: int
    at: datetime
    grade: str
    residual_long_m: float
    residual_right_m: float
    weight: float
    left_out: str


@dataclass(frozen=True)
class ClubReport:
    """A club as it is believed now; ``frozen`` is the reason where a coach holds it.

    ``grades`` begins with the one that has most shots.
    """

    club: str
    grades: tuple[GradeGame, ...]
    shots: tuple[Shot, ...]
    spread_m: tuple[float, float] | None
    aside: tuple[Shot, ...]
    drift: Drift | None
    drift_at: datetime | None
    frozen: str


def club_report(
    *, caddie: Caddie, club: str, posterior: Posterior, results: list[Result], frozen: str
) -> ClubReport:
    """The report from a posterior and the club's results, oldest first.

    Takes a tenth of a second with many shots: not for the event loop.
    """
    kept = kept_results(caddie, results)
    shots = _shots(kept, posterior)
    counted = np.array([shot.weight > 0 and not shot.left_out for shot in shots], dtype=bool)
    # Results set aside are looked at too: those of a changed game are, as long as they are few.
    used = np.array([not shot.left_out for shot in shots], dtype=bool)
    drift = find_response_change(posterior, kept.results, used=used) if len(shots) else None
    changed = drift is not None and drift.changed
    return ClubReport(
        club=club,
        grades=_grades(caddie, club, posterior),
        shots=shots[-LATEST:],
        spread_m=_spread([shot for shot, counts in zip(shots, counted, strict=True) if counts]),
        aside=tuple(s for s, counts in zip(shots, counted, strict=True) if not counts)[-LATEST:],
        drift=drift,
        drift_at=kept.shots[drift.first].created_at if drift and changed else None,
        frozen=frozen,
    )


def _grades(caddie: Caddie, club: str, posterior: Posterior) -> tuple[GradeGame, ...]:
    """Every grade of the club with the kit's first ball."""
    index = {grade: n for n, (name, grade) in enumerate(grade_keys(caddie.kit)) if name == club}
    ball, row_of = caddie.kit.ball(None).name, caddie.kit_rack.row_of
    found = reference_effects(
        rack=caddie.kit_rack.rack,
        rows=np.array([row_of[club, grade, ball] for grade in index]),
        posterior=posterior,
        grade=np.array(list(index.values())),
    )
    games = [
        GradeGame(
            grade=grade,
            effects=tuple(
                GameEffect(
                    kind,
                    float(found.computed_m[row, kind]),
                    float(found.learned_m[row, kind]),
                    float(found.half_m[row, kind]),
                    bool(posterior.shots[n, 3])
                    or abs(found.learned_m[row, kind] - found.computed_m[row, kind]) > SEEN_M,
                )
                for kind in Reference
            ),
            shots=int(posterior.shots[n, 0]),
            set_aside=int(posterior.set_aside[n]),
            missed=int(posterior.missed[n]),
        )
        for row, (grade, n) in enumerate(index.items())
    ]
    return tuple(sorted(games, key=lambda game: -game.shots))


def _shots(kept: Kept, posterior: Posterior) -> tuple[Shot, ...]:
    """Every result that somebody measured or that went in, with what is left of it."""
    results = kept.results
    expected = predict(posterior.response(results.grade), results.features).effect_m
    left: list[list[float]] = (results.observed_m - expected).tolist()
    return tuple(
        Shot(
            result_id=result.id,
            at=result.created_at,
            grade=result.played.grade,
            residual_long_m=long,
            residual_right_m=right,
            weight=result.played.weight,
            left_out=result.played.left_out,
        )
        for result, (long, right) in zip(kept.shots, left, strict=True)
    )


def _spread(shots: list[Shot]) -> tuple[float, float] | None:
    if len(shots) < 2:
        return None
    long = np.array([shot.residual_long_m for shot in shots])
    right = np.array([shot.residual_right_m for shot in shots])
    return float(long.std(ddof=1)), float(right.std(ddof=1))
