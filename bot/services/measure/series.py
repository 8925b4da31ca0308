"""A measuring series: what may be hit, what was hit, what is known by now. Plain computation."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from bot.services.caddie.believed import grade_keys
from bot.services.caddie.caddie import Caddie, batch
from bot.services.caddie.rack import Choice
from bot.services.results.shot import Hit, hit_of
from engine.chart import Direction
from engine.law import Allowances, Shots, Verdict
from engine.measuring import (
    ChartPoint,
    Knowledge,
    Setups,
    begin,
    chart_points,
    margin_m,
    measure,
    next_shots,
    offered,
)
from engine.response import Posterior
from engine.response_features import Situations, features
from shared.errors import EngineError
from shared.kit import Chart, Charts
from shared.model import Model
from shared.quantities import Speed, Wind
from shared.shot import Shot
from shared.units import MPS_PER_MPH

SHARES = (0.7, 0.85, 1.0)  # a chart's points: the game's charts bend little between them
USUAL_MPS = 10.0 * MPS_PER_MPH  # what weekly cups offer; common practice
SERIES = 9  # shots that a series is planned for
ROUND_MARKS = 3  # places of a chart's marks per mph


class HitShot(Model):
    """One shot of a series: carry, height, wind, and the observed pair (long, right) in metres."""

    carry_m: float
    wind_mps: float
    from_deg: float
    observed_m: tuple[float, float]
    height_m: float = 0.0


class Series(Model):
    """A series of one club grade; it can be left and taken up again.

    ``speeds_mps`` is how strong it blows into, helping and across where it is measured.
    """

    club: str
    grade: str
    ball: str
    speeds_mps: tuple[float, float, float] = (USUAL_MPS, USUAL_MPS, USUAL_MPS)
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
    """Where a series stands: 90% margins in metres, the charts by now where it shows any wind, and
    what to hit."""

    series: Series
    margin_before_m: float
    margin_now_m: float
    points: tuple[ChartPoint, ...]
    proposals: tuple[Proposal, ...]


def kept_series(stored: dict[str, Any] | None, new: Series) -> Series:
    """The stored series where it is of the same grade and ball, else the new one."""
    if not stored:
        return new
    fields = HitShot.model_fields
    shots = [{k: v for k, v in shot.items() if k in fields} for shot in stored.get("shots", ())]
    kept = Series.model_validate({**stored, "shots": shots})
    return kept if (kept.grade, kept.ball) == (new.grade, new.ball) else new


def standing(*, caddie: Caddie, posterior: Posterior, series: Series) -> Standing:
    """What is known after a series' shots and what to hit next. Some 50 ms: for a thread."""
    shots, found = _offer(caddie, series)
    fine = np.flatnonzero(found.verdict == Verdict.FINE)
    shots, found = shots.take(fine), found.take(fine)
    setups = _setups(found.situations)
    before = _begin(caddie, posterior, series)
    known = knowledge(caddie, posterior, series)
    after = next_shots(known, setups)
    proposals = tuple(
        _proposal(shots, found, index, float(after.margin_after_m[0]))
        for index in _different(shots, after.ranked)
    )
    return Standing(
        series=series,
        margin_before_m=margin_m(before, setups),
        margin_now_m=margin_m(known, setups),
        points=_points_by_now(caddie, known, series),
        proposals=proposals,
    )


def knowledge(caddie: Caddie, posterior: Posterior, series: Series) -> Knowledge:
    """What is known of the club after the series' shots."""
    start = _begin(caddie, posterior, series)
    if not series.shots:
        return start
    shots = _batch(
        caddie,
        series,
        [(s.carry_m, s.height_m, s.wind_mps, s.from_deg) for s in series.shots],
    )
    observed = np.array([shot.observed_m for shot in series.shots])
    return measure(start, _setups(caddie.allow(shots).situations), observed).knowledge


def measured_points(caddie: Caddie, known: Knowledge, series: Series) -> tuple[ChartPoint, ...]:
    """The charts that a series has measured. Errors: EngineError where it shows no wind."""
    shots, found = _offer(caddie, series)
    return chart_points(
        known,
        _setups(found.situations),
        wind_mph=shots.wind_mps / MPS_PER_MPH,
        mark_m=found.mark_m,
    )


def _points_by_now(caddie: Caddie, known: Knowledge, series: Series) -> tuple[ChartPoint, ...]:
    """The charts so far; none before a shot, nor while the series shows no wind."""
    if not series.shots:
        return ()
    try:
        return measured_points(caddie, known, series)
    except EngineError:
        return ()


def charts_of(points: tuple[ChartPoint, ...]) -> Charts:
    """Measured points as a club's charts."""
    into, helping, across = (_table(points, direction) for direction in Direction)
    return Charts(into=into, helping=helping, across=across)


def _table(points: tuple[ChartPoint, ...], direction: Direction) -> Chart:
    return tuple(
        (round(each.share, 3), round(each.marks_per_mph, ROUND_MARKS))
        for each in points
        if each.direction == direction
    )


def stood_before(caddie: Caddie, series: Series) -> tuple[float, ...]:
    """Marks per mph upwind of the law as it stands, where ``measured_points`` has its points."""
    shots, found = _offer(caddie, series)
    turn = np.radians(shots.wind_from_deg)
    upwind = np.where(
        np.abs(np.cos(turn)) > 0.5,
        found.law_long_m * np.sign(np.cos(turn)),
        found.law_right_m * np.sign(np.sin(turn)),
    )
    marks: list[float] = (upwind / found.mark_m / (shots.wind_mps / MPS_PER_MPH)).tolist()
    return tuple(marks)


def hit(
    *,
    caddie: Caddie,
    series: Series,
    shot: Shot,
    aim_m: tuple[float, float],
    miss_m: tuple[float, float],
) -> tuple[HitShot, Allowances, Hit]:
    """A played shot (wind and distance known) as one of the series, what the law says of it, and
    how it was hit; pairs are (long, right)."""
    choice = Choice(series.club, series.grade, series.ball)
    shots = batch(shots=[shot], choices=[choice], kit=caddie.kit, kit_rack=caddie.kit_rack)
    new = HitShot(
        carry_m=float(shots.distance_m[0]),
        wind_mps=float(shots.wind_mps[0]),
        from_deg=float(shots.wind_from_deg[0]) % 360.0,
        observed_m=(miss_m[0] - aim_m[0], miss_m[1] - aim_m[1]),
        height_m=float(shots.height_m[0]),
    )
    law = caddie.allow(shots)
    return new, law, hit_of(caddie, shots, law, miss_m=miss_m, aim_m=aim_m)


def _offer(caddie: Caddie, series: Series) -> tuple[Shots, Allowances]:
    """Every share in every direction, in the winds the game offers."""
    row = caddie.kit_rack.row_of[series.club, series.grade, series.ball]
    full_m = float(caddie.kit_rack.rack.full_m[row])
    share, speed, turn = offered(shares=np.array(SHARES), speeds_mps=np.array(series.speeds_mps))
    rows = zip(share.tolist(), speed.tolist(), turn.tolist(), strict=True)
    shots = _batch(caddie, series, [(part * full_m, 0.0, mps, deg) for part, mps, deg in rows])
    return shots, caddie.allow(shots)


def _setups(situations: Situations) -> Setups:
    return Setups(situations.share, features(situations))


def _begin(caddie: Caddie, posterior: Posterior, series: Series) -> Knowledge:
    grade = grade_keys(caddie.kit).index((series.club, series.grade))
    return begin(posterior, grade=grade, shares=np.array(SHARES))


def _batch(caddie: Caddie, series: Series, grid: list[tuple[float, float, float, float]]) -> Shots:
    """Shots of carry, height, wind speed and direction (m, m, m/s, degrees)."""
    values = np.array(grid, dtype=float).reshape(-1, 4)
    row = caddie.kit_rack.row_of[series.club, series.grade, series.ball]
    return Shots(
        row=np.full(len(values), row, dtype=np.intp),
        distance_m=values[:, 0],
        height_m=values[:, 1],
        wind_mps=values[:, 2],
        wind_from_deg=values[:, 3],
        spin_factor=np.ones(len(values)),
        tilt_rad=np.zeros(len(values)),
    )


def _different(shots: Shots, ranked: np.ndarray) -> list[int]:
    """The best candidate of each direction, best first: the game may not offer the first."""
    chosen: list[int] = []
    seen: set[float] = set()
    for index in ranked.tolist():
        turn = float(shots.wind_from_deg[index])
        if turn not in seen:
            seen.add(turn)
            chosen.append(index)
    return chosen


def _proposal(shots: Shots, found: Allowances, index: int, margin_after_m: float) -> Proposal:
    mph = round(float(shots.wind_mps[index]) / MPS_PER_MPH, 1)
    return Proposal(
        carry_m=float(shots.distance_m[index]),
        wind=Wind(speed=Speed(value=mph), from_deg=float(shots.wind_from_deg[index])),
        right_marks=float(found.right_m[index] / found.mark_m[index]),
        long_marks=float(found.long_m[index] / found.mark_m[index]),
        margin_after_m=margin_after_m,
    )
