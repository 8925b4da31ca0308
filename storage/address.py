"""Where the database is: the default file, and what a given URL means.

Everything a person reads about a database names it by ``where``: a path, or a host and a name.
A URL may carry a password, so it is never printed.
"""

from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_data_path
from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from shared.errors import StorageError

EXAMPLE = "sqlite:////home/you/leeward.db"
_DRIVERS = {"sqlite": "sqlite+aiosqlite", "postgresql": "postgresql+psycopg"}


@dataclass(frozen=True)
class Address:
    """One database: ``url`` for the driver, ``where`` for people."""

    url: URL
    where: str

    @property
    def is_sqlite(self) -> bool:
        """Whether the database is a SQLite file."""
        return self.url.get_backend_name() == "sqlite"


def default_url() -> str:
    """The URL of ``leeward.db`` in the user's data directory; nothing is created."""
    path = user_data_path("leeward", appauthor=False) / "leeward.db"
    return URL.create("sqlite", database=str(path)).render_as_string(hide_password=False)


def address_of(url: str | None) -> Address:
    """Read a SQLAlchemy URL (``None``: the default file, whose directory is made).

    Raises StorageError when it is not a URL, names another kind of database, or would keep
    nothing (a database in memory).
    """
    text = default_url() if url is None else url
    try:
        parsed = make_url(text)
    except (ArgumentError, ValueError):
        # The parser's own message may quote the URL, and with it a password.
        raise StorageError(f"The database address is not a URL; a right one is {EXAMPLE}") from None
    backend = parsed.get_backend_name()
    if backend not in _DRIVERS:
        raise StorageError(
            "The database address names a kind of database Leeward cannot use;"
            f" it can use sqlite and postgresql, for example {EXAMPLE}"
        )
    where = _file_of(parsed) if backend == "sqlite" else _server_of(parsed)
    if text == default_url():
        _make_directory(Path(where).parent)
    if backend == "sqlite":
        parsed = parsed.set(database=where)
    return Address(url=parsed.set(drivername=_DRIVERS[backend]), where=where)


def must_be_there(address: Address) -> None:
    """Raise StorageError for a SQLite file that nobody has made yet, where one could be made."""
    file = Path(address.where)
    if address.is_sqlite and file.parent.is_dir() and not file.exists():
        raise StorageError(f"There is no database {address.where} yet; the first start makes it")


def _file_of(url: URL) -> str:
    name = url.database or ""
    if name in ("", ":memory:") or "mode" in url.query:
        raise StorageError(
            "A database in memory would forget everything at the next start;"
            f" name a file, for example {EXAMPLE}"
        )
    if name.startswith("file:") or url.query or url.host:
        raise StorageError(
            f"The database address must be a plain file path without options, such as {EXAMPLE}"
        )
    if "\0" in name:
        raise StorageError(f"The database path holds a NUL character; a right one is {EXAMPLE}")
    return str(Path(name).absolute())


def _server_of(url: URL) -> str:
    host = url.host or url.query.get("host") or "localhost"
    return f"{host}/{url.database or ''}"


def _make_directory(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(
            f"The directory {path} for the database cannot be made ({error.strerror});"
            " make it, or name another file in LEEWARD_DATABASE"
        ) from error
