"""What a community set up: the role of its coaches and the channel of its notes."""

from storage.audit import AUDIT_CHANNEL
from storage.settings import CommunitySettings

APPROVAL_CHANNEL = "approval_channel"
COACH_ROLE, NOTES_CHANNEL = "coach_role", "notes_channel"


class Roles:
    """The coach role and the notes channel of each community."""

    def __init__(self, settings: CommunitySettings) -> None:
        self._settings = settings

    async def coach_role(self, community_id: int) -> int | None:
        """The id of the coach role, None until one is set."""
        return await self._id(community_id, COACH_ROLE)

    async def set_coach_role(self, community_id: int, role_id: int | None) -> None:
        """Set the coach role; with None, coaches are again who manages the server."""
        value = None if role_id is None else str(role_id)
        await self._settings.set(community_id, **{COACH_ROLE: value})

    async def notes_channel(self, community_id: int) -> int | None:
        """The id of the channel for hole notes, None until one is set."""
        return await self._id(community_id, NOTES_CHANNEL)

    async def set_notes_channel(self, community_id: int, channel_id: int) -> None:
        """Set the channel for hole notes."""
        await self._settings.set(community_id, **{NOTES_CHANNEL: str(channel_id)})

    async def audit_channel(self, community_id: int) -> int | None:
        """The id of the channel that hears what coaches changed, None for none."""
        return await self._id(community_id, AUDIT_CHANNEL)

    async def set_audit_channel(self, community_id: int, channel_id: int | None) -> None:
        """Set the channel that hears what coaches changed; None: none any more."""
        value = None if channel_id is None else str(channel_id)
        await self._settings.set(community_id, **{AUDIT_CHANNEL: value})

    async def approval_channel(self, community_id: int) -> int | None:
        """The id of the channel where shares wait for a coach; None: they need no approval."""
        return await self._id(community_id, APPROVAL_CHANNEL)

    async def set_approval_channel(self, community_id: int, channel_id: int | None) -> None:
        """Have shares wait for a coach in a channel; None: they are posted at once."""
        value = None if channel_id is None else str(channel_id)
        await self._settings.set(community_id, **{APPROVAL_CHANNEL: value})

    async def _id(self, community_id: int, key: str) -> int | None:
        # Kept as text: Discord's ids pass the whole numbers that JSON keeps exactly.
        found = await self._settings.get(community_id, key)
        return int(found) if isinstance(found, str) else None
