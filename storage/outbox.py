"""The outbox: messages that are to stand in a channel, and where they stand.

A wish is stored in the transaction that causes it. A worker claims it with a lease, posts (or
edits, or deletes) outside any transaction, and stores what came of it. The chat cannot post
exactly once: after a crash between posting and storing, the message may be posted again. A known
message is edited, never posted twice.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import ColumnElement, Connection, Row, and_, delete, or_, select, update

from storage.database import Database
from storage.dialect import insert
from storage.json import Json, JsonObject
from storage.schema import outbox

State = Literal["waiting", "posted", "failed", "gone"]
LEASE_S = 60.0  # longer than a post with a picture takes


@dataclass(frozen=True, slots=True)
class Message:
    """One message of ours.

    ``message_id`` None: to be posted; else to be edited. ``body`` None while waiting: to be
    deleted. A body is kept only until it is posted. ``state``: waiting to be posted, edited or
    deleted; posted; failed (``trouble`` says why); gone (somebody deleted it).
    """

    id: int
    community_id: int
    key: str
    channel_id: int
    message_id: int | None
    body: JsonObject | None
    state: State
    version: int
    claim: int
    trouble: str | None

    @property
    def nonce(self) -> str:
        """The same for every try to post the same text, for chats that drop repetitions."""
        return f"{self.id}.{self.version}"


class Outbox:
    """All messages of ours in all communities."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def want(
        self,
        community_id: int,
        key: str,
        channel_id: int,
        body: JsonObject,
        *,
        member_id: int | None = None,
    ) -> bool:
        """``body`` is to stand in the channel under this key; False when it does or will already.

        Another channel than before means a new message there. ``member_id``: whose doing it is.
        """
        now = self._db.now()
        return await self._db.write(
            lambda connection: want_message(
                connection, community_id, key, channel_id, body, member_id=member_id, at=now
            )
        )

    async def withdraw(self, community_id: int, key: str) -> bool:
        """The message is to be deleted; False when there is none."""
        now = self._db.now()
        return await self._db.write(
            lambda connection: withdraw_message(connection, community_id, key, at=now)
        )

    async def get(self, community_id: int, key: str) -> Message | None:
        """The message under a key, or None."""
        return await self._one(_is_at(community_id, key))

    async def by_message(self, message_id: int) -> Message | None:
        """Ours that stands in the chat as ``message_id``, or None."""
        return await self._one(outbox.c.message_id == message_id)

    async def claim(self, *, limit: int = 10, lease_s: float = LEASE_S) -> list[Message]:
        """Take up messages that wait and that nobody holds, in the order they were first wanted."""
        now = self._db.now()
        until = now + timedelta(seconds=lease_s)
        free = or_(outbox.c.claimed_until.is_(None), outbox.c.claimed_until <= now)
        waiting = (
            select(outbox.c.id)
            .where(outbox.c.state == "waiting", free)
            .order_by(outbox.c.id)
            .limit(limit)
            .with_for_update(skip_locked=True)
        )

        def fn(connection: Connection) -> list[Message]:
            taken = outbox.c.id.in_(connection.execute(waiting).scalars().all())
            connection.execute(
                update(outbox).where(taken).values(claim=outbox.c.claim + 1, claimed_until=until)
            )
            return [
                _message(row)
                for row in connection.execute(select(outbox).where(taken).order_by(outbox.c.id))
            ]

        return await self._db.write(fn)

    async def posted(self, message: Message, message_id: int) -> bool:
        """A claimed message now stands in the chat as ``message_id``.

        False when the claim ran out and another took it up, or the channel changed meanwhile:
        then what was posted is one too many and should be deleted. A newer text wanted meanwhile
        keeps waiting, to be edited in.
        """
        now = self._db.now()
        done = {"state": "posted", "body": None, "trouble": None}

        def fn(connection: Connection) -> bool:
            row = connection.execute(select(outbox).where(_held(message)).with_for_update())
            current = row.one_or_none()
            if current is None:
                return False
            same_channel = current.channel_id == message.channel_id
            values: Mapping[str, object] = {
                "message_id": message_id if same_channel else None,
                "claimed_until": None,
                "updated_at": now,
                **(done if current.version == message.version else {}),
            }
            connection.execute(update(outbox).where(_held(message)).values(**values))
            return same_channel

        return await self._db.write(fn)

    async def deleted(self, message: Message) -> bool:
        """A claimed message with no body is deleted from the chat; False when wanted again."""
        return await self._db.write(
            lambda connection: (
                connection.execute(
                    delete(outbox).where(_held(message), outbox.c.version == message.version)
                ).rowcount
                > 0
            )
        )

    async def lost(self, message: Message) -> bool:
        """The claimed message was to be edited but is not there: it will be posted anew."""
        # A new version, because a chat that drops repetitions would drop the same one.
        return await self._change(
            _held(message), message_id=None, claimed_until=None, version=outbox.c.version + 1
        )

    async def failed(
        self, message: Message, trouble: str, *, retry_at: datetime | None = None
    ) -> bool:
        """A claimed message could not be posted; it waits until ``retry_at``, or until ``retry``.

        A newer text wanted meanwhile keeps waiting.
        """
        if retry_at is not None:
            return await self._change(_held(message), claimed_until=retry_at, trouble=trouble)
        same = and_(_held(message), outbox.c.version == message.version)
        failed = await self._change(same, state="failed", claimed_until=None, trouble=trouble)
        return failed or await self._change(_held(message), claimed_until=None)

    async def retry(self, community_id: int) -> int:
        """Let every failed message of a community wait again; says how many."""
        statement = (
            update(outbox)
            .where(outbox.c.community_id == community_id, outbox.c.state == "failed")
            .values(state="waiting", updated_at=self._db.now())
        )
        return await self._db.write(lambda connection: connection.execute(statement).rowcount)

    async def gone(self, message_id: int) -> bool:
        """Somebody deleted the message: it stays away until it is wanted with ``want``."""
        return await self._change(
            outbox.c.message_id == message_id, state="gone", message_id=None, body=None
        )

    async def _one(self, where: ColumnElement[bool]) -> Message | None:
        query = select(outbox).where(where)
        row = await self._db.read(lambda connection: connection.execute(query).one_or_none())
        return None if row is None else _message(row)

    async def _change(self, where: ColumnElement[bool], **values: object) -> bool:
        statement = update(outbox).where(where).values(updated_at=self._db.now(), **values)
        return await self._db.write(lambda connection: connection.execute(statement).rowcount > 0)


def want_message(
    connection: Connection,
    community_id: int,
    key: str,
    channel_id: int,
    body: JsonObject,
    *,
    member_id: int | None = None,
    at: datetime,
) -> bool:
    """``Outbox.want``, inside a transaction."""
    wanted: dict[str, object] = {
        "channel_id": channel_id,
        "state": "waiting",
        "body": body,
        "fingerprint": _fingerprint(body),
        "trouble": None,
        "updated_at": at,
    }
    if member_id is not None:
        wanted["member_id"] = member_id
    first = insert(connection, outbox).values(
        community_id=community_id, key=key, version=1, claim=0, **wanted
    )
    fresh = first.on_conflict_do_nothing().returning(outbox.c.id)
    if connection.execute(fresh).one_or_none() is not None:
        return True
    here = _is_at(community_id, key)
    row = connection.execute(select(outbox).where(here).with_for_update()).one()
    stands = row.state in ("waiting", "posted") and row.channel_id == channel_id
    if stands and row.fingerprint == wanted["fingerprint"]:
        return False
    if row.channel_id != channel_id:
        wanted["message_id"] = None
    connection.execute(update(outbox).where(here).values(version=row.version + 1, **wanted))
    return True


def withdraw_message(connection: Connection, community_id: int, key: str, *, at: datetime) -> bool:
    """``Outbox.withdraw``, inside a transaction."""
    here = _is_at(community_id, key)
    row = connection.execute(select(outbox).where(here).with_for_update()).one_or_none()
    if row is None:
        return False
    if row.message_id is None and row.claimed_until is None:
        connection.execute(delete(outbox).where(here))
        return True
    connection.execute(
        update(outbox)
        .where(here)
        .values(
            state="waiting",
            body=None,
            fingerprint=_fingerprint(None),
            version=row.version + 1,
            updated_at=at,
        )
    )
    return True


def _fingerprint(body: Json) -> str:
    text = json.dumps(body, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _held(message: Message) -> ColumnElement[bool]:
    return and_(outbox.c.id == message.id, outbox.c.claim == message.claim)


def _is_at(community_id: int, key: str) -> ColumnElement[bool]:
    return and_(outbox.c.community_id == community_id, outbox.c.key == key)


def _message(row: Row[*tuple[object, ...]]) -> Message:
    return Message(**{name: getattr(row, name) for name in Message.__dataclass_fields__})
