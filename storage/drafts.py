"""What a coach has typed and not saved yet, under a token that a button carries."""

from sqlalchemy import ColumnElement, Connection, delete, select

from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import drafts

KEPT = 5  # of each coach


class Drafts:
    """The last drafts of each coach; what a body means is the caller's."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def put(self, community_id: int, member_id: int, token: str, body: JsonObject) -> None:
        """Keep a draft; the coach's oldest go when there are more than ``KEPT``.

        The same token again puts the body in place of the earlier one, as the newest.
        """
        now = self._db.now()
        mine = (drafts.c.community_id == community_id, drafts.c.member_id == member_id)
        newest = select(drafts.c.id).where(*mine).order_by(drafts.c.id.desc()).limit(KEPT)

        def fn(connection: Connection) -> None:
            connection.execute(delete(drafts).where(*_at(community_id, member_id, token)))
            connection.execute(
                insert(connection, drafts).values(
                    community_id=community_id,
                    member_id=member_id,
                    token=token,
                    body=body,
                    updated_at=now,
                )
            )
            connection.execute(delete(drafts).where(*mine, drafts.c.id.not_in(newest)))

        await self._db.write(fn)

    async def get(self, community_id: int, member_id: int, token: str) -> JsonObject | None:
        """A draft; None for one that was saved, given up or is too old."""
        query = select(drafts.c.body).where(*_at(community_id, member_id, token))
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def drop(self, community_id: int, member_id: int, token: str) -> bool:
        """Forget a draft; False when it was gone."""
        return await self._db.write(
            lambda connection: drop_draft(connection, community_id, member_id, token)
        )


def drop_draft(connection: Connection, community_id: int, member_id: int, token: str) -> bool:
    """``Drafts.drop``, inside the transaction that keeps what was drafted."""
    statement = delete(drafts).where(*_at(community_id, member_id, token))
    return connection.execute(statement).rowcount > 0


def _at(community_id: int, member_id: int, token: str) -> tuple[ColumnElement[bool], ...]:
    c = drafts.c
    return c.community_id == community_id, c.member_id == member_id, c.token == token
