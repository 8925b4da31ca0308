"""Who may write: the coaches. A community names a role; until then it is who manages the server.

Discord's default permissions hide a whole command from those who may not use it. They can't name
a role and can't tell one subcommand from another, so commands with a subcommand for everybody are
left visible and this check is what holds.
"""

from typing import Protocol, runtime_checkable

import discord
from discord import app_commands

from bot.chat.respond import Interaction
from storage.settings import CommunitySettings

COACH_ROLE, NOTES_CHANNEL = "coach_role", "notes_channel"


class CoachesOnlyError(app_commands.CheckFailure):
    """Somebody who is no coach tried what only coaches may."""


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

    async def is_coach(self, interaction: Interaction) -> bool:
        """Whether who acts may write.

        A role that was deleted on Discord counts as none, so that nobody is locked out.
        """
        role_id = await self.coach_role(interaction.guild_id or 0)
        guild = interaction.guild
        if role_id is None or guild is None or guild.get_role(role_id) is None:
            return interaction.permissions.manage_guild
        member = interaction.user
        if role_id == guild.default_role.id:
            return True
        return isinstance(member, discord.Member) and member.get_role(role_id) is not None

    async def require_coach(self, interaction: Interaction) -> None:
        """Refuse who is no coach, saying who is. Errors: CoachesOnlyError."""
        if await self.is_coach(interaction):
            return
        role_id = await self.coach_role(interaction.guild_id or 0)
        guild = interaction.guild
        role = guild.get_role(role_id) if guild and role_id else None
        who = f"have the role {role.mention} here" if role else "are those who manage this server"
        raise CoachesOnlyError(f"Only a coach can do this; coaches {who}.")

    async def _id(self, community_id: int, key: str) -> int | None:
        # Kept as text: Discord's ids pass the whole numbers that JSON keeps exactly.
        found = await self._settings.get(community_id, key)
        return int(found) if isinstance(found, str) else None


@runtime_checkable
class HasRoles(Protocol):
    """A cog whose commands ask who is a coach."""

    roles: Roles


async def _coach(interaction: Interaction) -> bool:
    command = interaction.command
    cog = command.binding if isinstance(command, app_commands.Command) else None
    assert isinstance(cog, HasRoles)
    await cog.roles.require_coach(interaction)
    return True


async def _manager(interaction: Interaction) -> bool:
    if not interaction.permissions.manage_guild:
        raise CoachesOnlyError("Only those who manage this server can do this.")
    return True


managers_only = app_commands.check(_manager)
"""Decorator of a command for those who may manage the server."""

coaches_only = app_commands.check(_coach)
"""Decorator of a coach's command, in a cog that has ``roles``."""
