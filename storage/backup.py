"""Backups: one file each, checked before it counts, the newest few kept; and putting one back.

A backup is a SQLite file, also of a PostgreSQL database: it is that database copied. So a backup
of either can be put into either.
"""

import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from shared.errors import StorageError
from storage.address import Address, address_of, must_be_there
from storage.copy import copy
from storage.engines import migration_engine
from storage.files import check_file, copy_file, keep_newest, make_directory, put_in_place, stamp
from storage.lock import FileLock
from storage.migrations import bring_up_to_date
from storage.stale import doubt_all
from storage.status import Status, status_of

PREFIX = "leeward-backup-"
KEPT = 14


def backup(
    url: str | None, directory: Path, *, keep: int = KEPT, now: datetime | None = None
) -> Path:
    """Write a backup into a directory and delete the oldest beyond ``keep``; the new one's path.

    The database may be in use. Blocks: call it in a thread. Raises StorageError, and then leaves
    the directory as it was.
    """
    if keep < 1:
        raise StorageError("At least one backup has to be kept")
    address = address_of(url)
    must_be_there(address)
    path = directory / f"{PREFIX}{stamp(now or datetime.now(UTC))}.db"
    if address.is_sqlite:
        copy_file(Path(address.where), path)
    else:
        make_directory(directory)
        part = path.with_name(path.name + ".fetched")
        try:
            copy(url, f"sqlite:///{part.absolute()}")
            copy_file(part, path)
        finally:
            _remove(part)
    verify(path)
    keep_newest(directory, f"{PREFIX}*.db", keep)
    return path


def verify(path: Path) -> Status:
    """Open a backup and look through it; what it holds.

    Raises StorageError for a file that is missing, damaged or not Leeward's.
    """
    if not path.is_file():
        raise StorageError(f"There is no file {path}; name a backup")
    check_file(path)
    status = status_of(f"sqlite:///{path.absolute()}")
    if status.version is None:
        raise StorageError(f"The file {path} holds no database of Leeward; name a backup")
    return status


def restore(path: Path, url: str | None, *, now: datetime | None = None) -> Path | None:
    """Put a backup in place of a database that nobody uses, and bring it up to date.

    A SQLite file that was there is kept under the path that comes back; a server's database must
    be empty. Blocks: call it in a thread. Raises StorageError, and then nothing is changed.
    """
    verify(path)
    address = address_of(url)
    if not address.is_sqlite:
        _restore_on_server(path, url)
        return None
    with FileLock(address):
        return _restore_file(path, address, now or datetime.now(UTC))


def _restore_file(path: Path, address: Address, now: datetime) -> Path | None:
    target = Path(address.where)
    fresh = target.with_name(target.name + ".restoring")
    copy_file(path, fresh)
    try:
        _make_fit(fresh)
        kept: Path | None = None
        if target.exists():
            kept = target.with_name(f"{target.stem}-replaced-{stamp(now)}.db")
            # As it is, page by page: what is replaced may well be damaged.
            for suffix in ("", "-wal"):
                if (part := target.with_name(target.name + suffix)).exists():
                    shutil.copyfile(part, kept.with_name(kept.name + suffix))
        # The log of the old file would be read into the new one.
        _remove_logs(fresh)
        _remove_logs(target)
        put_in_place(fresh, target)
        return kept
    finally:
        _remove(fresh)


def _restore_on_server(path: Path, url: str | None) -> None:
    with tempfile.TemporaryDirectory() as directory:
        fresh = Path(directory) / "restoring.db"
        copy_file(path, fresh)
        _make_fit(fresh)
        copy(f"sqlite:///{fresh}", url)


def _make_fit(fresh: Path) -> None:
    """Up to date, and every message to be held against what stands in the chat by now."""
    address = address_of(f"sqlite:///{fresh}")
    bring_up_to_date(address)
    engine = migration_engine(address)
    with engine.begin() as connection:
        doubt_all(connection)
    engine.dispose()


def _remove(path: Path) -> None:
    path.unlink(missing_ok=True)
    _remove_logs(path)


def _remove_logs(path: Path) -> None:
    for suffix in ("-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)
