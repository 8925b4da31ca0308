"""From shots as typed to the engine's batch: what each is hit with, and its spin."""

from dataclasses import dataclass

import numpy as np

from bot.services.caddie.ground import onto_of
from bot.services.caddie.rack import KitRack
from engine.batch import Rows
from engine.law import Shots, spin_factor
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Kit
from shared.shot import Shot


@dataclass(frozen=True)
class Choice:
    """The club, grade and ball a shot is hit with, and what had to be said about choosing them."""

    club: str
    grade: str
    ball: str
    notes: tuple[str, ...] = ()


def choose(*, shot: Shot, bag: Bag | None, kit: Kit) -> Choice:
    """What a shot is hit with: the shot's own words, then the bag's, then the kit's defaults."""
    assert shot.club is not None
    club = kit.club(shot.club)
    notes: list[str] = []
    owned = (bag.grades.get(club.name) if bag else None) if shot.grade is None else shot.grade
    if owned is not None and owned not in {grade.name for grade in club.grades}:
        notes.append(f"the kit no longer has the grade {owned} of the {club.name}: default used")
        owned = None
    ball = (bag.ball if bag else None) if shot.ball is None else shot.ball
    if ball is not None and ball not in {each.name for each in kit.balls}:
        notes.append(f"the kit no longer has the ball {ball}: default used")
        ball = None
    return Choice(club.name, club.grade(owned).name, kit.ball(ball).name, tuple(notes))


def tilt_deg(*, shot: Shot, kit: Kit) -> float:
    """Spin-axis tilt of a shot, right +: sidespin, and its draw (left) or fade (right)."""
    tilt = shot.sidespin * kit.spin.side_tilt_deg
    if shot.curve is not None:
        size = shot.curve.tilt_deg or kit.spin.curve_tilt_deg
        tilt += size if shot.curve.kind == "fade" else -size
    return tilt


def check_spin(*, shot: Shot, kit: Kit, given: str) -> None:
    """Refuse spin or curve that the kit doesn't allow, with one sentence."""
    steps = kit.limits.spin_steps
    for name, value in (("back or top spin", shot.backspin), ("side spin", shot.sidespin)):
        if abs(value) > steps:
            raise InputError(
                f"The kit allows {steps:g} steps of {name}, not {abs(value):g}.", "", given
            )
    if abs(tilt_deg(shot=shot, kit=kit)) > kit.limits.tilt_deg:
        raise InputError(
            f"The kit lets a shot curve by {kit.limits.tilt_deg:g} degrees of tilt at most.",
            "",
            given,
        )


def batch(*, shots: list[Shot], choices: list[Choice], kit: Kit, kit_rack: KitRack) -> Shots:
    """The engine's batch of complete shots (wind, club and distance known)."""
    facts = np.array([_facts(shot) for shot in shots]).reshape(-1, 4)
    return Shots(
        row=np.array([kit_rack.row_of[c.club, c.grade, c.ball] for c in choices], dtype=np.intp),
        distance_m=facts[:, 0],
        height_m=facts[:, 1],
        wind_mps=facts[:, 2],
        wind_from_deg=facts[:, 3],
        spin_factor=spin_factor(
            backspin_steps=np.array([shot.backspin for shot in shots]),
            share_per_step=kit.spin.back_share,
        ),
        tilt_rad=np.radians([tilt_deg(shot=shot, kit=kit) for shot in shots]),
        onto=_onto(shots),
    )


def _onto(shots: list[Shot]) -> Rows | None:
    """The grounds the balls are to finish on, None where none of them is to."""
    if all(shot.onto is None for shot in shots):
        return None
    return np.array([onto_of(shot.onto) for shot in shots], dtype=np.intp)


def _facts(shot: Shot) -> tuple[float, float, float, float]:
    assert shot.distance is not None and shot.wind is not None
    distance_m = shot.distance.m
    height_m = shot.height.m(distance_m=distance_m) if shot.height else 0.0
    return distance_m, height_m, shot.wind.speed.mps, shot.wind.relative_deg
