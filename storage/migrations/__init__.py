"""How the tables came to be, and bringing an older database up to date.

Alembic is imported only when there is something to do: comparing two strings takes
milliseconds, importing it a tenth of a second.
"""

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import SQLAlchemyError

from shared.errors import StorageError
from storage.address import Address
from storage.engines import looking_engine, migration_engine
from storage.faults import storage_error
from storage.files import copy_before_upgrade

HEAD = "0021"  # the newest revision in versions/; a test holds it to that
_PG_LOCK = 0x1EE3A2D  # any number no other program uses: one migration at a time


def bring_up_to_date(address: Address) -> None:
    """Create or upgrade the tables, in one transaction.

    An older SQLite file is copied first, into ``backups`` beside it; on a server whoever runs it
    makes a backup before upgrading.

    Blocks: call it in a thread. Raises StorageError when the database cannot be used, holds
    another program's tables, or was written by a newer Leeward than this one.
    """
    _keep_the_old_one(address)
    engine = migration_engine(address)
    try:
        with engine.begin() as connection:
            if not address.is_sqlite:
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _PG_LOCK})
            stored = stored_version(connection)
            if stored != HEAD:
                _upgrade(connection, stored, address)
            else:
                # Changes nothing, but says now, not at the first write, that the file is read-only.
                connection.execute(text("DELETE FROM alembic_version WHERE 1 = 0"))
    except SQLAlchemyError as error:
        told = storage_error(error, address.where)
        if told is None:
            raise
        # Only who starts Leeward reads this: it may say where the database is.
        raise StorageError(getattr(told, "detail", str(told))) from error
    finally:
        engine.dispose()


def _keep_the_old_one(address: Address) -> None:
    if not address.is_sqlite:
        return
    engine = looking_engine(address)
    try:
        with engine.begin() as connection:
            stored = stored_version(connection)
    except SQLAlchemyError:
        return  # there is none yet, or opening it for writing says what is wrong with it
    finally:
        engine.dispose()
    if stored is not None and stored < HEAD:
        copy_before_upgrade(Path(address.where), stored, at=datetime.now(UTC))


def stored_version(connection: Connection) -> str | None:
    """The revision the database is at; None when it has no tables of ours."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _upgrade(connection: Connection, stored: str | None, address: Address) -> None:
    if stored is None and address.is_sqlite and inspect(connection).get_table_names():
        raise StorageError(
            f"The database {address.where} holds another program's tables; name another file"
        )
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    # The option goes through a template, in which a per cent sign is doubled.
    here = str(Path(__file__).parent).replace("%", "%%")
    config.set_main_option("script_location", here)
    config.attributes["connection"] = connection
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if stored is not None and stored not in known:
        raise StorageError(
            f"The database {address.where} was written by a newer Leeward (version {stored},"
            f" this one knows {HEAD}); start the newer one, or put back an older backup"
        )
    command.upgrade(config, "head")
    if address.is_sqlite:
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise StorageError(
                f"The database {address.where} could not be brought up to date:"
                f" {len(broken)} rows would point nowhere; nothing was changed"
            )
