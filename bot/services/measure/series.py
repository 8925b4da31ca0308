"""A measuring series: what may be hit, what was hit, what is known by now. Plain computation."""

from dataclasses import dataclass

import numpy as np

from bot.services.caddie.believed import grade_keys
from bot.services.caddie.caddie import Caddie, Choice, batch
from engine.gain import Posterior
from engine.law import Shots, Verdict
from engine.measure import (
    ChartPoint,
    Knowledge,
    Setups,
    begin,
    chart_points,
    margin_m,
    measure,
    next_shots,
)
from shared.model import Model
from shared.quantities import Length, Speed, Wind
from shared.shot import Shot
from shared.units import METRES_PER_YARD, MPS_PER_MPH

SHARES = (0.7, 0.85, 1.0)  # a chart's points: the game's charts bend little between them
SPEEDS_MPH = (6.0, 10.0, 14.0)  # what weekly cups offer; common practice
HOURS = tuple(range(12))
CHART_MPH = 10.0  # the wind in which the law's marks per mph are read off
SERIES = 8  # shots that a series is planned for


class HitShot(Model):
    """One shot of a series: carry, wind, and pairs (long, right) in metres."""

    carry_m: float
    wind_mps: float
    from_deg: float
    predicted_m: tuple[float, float]
    observed_m: tuple[float, float]


class Series(Model):
    """A series of one club grade; it can be left and taken up again."""

    club: str
    grade: str
    ball: str
    shots: tuple[HitShot, ...] = ()


@dataclass(frozen=True)
class Proposal:
    """A shot worth hitting: where, in which wind, with which aim in marks."""

    carry_m: float
    wind: Wind
    right_marks: float
    long_marks: float
    margin_after_m: float


@dataclass(frozen=True)
class Standing:
    """Where a series stands: margins in metres, gains along and across by share, what to hit."""

    series: Series
    margin_before_m: float
    margin_now_m: float
    gains: tuple[tuple[float, float, float], ...]
    proposals: tuple[Proposal, ...]


@dataclass(frozen=True)
class Offered:
    """The candidates of a club grade, as the engine's shots and as the measuring's set-ups."""

    shots: Shots
    setups: Setups
    right_marks: np.ndarray
    long_marks: np.ndarray


def standing(*, caddie: Caddie, posterior: Posterior, series: Series) -> Standing:
    """What is known after a series' shots and what to hit next. Some 50 ms: for a thread."""
    offered = offer(caddie, series)
    before = _begin(caddie, posterior, series)
    known = knowledge(caddie, posterior, series)
    after = next_shots(known, offered.setups, count=3)
    proposals = tuple(
        _proposal(offered, int(index), float(after.margin_after_m[0]))
        for index in _different(offered, after.ranked)
    )
    return Standing(
        series=series,
        margin_before_m=margin_m(before, offered.setups),
        margin_now_m=margin_m(known, offered.setups),
        gains=tuple(
            (share, float(known.mean[0, k]), float(known.mean[1, k]))
            for k, share in enumerate(SHARES)
        ),
        proposals=proposals,
    )


def knowledge(caddie: Caddie, posterior: Posterior, series: Series) -> Knowledge:
    """What is known of the club after the series' shots."""
    start = _begin(caddie, posterior, series)
    if not series.shots:
        return start
    full_m = _full_m(caddie, series)
    share = np.array([shot.carry_m / full_m for shot in series.shots])
    predicted = np.array([shot.predicted_m for shot in series.shots])
    observed = np.array([shot.observed_m for shot in series.shots])
    return measure(start, Setups(share, predicted), observed).knowledge


def measured_chart(
    *, caddie: Caddie, posterior: Posterior, series: Series
) -> tuple[ChartPoint, ...]:
    """The chart that a series has measured. Errors: EngineError where it shows no wind."""
    full_m = _full_m(caddie, series)
    shots = _batch(caddie, series, [(share * full_m, CHART_MPH, 3) for share in SHARES])
    found = caddie.allow(shots)
    law = np.abs(found.law_right_m) / found.mark_m / CHART_MPH
    return chart_points(knowledge(caddie, posterior, series), law)


def hit(
    *,
    caddie: Caddie,
    series: Series,
    shot: Shot,
    aim_m: tuple[float, float],
    miss_m: tuple[float, float],
) -> HitShot:
    """A played shot (wind and distance known) as one of the series; pairs are (long, right)."""
    choice = Choice(series.club, series.grade, series.ball)
    shots = batch(shots=[shot], choices=[choice], kit=caddie.kit, kit_rack=caddie.kit_rack)
    found = caddie.allow(shots)
    return HitShot(
        carry_m=float(shots.distance_m[0]),
        wind_mps=float(shots.wind_mps[0]),
        from_deg=float(shots.wind_from_deg[0]),
        predicted_m=(-float(found.law_long_m[0]), -float(found.law_right_m[0])),
        observed_m=(miss_m[0] - aim_m[0], miss_m[1] - aim_m[1]),
    )


def offer(caddie: Caddie, series: Series) -> Offered:
    """Every shot of the grid of shares, winds and hours that the game lets be hit."""
    full_m = _full_m(caddie, series)
    grid = [(share * full_m, mph, hour) for share in SHARES for mph in SPEEDS_MPH for hour in HOURS]
    shots = _batch(caddie, series, grid)
    found = caddie.allow(shots)
    fine = np.flatnonzero(found.verdict == Verdict.FINE)
    shots, found = shots.take(fine), found.take(fine)
    predicted = -np.stack((found.law_long_m, found.law_right_m), axis=1)
    return Offered(
        shots=shots,
        setups=Setups(shots.distance_m / full_m, predicted),
        right_marks=found.right_m / found.mark_m,
        long_marks=found.long_m / found.mark_m,
    )


def _begin(caddie: Caddie, posterior: Posterior, series: Series) -> Knowledge:
    grade = grade_keys(caddie.kit).index((series.club, series.grade))
    return begin(posterior, grade=grade, shares=np.array(SHARES))


def _full_m(caddie: Caddie, series: Series) -> float:
    row = caddie.kit_rack.row_of[series.club, series.grade, series.ball]
    return float(caddie.kit_rack.rack.full_m[row])


def _batch(caddie: Caddie, series: Series, grid: list[tuple[float, float, int]]) -> Shots:
    shots = [
        Shot(
            wind=Wind(speed=Speed(value=mph), from_deg=30.0 * hour),
            club=series.club,
            distance=Length(value=round(carry_m / METRES_PER_YARD), unit="yd"),
        )
        for carry_m, mph, hour in grid
    ]
    choice = Choice(series.club, series.grade, series.ball)
    return batch(
        shots=shots, choices=[choice] * len(shots), kit=caddie.kit, kit_rack=caddie.kit_rack
    )


def _different(offered: Offered, ranked: np.ndarray) -> list[int]:
    """The best candidate and two others of other hours: the game may not offer the first."""
    chosen: list[int] = []
    hours: set[float] = set()
    for index in ranked.tolist():
        hour = float(offered.shots.wind_from_deg[index])
        mirrored = min(hour, 360.0 - hour)
        if mirrored not in hours:
            hours.add(mirrored)
            chosen.append(index)
        if len(chosen) == 3:
            break
    return chosen


def _proposal(offered: Offered, index: int, margin_after_m: float) -> Proposal:
    shots = offered.shots
    mph = round(float(shots.wind_mps[index]) / MPS_PER_MPH, 1)
    return Proposal(
        carry_m=float(shots.distance_m[index]),
        wind=Wind(speed=Speed(value=mph), from_deg=float(shots.wind_from_deg[index])),
        right_marks=float(offered.right_marks[index]),
        long_marks=float(offered.long_marks[index]),
        margin_after_m=margin_after_m,
    )
