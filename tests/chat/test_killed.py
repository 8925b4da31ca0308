"""Two bots on one PostgreSQL, each with its own servers, and one is killed again and again.

Real processes against the simulated Discord's port. Members log results, vote, change their bags
and coaches publish and change the round meanwhile; what was acknowledged is kept, nothing is
posted twice, and the two answer alike.
"""

import asyncio
import random
import re
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, or_, select, update

from storage.bags import Bags
from storage.database import Database
from storage.polls import Polls
from storage.results import Results
from storage.schema import jobs, outbox
from tests.chat.wire import BotProcess, Wire, serving_discord, until, until_so
from tests.chat.wire_community import Community, community, prepare
from tests.postgres import Server

KILLS = 4
QUESTION = "8.4 mph from 2, 6-iron, 150"
ALL = 100_000


@dataclass
class Two:
    """The two bots, their servers, and a look at their database."""

    wire: Wire
    db: Database
    bots: list[BotProcess]
    communities: list[Community]


@pytest.fixture
async def two(chat_server: Server, tmp_path: Path) -> AsyncIterator[Two]:
    async with serving_discord() as wire:
        url = chat_server.url(chat_server.create())
        bots = [
            BotProcess(wire, url, tmp_path / f"{number}.log", LEEWARD_SHARD=f"{number}/2")
            for number in range(2)
        ]
        ids = [(2**38 + number) << 22 for number in range(4)]
        homes = [community(wire, bots[number % 2], id=id) for number, id in enumerate(ids)]
        db = await Database.open(url)
        try:
            for bot in bots:
                await bot.start()
            for home in homes:
                await prepare(home)
            yield Two(wire, db, bots, homes)
        finally:
            await db.close()
            for bot in bots:
                await bot.kill()


async def act(here: Community, member: Any, dice: random.Random, over: asyncio.Event) -> None:
    """A member who does one thing after the other."""
    while not over.is_set():
        do = dice.choice((here.log, here.log, here.set_bag, here.vote))
        await do(member, dice)
        await asyncio.sleep(dice.uniform(0.8, 1.6))


async def coach(here: Community, dice: random.Random, over: asyncio.Event) -> None:
    """A coach who publishes hole by hole and turns to the other round."""
    for number in [*range(3, 10)] * 10:
        if over.is_set():
            return
        await here.publish(number)
        await asyncio.sleep(dice.uniform(0.1, 0.4))
        await here.turn_round()


async def kill_again_and_again(two: Two, dice: random.Random) -> None:
    """Each life lasts until everybody it serves has had a result counted, and a little longer."""
    bot = two.bots[1]
    for life in range(KILLS + 1):
        counted = {here.guild.id: len(here.counted) for here in two.communities}
        await until(
            lambda counted=counted: all(
                len(here.counted) > counted[here.guild.id] for here in two.communities
            )
        )
        if life < KILLS:
            await asyncio.sleep(dice.uniform(0.0, 1.0))
            await bot.kill()
            await bot.start()


async def all_brought(two: Two) -> None:
    """Let the leases of who was killed run out, start it once more, and wait for what waits."""
    killed = two.bots[1]
    await killed.kill()
    for table in (outbox, jobs):
        lapsed = update(table).values(claimed_until=None)
        await two.db.write(lambda connection, lapsed=lapsed: connection.execute(lapsed))
    await killed.start()
    left = or_(outbox.c.state.in_(("waiting", "unmade")), outbox.c.stale > 0)
    waits = select(func.count()).select_from(outbox).where(left)

    async def none_waits() -> bool:
        return not await two.db.read(lambda connection: connection.execute(waits).scalar())

    await until_so(none_waits, within_s=90.0)


async def test_who_is_killed_again_and_again_loses_nothing_and_posts_nothing_twice(
    two: Two,
) -> None:
    dice, over = random.Random(14), asyncio.Event()
    working = [
        asyncio.create_task(work)
        for here in two.communities
        for work in (
            coach(here, dice, over),
            *(act(here, member, dice, over) for member in here.members),
        )
    ]
    await kill_again_and_again(two, dice)
    over.set()
    await asyncio.gather(*working)
    assert two.bots[1].deaths == KILLS and two.bots[0].deaths == 0
    await all_brought(two)
    for here in two.communities:
        await holds(two, here)
    for bot in two.bots:
        assert "Traceback" not in bot.said(), bot.said()
    await answer_alike(two)


async def holds(two: Two, here: Community) -> None:
    """What a community was told is what is kept and what stands."""
    assert here.odd == [] and all("too often" in each for each in here.refused)
    stored = [
        each
        for member in here.members
        for each in await Results(two.db).of_member(here.guild.id, member.id, limit=ALL)
    ]
    kept = [each.interaction_id for each in stored]
    assert len(kept) == len(set(kept)) and len(here.counted) > KILLS
    assert here.counted <= set(kept) <= here.tried
    for member in here.members:
        bag = await Bags(two.db).get(here.guild.id, member.id)
        grade = bag.grades.get("6-iron", "") if bag else ""
        assert grade in here.grades.get(member.id, [""])
    titles = here.titles()
    standing = {int(re.findall(r"\d+", title)[0]) for title in titles}
    assert len(titles) == len(standing) and here.published <= standing
    note = here.wire.messages(here.notes)[0].embeds[0]
    went_in = sum(each.played.holed for each in stored)
    assert f"**A** {len(stored)} tries, {went_in} went in" in str(note.description)
    await ends_its_poll(two, here)


async def ends_its_poll(two: Two, here: Community) -> None:
    """A coach ends the poll: every vote that stands on Discord counts, one outcome is posted."""
    (poll,) = here.polls()
    given = {number: len(who) for number, who in poll._message.poll.votes.items() if who}
    assert given
    stored = await Polls(two.db).by_message(poll.id)
    assert stored is not None
    named = await here.coach.slash(here.questions, "poll end", poll=str(stored.id))
    assert await here.told(named)
    tally = await Polls(two.db).tally(stored.id)
    assert {number: count for number, count in tally.counts.items() if count} == given
    after = [each for each in here.wire.messages(here.questions) if each.id > poll.id]
    assert len([each for each in after if each.embeds]) == 1


async def answer_alike(two: Two) -> None:
    """Direct messages go to the first bot: it knows what the second has learned and been told."""
    here = two.communities[1]
    first, member = two.bots[0], here.members[0]
    for grade in ("yew", "oak"):
        sent = await member.slash(here.questions, "bag", club="6-iron", grade=grade)
        assert await here.told(sent)
        there = await here.told(await member.slash(here.questions, "wind", question=QUESTION))
        alone = await first.answered(await member.user.slash("wind", question=QUESTION))
        assert alone is not None and there is not None
        assert grade in str(there.embeds[0].description)
        assert alone.response.embeds == there.embeds
