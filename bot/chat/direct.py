"""Direct messages to members, who may have closed them."""

import logging
import secrets

import discord

log = logging.getLogger(__name__)


async def tell_member(
    client: discord.Client,
    member_id: int,
    embed: discord.Embed,
    view: discord.ui.View | None = None,
    token: str | None = None,
) -> bool:
    """Write to a member directly; False where they take no messages from here.

    Discord drops what is sent again with the same ``token`` shortly after.

    Errors: discord.HTTPException where Discord is at fault, so that it may be tried again.
    """
    try:
        found = client.get_user(member_id) or await client.fetch_user(member_id)
        await found.send(
            embed=embed,
            view=view or discord.utils.MISSING,
            allowed_mentions=discord.AllowedMentions.none(),
            nonce=token or secrets.token_hex(8),
        )
    except (discord.Forbidden, discord.NotFound) as error:
        log.info("a member takes no direct messages: %s", error)
        return False
    return True
