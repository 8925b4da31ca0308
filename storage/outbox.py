"""The outbox: messages that are to stand in a channel, and where they stand.

A wish is stored in the transaction that causes it. A worker claims it with a lease, posts (or
edits, or deletes) outside any transaction, and stores what came of it. The chat cannot post
exactly once: after a crash between posting and storing, the message may be posted again. A known
message is edited, never posted twice.
"""

import hashlib
import json
import secrets
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import ColumnElement, Connection, Row, and_, delete, func, or_, select, true, update

from storage.database import Database
from storage.dialect import insert
from storage.json import Json, JsonObject
from storage.schema import outbox

State = Literal["unmade", "waiting", "posted", "failed", "gone"]
LEASE_S = 60.0  # longer than a post with a picture takes
NONCE_BYTES = 12  # as text the longest even number of characters that the chat takes, 24
FIRST_WAIT_S, LONGEST_WAIT_S = 15.0, 3600.0


@dataclass(frozen=True, slots=True)
class Message:
    """One message of ours.

    ``message_id`` None: to be posted; else to be edited. ``body`` None while waiting: to be
    deleted. A body is kept only until it is posted. ``state``: unmade, its body is still to be
    made; waiting to be posted, edited or deleted; posted; failed for good (``trouble`` says why);
    gone (somebody deleted it).
    ``nonce`` is random and the same for every try to post the same text, for chats that drop
    repetitions. ``attempts`` counts the failures since it was last wanted. ``insists``: where it
    is not where it stood, it is to be posted anew.
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
    nonce: str
    attempts: int
    insists: bool
    not_before: datetime | None
    trouble: str | None


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
        insists: bool = False,
    ) -> bool:
        """``body`` is to stand in the channel under this key; False when it does or will already.

        Another channel than before means a new message there. ``member_id``: whose doing it is.
        ``insists``: if somebody has deleted it unseen it is posted anew, else it stays away.
        """
        now = self._db.now()
        return await self._db.write(
            lambda connection: want_message(
                connection,
                community_id,
                key,
                channel_id,
                body,
                member_id=member_id,
                insists=insists,
                at=now,
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

    async def claim(
        self,
        *,
        limit: int = 10,
        lease_s: float = LEASE_S,
        community_id: int | None = None,
        but_for: Collection[int] = (),
    ) -> list[Message]:
        """Take up messages whose time has come and that nobody holds, the first wanted first.

        Of one community, or of all ``but_for`` some.
        """
        now = self._db.now()
        until = now + timedelta(seconds=lease_s)
        free = or_(outbox.c.claimed_until.is_(None), outbox.c.claimed_until <= now)
        due = or_(outbox.c.not_before.is_(None), outbox.c.not_before <= now)
        whose = outbox.c.community_id
        here = (
            whose.not_in(but_for),
            true() if community_id is None else whose == community_id,
        )
        waiting = (
            select(outbox.c.id)
            .where(outbox.c.state == "waiting", free, due, self._db.serves(whose), *here)
            .order_by(outbox.c.id)
            .limit(limit)
        )

        # Asked of a reader: looking into an empty outbox every few seconds needs no writer.
        if not await self._db.read(lambda connection: connection.execute(waiting).first()):
            return []
        free_ones = waiting.with_for_update(skip_locked=True)

        def fn(connection: Connection) -> list[Message]:
            taken = outbox.c.id.in_(connection.execute(free_ones).scalars().all())
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
        done = {
            "state": "posted",
            "body": None,
            "trouble": None,
            "attempts": 0,
            "insists": False,
        }

        def fn(connection: Connection) -> bool:
            row = connection.execute(select(outbox).where(_held(message)).with_for_update())
            current = row.one_or_none()
            if current is None:
                return False
            same_channel = current.channel_id == message.channel_id
            values: Mapping[str, object] = {
                "message_id": message_id if same_channel else None,
                "claimed_until": None,
                "not_before": None,
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
            _held(message),
            message_id=None,
            claimed_until=None,
            version=outbox.c.version + 1,
            nonce=new_nonce(),
        )

    async def failed(
        self, message: Message, trouble: str, *, retry_at: datetime | None = None
    ) -> bool:
        """A claimed message was refused; it stays so until ``retry``, or until it is wanted anew.

        With ``retry_at`` it waits until then instead. A newer text wanted meanwhile gets its try.
        """
        if retry_at is not None:
            return await self._change(
                _held(message),
                claimed_until=None,
                not_before=retry_at,
                attempts=outbox.c.attempts + 1,
                trouble=trouble,
            )
        same = and_(_held(message), outbox.c.version == message.version)
        failed = await self._change(same, state="failed", claimed_until=None, trouble=trouble)
        return failed or await self._change(_held(message), claimed_until=None)

    async def put_off(self, message: Message, trouble: str, *, at_least_s: float = 0.0) -> bool:
        """A claimed message could not be posted now; it waits, longer after each failure.

        ``at_least_s``: how long the chat asked for.
        """
        wait_s = max(at_least_s, min(FIRST_WAIT_S * 2**message.attempts, LONGEST_WAIT_S))
        later = self._db.now() + timedelta(seconds=wait_s)
        return await self.failed(message, trouble, retry_at=later)

    async def give_back(self, messages: Sequence[Message]) -> None:
        """Claimed messages that nobody has tried to post wait on, for whoever comes next."""

        def fn(connection: Connection) -> None:
            for message in messages:
                free = update(outbox).where(_held(message)).values(claimed_until=None)
                connection.execute(free)

        await self._db.write(fn)

    async def refused(self, community_id: int) -> list[Message]:
        """What the chat refused for good, with the cause: for a coach to see."""
        here = (outbox.c.community_id == community_id, outbox.c.state == "failed")
        query = select(outbox).where(*here).order_by(outbox.c.id)
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [_message(row) for row in rows]

    async def waiting(self) -> int:
        """How many messages of all communities are still to be posted."""
        query = select(func.count()).where(outbox.c.state == "waiting")
        return await self._db.read(lambda connection: connection.execute(query).scalar_one())

    async def retry(self, community_id: int, *, channel_id: int | None = None) -> int:
        """Let what was refused in a community, or one channel of it, wait again; how many."""
        here = [outbox.c.community_id == community_id, outbox.c.state == "failed"]
        if channel_id is not None:
            here.append(outbox.c.channel_id == channel_id)
        return await self._change_seen(
            and_(*here), state="waiting", attempts=0, not_before=None, trouble=None
        )

    async def gone(self, *message_ids: int) -> int:
        """Somebody deleted these messages; how many were ours.

        Ours stay away until they are wanted with ``want``.
        """
        return await self._change_seen(outbox.c.message_id.in_(message_ids), **_GONE)

    async def channel_gone(self, channel_id: int) -> int:
        """A channel was deleted with all that stood or was to stand in it; how many were ours."""
        here = and_(outbox.c.channel_id == channel_id, outbox.c.state != "gone")
        return await self._change_seen(here, **_GONE)

    async def _one(self, where: ColumnElement[bool]) -> Message | None:
        query = select(outbox).where(where)
        row = await self._db.read(lambda connection: connection.execute(query).one_or_none())
        return None if row is None else _message(row)

    async def _change(self, where: ColumnElement[bool], **values: object) -> bool:
        statement = update(outbox).where(where).values(updated_at=self._db.now(), **values)
        return await self._db.write(lambda connection: connection.execute(statement).rowcount > 0)

    async def _change_seen(self, where: ColumnElement[bool], **values: object) -> int:
        """Change what a reader sees: most of what happens in a chat is nothing of ours."""
        seen = select(outbox.c.id).where(where)
        if not await self._db.read(lambda connection: connection.execute(seen).first()):
            return 0
        statement = update(outbox).where(where).values(updated_at=self._db.now(), **values)
        return await self._db.write(lambda connection: connection.execute(statement).rowcount)


def want_message(
    connection: Connection,
    community_id: int,
    key: str,
    channel_id: int,
    body: JsonObject,
    *,
    member_id: int | None = None,
    insists: bool = False,
    at: datetime,
) -> bool:
    """``Outbox.want``, inside a transaction."""
    wanted: dict[str, object] = {
        "channel_id": channel_id,
        "state": "waiting",
        "body": body,
        "fingerprint": fingerprint(body),
        "nonce": new_nonce(),
        "attempts": 0,
        "not_before": None,
        "trouble": None,
        "updated_at": at,
    }
    if insists:
        wanted["insists"] = True
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
            fingerprint=fingerprint(None),
            version=row.version + 1,
            nonce=new_nonce(),
            attempts=0,
            not_before=None,
            updated_at=at,
        )
    )
    return True


_GONE: Mapping[str, object] = {
    "state": "gone",
    "message_id": None,
    "body": None,
    "claimed_until": None,
    "not_before": None,
}


def new_nonce() -> str:
    """A nonce no other text has, not even of a message whose row number is used again."""
    return secrets.token_hex(NONCE_BYTES)


def fingerprint(body: Json) -> str:
    """What tells whether two bodies are the same."""
    text = json.dumps(body, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _held(message: Message) -> ColumnElement[bool]:
    return and_(outbox.c.id == message.id, outbox.c.claim == message.claim)


def _is_at(community_id: int, key: str) -> ColumnElement[bool]:
    return and_(outbox.c.community_id == community_id, outbox.c.key == key)


def _message(row: Row[*tuple[object, ...]]) -> Message:
    return Message(**{name: getattr(row, name) for name in Message.__dataclass_fields__})
