"""In which division a member plays by their role: the map of a community, and what roles say.

Roles come with each interaction and are kept in memory alone; Discord is where they stand.
"""

from collections import OrderedDict
from collections.abc import Sequence

from storage.json import JsonObject
from storage.settings import CommunitySettings

DIVISION_ROLES = "division_roles"
KEPT_MEMBERS = 4096


class DivisionRoles:
    """Each division's role by community; ``held`` are the roles members were last seen with."""

    def __init__(self, settings: CommunitySettings) -> None:
        self._settings = settings
        self._maps: dict[int, dict[str, int]] = {}
        self.held: OrderedDict[tuple[int, int], frozenset[int]] = OrderedDict()

    async def of(self, community_id: int) -> dict[str, int]:
        """Role ids by division, as the divisions were spelt."""
        if community_id not in self._maps:
            found = await self._settings.get(community_id, DIVISION_ROLES)
            stored = found if isinstance(found, dict) else {}
            self._maps[community_id] = {
                name: int(role) for name, role in stored.items() if isinstance(role, str)
            }
        return self._maps[community_id]

    async def set(self, community_id: int, division: str, role_id: int | None) -> None:
        """Say which role a division has; None: none."""
        known = await self.of(community_id)
        kept = {name: role for name, role in known.items() if not _same(name, division)}
        if role_id is not None:
            kept[division] = role_id
        # Kept as text: Discord's ids pass the whole numbers that JSON keeps exactly.
        stored: JsonObject = {name: str(role) for name, role in kept.items()}
        await self._settings.set(community_id, **{DIVISION_ROLES: stored or None})
        self._maps[community_id] = kept

    async def division(self, community_id: int, member_id: int, among: Sequence[str]) -> str | None:
        """The first of these divisions whose role a member has; None where none."""
        held = self.held.get((community_id, member_id), frozenset[int]())
        known = await self.of(community_id) if held else {}
        for division in among:
            if any(_same(name, division) and role in held for name, role in known.items()):
                return division
        return None


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()
