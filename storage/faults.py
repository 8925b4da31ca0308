"""What a database's refusal means, in one sentence a person can act on."""

import sqlite3

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as QueueTimeoutError

from shared.errors import StorageError

BUSY_TIMEOUT_S = 5  # how long a write waits for another program's
QUEUE_TIMEOUT_S = 5  # how long it waits for our own; the chat's patience ends at 3 s anyway

SQLITE_SENTENCES = {
    "SQLITE_BUSY": (
        "The database {where} is locked by another program;"
        " stop the other one (is Leeward already running?) and try again"
    ),
    "SQLITE_FULL": "The disk that holds {where} is full; free some space and try again",
    "SQLITE_READONLY": (
        "The database {where} may only be read;"
        " allow writing to the file and its directory, or name another file"
    ),
    "SQLITE_CANTOPEN": (
        "The database {where} cannot be opened;"
        " check that its directory exists and that you may read and write there"
    ),
    "SQLITE_NOTADB": "The file {where} is not a SQLite database; name another file",
    "SQLITE_CORRUPT": "The database {where} is damaged; put back a backup",
    "SQLITE_IOERR": "The disk that holds {where} does not read or write as it should; check it",
}
SQLITE_SENTENCES["SQLITE_LOCKED"] = SQLITE_SENTENCES["SQLITE_BUSY"]
SQLITE_SENTENCES["SQLITE_PERM"] = SQLITE_SENTENCES["SQLITE_READONLY"]
# An extended code is a plain one with a suffix: SQLITE_READONLY_DIRECTORY is SQLITE_READONLY.


def busy(where: str) -> StorageError:
    """Our own transactions are too many or too slow."""
    return StorageError(
        f"The database {where} has been busy for {QUEUE_TIMEOUT_S} s; try again in a moment"
    )


def storage_error(error: Exception, where: str) -> StorageError | None:
    """The StorageError for what a driver or the queue raised; None for a mistake of ours."""
    if isinstance(error, QueueTimeoutError):
        return busy(where)
    cause = error.orig if isinstance(error, DBAPIError) else error
    if not isinstance(error, DBAPIError | sqlite3.Error):
        return None
    name: str = getattr(cause, "sqlite_errorname", None) or ""
    for known, sentence in SQLITE_SENTENCES.items():
        if name == known or name.startswith(known + "_"):
            return StorageError(sentence.format(where=where))
    detail = str(cause).splitlines()[0] if str(cause) else type(error).__name__
    return StorageError(f"The database {where} refused: {detail}")
