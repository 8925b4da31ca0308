"""From nothing to the newest tables, and never from a newer database to an older one."""

import asyncio
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Column, Integer, MetaData, Table, create_engine, inspect

from shared.errors import StorageError
from storage import migrations
from storage.database import Database
from storage.schema import metadata


def differences(path: Path, tables: MetaData) -> list[tuple[object, ...]]:
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        found = compare_metadata(context, tables)
    engine.dispose()
    return [tuple(difference) for difference in found]


def test_the_migrations_make_the_tables_of_the_schema(empty_database: Path) -> None:
    assert differences(empty_database, metadata) == []


def test_a_forgotten_migration_would_be_seen(empty_database: Path) -> None:
    changed = MetaData()
    for table in metadata.sorted_tables:
        table.to_metadata(changed)
    changed.tables["bags"].append_column(Column("shoes", Integer))
    Table("caddies", changed, Column("id", Integer, primary_key=True))
    kinds = sorted(str(difference[0]) for difference in differences(empty_database, changed))
    assert kinds == ["add_column", "add_table"]


def test_key_and_constraint_names_follow_the_convention(empty_database: Path) -> None:
    engine = create_engine(f"sqlite:///{empty_database}")
    inspector = inspect(engine)
    for name, table in metadata.tables.items():
        made = inspector.get_pk_constraint(name)
        # SQLite has no name for the key of a table whose row numbers are never used again.
        alone = table.dialect_options["sqlite"]["autoincrement"]
        assert made["name"] == (None if alone else f"pk_{name}")
        assert made["constrained_columns"] == [column.name for column in table.primary_key]
    engine.dispose()


def test_head_is_the_newest_revision_of_a_single_chain() -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    assert ScriptDirectory.from_config(config).get_heads() == [migrations.HEAD]


async def test_a_newer_database_is_refused_and_left_alone(database_file: Path) -> None:
    with sqlite3.connect(database_file) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9941'")
    with pytest.raises(StorageError, match=r"newer Leeward \(version 9941, this one knows"):
        await Database.open(f"sqlite:///{database_file}")
    with sqlite3.connect(database_file) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("9941",)]


async def test_an_older_database_keeps_its_rows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Starts at the first revision, with a bag in it, and climbs to the newest."""
    from alembic import command

    path = tmp_path / "old.db"
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(migrations.__file__).parent))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.exec_driver_sql(
            "INSERT INTO bags VALUES (7, 8, '{\"5-iron\": \"steel\"}', NULL, 'yards', '2031-01-02')"
        )
    engine.dispose()
    await (await Database.open(f"sqlite:///{path}")).close()
    with sqlite3.connect(path) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == (
            migrations.HEAD,
        )
        assert raw.execute("SELECT member_id, grades FROM bags").fetchall() == [
            (8, '{"5-iron": "steel"}')
        ]
    assert differences(path, metadata) == []


async def test_a_failed_upgrade_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "new.db"
    import alembic.command

    whole = alembic.command.upgrade

    def upgrade_then_fail(config: Config, revision: str) -> None:
        whole(config, revision)
        raise RuntimeError("power cut")

    monkeypatch.setattr(alembic.command, "upgrade", upgrade_then_fail)
    with pytest.raises(RuntimeError, match="power cut"):
        await Database.open(f"sqlite:///{path}")
    with sqlite3.connect(path) as raw:
        assert raw.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)


async def test_several_may_open_a_new_database_at_once(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'shared.db'}"
    opened = await asyncio.gather(*(Database.open(url) for _ in range(4)))
    for database in opened:
        await database.close()
    assert differences(tmp_path / "shared.db", metadata) == []


def test_an_up_to_date_database_opens_without_alembic(database_file: Path) -> None:
    code = (
        "import asyncio, sys\n"
        "from storage.database import Database\n"
        f"asyncio.run(Database.open({f'sqlite:///{database_file}'!r}))\n"
        "print('alembic' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "False\n"
