"""Measuring a club on purpose: a series a coach can leave and take up again. Knows no Discord."""

import asyncio
from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict

from sqlalchemy import Connection

from bot.services.caddie.caddie import choose
from bot.services.kits.kept import KeptCharts, KitRepository, keep_charts, kept_charts
from bot.services.kits.names import club_name
from bot.services.learning.learner import Learner
from bot.services.learning.trust_service import TrustService
from bot.services.measure.results import Measured, known_miss_m, mark_m
from bot.services.measure.series import (
    HitShot,
    Series,
    Standing,
    charts_of,
    hit,
    kept_series,
    knowledge,
    measured_points,
    standing,
    stood_before,
)
from bot.services.members import BagCache, Caddies
from bot.services.results.outcome import read_outcome
from engine.measuring import ChartPoint
from shared.actor import Author
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Kit
from shared.shot import Shot
from shared.shot_text import parse
from storage.database import Database
from storage.json import JsonObject
from storage.played import Played
from storage.results import add_result
from storage.series import MeasuredSeries, change_series, drop_series

LEAST_FOR_CHART = 6
Speeds = tuple[float | None, float | None, float | None]


class _Who(TypedDict):
    member_id: int
    author_name: str


@dataclass(frozen=True)
class ChartPreview:
    """A measured chart: its points, and the marks per mph that stood there before."""

    points: tuple[ChartPoint, ...]
    before: tuple[float, ...]


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

    async def open(
        self,
        community_id: int,
        member_id: int,
        typed: str,
        speeds_mps: Speeds = (None, None, None),
    ) -> Standing:
        """A member's series of a club as it stands, a new one where there is none.

        ``speeds_mps`` is how strong it blows into, helping and across where it is measured, None
        where that was not said. Errors: InputError for a club the kit lacks.
        """
        caddie = await self.kits.caddie(community_id)
        club = club_name(caddie.kit, typed)
        series = await self._series_of(community_id, member_id, club)
        if any(speeds_mps):
            old = series.speeds_mps
            into, helping, across = (new or was for new, was in zip(speeds_mps, old, strict=True))
            windy = {"speeds_mps": (into, helping, across)}

            def with_wind(stored: JsonObject | None) -> JsonObject:
                kept = kept_series(stored, series).model_copy(update=windy)
                return kept.model_dump(mode="json")

            body = await self._series.change(community_id, member_id, club, with_wind)
            series = kept_series(body, series)
        return await self._standing(community_id, series)

    async def _series_of(self, community_id: int, member_id: int, club: str) -> Series:
        caddie = await self.kits.caddie(community_id)
        stored = await self._series.get(community_id, member_id, club)
        bag = await self._bags.get(community_id, member_id)
        choice = choose(shot=Shot(club=club), bag=bag, kit=caddie.kit)
        return kept_series(stored, Series(club=club, grade=choice.grade, ball=choice.ball))

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
        series = await self._series_of(community_id, member_id, club)
        played = _shot(shot, series, caddie.kit, bag)
        size_m = mark_m(caddie, series, played)
        mark = caddie.kit.mark.name
        aim_m, miss_m = _pair(aim, bag, mark, size_m, "marks"), _pair(landed, bag, mark, size_m, "")
        new, law, struck = await asyncio.to_thread(
            hit, caddie=caddie, series=series, shot=played, aim_m=aim_m, miss_m=miss_m
        )
        measured = Measured(series, played, new, law, aim_m, miss_m, struck)
        row = measured.row(await self._learner.lesson(community_id, measured.seen))
        who: _Who = {"member_id": member_id, "author_name": author}
        longer = await self._keep(community_id, who, series, row, new, interaction_id)
        if longer is not None:
            await self._learner.learn(community_id)
        return await self._standing(community_id, longer or series)

    async def _keep(
        self,
        community_id: int,
        who: "_Who",
        series: Series,
        row: Played,
        new: HitShot,
        interaction_id: int,
    ) -> Series | None:
        """The series with a shot that is kept as a result too; None where it was counted before."""
        now = self._db.now()

        def fn(connection: Connection) -> Series | None:
            press = (connection, community_id, row)
            logged = add_result(*press, **who, interaction_id=interaction_id, attempt=None, at=now)
            if not logged.counted:
                return None
            return _longer(connection, community_id, who["member_id"], series, new, now)

        return await self._db.write(fn)

    async def drop(self, community_id: int, member_id: int, club: str) -> None:
        """Forget a member's series; the shots stay among the results."""
        await self._series.drop(community_id, member_id, club)

    async def preview(self, community_id: int, member_id: int, *, club: str) -> ChartPreview:
        """What a series has measured, beside what stands.

        Errors: InputError for too short a series, EngineError where it shows no wind.
        """
        caddie = await self.kits.caddie(community_id)
        series = await self._series_of(community_id, member_id, club)
        if len(series.shots) < LEAST_FOR_CHART:
            raise InputError(
                f"A chart needs {LEAST_FOR_CHART} shots, and this series has {len(series.shots)}.",
                f"/measure club:{club}",
            )
        without = await self._learner.without_shots(community_id)

        def measured() -> ChartPreview:
            points = measured_points(caddie, knowledge(caddie, without, series), series)
            return ChartPreview(points, stood_before(caddie, series))

        return await asyncio.to_thread(measured)

    async def save_chart(
        self, community_id: int, member_id: int, *, club: str, author: Author
    ) -> ChartPreview:
        """Make the measured charts the club's law, over the kit's.

        What was measured stays evidence: the shots are weighed anew by the chart. Errors as in
        ``preview``.
        """
        found = await self.preview(community_id, member_id, club=club)
        charts, now, why = charts_of(found.points), self._db.now(), f"chart of the {club}"

        def keep(connection: Connection) -> bool:
            # On the charts as they stand, so that another coach's of another club stays.
            kept = kept_charts(connection, community_id).with_charts(club, charts)
            keep_charts(connection, community_id, kept, author=author, reason=why, at=now)
            drop_series(connection, community_id, member_id, club)
            return True

        what = f"saved a chart of the {club}"
        await self._trust.decide(community_id, author, what, "it was measured", keep)
        await self._play(community_id)
        return found

    async def undo_chart(self, community_id: int, *, club: str, author: Author) -> None:
        """Put back what stood before a club's last chart. Errors: InputError where nothing did."""
        now, why = self._db.now(), f"took back the chart of the {club}"

        def keep(connection: Connection) -> bool:
            kept: KeptCharts | None = kept_charts(connection, community_id).undone(club)
            if kept is None:
                return False
            keep_charts(connection, community_id, kept, author=author, reason=why, at=now)
            return True

        if not await self._trust.decide(community_id, author, why, "taken back", keep):
            raise InputError(f"The {club} has no chart to take back.", f"/measure club:{club}")
        await self._play(community_id)

    async def _play(self, community_id: int) -> None:
        """Have the community play its kit with the charts as they stand."""
        base = self.kits.first
        await self.kits.change_kit(community_id, await self._kept.get(community_id, base) or base)

    async def _standing(self, community_id: int, series: Series) -> Standing:
        caddie = await self.kits.caddie(community_id)
        posterior = await self._learner.without_shots(community_id)
        return await asyncio.to_thread(standing, caddie=caddie, posterior=posterior, series=series)


def _longer(
    connection: Connection,
    community_id: int,
    member_id: int,
    series: Series,
    new: HitShot,
    at: datetime,
) -> Series:
    """The stored series with one more shot, in the transaction that keeps the shot."""
    bare = series.model_copy(update={"shots": ()})

    def with_shot(stored: JsonObject | None) -> JsonObject:
        kept = kept_series(stored, bare)
        longer = kept.model_copy(update={"shots": (*kept.shots, new)})
        return longer.model_dump(mode="json")

    where = (connection, community_id, member_id, series.club)
    return kept_series(change_series(*where, with_shot, at=at), bare)


def _shot(text: str, series: Series, kit: Kit, bag: Bag) -> Shot:
    shot = parse(text, kit=kit, units=bag.units, bag=bag)
    if shot.wind is None or shot.distance is None:
        raise InputError("Give the wind and the carry.", "10 from 3, 150", text)
    if shot.club not in (None, series.club):
        raise InputError(f"This series is of the {series.club}.", "10 from 3, 150", text)
    if shot.onto is not None:
        raise InputError(
            "A measured shot is told by where it comes down, so without a ground.",
            "10 from 3, 150",
            text,
        )
    return shot.model_copy(update={"club": series.club, "grade": series.grade, "ball": series.ball})


def _pair(text: str, bag: Bag, mark: str, mark_m: float, unit: str) -> tuple[float, float]:
    """An offset as typed, in metres (long, right); 'straight' and 'on it' are nothing."""
    if text.strip().casefold() in ("", "straight", "none", "0", "on it", "in"):
        return 0.0, 0.0
    outcome = read_outcome(text, units=bag.units, mark=mark)
    bare = not any(u in text for u in ("yd", "yard", " m", "metre"))
    if outcome.known and unit == "marks" and bare:
        return outcome.long * mark_m, outcome.right * mark_m
    return known_miss_m(outcome, text, mark_m=mark_m)
