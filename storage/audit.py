"""Telling a community's audit channel what its coaches changed, in the transaction that changes it.

Without a channel nothing is written: the revisions and the list of decisions are kept anyway.
"""

import secrets
from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, select

from shared.actor import Author
from shared.text import plain
from storage.outbox import want_message
from storage.schema import settings

AUDIT_CHANNEL = "audit_channel"
NAMED = 6  # of many things changed at once
LONGEST = 300


def tell_audit(
    connection: Connection,
    community_id: int,
    who: Author,
    what: Sequence[str],
    reason: str,
    *,
    at: datetime,
) -> None:
    """Have it posted who changed what, and why, where the community has a channel for it."""
    c = settings.c
    chosen = select(c.value).where(c.community_id == community_id, c.name == AUDIT_CHANNEL)
    channel_id = connection.execute(chosen).scalar()
    if not isinstance(channel_id, str) or not what:
        return
    named = ", ".join(what[:NAMED])
    more = f" and {len(what) - NAMED} more" if len(what) > NAMED else ""
    why = f" ({plain(reason, LONGEST)})" if reason else ""
    text = f"{plain(who.name or 'Somebody', LONGEST)}: {plain(named, LONGEST)}{more}{why}"
    want_message(
        connection,
        community_id,
        f"audit/{secrets.token_hex(8)}",
        int(channel_id),
        {"text": text},
        member_id=who.member_id,
        at=at,
    )
