"""A line that goes on under another key: its results, its sums and its message come along."""

from sqlalchemy import Connection, update

from shared.keys import LineKey, share_key
from storage.schema import cell_sums, line_sums, outbox, results
from storage.stale import mark_hole


def move_line(connection: Connection, community_id: int, old: LineKey, new: LineKey) -> None:
    """Let everything kept of a line of a hole stand under a key of it that was never used."""
    at, to, hole = str(old), str(new), str(old.hole)
    named = {"line_key": to, "variant": new.variant}
    r, sums, cells = results.c, line_sums.c, cell_sums.c
    connection.execute(
        update(results).where(r.community_id == community_id, r.line_key == at).values(**named)
    )
    connection.execute(
        update(line_sums)
        .where(sums.community_id == community_id, sums.hole_key == hole, sums.line_key == at)
        .values(**named)
    )
    connection.execute(
        update(cell_sums)
        .where(cells.community_id == community_id, cells.hole_key == hole, cells.line_key == at)
        .values(line_key=to)
    )
    here = outbox.c.community_id == community_id
    connection.execute(
        update(outbox).where(here, outbox.c.key == share_key(old)).values(key=share_key(new))
    )
    mark_hole(connection, community_id, hole)
