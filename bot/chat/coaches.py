"""Who may write: the coaches. A community names a role; until then it is who manages the server.

Discord's default permissions hide a whole command from those who may not use it. They can't tell
one subcommand from another, so what coaches type and what everybody reads are commands apart; and
they can't name a role, so a server shows its coaches theirs by its own settings. Hidden or not,
this check is what holds.
"""

from collections.abc import Iterable
from typing import Any, Protocol, runtime_checkable

import discord
from discord import app_commands

from bot.chat.respond import Interaction, command_of, community_of, is_outside
from shared.wording import listed

COACHES_SEE = discord.Permissions(manage_guild=True)
"""Who sees a coach's command unless a server's settings say otherwise."""


MANAGERS = "setup"  # of what is hidden, what is no coach's but who manages the server's
Listed = app_commands.Command[Any, ..., Any] | app_commands.Group


def seen_words(commands: Iterable[Listed]) -> list[str]:
    """Whom Discord lists which commands without a server's own settings, and how to change it."""
    every = {each.name: each.default_permissions is not None for each in commands}
    open_, hidden = (
        [f"/{name}" for name in sorted(every) if every[name] is is_hidden]
        for is_hidden in (False, True)
    )
    return [
        f"Everybody sees {listed(open_, 'and')}.",
        f"Only who manages the server sees {listed(hidden, 'and')}.",
        f"A coaches' role must be allowed these once, all but /{MANAGERS}: Server Settings, "
        "Integrations, Leeward, each command, Add Roles.",
    ]


class CoachesOnlyError(app_commands.CheckFailure):
    """Somebody who is no coach tried what only coaches may."""


class KnowsCoachRole(Protocol):
    """Where a community's coach role is kept."""

    async def coach_role(self, community_id: int) -> int | None:
        """The id of the coach role, None until one is set."""
        ...


async def is_coach(roles: KnowsCoachRole, interaction: Interaction) -> bool:
    """Whether who acts may write.

    A role that was deleted on Discord counts as none, so that nobody is locked out. Outside of the
    community's own server nobody may: another server's permissions say nothing about this one.
    """
    if is_outside(interaction):
        return False
    role_id = await roles.coach_role(community_of(interaction))
    guild = interaction.guild
    if role_id is None or guild is None or guild.get_role(role_id) is None:
        return interaction.permissions.manage_guild
    member = interaction.user
    if role_id == guild.default_role.id:
        return True
    return isinstance(member, discord.Member) and member.get_role(role_id) is not None


async def require_coach(roles: KnowsCoachRole, interaction: Interaction) -> None:
    """Refuse who is no coach, saying who is. Errors: CoachesOnlyError."""
    if await is_coach(roles, interaction):
        return
    if is_outside(interaction):
        raise CoachesOnlyError("Only a coach can do this, and on your group's own server.")
    role_id = await roles.coach_role(community_of(interaction))
    guild = interaction.guild
    role = guild.get_role(role_id) if guild and role_id else None
    who = f"have the role {role.mention} here" if role else "are those who manage this server"
    raise CoachesOnlyError(f"Only a coach can do this; coaches {who}.")


@runtime_checkable
class HasRoles(Protocol):
    """A cog whose commands ask who is a coach."""

    roles: KnowsCoachRole


async def _coach(interaction: Interaction) -> bool:
    command = command_of(interaction)
    cog = command.binding if isinstance(command, app_commands.Command) else None
    assert isinstance(cog, HasRoles)
    await require_coach(cog.roles, interaction)
    return True


def require_manager(interaction: Interaction) -> None:
    """Refuse who doesn't manage the server. Errors: CoachesOnlyError."""
    if is_outside(interaction) or not interaction.permissions.manage_guild:
        raise CoachesOnlyError("Only those who manage this server can do this.")


async def _manager(interaction: Interaction) -> bool:
    require_manager(interaction)
    return True


managers_only = app_commands.check(_manager)
"""Decorator of a command for those who may manage the server."""

coaches_only = app_commands.check(_coach)
"""Decorator of a coach's command, in a cog that has ``roles``."""
