"""One process to a SQLite file: the second is refused with a sentence.

An operating system's lock on a file beside the database: it goes with its process, however that
ends. Two bots on one file would post everything twice; a server's database is made for several.
"""

import sys
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from shared.errors import StorageError
from storage.address import Address

SUFFIX = ".lock"

if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[bytes]) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


class FileLock:
    """Held from making it until ``release``, or as a context manager; harmless on a server."""

    def __init__(self, address: Address) -> None:
        """Take the lock. Raises StorageError when another process holds it."""
        self._file: IO[bytes] | None = None
        if not address.is_sqlite:
            return
        path = Path(address.where + SUFFIX)
        try:
            file = path.open("ab")
        except FileNotFoundError as error:
            raise StorageError(
                f"The directory {path.parent} for the database is not there;"
                " make it, or name another file in LEEWARD_DATABASE"
            ) from error
        except OSError as error:
            raise StorageError(
                f"The file {path} cannot be written ({error.strerror});"
                " allow writing to the directory of the database"
            ) from error
        try:
            _take(file)
        except OSError:
            file.close()
            raise StorageError(
                f"Another Leeward works on the database {address.where};"
                " stop that one, or give this one a database of its own in LEEWARD_DATABASE"
            ) from None
        self._file = file

    def release(self) -> None:
        """Let another process have it; harmless twice."""
        file, self._file = self._file, None
        if file is not None:
            file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.release()
