"""Settings by community."""

import asyncio

import pytest

from storage.database import Database
from storage.json import Json
from storage.settings import CommunitySettings
from storage.versions import Versions
from tests.unit.conftest import Opener

HERE, ELSEWHERE = 2**60 + 21, 2**60 + 22


async def test_settings_last_and_are_apart_by_community(db: Database, open_another: Opener) -> None:
    settings = CommunitySettings(db)
    await settings.set(HERE, coach_role=2**62 + 7, notes_channel=5, current={"event": "cup/3"})
    await settings.set(ELSEWHERE, notes_channel=6)
    await settings.set(HERE, notes_channel=9)
    await db.close()
    settings = CommunitySettings(await open_another())
    assert await settings.get(HERE, "coach_role") == 2**62 + 7
    assert await settings.get(HERE, "notes_channel") == 9
    assert await settings.get(HERE, "current") == {"event": "cup/3"}
    assert await settings.get(ELSEWHERE, "notes_channel") == 6


async def test_none_unsets_and_false_is_a_value(db: Database) -> None:
    settings = CommunitySettings(db)
    assert await settings.get(HERE, "quiet") is None
    await settings.set(HERE, quiet=False, round="r2")
    assert await settings.get(HERE, "quiet") is False
    await settings.set(HERE, quiet=None, round="r3")
    assert await settings.get(HERE, "quiet") is None
    assert await settings.get(HERE, "round") == "r3"


async def test_changes_at_once_all_count(db: Database, open_another: Opener) -> None:
    other = await open_another()

    def note(what: str):
        def fn(value: Json) -> Json:
            return [*value, what] if isinstance(value, list) else [what]

        return fn

    await asyncio.gather(
        *(
            CommunitySettings(database).change(HERE, "log", note(f"{name} {number}"))
            for name, database in (("here", db), ("there", other))
            for number in range(15)
        )
    )
    log = await CommunitySettings(db).get(HERE, "log")
    assert isinstance(log, list)
    assert sorted(map(str, log)) == sorted(f"{w} {n}" for w in ("here", "there") for n in range(15))
    assert (await Versions(db).of(HERE))["settings"] == 30


async def test_a_change_that_fails_or_empties(db: Database) -> None:
    settings = CommunitySettings(db)
    await settings.set(HERE, round="r2")

    def refuse(value: Json) -> Json:
        raise LookupError(value)

    with pytest.raises(LookupError, match="r2"):
        await settings.change(HERE, "round", refuse)
    assert await settings.get(HERE, "round") == "r2"
    assert await settings.change(HERE, "round", lambda _: None) is None
    assert await settings.get(HERE, "round") is None
