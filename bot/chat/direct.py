"""Direct messages to members, who may have closed them."""

import logging

import discord

log = logging.getLogger(__name__)


async def tell_member(
    client: discord.Client,
    member_id: int,
    embed: discord.Embed,
    view: discord.ui.View | None = None,
) -> bool:
    """Write to a member directly; False where they take no messages from here.

    Errors: discord.HTTPException where Discord is at fault, so that it may be tried again.
    """
    try:
        found = client.get_user(member_id) or await client.fetch_user(member_id)
        shown = view or discord.utils.MISSING
        await found.send(embed=embed, view=shown, allowed_mentions=discord.AllowedMentions.none())
    except (discord.Forbidden, discord.NotFound) as error:
        log.info("a member takes no direct messages: %s", error)
        return False
    return True
