"""The aims members were told: found again for the same shot in the same wind, and forgotten."""

from datetime import UTC, datetime

import pytest

from bot.services.caddie.adapt import read_wind
from bot.services.caddie.rack import Choice
from bot.services.members import (
    KEPT_MEMBERS,
    ToldAim,
    ToldAims,
    aim_told,
    wind_mmps,
)
from storage.database import Database
from storage.faults import DatabaseError
from storage.told import KEPT_AIMS, KeptAims
from tests.kits import demo_kit
from tests.unit.conftest import HandClock

FIVE = Choice("5-iron", "oak", "plover")


def told(aim: tuple[float, float], *, wind: str = "8 mph from 2", carry_yd: float = 150) -> ToldAim:
    return ToldAim(FIVE, wind_mmps(read_wind(text=wind, kit=demo_kit())), carry_yd, aim)


def found(
    *aims: ToldAim, wind: str = "8 mph from 2", carry_yd: float = 150, choice: Choice = FIVE
) -> tuple[float, float] | None:
    blows = read_wind(text=wind, kit=demo_kit())
    return aim_told(aims, choice=choice, wind=blows, carry_yd=carry_yd)


@pytest.mark.parametrize(
    "other",
    [
        {"wind": "8 mph from 10"},
        {"wind": "9 mph from 2"},
        {"carry_yd": 152.0},
        {"choice": Choice("5-iron", "yew", "plover")},
        {"choice": Choice("5-iron", "oak", "heron")},
        {"choice": Choice("6-iron", "oak", "plover")},
    ],
)
def test_an_aim_is_found_for_its_own_shot_only(other: dict[str, object]) -> None:
    aim = told((3.0, 7.0))
    assert found(aim, wind="8.3 mph from 2", carry_yd=150.6) == (3.0, 7.0)
    assert found(aim, **other) is None  # pyright: ignore[reportArgumentType]


def test_a_note_on_the_choice_does_not_matter() -> None:
    assert found(told((3.0, 7.0)), choice=Choice(*("5-iron", "oak", "plover"), ("so",))) is not None


@pytest.mark.parametrize("kept", [False, True])
async def test_the_latest_aim_told_is_the_one_aimed_by(db: Database, kept: bool) -> None:
    aims = ToldAims(KeptAims(db))
    aims.note(1, 5, told((3.0, 7.0)))
    if kept:
        await aims.all_kept()
    aims.note(1, 5, told((2.0, 6.0)))
    aims.note(1, 6, told((9.0, 9.0)))
    aims.note(2, 5, told((8.0, 8.0)))
    if kept:
        await aims.all_kept()
    assert found(*await aims.of(1, 5)) == (2.0, 6.0)
    assert [aim.aim_yd for aim in await aims.of(1, 5)] == [(2.0, 6.0), (3.0, 7.0)]
    assert await aims.of(2, 6) == ()


async def test_half_a_day_later_nobody_knows_what_was_aimed_by(
    db: Database, clock: HandClock
) -> None:
    aims = ToldAims(KeptAims(db))
    aims.note(1, 5, told((3.0, 7.0)))
    clock.advance(seconds=11 * 3600.0)
    aims.note(1, 5, told((2.0, 6.0), carry_yd=120))
    assert [aim.aim_yd for aim in await aims.of(1, 5)] == [(2.0, 6.0), (3.0, 7.0)]
    clock.advance(seconds=2 * 3600.0)
    assert [aim.aim_yd for aim in await aims.of(1, 5)] == [(2.0, 6.0)]


async def test_what_is_kept_does_not_grow_without_end(
    sqlite_db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    aims = ToldAims(KeptAims(sqlite_db))
    for number in range(KEPT_AIMS + 5):
        aims.note(1, 5, told((float(number), 7.0)))
        if number == 3:
            await aims.all_kept()
    await aims.all_kept()
    newest = await aims.of(1, 5)
    assert len(newest) == KEPT_AIMS and newest[0].aim_yd[0] == KEPT_AIMS + 4
    for member in range(KEPT_MEMBERS + 5):
        aims.note(2, member, told((1.0, 2.0)))
    assert len(aims._new) == KEPT_MEMBERS
    await aims.all_kept()
    assert aims._new == {}
    assert await aims.of(2, 4) == () and len(await aims.of(2, KEPT_MEMBERS)) == 1


async def test_what_could_not_be_kept_is_known_here_and_kept_with_the_next(
    db: Database, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    kept = KeptAims(db)
    aims = ToldAims(kept)

    async def locked(_: object) -> None:
        raise DatabaseError("The database is busy.", detail="/srv/leeward.db is locked")

    with monkeypatch.context() as patch:
        patch.setattr(kept, "add", locked)
        aims.note(1, 5, told((3.0, 7.0)))
        await aims.all_kept()
    assert "The database is busy" in caplog.text and "/srv" not in caplog.text
    assert found(*await aims.of(1, 5)) == (3.0, 7.0)
    assert await ToldAims(kept).of(1, 5) == ()
    aims.note(1, 5, told((2.0, 6.0)))
    await aims.all_kept()
    assert [aim.aim_yd for aim in await ToldAims(kept).of(1, 5)] == [(2.0, 6.0), (3.0, 7.0)]


def test_what_is_kept_of_an_aim_says_the_ground_it_was_told_for() -> None:
    """As it was written before grounds were, it is of none."""
    told = ToldAim(Choice("5-iron", "ash", "plover"), (-3000, 400), 160.0, (2.0, 11.0), "green")
    body = told.body(datetime(2026, 11, 1, tzinfo=UTC))
    assert ToldAim.read(body) == told
    del body["onto"]
    assert ToldAim.read(body).onto is None
