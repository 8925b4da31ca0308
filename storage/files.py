"""SQLite files as files: a copy of one in use, checked and on disk before it has its name."""

import os
import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from shared.errors import StorageError
from storage.faults import storage_error

FOR_UPGRADE = 3  # copies kept from before upgrades


def copy_file(source: Path, target: Path) -> None:
    """Copy a database that may be in use, as it is at one moment.

    ``target`` is there whole and checked, or not at all. Raises StorageError.
    """
    part = target.with_name(target.name + ".part")
    make_directory(target.parent)
    try:
        part.unlink(missing_ok=True)
        where = f"{source.absolute().as_uri()}?mode=ro"
        with (
            closing(sqlite3.connect(where, uri=True)) as old,
            closing(sqlite3.connect(part)) as new,
        ):
            old.backup(new)  # all pages at once, so that no write begins it anew
            new.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it
        check_file(part)
        put_in_place(part, target)
    except sqlite3.Error as error:
        told = storage_error(error, f"{source} or its copy {target}")
        raise StorageError(getattr(told, "detail", str(error))) from error
    except OSError as error:
        raise StorageError(f"The copy {target} cannot be written ({error.strerror})") from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def make_directory(path: Path) -> None:
    """Make a directory with those above it. Raises StorageError where that can't be done."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(f"The directory {path} cannot be made ({error.strerror})") from error


def check_file(path: Path) -> None:
    """Open a database and look through its pages. Raises StorageError for a damaged one."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as raw:
            found = raw.execute("PRAGMA quick_check").fetchone()[0]
    except sqlite3.Error as error:
        told = storage_error(error, str(path))
        raise StorageError(getattr(told, "detail", str(error))) from error
    if found != "ok":
        raise StorageError(f"The database {path} is damaged: {found}")


def put_in_place(part: Path, target: Path) -> None:
    """Give a finished file its name, so that a power cut leaves the old one or the new one."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.replace(target)
    if os.name == "posix":
        directory = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(directory)
        finally:
            os.close(directory)


def copy_before_upgrade(path: Path, version: str, *, at: datetime) -> Path:
    """Keep a database as it is before its tables change; the oldest such copies go."""
    directory = path.parent / "backups"
    name = f"{path.stem}-{version}-{stamp(at)}.db"
    copy_file(path, directory / name)
    keep_newest(directory, f"{path.stem}-[0-9][0-9][0-9][0-9]-*.db", FOR_UPGRADE)
    return directory / name


def stamp(at: datetime) -> str:
    """A time as part of a file's name; names sort as their times do."""
    return f"{at:%Y%m%dT%H%M%S}{at.microsecond:06d}Z"


def keep_newest(directory: Path, pattern: str, keep: int) -> None:
    """Delete all but the last ``keep`` files by name."""
    for old in sorted(directory.glob(pattern))[:-keep]:
        old.unlink(missing_ok=True)
