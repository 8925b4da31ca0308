"""Measuring a club on purpose: a series a coach can leave and take up again. Knows no Discord."""

import asyncio

import numpy as np
from sqlalchemy import Connection

from bot.services.caddie.caddie import Caddie, choose
from bot.services.kits.kept import KitRepository, keep_kit, kept_kit, with_chart
from bot.services.kits.names import club_name
from bot.services.learning.learner import Learner, Lesson
from bot.services.learning.trust_service import TrustService
from bot.services.measure.series import HitShot, Series, Standing, hit, measured_chart, standing
from bot.services.members import BagCache, Caddies
from bot.services.results.outcome import read_outcome
from engine.measure import ChartPoint
from shared.actor import Author
from shared.bag import Bag
from shared.errors import InputError
from shared.keys import MEASURED, measured_line
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text import parse
from storage.database import Database
from storage.json import JsonObject
from storage.played import Played
from storage.results import add_result
from storage.series import MeasuredSeries, change_series, drop_series

LEAST_FOR_CHART = 4
VARIANT = "M"
CM = 100


class MeasureService:
    """Series by member and club."""

    def __init__(
        self,
        *,
        db: Database,
        kits: Caddies,
        kept: KitRepository,
        bags: BagCache,
        learner: Learner,
        trust: TrustService,
    ) -> None:
        self._db = db
        self._series = MeasuredSeries(db)
        self.kits = kits
        self._kept = kept
        self._bags = bags
        self._learner = learner
        self._trust = trust

    async def open(self, community_id: int, member_id: int, typed: str) -> Standing:
        """A member's series of a club as it stands, a new one where there is none.

        Errors: InputError for a club the kit lacks.
        """
        caddie = await self.kits.caddie(community_id)
        club = club_name(caddie.kit, typed)
        stored = await self._series.get(community_id, member_id, club)
        bag = await self._bags.get(community_id, member_id)
        choice = choose(shot=Shot(club=club), bag=bag, kit=caddie.kit)
        series = Series(club=club, grade=choice.grade, ball=choice.ball)
        return await self._standing(community_id, _kept_of(stored, series))

    async def log(
        self,
        community_id: int,
        member_id: int,
        *,
        club: str,
        shot: str,
        aim: str,
        landed: str,
        author: str,
        interaction_id: int,
    ) -> Standing:
        """Take in a played shot of a member's series; the same press counts once.

        Errors: ShotTextError and InputError for what can't be read.
        """
        caddie = await self.kits.caddie(community_id)
        bag = await self._bags.get(community_id, member_id)
        series = (await self.open(community_id, member_id, club)).series
        played = _shot(shot, series, caddie.kit, bag)
        mark_m = _mark_m(caddie, series, played)
        aim_m = _pair(aim, bag, caddie.kit.mark.name, mark_m, "marks")
        miss_m = _pair(landed, bag, caddie.kit.mark.name, mark_m, "")
        new = await asyncio.to_thread(
            hit, caddie=caddie, series=series, shot=played, aim_m=aim_m, miss_m=miss_m
        )
        lesson = await self._learner.lesson(
            community_id,
            club=series.club,
            grade=series.grade,
            predicted_m=new.predicted_m,
            observed_m=new.observed_m,
        )
        row, now = _row(series, new, miss_m, lesson), self._db.now()
        bare = series.model_copy(update={"shots": ()})

        def with_shot(stored: JsonObject | None) -> JsonObject:
            kept = _kept_of(stored, bare)
            longer = kept.model_copy(update={"shots": (*kept.shots, new)})
            return longer.model_dump(mode="json")

        def fn(connection: Connection) -> Series | None:
            logged = add_result(
                connection,
                community_id,
                row,
                member_id=member_id,
                author_name=author,
                interaction_id=interaction_id,
                attempt=None,
                at=now,
            )
            if not logged.counted:
                return None
            where = (connection, community_id, member_id, series.club)
            return Series.model_validate(change_series(*where, with_shot, at=now))

        longer = await self._db.write(fn)
        if longer is not None:
            await self._learner.learn(community_id)
        return await self._standing(community_id, longer or series)

    async def drop(self, community_id: int, member_id: int, club: str) -> None:
        """Forget a member's series; the shots stay among the results."""
        await self._series.drop(community_id, member_id, club)

    async def save_chart(
        self, community_id: int, member_id: int, *, club: str, author: Author
    ) -> tuple[ChartPoint, ...]:
        """Make the measured chart the club's law, as a revision of the kit.

        What the chart has taken in is no longer learned twice: the club begins anew. Errors:
        InputError for too short a series, EngineError where it shows no wind.
        """
        caddie = await self.kits.caddie(community_id)
        series = (await self.open(community_id, member_id, club)).series
        if len(series.shots) < LEAST_FOR_CHART:
            raise InputError(
                f"A chart needs {LEAST_FOR_CHART} shots, and this series has {len(series.shots)}.",
                f"/measure club:{club}",
            )
        unlearned = await self._learner.without_shots(community_id)
        points = await asyncio.to_thread(
            measured_chart, caddie=caddie, posterior=unlearned, series=series
        )
        chart = tuple((round(p.share, 3), round(p.marks_per_mph, 3)) for p in points)
        now, why = self._db.now(), f"chart of the {club}"

        def keep(connection: Connection) -> None:
            # On the kit as it stands, so that another coach's chart of another club stays.
            kit = with_chart(kept_kit(connection, community_id) or caddie.kit, series.club, chart)
            keep_kit(connection, community_id, kit, author=author, reason=why, at=now)
            drop_series(connection, community_id, member_id, series.club)

        reason = "its measured chart was saved"
        await self._trust.reset(community_id, series.club, coach=author, reason=reason, also=keep)
        await self.kits.change_kit(community_id, await self._kept.get(community_id) or caddie.kit)
        return points

    async def _standing(self, community_id: int, series: Series) -> Standing:
        caddie = await self.kits.caddie(community_id)
        posterior = await self._learner.without_shots(community_id)
        return await asyncio.to_thread(standing, caddie=caddie, posterior=posterior, series=series)


def _kept_of(stored: JsonObject | None, new: Series) -> Series:
    """The stored series where it is of the same grade and ball, else the new one."""
    kept = Series.model_validate(stored) if stored else new
    return kept if (kept.grade, kept.ball) == (new.grade, new.ball) else new


def _shot(text: str, series: Series, kit: Kit, bag: Bag) -> Shot:
    shot = parse(text, kit=kit, units=bag.units, bag=bag)
    if shot.wind is None or shot.distance is None:
        raise InputError("Give the wind and the carry.", "10 mph from 3, 150", text)
    if shot.club not in (None, series.club):
        raise InputError(f"This series is of the {series.club}.", "10 mph from 3, 150", text)
    return shot.model_copy(update={"club": series.club, "grade": series.grade, "ball": series.ball})


def _mark_m(caddie: Caddie, series: Series, shot: Shot) -> float:
    assert shot.distance is not None
    row = caddie.kit_rack.row_of[series.club, series.grade, series.ball]
    rack = caddie.kit_rack.rack.take(np.array([row]))
    return float(rack.mark_m(np.array([shot.distance.m]))[0])


def _pair(text: str, bag: Bag, mark: str, mark_m: float, unit: str) -> tuple[float, float]:
    """An offset as typed, in metres (long, right); 'straight' and 'on it' are nothing."""
    if text.strip().casefold() in ("", "straight", "none", "0", "on it", "in"):
        return 0.0, 0.0
    outcome = read_outcome(text, units=bag.units, mark=mark)
    bare = not any(u in text for u in ("yd", "yard", " m", "metre"))
    if outcome.known and unit == "marks" and bare:
        return outcome.long * mark_m, outcome.right * mark_m
    found = outcome.miss_m(mark_m=mark_m)
    if found is None:
        raise InputError("Say where it came down from the target.", "5 short, 3 right", text)
    return found


def _row(
    series: Series, new: HitShot, miss_m: tuple[float, float], lesson: Lesson | None
) -> Played:
    """A shot of a series as a result."""
    return Played(
        hole_key=MEASURED,
        line_key=measured_line(series.club),
        variant=VARIANT,
        holed=False,
        miss_cm=_cm(miss_m),
        club=series.club,
        grade=series.grade,
        ball=series.ball,
        effect_cm=_cm(new.predicted_m),
        observed_cm=_cm(new.observed_m),
        weight=lesson.weight if lesson else 0.0,
        parts=(lesson.part,) if lesson else (),
    )


def _cm(pair: tuple[float, float]) -> tuple[int, int]:
    return round(pair[0] * CM), round(pair[1] * CM)
