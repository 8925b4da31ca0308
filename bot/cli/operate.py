"""``python -m bot check``, ``backup``, ``restore``, ``status``, ``copy``, ``purge``."""

import asyncio
import re
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import discord
from discord.ext import commands
from rich.console import Console

from bot.chat.coaches import Listed, seen_words
from bot.chat.permissions import NEEDED
from bot.settings import VARIABLES, Settings, load_kit, unknown_settings
from shared.errors import InputError, LeewardError
from storage.address import address_of
from storage.backup import backup, restore
from storage.communities import Communities
from storage.copy import copy
from storage.database import Database
from storage.status import Status, status_of

TOKEN_EXAMPLE = "DISCORD_TOKEN=<your bot's token> python -m bot check"
_TOKEN = re.compile(r"[\w-]{18,}\.[\w-]{4,}\.[\w-]{20,}")


@dataclass(frozen=True)
class Finding:
    """One thing that was checked, and what is to be done where it is not well."""

    good: bool
    said: str


def check(settings: Settings) -> list[Finding]:
    """Settings, the token's form, the kit and the database; nothing is changed or sent."""
    known = f"settings are {', '.join(VARIABLES.values())}"
    mistyped = [Finding(False, f"{name} is no setting; {known}") for name in unknown_settings()]
    return [*mistyped, _token(settings), _kit(settings), _database(settings)]


def invitation(client_id: int) -> str:
    """The link that invites the bot with all it needs."""
    permissions = discord.Permissions(**dict.fromkeys(NEEDED, True))
    scopes = ("bot", "applications.commands")
    return discord.utils.oauth_url(client_id, permissions=permissions, scopes=scopes)


def declared_commands() -> list[Listed]:
    """The slash commands of every feature, as the code declares them: no connection is needed."""
    import_module("bot.app")  # knows every feature
    found: dict[str, Listed] = {}
    cogs: list[type[commands.Cog]] = commands.Cog.__subclasses__()
    while cogs:
        cog = cogs.pop()
        cogs += cog.__subclasses__()
        found |= {each.name: each for each in cog.__cog_app_commands__}
    return list(found.values())


def show_check(settings: Settings, client_id: int | None) -> int:
    """Print what was checked; 0 where all is well, else 1."""
    said = _console()
    findings = check(settings)
    for finding in findings:
        said.print(f"{'ok ' if finding.good else 'BAD'} {finding.said}")
    named = ", ".join(name.replace("_", " ").title() for name in NEEDED)
    said.print(f"The bot needs in its channels: {named}.")
    for line in seen_words(declared_commands()):
        said.print(line)
    if client_id is not None:
        said.print(f"Invite it: {invitation(client_id)}")
    return 0 if all(finding.good for finding in findings) else 1


def show_status(settings: Settings) -> int:
    """Print how the database stands."""
    for line in status_lines(status_of(settings.database)):
        _console().print(line)
    return 0


def status_lines(status: Status) -> list[str]:
    """A database's status, a line each."""
    if status.version is None:
        return [f"{status.where}: no tables of Leeward yet"]
    newer = "" if status.version == status.head else f" (this Leeward knows {status.head})"
    since = f", since {status.waiting_since:%Y-%m-%d %H:%M} UTC" if status.waiting_since else ""
    return [
        f"{status.where}: version {status.version}{newer}, {status.bytes / 1e6:.1f} MB",
        f"waiting to be posted: {status.waiting}{since}; refused: {status.refused}",
        f"jobs due: {status.due}; communities that left: {status.left}",
        *(f"{table}: {count}" for table, count in sorted(status.rows.items())),
    ]


def show_backup(settings: Settings, directory: Path, keep: int) -> int:
    """Write a backup and print where it is."""
    _console().print(f"Backed up into {backup(settings.database, directory, keep=keep)}")
    return 0


def show_restore(settings: Settings, path: Path) -> int:
    """Put a backup in place and print what became of what was there."""
    kept = restore(path, settings.database)
    _console().print(f"Restored {path} into {address_of(settings.database).where}")
    if kept is not None:
        _console().print(f"What was there is kept as {kept}")
    return 0


def show_copy(settings: Settings, target: str) -> int:
    """Copy the database into an empty one and print what was copied."""
    counts = copy(settings.database, target)
    _console().print(f"Copied {sum(counts.values())} rows into {address_of(target).where}")
    for table, count in sorted(counts.items()):
        _console().print(f"{table}: {count}")
    return 0


def show_purge(settings: Settings, community_id: int, *, sure: bool) -> int:
    """Print what is kept of a community, and delete it all where whoever runs Leeward is sure."""
    counts = asyncio.run(_purged(settings, community_id, sure=sure))
    total, said = sum(counts.values()), _console()
    if not total:
        said.print(f"Nothing is kept of community {community_id}.")
        return 0
    for table, count in sorted(counts.items()):
        if count:
            said.print(f"{table}: {count}")
    if sure:
        said.print(f"Deleted these {total} rows of community {community_id}.")
        return 0
    again = f"python -m bot purge {community_id} --yes"
    said.print(f"Nothing is deleted yet. For deleting these {total} rows for good: {again}")
    return 1


async def _purged(settings: Settings, community_id: int, *, sure: bool) -> dict[str, int]:
    db = await Database.open(settings.database)
    try:
        known = Communities(db)
        return await (known.purge(community_id) if sure else known.rows(community_id))
    finally:
        await db.close()


def _token(settings: Settings) -> Finding:
    if settings.token is None:
        return Finding(False, f"DISCORD_TOKEN is not set. For example: {TOKEN_EXAMPLE}")
    if not _TOKEN.fullmatch(settings.token.get_secret_value()):
        return Finding(False, "DISCORD_TOKEN has not the form of a token: copy it anew")
    return Finding(True, "DISCORD_TOKEN has the form of a token")


def _kit(settings: Settings) -> Finding:
    try:
        kit = load_kit(settings.kit)
    except (InputError, LeewardError) as error:
        return Finding(False, f"kit {settings.kit}: {error}")
    return Finding(True, f"kit {settings.kit}: {kit.name}, {len(kit.clubs)} clubs")


def _database(settings: Settings) -> Finding:
    address = address_of(settings.database)
    file = Path(address.where)
    if address.is_sqlite and file.parent.is_dir() and not file.exists():
        return Finding(True, f"database: {file} is not there yet; the first start makes it")
    try:
        status = status_of(settings.database)
    except LeewardError as error:
        return Finding(False, f"database: {getattr(error, 'detail', error)}")
    said = f"database: {status_lines(status)[0]}"
    if status.version is not None and status.version > status.head:
        return Finding(False, f"{said}; a newer Leeward wrote it: start that one")
    return Finding(True, said)


def _console() -> Console:
    return Console(soft_wrap=True, markup=False, highlight=False)
