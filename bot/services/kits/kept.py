"""A community's own kit: kept as revisions, like everything coaches write."""

from shared.actor import Author
from shared.errors import StorageError
from shared.kit import Kit
from storage.revisions import Revisions

KIND, KEY = "kit", "kit"


class KitRepository:
    """Kits that communities have changed; one that has not plays the kit Leeward started with."""

    def __init__(self, revisions: Revisions) -> None:
        self._revisions = revisions

    async def get(self, community_id: int) -> Kit | None:
        """The community's own kit as it stands, None where it has none."""
        found = await self._revisions.latest(community_id, KIND, KEY)
        if found is None:
            return None
        try:
            return Kit.model_validate_json(found.body)
        except ValueError as error:
            raise StorageError("this community's kit can't be read; a coach changes it") from error

    async def keep(self, community_id: int, kit: Kit, *, author: Author, reason: str) -> None:
        """Keep a kit as a new revision."""
        await self._revisions.append(
            community_id,
            KIND,
            KEY,
            kit.model_dump_json(),
            author=author,
            based_on="newest",
            reason=reason,
        )
