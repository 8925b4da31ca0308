"""What a database's refusal means, in one sentence a person can act on.

A ``DatabaseError`` has two texts. ``str(error)`` may be shown to anybody: it names no path, no
host and nothing of the driver's. ``detail`` is for the log and the command line.
"""

import sqlite3

from sqlalchemy.exc import DBAPIError, OperationalError, StatementError
from sqlalchemy.exc import TimeoutError as QueueTimeoutError

from shared.errors import StorageError

# Whoever asks in the chat has been acknowledged meanwhile, and an answer may take minutes.
BUSY_TIMEOUT_S = 20  # how long a write waits for another program's
QUEUE_TIMEOUT_S = 20  # how long it waits for our own

LOCKED = (
    "{it} is locked by another program;"
    " stop the other one (is Leeward already running?) and try again"
)
READ_ONLY = (
    "{it} may only be read; allow writing to the file and its directory, or name another file"
)
FULL = "The disk that holds {it} is full; free some space and try again"
SQLITE_SENTENCES = {
    "SQLITE_BUSY": LOCKED,
    "SQLITE_LOCKED": LOCKED,
    "SQLITE_FULL": FULL,
    "SQLITE_READONLY": READ_ONLY,
    "SQLITE_PERM": READ_ONLY,
    "SQLITE_CANTOPEN": (
        "{it} cannot be opened; check that its directory exists and that you may read and write"
        " there"
    ),
    "SQLITE_NOTADB": "{it} is not a SQLite database; name another file",
    "SQLITE_CORRUPT": "{it} is damaged; put back a backup",
    "SQLITE_IOERR": "The disk that holds {it} does not read or write as it should; check it",
}
# An extended code is a plain one with a suffix: SQLITE_READONLY_DIRECTORY is SQLITE_READONLY.

AWAY = "{it} does not answer; check that its server runs, and try again"
# PostgreSQL's SQLSTATE, or the class it begins with.
SERVER_SENTENCES = {
    "08": AWAY,  # connection exceptions
    "57P": AWAY,  # shut down by an operator, or still starting
    "53100": FULL,
    "53300": "{it} has no connection left; stop what else uses it, or allow more, and try again",
    "28": "{it} refuses this user or password; correct the address and try again",
    "3D000": "{it} does not exist; make it, or name another database",
    "25006": READ_ONLY,
}
MAY_RUN_AGAIN = ("40001", "40P01")  # a serialization failure, a deadlock: nothing was committed


class DatabaseError(StorageError):
    """The database could not do what was asked.

    ``str`` names no path and no host; ``detail`` is the same with what only an operator may read.
    """

    def __init__(self, sentence: str, *, detail: str) -> None:
        super().__init__(sentence)
        self.detail = detail


class UnstorableTextError(StorageError):
    """A text that no database keeps: too long for its place, or with a character of no meaning."""


def closed(where: str) -> DatabaseError:
    """Nothing can be asked any more: Leeward is ending."""
    return _told("{it} is already closed", where)


def busy(where: str) -> DatabaseError:
    """Our own transactions are too many or too slow."""
    template = f"{{it}} has been busy for {QUEUE_TIMEOUT_S} s; try again in a moment"
    return _told(template, where)


def storage_error(error: Exception, where: str) -> StorageError | None:
    """The StorageError for what a driver or the queue raised; None for a mistake of ours."""
    if isinstance(error, QueueTimeoutError):
        return busy(where)
    if isinstance(error, StatementError) and isinstance(error.orig, StorageError):
        return error.orig  # raised by a column's type while a value was made ready
    if not isinstance(error, DBAPIError | sqlite3.Error):
        return None
    cause = error.orig if isinstance(error, DBAPIError) else error
    name: str = getattr(cause, "sqlite_errorname", None) or ""
    for known, sentence in SQLITE_SENTENCES.items():
        if name == known or name.startswith(known + "_"):
            return _told(sentence, where)
    state = sqlstate(error)
    for known, sentence in SERVER_SENTENCES.items():
        if state.startswith(known):
            return _told(sentence, where)
    if state in MAY_RUN_AGAIN:
        return busy(where)
    if not state and not name and lost_connection(error):
        return _told(AWAY, where)
    said = str(cause).splitlines()[0] if str(cause) else type(error).__name__
    return DatabaseError(
        "The database refused this; whoever runs Leeward finds the cause in its log",
        detail=f"The database {where} refused: {said}",
    )


def sqlstate(error: Exception) -> str:
    """PostgreSQL's five characters for what went wrong, "" where there are none."""
    cause = error.orig if isinstance(error, DBAPIError) else error
    return getattr(cause, "sqlstate", None) or ""


def lost_connection(error: Exception) -> bool:
    """Whether the connection to a server broke, or could not be made."""
    if not isinstance(error, DBAPIError) or isinstance(error.orig, sqlite3.Error):
        return False
    broke = isinstance(error, OperationalError) and not sqlstate(error)
    return error.connection_invalidated or broke


def _told(template: str, where: str) -> DatabaseError:
    short, full = template.format(it="the database"), template.format(it=f"the database {where}")
    return DatabaseError(short[0].upper() + short[1:], detail=full[0].upper() + full[1:])
