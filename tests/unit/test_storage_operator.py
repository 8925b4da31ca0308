"""Backups that can be put back, copies between databases, one process to a file."""

import os
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from shared.errors import StorageError
from storage.address import address_of
from storage.backup import PREFIX, backup, restore, verify
from storage.copy import copy
from storage.database import Database
from storage.lock import FileLock
from storage.migrations import HEAD
from storage.outbox import Outbox
from storage.settings import CommunitySettings
from storage.status import status_of
from tests.postgres import Server
from tests.unit.conftest import HandClock, make
from tests.unit.filling import contents, fill

HERE, ANN = 2**60 + 71, 2**61 + 71
NOW = datetime(2031, 3, 9, 18, 30, tzinfo=UTC)


async def filled(url: str, clock: HandClock) -> dict[str, list[tuple[object, ...]]]:
    db = await Database.open(url, clock=clock)
    await fill(db, HERE, ANN, 1000)
    await fill(db, HERE + 1, ANN + 1, 2000)
    found = await db.read(contents)
    await db.close()
    assert all(found.values())  # no table is forgotten
    return found


async def kept_in(url: str) -> dict[str, list[tuple[object, ...]]]:
    db = await Database.open(url)
    found = await db.read(contents)
    await db.close()
    return found


async def test_a_restore_brings_back_what_was(
    database_url: str, clock: HandClock, server: Server, empty_on_server: str, tmp_path: Path
) -> None:
    before = await filled(database_url, clock)
    path = backup(database_url, tmp_path / "kept", now=NOW)
    assert path.parent == tmp_path / "kept" and list(path.parent.iterdir()) == [path]
    if database_url.startswith("sqlite"):
        db = await Database.open(database_url)
        await CommunitySettings(db).set(HERE, event="another")  # and stays in the log beside it
        await db.close()
        assert await kept_in(database_url) != before
        replaced = restore(path, database_url, now=NOW)
        assert replaced is not None
        assert await kept_in(f"sqlite:///{replaced}") != before
    else:
        with pytest.raises(StorageError, match="holds something already"):
            restore(path, database_url)
        database_url = server.url(server.create(empty_on_server))
        assert restore(path, database_url) is None
    assert await kept_in(database_url) == before


async def test_a_backup_of_a_database_in_use_is_one_moment(
    database_url: str, clock: HandClock, tmp_path: Path
) -> None:
    db = await Database.open(database_url, clock=clock)
    await fill(db, HERE, ANN, 1000)
    path = backup(database_url, tmp_path, now=NOW)
    await CommunitySettings(db).set(HERE, event="later")
    await db.close()
    status = verify(path)
    assert status.version == HEAD and status.rows["results"] == 2 and status.waiting == 2
    copied = await Database.open(f"sqlite:///{path}")
    assert await CommunitySettings(copied).get(HERE, "event") == "cup"
    await copied.close()


async def test_a_stale_log_does_not_undo_a_restore(database_file: Path, tmp_path: Path) -> None:
    url = f"sqlite:///{database_file}"
    db = await Database.open(url)
    await CommunitySettings(db).set(HERE, event="kept")
    path = backup(url, tmp_path / "kept", now=NOW)
    await CommunitySettings(db).set(HERE, event="in the log only")
    log = database_file.with_name(database_file.name + "-wal")
    content = log.read_bytes()
    await db.close()
    log.write_bytes(content)  # as a power cut leaves it
    restore(path, url)
    db = await Database.open(url)
    assert await CommunitySettings(db).get(HERE, "event") == "kept"
    await db.close()


async def test_a_damaged_database_can_be_replaced(database_file: Path, tmp_path: Path) -> None:
    url = f"sqlite:///{database_file}"
    path = backup(url, tmp_path / "kept", now=NOW)
    database_file.write_bytes(b"no database any more" * 500)
    replaced = restore(path, url, now=NOW)
    assert replaced is not None and replaced.read_bytes().startswith(b"no database any more")
    assert (await kept_in(url))["bags"] == []


async def test_the_newest_backups_stay(database_file: Path, tmp_path: Path) -> None:
    (tmp_path / "diary.db").write_text("not ours")
    for days in range(5):
        backup(f"sqlite:///{database_file}", tmp_path, keep=3, now=NOW + timedelta(days=days))
    found = sorted(path.name for path in tmp_path.glob(f"{PREFIX}*"))
    assert found == [f"{PREFIX}203103{day}T183000000000Z.db" for day in ("11", "12", "13")]
    assert (tmp_path / "diary.db").exists()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "There is no file"),
        (b"notes" * 900, "not a SQLite database"),
        (b"", "no database of"),
    ],
)
async def test_what_is_no_backup_replaces_nothing(
    database_file: Path, tmp_path: Path, content: bytes | None, says: str
) -> None:
    path, before = tmp_path / "given.db", database_file.read_bytes()
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(StorageError, match=says):
        restore(path, f"sqlite:///{database_file}")
    assert database_file.read_bytes() == before


async def test_a_backup_with_a_damaged_page_is_refused(
    database_file: Path, tmp_path: Path, clock: HandClock
) -> None:
    await filled(f"sqlite:///{database_file}", clock)
    path = backup(f"sqlite:///{database_file}", tmp_path / "kept", now=NOW)
    content = bytearray(path.read_bytes())
    content[8 * 4096 : 24 * 4096] = b"\x07" * (16 * 4096)
    path.write_bytes(content)
    with pytest.raises(StorageError, match="damaged"):
        verify(path)


def test_a_failed_backup_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "bad.db").write_bytes(b"notes" * 900)
    with pytest.raises(StorageError, match="not a SQLite database"):
        backup(f"sqlite:///{tmp_path / 'bad.db'}", tmp_path / "kept")
    assert list((tmp_path / "kept").iterdir()) == []


async def test_there_and_back_again_is_the_same(
    database_file: Path, server_url: str, tmp_path: Path, clock: HandClock
) -> None:
    first, last = f"sqlite:///{database_file}", f"sqlite:///{tmp_path / 'back.db'}"
    before = await filled(first, clock)
    counts = copy(first, server_url)
    assert counts == {name: len(rows) for name, rows in before.items()}
    assert await kept_in(server_url) == before
    assert copy(server_url, last) == counts
    assert await kept_in(last) == before
    for url in (server_url, last):  # and what is added gets numbers of its own
        db = await Database.open(url, clock=clock)
        await Outbox(db).want(HERE, "next", 5, {"text": "n"})
        message = await Outbox(db).get(HERE, "next")
        assert message is not None and message.id == 7  # 3 and 6 were withdrawn
        await fill(db, HERE + 2, ANN + 2, 3000)
        await db.close()


async def test_what_cannot_be_copied_is_a_sentence(
    database_file: Path, server_url: str, tmp_path: Path, clock: HandClock
) -> None:
    url = f"sqlite:///{database_file}"
    with pytest.raises(StorageError, match="onto itself"):
        copy(url, url)
    await filled(server_url, clock)
    with pytest.raises(StorageError, match="holds something already"):
        copy(url, server_url)
    with sqlite3.connect(database_file) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0007'")
    with pytest.raises(StorageError, match=r"is at version 0007, this Leeward at"):
        copy(url, f"sqlite:///{tmp_path / 'new.db'}")


async def test_a_copy_that_fails_leaves_the_target_empty(
    database_file: Path, server_url: str, clock: HandClock
) -> None:
    await filled(f"sqlite:///{database_file}", clock)
    with sqlite3.connect(database_file) as raw:  # as an old version kept it
        raw.execute("UPDATE votes SET community_id = 7, poll_id = 999")
    with pytest.raises(StorageError, match="refused"):
        copy(f"sqlite:///{database_file}", server_url)
    assert not any((await kept_in(server_url)).values())


async def test_status_looks_and_changes_nothing(
    database_url: str, clock: HandClock, tmp_path: Path
) -> None:
    await filled(database_url, clock)
    status = status_of(database_url, now=clock.time + timedelta(seconds=1))
    assert (status.version, status.head) == (HEAD, HEAD)
    assert (status.rows["outbox"], status.rows["bags"], status.rows["results"]) == (4, 2, 4)
    assert (status.waiting, status.refused, status.due, status.left) == (4, 0, 4, 0)
    assert status.waiting_since == clock.time and status.bytes > 100_000
    with pytest.raises(StorageError, match=r"There is no database .*missing\.db yet"):
        status_of(f"sqlite:///{tmp_path / 'missing.db'}")
    with pytest.raises(StorageError, match="cannot be opened; check that its directory exists"):
        status_of(f"sqlite:///{tmp_path / 'no' / 'missing.db'}")
    assert not (tmp_path / "missing.db").exists()


def test_the_second_process_on_a_file_is_refused(database_file: Path) -> None:
    address = address_of(f"sqlite:///{database_file}")
    code = (
        "import sys\n"
        "from storage.address import address_of\n"
        "from storage.lock import FileLock\n"
        f"lock = FileLock(address_of({f'sqlite:///{database_file}'!r}))\n"
        "print('mine', flush=True)\n"
        "sys.stdin.read()\n"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout is not None and other.stdout.readline() == "mine\n"
    with pytest.raises(StorageError, match="Another Leeward works on the database"):
        FileLock(address)
    with pytest.raises(StorageError, match="Another Leeward works on the database"):
        restore(database_file, f"sqlite:///{database_file}")
    other.kill()  # a lock goes with its process, however that ends
    other.communicate()
    with FileLock(address), pytest.raises(StorageError, match="Another Leeward"):
        FileLock(address)
    FileLock(address).release()


def test_a_server_is_made_for_several(server_url: str) -> None:
    with FileLock(address_of(server_url)), FileLock(address_of(server_url)):
        pass


@pytest.mark.skipif(os.name != "posix", reason="permissions are POSIX ones here")
async def test_an_upgrade_keeps_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "leeward.db"
    await make(f"sqlite:///{path}")
    assert not (tmp_path / "backups").exists()
    for number in range(5):
        with sqlite3.connect(path) as raw:  # an older program's version, in nothing else older
            raw.execute("UPDATE alembic_version SET version_num = '0000'")
            raw.execute("CREATE TABLE IF NOT EXISTS mark (n INTEGER)")
            raw.execute("INSERT INTO mark VALUES (?)", (number,))
        with pytest.raises(StorageError, match="newer Leeward"):
            await Database.open(f"sqlite:///{path}")
    kept = sorted((tmp_path / "backups").iterdir())
    assert len(kept) == 3 and all(each.name.startswith("leeward-0000-") for each in kept)
    with sqlite3.connect(kept[-1]) as raw:
        assert raw.execute("SELECT max(n) FROM mark").fetchone() == (4,)
