"""Measured shots as results: the row that is kept, corrected, and taken back, with their series."""

import asyncio
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from sqlalchemy import Connection

from bot.services.caddie.adapt import read_wind
from bot.services.caddie.caddie import Caddie
from bot.services.learning.learner import Learner, Lesson, Seen
from bot.services.measure.series import HitShot, Series, hit, kept_series
from bot.services.members import BagCache, Caddies, wind_mmps
from bot.services.results.outcome import Outcome, read_outcome
from bot.services.results.shot import Hit, hit_part
from engine.law import Allowances
from shared.actor import Actor
from shared.errors import InputError
from shared.keys import MEASURED, measured_line
from shared.quantities import Height, Length, Wind
from shared.shot import Shot
from storage.database import Database
from storage.played import Part, Played, Result
from storage.results import Logged, correct_result, remove_result
from storage.series import change_series, series_of

VARIANT = "M"
CM = 100
Pair = tuple[float, float]


@dataclass(frozen=True)
class Measured:
    """A shot of a series, played: pairs (long, right) in metres."""

    series: Series
    shot: Shot
    new: HitShot
    law: Allowances
    aim_m: Pair
    miss_m: Pair
    struck: Hit

    @property
    def seen(self) -> Seen:
        """What the learning is told of it."""
        situations = self.law.situations
        return Seen(self.series.club, self.series.grade, situations, self.new.observed_m)

    def row(self, lesson: Lesson | None) -> Played:
        """It as a result."""
        assert self.shot.wind is not None
        law = self.law
        return Played(
            hole_key=MEASURED,
            line_key=measured_line(self.series.club),
            variant=VARIANT,
            holed=False,
            miss_cm=_cm(self.miss_m),
            wind_mmps=wind_mmps(self.shot.wind),
            club=self.series.club,
            grade=self.series.grade,
            ball=self.series.ball,
            share=round(float(law.situations.share[0]), 4),
            effect_cm=_cm((-float(law.law_long_m[0]), -float(law.law_right_m[0]))),
            observed_cm=_cm(self.new.observed_m),
            carry_cm=round(self.new.carry_m * CM),
            height_cm=round(self.new.height_m * CM),
            aim_cm=_cm(self.aim_m),
            backspin=0.0,
            tilt_deg=0.0,
            weight=lesson.weight if lesson else 0.0,
            parts=self._parts(lesson),
        )

    def _parts(self, lesson: Lesson | None) -> tuple[Part, ...]:
        """What it teaches of the wind and, as any shot whose landing is known, of hits."""
        if lesson is None:
            return ()
        key, aside = (self.series.club, self.series.grade), lesson.weight == 0
        return lesson.part, hit_part(key, self.struck, tries=1, went_in=0, set_aside=aside)


class MeasuredResults:
    """Corrects measured shots and takes them back; their series follows where it still stands."""

    def __init__(self, *, db: Database, kits: Caddies, bags: BagCache, learner: Learner) -> None:
        self._db = db
        self._kits = kits
        self._bags = bags
        self._learner = learner

    async def correct(
        self, who: Actor, old: Result, *, outcome: str, wind: str, interaction_id: int
    ) -> Logged | None:
        """Put another landing or wind in its place; None where it was taken back before.

        Errors: InputError and ShotTextError for what can't be read.
        """
        caddie = await self._kits.caddie(who.community_id)
        bag = await self._bags.get(who.community_id, who.member_id)
        played = old.played
        if (played.club, played.grade, played.ball) not in caddie.kit_rack.row_of:
            raise InputError("The game has this club no more; take the shot back.", "/results")
        blew = read_wind(text=wind, kit=caddie.kit, bearing_deg=None, units=bag.units)
        series = Series(club=played.club, grade=played.grade, ball=played.ball)
        shot = _shot_of(played, blew)
        came = read_outcome(outcome, units=bag.units, mark=caddie.kit.mark.name)
        size_m = mark_m(caddie, series, shot)
        miss_m = (0.0, 0.0) if came.holed else known_miss_m(came, outcome, mark_m=size_m)
        long, right = played.aim_cm or (0, 0)
        aim_m = (long / CM, right / CM)
        new, law, struck = await asyncio.to_thread(
            hit, caddie=caddie, series=series, shot=shot, aim_m=aim_m, miss_m=miss_m
        )
        measured = Measured(series, shot, new, law, aim_m, miss_m, struck)
        row = measured.row(await self._learner.lesson(who.community_id, measured.seen))
        now = self._db.now()

        def fn(connection: Connection) -> Logged | None:
            found = correct_result(connection, old.id, row, interaction_id=interaction_id, at=now)
            if found is not None and found.counted:
                _put(connection, old, (new,), at=now)
            return found

        return await self._db.write(fn)

    async def take_back(self, old: Result) -> bool:
        """Take it out of all sums and of its series; False where that was done before."""
        now = self._db.now()

        def fn(connection: Connection) -> bool:
            if not remove_result(connection, old.id, at=now):
                return False
            _put(connection, old, (), at=now)
            return True

        return await self._db.write(fn)


def mark_m(caddie: Caddie, series: Series, shot: Shot) -> float:
    """A mark at the shot's carry, in metres."""
    assert shot.distance is not None
    row = caddie.kit_rack.row_of[series.club, series.grade, series.ball]
    rack = caddie.kit_rack.rack.take(np.array([row]))
    return float(rack.mark_m(np.array([shot.distance.m]))[0])


def known_miss_m(came: Outcome, text: str, *, mark_m: float) -> Pair:
    """Where a shot came down from its target. Errors: InputError where that was not said."""
    found = came.miss_m(mark_m=mark_m)
    if found is None:
        raise InputError("Say where it came down from the target.", "5 short, 3 right", text)
    return found


def _put(
    connection: Connection, old: Result, instead: tuple[HitShot, ...], *, at: datetime
) -> None:
    """Put ``instead`` in the place of a result's shot in its member's series, if it is there."""
    if old.member_id is None:
        return
    where = (connection, old.community_id, old.member_id, old.played.club)
    bare = Series(club=old.played.club, grade=old.played.grade, ball=old.played.ball)
    kept = kept_series(series_of(*where), bare)
    place = next((n for n, shot in enumerate(kept.shots) if _is(shot, old.played)), None)
    if place is None:
        return
    shots = (*kept.shots[:place], *instead, *kept.shots[place + 1 :])
    body = kept.model_copy(update={"shots": shots}).model_dump(mode="json")
    change_series(*where, lambda _: body, at=at)


def _is(shot: HitShot, played: Played) -> bool:
    there = (_cm(shot.observed_m), round(shot.carry_m * CM))
    return there == (played.observed_cm, played.carry_cm)


def _shot_of(played: Played, wind: Wind) -> Shot:
    height = (played.height_cm or 0) / CM
    return Shot(
        wind=wind,
        club=played.club,
        grade=played.grade,
        ball=played.ball,
        distance=Length(value=(played.carry_cm or 0) / CM, unit="m"),
        height=Height(value=height, unit="m") if height else None,
    )


def _cm(pair: Pair) -> tuple[int, int]:
    return round(pair[0] * CM), round(pair[1] * CM)
