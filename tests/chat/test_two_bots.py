"""Two bots on one PostgreSQL, each with its own server: what is loaded in one the other plays."""

from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from storage.communities import Communities
from storage.database import Database
from tests.chat.test_kit_help import OTHER_KIT
from tests.chat.wire import BotProcess, serving_discord, until, until_so
from tests.chat.wire_community import Community, community
from tests.postgres import Server

HOME, AWAY = (2**38 + 1) << 22, 2**38 << 22  # of the second bot and of the first
IRON, NINE = (
    "8 mph from 3, 5-iron, 150",
    "8 mph from 3, club 9, 100",
)  # of the demo's and the own game


@dataclass
class Two:
    """Direct messages reach the first bot; the server is the second's."""

    first: BotProcess
    home: Community

    async def alone(self, user: Any, question: str) -> str:
        """What the first bot answers in a direct message."""
        asked = await self.first.answered(await user.slash("wind", question=question))
        assert asked is not None and asked.response is not None
        message = asked.response
        return message.content + "".join(str(each.to_dict()) for each in message.embeds)

    async def load(self, text: str) -> None:
        """A coach loads a game through the second bot and saves it."""
        here, given = self.home, {"file": ("game.toml", text.encode())}
        shown = await here.told(await here.coach.slash(here.questions, "kit load", **given))
        assert shown is not None
        pressed = await here.coach.click(shown, label="Save")

        def titles() -> str:
            embeds = pressed.response.embeds if pressed.response else []
            return " ".join(str(each.title) for each in embeds)

        await until(lambda: "You play" in titles())


async def all_served(url: str) -> None:
    """Wait until both have said whom they serve, which they do once Discord has told them."""
    db = await Database.open(url)
    try:
        await until_so(lambda: both_in(Communities(db)))
    finally:
        await db.close()


async def both_in(known: Communities) -> bool:
    return await known.somewhere(first=[HOME], limit=5) == [HOME, AWAY]


@pytest.fixture
async def two(chat_server: Server, tmp_path: Path) -> AsyncIterator[Two]:
    async with serving_discord() as wire:
        url = chat_server.url(chat_server.create())
        first, second = (
            BotProcess(wire, url, tmp_path / f"{number}.log", LEEWARD_SHARD=f"{number}/2")
            for number in range(2)
        )
        community(wire, first, id=AWAY)
        home = community(wire, second, id=HOME)
        try:
            for bot in (first, second):
                await bot.start()
            await all_served(url)
            yield Two(first, home)
        finally:
            for bot in (first, second):
                await bot.kill()


async def test_a_kit_that_one_bot_loads_is_played_by_the_other_at_once(two: Two) -> None:
    known, stranger = (member.user for member in two.home.members)
    member = two.home.members[0]
    assert await two.home.told(await member.slash(two.home.questions, "bag", units="metric"))
    assert "plover ball" in await two.alone(known, IRON)
    # Of the other nothing is kept: he is looked for in the servers of both bots.
    assert "plover ball" in await two.alone(stranger, IRON)
    await two.load(OTHER_KIT)
    for user in (known, stranger):
        assert "Curlew ball" in await two.alone(user, NINE)
        assert "no club “5-iron”" in await two.alone(user, IRON)
    before = await two.alone(stranger, NINE)
    await two.load(OTHER_KIT.replace("full_yd = 118", "full_yd = 121"))
    assert await two.alone(stranger, NINE) != before
    nobody = two.home.wire.env.create_user("nobody")  # a member of no server plays the operator's
    assert "plover ball" in await two.alone(nobody, IRON)
    for bot in (two.first, two.home.bot):
        assert "Traceback" not in bot.said(), bot.said()
