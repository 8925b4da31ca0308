"""What an operator types: check, status, backup, restore, copy; each on its own database."""

import asyncio
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import text

from bot.__main__ import main
from bot.cli.operate import invitation
from storage.address import address_of
from storage.database import Database
from storage.engines import migration_engine
from storage.settings import CommunitySettings

HERE = 2**60 + 7
FORMED = "a" * 24 + "." + "b" * 6 + "." + "c" * 27


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    found = f"sqlite:///{tmp_path / 'season.db'}"
    monkeypatch.setenv("LEEWARD_DATABASE", found)
    monkeypatch.setenv("DISCORD_TOKEN", FORMED)
    put(found, "first")
    return found


def put(url: str, event: str) -> None:
    async def write() -> None:
        db = await Database.open(url)
        await CommunitySettings(db).set(HERE, event=event)
        await db.close()

    asyncio.run(write())


def event_in(url: str) -> object:
    async def read() -> object:
        db = await Database.open(url)
        found = await CommunitySettings(db).get(HERE, "event")
        await db.close()
        return found

    return asyncio.run(read())


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main(list(arguments))
    out, err = capsys.readouterr()
    return status, out, err


def test_a_backup_brings_back_what_was_there_and_keeps_what_is(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = said(capsys, "backup", str(tmp_path / "kept"))
    (file,) = (tmp_path / "kept").iterdir()
    assert status == 0 and str(file) in out
    put(url, "second")
    status, out, _ = said(capsys, "restore", str(file))
    assert status == 0 and event_in(url) == "first"
    replaced = Path(out.strip().rsplit(" ", 1)[1])
    assert event_in(f"sqlite:///{replaced}") == "second"


def test_only_the_newest_backups_are_kept(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for _ in range(4):
        assert said(capsys, "backup", str(tmp_path / "kept"), "--keep", "3")[0] == 0
    assert len(list((tmp_path / "kept").iterdir())) == 3


def test_what_is_no_backup_replaces_nothing(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as raw:
        raw.execute("CREATE TABLE shots (n INTEGER)")
    status, out, err = said(capsys, "restore", str(other))
    assert (status, out) == (2, "") and "holds no database of Leeward" in err
    assert event_in(url) == "first"


def test_status_counts_rows(url: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = said(capsys, "status")
    assert status == 0
    assert "settings: 1" in out.splitlines() and "results: 0" in out.splitlines()
    assert "waiting to be posted: 0; refused: 0" in out


def test_a_copy_holds_the_same(
    url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = f"sqlite:///{tmp_path / 'copied.db'}"
    status, out, _ = said(capsys, "copy", target)
    assert status == 0 and "settings: 1" in out.splitlines()
    assert event_in(target) == "first"


def test_a_purge_counts_first_and_then_takes_one_community_whole(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    other = HERE + 1

    async def another() -> None:
        db = await Database.open(url)
        await CommunitySettings(db).set(other, event="theirs", quiet=True)
        await db.close()

    asyncio.run(another())
    status, out, _ = said(capsys, "purge", str(other))
    assert status == 1 and out.splitlines()[:2] == ["settings: 2", "versions: 1"]
    assert f"python -m bot purge {other} --yes" in out
    status, out, _ = said(capsys, "purge", str(other), "--yes")
    assert status == 0 and "Deleted these 3 rows" in out
    status, out, _ = said(capsys, "purge", str(other), "--yes")
    assert (status, out) == (0, f"Nothing is kept of community {other}.\n")
    assert event_in(url) == "first"


def test_check_finds_what_is_wrong_and_shows_no_secret(
    url: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    status, out, _ = said(capsys, "check", "--client", "4711")
    assert status == 0 and out.count("ok ") == 3 and "client_id=4711" in out
    assert FORMED not in out
    (open_,) = [row for row in out.splitlines() if row.startswith("Everybody sees ")]
    assert "/wind" in open_ and "/event" not in open_ and "/setup" not in open_
    (hidden,) = [row for row in out.splitlines() if row.startswith("Only who manages")]
    assert hidden.endswith("/event, /gain, /kit, /line, /poll, /publish, /setup and /sharing.")
    assert "A coaches' role must be allowed these once, all but /setup" in out
    monkeypatch.setenv("DISCORD_TOKEN", "hunter2")
    monkeypatch.setenv("LEEWARD_DATABASE", f"sqlite:///{tmp_path / 'fresh.db'}")
    _, out, _ = said(capsys, "check")
    assert f"ok  database: {tmp_path / 'fresh.db'} is not there yet" in out
    assert not (tmp_path / "fresh.db").exists()
    monkeypatch.setenv("LEEWARD_DATABASE", "sqlite:////no/such/place/leeward.db")
    _, out, _ = said(capsys, "check")
    assert "BAD database: " in out
    monkeypatch.setenv("LEEWARD_DATABASE", url)
    status, out, _ = said(capsys, "check", "--kit", "/no/such/kit.toml")
    assert status == 1 and out.count("BAD") == 2 and "hunter2" not in out


def test_check_names_a_mistyped_setting_and_a_database_of_a_newer_leeward(
    url: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LEEWARD_DATABSE", url)
    status, out, _ = said(capsys, "check")
    assert status == 1 and "BAD LEEWARD_DATABSE is no setting" in out and "LEEWARD_DATABASE," in out
    monkeypatch.delenv("LEEWARD_DATABSE")
    engine = migration_engine(address_of(url))
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    status, out, _ = said(capsys, "check")
    assert status == 1 and "BAD database: " in out and "a newer Leeward wrote it" in out


def test_where_nothing_can_be_written_or_is_not_there_yet_a_sentence_says_so(
    url: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    file = tmp_path / "a-file"
    file.write_text("no directory")
    status, _, err = said(capsys, "backup", str(file))
    assert status == 2 and err.startswith(f"The directory {file} cannot be made (")
    monkeypatch.setenv("LEEWARD_DATABASE", f"sqlite:///{tmp_path / 'new.db'}")
    for command in (("status",), ("backup", str(tmp_path)), ("copy", url)):
        status, _, err = said(capsys, *command)
        assert status == 2 and err.startswith(f"There is no database {tmp_path / 'new.db'} yet;")
    monkeypatch.setenv("LEEWARD_DATABASE", f"sqlite:///{tmp_path / 'no' / 'new.db'}")
    status, _, err = said(capsys, "run")
    assert status == 2 and err.startswith(f"The directory {tmp_path / 'no'} for the database")


def test_the_invitation_asks_for_what_is_needed_and_no_more() -> None:
    granted = int(invitation(3).split("permissions=")[1].split("&")[0])
    # Bits from Discord's reference: view 10, send 11, embed 14, attach 15, history 16,
    # send in threads 38, polls 49.
    assert granted == sum(1 << bit for bit in (10, 11, 14, 15, 16, 38, 49))
