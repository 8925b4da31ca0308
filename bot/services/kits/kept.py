"""A community's own kit: kept as revisions, like everything coaches write."""

from datetime import datetime

from sqlalchemy import Connection

from shared.actor import Author
from shared.errors import StorageError
from shared.kit import Kit
from storage.database import Database
from storage.revisions import Draft, append_revision, latest_revision

KIND, KEY = "kit", "kit"


class KitRepository:
    """Kits that communities have changed; one that has not plays the kit Leeward started with."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int) -> Kit | None:
        """The community's own kit as it stands, None where it has none."""
        return await self._db.read(lambda connection: kept_kit(connection, community_id))


def kept_kit(connection: Connection, community_id: int) -> Kit | None:
    """``KitRepository.get``, inside a transaction. Raises StorageError for one nobody can read."""
    found = latest_revision(connection, community_id, KIND, KEY)
    if found is None:
        return None
    try:
        return Kit.model_validate_json(found.body)
    except ValueError as error:
        raise StorageError("this community's kit can't be read; a coach changes it") from error


def keep_kit(
    connection: Connection,
    community_id: int,
    kit: Kit,
    *,
    author: Author,
    reason: str,
    at: datetime,
) -> None:
    """Keep a kit as a new revision, inside the transaction of what else changes with it."""
    draft = Draft(KIND, KEY, kit.model_dump_json())
    append_revision(connection, community_id, draft, author=author, reason=reason, at=at)


def with_chart(kit: Kit, club: str, chart: tuple[tuple[float, float], ...]) -> Kit:
    """The kit with another chart for one of its clubs."""
    clubs = tuple(
        each.model_copy(update={"chart": chart}) if each.name == club else each
        for each in kit.clubs
    )
    return kit.model_copy(update={"clubs": clubs})
