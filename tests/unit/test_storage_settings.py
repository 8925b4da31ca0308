"""Settings by community."""

from pathlib import Path

from storage.database import Database
from storage.settings import CommunitySettings

HERE, ELSEWHERE = 2**60 + 21, 2**60 + 22


async def test_settings_last_and_are_apart_by_community(db: Database, database_file: Path) -> None:
    settings = CommunitySettings(db)
    await settings.set(HERE, coach_role=2**62 + 7, notes_channel=5, current={"event": "cup/3"})
    await settings.set(ELSEWHERE, notes_channel=6)
    await settings.set(HERE, notes_channel=9)
    await db.close()
    again = await Database.open(f"sqlite:///{database_file}")
    settings = CommunitySettings(again)
    assert await settings.all(HERE) == {
        "coach_role": 2**62 + 7,
        "notes_channel": 9,
        "current": {"event": "cup/3"},
    }
    assert await settings.get(ELSEWHERE, "notes_channel") == 6
    await again.close()


async def test_none_unsets_and_false_is_a_value(db: Database) -> None:
    settings = CommunitySettings(db)
    assert await settings.get(HERE, "quiet") is None
    await settings.set(HERE, quiet=False, round="r2")
    assert await settings.get(HERE, "quiet") is False
    await settings.set(HERE, quiet=None, round="r3")
    assert await settings.all(HERE) == {"round": "r3"}
