"""Who left is purged after a while or at once, and nobody else; small tables of members."""

import asyncio
from datetime import timedelta

import pytest
from sqlalchemy import Connection

from storage.communities import Communities
from storage.database import Database
from storage.decisions import (
    Decision,
    Decisions,
    FrozenClub,
    freeze_club,
    release_club,
)
from storage.divisions import Divisions
from storage.drafts import KEPT, Drafts
from storage.json import JsonObject
from storage.series import MeasuredSeries
from storage.versions import Versions
from tests.unit.conftest import HandClock, Opener, everything
from tests.unit.filling import fill, rows_of

HERE, ELSEWHERE, GONE = 2**60 + 81, 2**60 + 82, 2**60 + 83
ANN, BEN = 2**61 + 81, 2**61 + 82


async def test_who_is_served_and_who_left(db: Database, clock: HandClock) -> None:
    communities = Communities(db)
    await communities.here([])
    await communities.here([HERE, GONE, HERE])
    assert await communities.served() == [HERE, GONE]
    assert await communities.left(GONE) is True and await communities.left(GONE) is False
    assert await communities.left(ELSEWHERE) is False
    assert await communities.served() == [HERE]
    clock.advance(seconds=86_400)
    await communities.here([GONE, ELSEWHERE])
    assert await communities.served() == [HERE, ELSEWHERE, GONE]


async def test_what_is_kept_of_who_left_goes_when_its_time_has_come(
    db: Database, clock: HandClock
) -> None:
    communities, kept = Communities(db), timedelta(days=30)
    for number, community in enumerate((HERE, ELSEWHERE, GONE)):
        await fill(db, community, ANN + number, 1000 * (number + 1))
    full = await db.read(lambda connection: rows_of(connection, GONE))
    assert all(full.values())
    await communities.left(GONE)
    await communities.left(ELSEWHERE)
    clock.advance(seconds=29 * 86_400)
    assert await communities.purge_left(kept=kept) == []
    await communities.here([ELSEWHERE])  # is back
    clock.advance(seconds=86_400)
    assert await communities.purge_left(kept=kept) == [GONE]
    assert await communities.purge_left(kept=kept) == []
    assert not any((await db.read(lambda connection: rows_of(connection, GONE))).values())
    assert str(GONE) not in await db.read(everything)
    for community in (HERE, ELSEWHERE):
        assert await db.read(lambda c, community=community: rows_of(c, community)) == full


async def test_at_once_on_request(db: Database) -> None:
    await fill(db, HERE, ANN, 1000)
    rows = await db.read(lambda connection: rows_of(connection, HERE))
    assert await Communities(db).purge(HERE) == rows
    assert set((await Communities(db).purge(HERE)).values()) == {0}


async def test_divisions(db: Database) -> None:
    divisions = Divisions(db)
    names = ("Gold", "silver", "bronze")

    async def division(member: int, event: str, community: int = HERE) -> str | None:
        return await divisions.get(community, member, event=event, among=names)

    await divisions.put(HERE, ANN, "gold", event="spring")
    await divisions.put(HERE, BEN, "silver", event="spring")
    await divisions.put(HERE, ANN, "bronze", event="autumn")
    assert [await division(each, "spring") for each in (ANN, BEN, 7)] == ["Gold", "silver", None]
    assert await division(ANN, "autumn") == "bronze"
    assert await division(ANN, "winter") == "bronze"  # of another event: as said last
    assert await divisions.get(HERE, ANN, event="winter", among=("Gold",)) == "Gold"
    assert await divisions.get(HERE, ANN, event="winter", among=("wood",)) is None
    assert await division(ANN, "spring", ELSEWHERE) is None


async def test_the_last_drafts_of_each_coach_are_kept(db: Database, open_another: Opener) -> None:
    drafts, others = Drafts(db), Drafts(await open_another())
    await drafts.put(HERE, BEN, "b0", {"of": "Ben"})
    await asyncio.gather(*(drafts.put(HERE, ANN, f"a{n}", {"n": n}) for n in range(KEPT - 2)))
    await others.put(HERE, ANN, "a0", {"n": "typed anew"})
    await asyncio.gather(
        others.put(HERE, ANN, "x1", {"n": 11}), drafts.put(HERE, ANN, "x2", {"n": 12})
    )
    tokens = [*(f"a{n}" for n in range(KEPT - 2)), "x1", "x2"]
    assert [await drafts.get(HERE, ANN, token) is not None for token in tokens] == [True] * KEPT
    assert await drafts.get(HERE, ANN, "a0") == {"n": "typed anew"}
    for number in range(KEPT - 1):
        await drafts.put(HERE, ANN, f"y{number}", {"n": 20 + number})
    assert await drafts.get(HERE, ANN, "a0") is None
    assert await drafts.get(HERE, ANN, "a1") is None
    assert await drafts.get(HERE, ANN, "y0") == {"n": 20}
    assert await drafts.get(HERE, BEN, "b0") == {"of": "Ben"}
    assert (
        await drafts.drop(HERE, ANN, "y0") is True and await drafts.drop(HERE, ANN, "y0") is False
    )


async def test_shots_of_a_series_at_once_all_count(db: Database, open_another: Opener) -> None:
    both = MeasuredSeries(db), MeasuredSeries(await open_another())

    def with_shot(number: int):
        def change(body: JsonObject | None) -> JsonObject:
            shots = (body or {}).get("shots", [])
            assert isinstance(shots, list)
            return {"shots": [*shots, number]}

        return change

    await asyncio.gather(
        *(both[n % 2].change(HERE, ANN, "wedge", with_shot(n)) for n in range(24)),
        both[0].change(HERE, ANN, "driver", with_shot(7)),
        both[1].change(HERE, BEN, "wedge", with_shot(8)),
    )
    series = await both[0].get(HERE, ANN, "wedge")
    assert series is not None and isinstance(series["shots"], list)
    assert sorted(map(str, series["shots"])) == sorted(map(str, range(24)))
    assert await both[0].drop(HERE, ANN, "wedge") is True
    assert await both[0].drop(HERE, ANN, "wedge") is False
    assert await both[1].get(HERE, ANN, "wedge") is None
    assert await both[1].get(HERE, ANN, "driver") == {"shots": [7]}


async def test_a_decision_and_its_effect_are_one(db: Database) -> None:
    decisions, now = Decisions(db), db.now()
    frozen = FrozenClub("wedge", "new ball", {"plain": [[1.0, 2.5], 0.25]})

    def decided(what: str) -> Decision:
        return Decision(ANN, "Ann", what, "new ball", now)

    def freeze(connection: Connection) -> bool:
        return freeze_club(connection, HERE, frozen, at=now)

    def fail(connection: Connection) -> bool:
        release_club(connection, HERE, "wedge")
        raise LookupError("the sums are gone")

    def release(connection: Connection) -> bool:
        return release_club(connection, HERE, "wedge")

    assert await decisions.decide(HERE, decided("froze"), freeze) is True
    assert await decisions.frozen(HERE) == [frozen] and await decisions.frozen(ELSEWHERE) == []
    with pytest.raises(LookupError):
        await decisions.decide(HERE, decided("failed"), fail)
    assert await decisions.frozen(HERE) == [frozen]
    assert await decisions.decide(HERE, decided("released"), release) is True
    assert await decisions.decide(HERE, decided("released again"), release) is False
    assert await decisions.last(HERE) == [decided("released"), decided("froze")]
    assert await decisions.last(HERE, limit=1) == [decided("released")]
    assert (await Versions(db).of(HERE))["belief"] == 2
