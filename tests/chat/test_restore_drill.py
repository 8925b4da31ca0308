"""The drill: back up a bot that serves, lose its database, put the backup in place, start again.

With real processes against the simulated Discord's port, by the commands an operator types.
"""

import asyncio
import os
import random
import sys
from pathlib import Path

from sqlalchemy import select

from storage.bags import Bags
from storage.database import Database
from storage.played import Result
from storage.polls import Polls
from storage.results import Results
from storage.schema import outbox
from tests.chat.wire import ROOT, BotProcess, until
from tests.chat.wire_community import Community, Place, none_waits, said_on_note


async def run(url: str, *arguments: str) -> str:
    """What an operator's command prints; it has to end well."""
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bot", *arguments),
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT), "LEEWARD_DATABASE": url},
        stdout=asyncio.subprocess.PIPE,
    )
    out, _ = await process.communicate()
    assert process.returncode == 0
    return out.decode()


async def kept(url: str, here: Community) -> dict[str, object]:
    """What stands in a database: results, bags, votes and the messages of ours."""
    db = await Database.open(url)
    try:
        results: list[Result] = []
        for member in here.members:
            results += await Results(db).of_member(here.guild.id, member.id)
        (poll,) = await Polls(db).not_closed()
        query = select(outbox.c.key, outbox.c.message_id).order_by(outbox.c.key)
        rows = await db.read(lambda connection: connection.execute(query).all())
        return {
            "results": sorted(each.interaction_id for each in results),
            "bags": [await Bags(db).get(here.guild.id, each.id) for each in here.members],
            "poll": (poll.id, poll.message_id),
            "votes": (await Polls(db).tally(poll.id)).counts,
            "messages": [tuple(row) for row in rows],
        }
    finally:
        await db.close()


async def test_a_lost_database_comes_back_from_its_backup_and_nothing_is_posted_twice(
    on_the_wire: Community, place: Place, tmp_path: Path
) -> None:
    here, dice = on_the_wire, random.Random(5)
    url = here.bot.database
    await here.publish(3)
    for member in here.members:
        await here.log(member, dice)
        await here.set_bag(member, dice)
        await here.vote(member, dice)
    await here.log(here.members[0], dice)
    await none_waits(url)

    said = await run(url, "backup", str(tmp_path / "kept"))
    (backup,) = (tmp_path / "kept").iterdir()
    assert str(backup) in said
    before = await kept(url, here)
    assert len(before["results"]) == 3 == len(here.counted)  # type: ignore[arg-type]
    await here.log(here.members[1], dice)  # what comes after is lost with the disk
    await until(lambda: "**A** 4 tries" in said_on_note(here))
    (poll,) = here.polls()
    await here.members[0].set_poll_votes(poll, answers=[3])
    await here.members[1].set_poll_votes(poll, answers=[3])

    await here.bot.kill()
    place.lose(url)
    url = place.url()
    said = await run(url, "restore", str(backup))
    assert f"Restored {backup}" in said
    assert await kept(url, here) == before
    here.bot = BotProcess(here.wire, url, tmp_path / "second.log")
    await here.bot.start()

    # The note says again what is known, and the votes are those that stand on Discord.
    await until(lambda: "**A** 3 tries" in said_on_note(here))
    await none_waits(url)
    after = await kept(url, here)
    assert after["votes"] == {1: 0, 2: 0, 3: 2}
    assert {**after, "votes": before["votes"]} == before
    titles = here.titles()
    assert len(titles) == 2 and len(here.polls()) == 1
    await here.publish(2)
    await here.publish(3)
    await here.log(here.members[1], dice)  # by the button of a note of the earlier life
    await until(lambda: "**A** 4 tries" in said_on_note(here))
    assert here.titles() == titles and here.odd == []
    assert await here.bot.stop() == 0
    assert "Traceback" not in here.bot.said(), here.bot.said()
