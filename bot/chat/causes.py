"""What lies behind an error that came from Discord or the way there."""

import aiohttp
import discord

ACKNOWLEDGED = 40060  # Discord's code for an interaction that was acknowledged a moment before
TOO_LATE = "That took too long to open a form; please press the button once more."
AWAY = "Discord could not be reached for a moment; please try once more."


def came_too_late(cause: Exception) -> bool:
    """Whether the watch acknowledged first, before or while a form was on its way."""
    code = cause.code if isinstance(cause, discord.HTTPException) else None
    return code == ACKNOWLEDGED or isinstance(cause, discord.InteractionResponded)


def is_away(cause: Exception) -> bool:
    """Whether Discord could not be reached, as where a file is to be fetched from it."""
    return isinstance(cause, aiohttp.ClientError | discord.DiscordServerError)
