"""What a shot picture shows, as plain values in SI: the scene; ``scene_of`` makes it."""

from dataclasses import dataclass, replace

import numpy as np

from bot.caddie.caddie import Caddie
from bot.caddie.shots import Choice, batch
from bot.pictures.said import headline
from engine.flight import wind_vector
from engine.launch import part_shot
from engine.law import Shots
from engine.path import Paths, trace
from shared.answer import Answer
from shared.book import Room
from shared.shot import Shot
from shared.units import METRES_PER_YARD, UnitSystem

STEPS = 28  # samples of a path: 6 px apart on a phone


@dataclass(frozen=True)
class Spot:
    """A place near the target: right + and long +, metres."""

    right_m: float
    long_m: float


@dataclass(frozen=True)
class Curve:
    """A flight's samples from the ball on: right, along and up, metres."""

    right_m: tuple[float, ...]
    long_m: tuple[float, ...]
    up_m: tuple[float, ...]


@dataclass(frozen=True)
class Spread:
    """How the group's shots came down round ``centre``: standard deviations, and of how many."""

    right_sd_m: float
    long_sd_m: float
    shots: int
    centre: Spot = Spot(0.0, 0.0)


@dataclass(frozen=True)
class Facts:
    """The flight in the wind: apex, landing angle, time, and the carry it plays like."""

    apex_m: float
    landing_deg: float
    time_s: float


@dataclass(frozen=True)
class ShotScene:
    """One shot to be drawn. ``flight`` flies in the wind, ``still`` is the same without it.

    Without curves (a chart that answers beyond what can be flown) only the ground is drawn.
    """

    headline: str
    shot: str
    mark: str
    mark_m: float
    distance_m: float
    height_m: float
    aim: Spot
    margin: Spot
    plays_m: float
    wind_mps: float
    wind_from_deg: float
    flight: Curve | None = None
    still: Curve | None = None
    facts: Facts | None = None
    room: Room | None = None
    spread: Spread | None = None
    law: str = "flight"
    units: UnitSystem = "yards"


def scene_of(
    caddie: Caddie,
    answer: Answer,
    *,
    units: UnitSystem = "yards",
    room: Room | None = None,
    spread: Spread | None = None,
) -> ShotScene:
    """The scene of an answer of this caddie: its shot flown once more, in the wind and without.

    Takes about 20 ms of computation: not for an event loop. The aim point is the answer's own.
    """
    shot = answer.shot
    shots = batch(
        shots=[shot],
        choices=[Choice(answer.club, answer.grade, answer.ball)],
        kit=caddie.kit,
        kit_rack=caddie.kit_rack,
    )
    found = caddie.allow(shots)
    allowance, margin = answer.allowance, answer.margin
    mark = caddie.kit.mark.name
    scene = ShotScene(
        headline=headline(answer.allowance, mark=mark),
        shot=_shot_words(answer),
        mark=mark,
        mark_m=float(found.mark_m[0]),
        distance_m=float(shots.distance_m[0]),
        height_m=float(shots.height_m[0]),
        aim=_spot(allowance.right_yd, allowance.long_yd),
        margin=_spot(margin.right_yd, margin.long_yd),
        plays_m=answer.plays_yd * METRES_PER_YARD,
        wind_mps=float(shots.wind_mps[0]),
        wind_from_deg=float(shots.wind_from_deg[0]),
        room=room,
        spread=spread,
        law=answer.law,
        units=units,
    )
    if not found.aims.solved[0]:
        return scene
    factor, azimuth = float(found.aims.speed_factor[0]), float(found.aims.azimuth_rad[0])
    paths = _paths(caddie, shots, factor, azimuth)
    return replace(
        scene, flight=_curve(paths, 0), still=_curve(paths, 1), facts=_facts(answer, paths)
    )


def _spot(right_yd: float, long_yd: float) -> Spot:
    return Spot(right_yd * METRES_PER_YARD, long_yd * METRES_PER_YARD)


def _shot_words(answer: Answer) -> str:
    parts = [f"{answer.club} ({answer.grade})", f"{answer.ball} ball", *_extras(answer.shot)]
    return " · ".join(parts)


def _extras(shot: Shot) -> list[str]:
    extras: list[str] = []
    if shot.curve is not None:
        extras.append(shot.curve.kind)
    for steps, plus, minus in (
        (shot.backspin, "backspin", "topspin"),
        (shot.sidespin, "right spin", "left spin"),
    ):
        if steps:
            extras.append(f"{plus if steps > 0 else minus} {abs(steps):g}")
    return extras


def _paths(caddie: Caddie, shots: Shots, factor: float, azimuth: float) -> Paths:
    """The shot in its wind and in still air, as one batch of two."""
    rows = caddie.kit_rack.rack.take(np.repeat(shots.row, 2))
    launch = part_shot(
        full=rows.full,
        speed_factor=np.full(2, factor),
        azimuth_rad=np.full(2, azimuth),
        spin_factor=np.repeat(shots.spin_factor, 2),
        tilt_rad=np.repeat(shots.tilt_rad, 2),
    )
    wind = wind_vector(
        speed_mps=shots.wind_mps[0] * rows.wind_share * np.array([1.0, 0.0]),
        from_deg=np.repeat(shots.wind_from_deg, 2),
    )
    return trace(launch=launch, wind_mps=wind, height_m=np.repeat(shots.height_m, 2), steps=STEPS)


def _curve(paths: Paths, index: int) -> Curve:
    along, up, right = (tuple(axis.tolist()) for axis in paths.place_m[:, :, index].round(3))
    return Curve(right_m=right, long_m=along, up_m=up)


def _facts(answer: Answer, paths: Paths) -> Facts:
    if answer.flight is not None:
        flight = answer.flight
        return Facts(flight.apex_yd * METRES_PER_YARD, flight.landing_deg, flight.time_s)
    landing = paths.landing
    return Facts(float(landing.apex_m[0]), float(landing.descent_deg[0]), float(landing.time_s[0]))
