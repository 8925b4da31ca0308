"""Members' names in what is kept as text, and taking them out."""

import json

from sqlalchemy import Connection, or_, select, update

from storage.json import Json
from storage.schema import decisions, drafts, results, revisions
from storage.versions import bump

AUTHOR = "author"  # the one field of a body, wherever in it, that names a person


def names_of(connection: Connection, community_id: int, member_id: int) -> frozenset[str]:
    """Every name the member is kept under here."""
    found: set[str] = set()
    for who, name in _NAMED:
        here = (who.table.c.community_id == community_id, who == member_id, name.is_not(None))
        found |= set(connection.execute(select(name).where(*here).distinct()).scalars())
    return frozenset(found)


def forget_names(
    connection: Connection, community_id: int, member_id: int, names: frozenset[str]
) -> frozenset[str]:
    """Take the names out of texts that name an author; the keys of what was changed.

    In what the member wrote, by any of the names; elsewhere only by those nobody else here has.
    """
    own_names = names - _of_others(connection, community_id, member_id, names)
    c = revisions.c
    mine = (c.community_id == community_id, c.author_id == member_id)
    own_keys = set(connection.execute(select(c.key).where(*mine).distinct()).scalars())
    changed: set[str] = set()
    query = select(c.id, c.key, c.body).where(c.community_id == community_id)
    for row in connection.execute(query.where(c.body.contains(f'"{AUTHOR}"'))).all():
        body, named = without(json.loads(row.body), names if row.key in own_keys else own_names)
        if named:
            text = json.dumps(body, ensure_ascii=False)
            connection.execute(update(revisions).where(c.id == row.id).values(body=text))
            changed.add(row.key)
    if changed:
        bump(connection, community_id, "book")
    _forget_elsewhere(connection, community_id, own_names)
    return frozenset(changed)


def without(value: Json, names: frozenset[str]) -> tuple[Json, bool]:
    """A JSON value without the authors of these names, and whether it had one."""
    if isinstance(value, list):
        parts = [without(each, names) for each in value]
        return [part for part, _ in parts], any(named for _, named in parts)
    if not isinstance(value, dict):
        return value, False
    found = {key: without(each, names) for key, each in value.items() if not _is(key, each, names)}
    named = len(found) < len(value) or any(each for _, each in found.values())
    return {key: part for key, (part, _) in found.items()}, named


def _is(key: str, value: Json, names: frozenset[str]) -> bool:
    return key == AUTHOR and isinstance(value, str) and value in names


def _forget_elsewhere(connection: Connection, community_id: int, names: frozenset[str]) -> None:
    """In decisions kept before they said which member it was, and in what others are writing."""
    c = decisions.c
    connection.execute(
        update(decisions)
        .where(c.community_id == community_id, c.coach_id.is_(None), c.coach_name.in_(names))
        .values(coach_name=None)
    )
    here = select(drafts.c.id, drafts.c.body).where(drafts.c.community_id == community_id)
    for row in connection.execute(here).all():
        if row.body.get(AUTHOR) in names:
            body = {**row.body, AUTHOR: ""}
            connection.execute(update(drafts).where(drafts.c.id == row.id).values(body=body))


def _of_others(
    connection: Connection, community_id: int, member_id: int, names: frozenset[str]
) -> frozenset[str]:
    found: set[str] = set()
    for who, name in _NAMED:
        here = (who.table.c.community_id == community_id, name.in_(names))
        other = or_(who != member_id, who.is_(None))
        if who.table is decisions:
            other = who != member_id  # who decided was not always kept
        query = select(name).where(*here, other).distinct()
        found |= set(connection.execute(query).scalars())
    return frozenset(found)


_NAMED = (
    (results.c.member_id, results.c.author_name),
    (revisions.c.author_id, revisions.c.author_name),
    (decisions.c.coach_id, decisions.c.coach_name),
)
