"""The practice ground: what it is made of, how its time goes, and its page in a real browser."""

import asyncio
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.practice_ground import Person, Room, World, open_ground, simulated
from bot.practice_ground.clock import LONGEST_STEP_S, LivingClock
from shared.errors import InputError
from tests.chat.page_driver import DESKTOP, PHONE, PageDriver, in_browser, needs_chromium
from tests.chat.stand_in import StandIn

WORLD = World(
    guild="Nine-hole group",
    bot="Stand-in",
    rooms=(
        Room(name="wind-questions", topic="Ask here", welcome="Type `/cup` and a name."),
        Room(name="hole-notes", welcome="Notes are posted here."),
    ),
    zone="UTC",
)
ROOT = Path(__file__).resolve().parents[2]


class Opened:
    """A practice ground that is open, with what it announced."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.bot = StandIn()
        self.until = asyncio.Event()
        self.ready = asyncio.Event()
        self.ground: simulated.Ground | None = None

    def announce(self, line: str) -> None:
        self.lines.append(line)
        if "Viewing as" in line:
            self.ready.set()

    async def remember(self, ground: simulated.Ground) -> None:
        self.ground = ground

    def url(self, room: str) -> str:
        return next(line.split(": ", 1)[1] for line in self.lines if f"#{room}:" in line)


@asynccontextmanager
async def opened(port: int | None = None) -> AsyncIterator[Opened]:
    state = Opened()
    staying = asyncio.create_task(
        open_ground(
            make_bot=lambda: state.bot,
            world=WORLD,
            announce=state.announce,
            port=port,
            until=state.until,
            on_open=state.remember,
        )
    )
    ready = asyncio.create_task(state.ready.wait())
    await asyncio.wait({staying, ready}, return_when="FIRST_COMPLETED")
    try:
        if not staying.done():
            yield state
    finally:
        ready.cancel()
        state.until.set()
        await asyncio.wait_for(staying, 20)


# Time


async def test_the_clock_is_carried_to_the_wall_in_steps_short_enough_to_finish() -> None:
    wall = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)
    reads = [wall - timedelta(seconds=2 * LONGEST_STEP_S + 7.5)]
    steps: list[float] = []

    async def advance(step_s: float) -> None:
        steps.append(step_s)
        reads.append(reads[-1] + timedelta(seconds=step_s))

    clock = LivingClock(now=lambda: reads[-1], advance=advance, wall=lambda: wall)
    await clock.catch_up()
    assert steps == [LONGEST_STEP_S, LONGEST_STEP_S, 7.5]
    assert reads[-1] == wall


async def test_a_wall_clock_set_back_moves_nothing() -> None:
    now = datetime(2031, 5, 6, tzinfo=UTC)

    async def advance(step_s: float) -> None:
        raise AssertionError(step_s)

    clock = LivingClock(now=lambda: now, advance=advance, wall=lambda: now - timedelta(seconds=3))
    await clock.catch_up()
    assert clock.behind_s() == 0.0


async def test_the_simulation_tells_the_time_of_the_wall() -> None:
    async with opened() as state:
        assert state.ground is not None
        assert abs((datetime.now(UTC) - state.ground.env.now()).total_seconds()) < 60


# The community


async def test_the_community_is_the_same_each_time_and_the_coach_may_manage_it() -> None:
    async def made() -> tuple[dict[str, int], dict[str, bool]]:
        async with opened() as state:
            ground = state.ground
            assert ground is not None
            ids = {name: member.id for name, member in ground.members.items()}
            ids |= {name: channel.id for name, channel in ground.channels.items()}
            ids["guild"] = ground.guild.id
            may = {}
            for name, actor in ground.members.items():
                assert actor.member is not None
                may[name] = actor.member.guild_permissions.manage_guild
            return ids, may

    first, may = await made()
    assert (await made())[0] == first
    assert len(set(first.values())) == 5
    assert may == {"Rosalind": True, "Tamsin": False}


async def test_each_room_starts_with_its_welcome_from_the_bot_and_addresses_are_announced() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    async with opened(port) as state:
        assert state.ground is not None
        for room in WORLD.rooms:
            first = state.ground.channels[room.name].history()[0]
            assert (first.author.name, first.content) == ("Stand-in", room.welcome)
        assert state.lines[1:3] == [
            f"  #wind-questions: http://127.0.0.1:{port}/#wind-questions",
            f"  #hole-notes: http://127.0.0.1:{port + 1}/#hole-notes",
        ]
        assert "Rosalind (coach)" in state.lines[3] and "Tamsin" in state.lines[3]
    assert state.bot.was_closed and state.bot.worked_until_closed
    assert state.lines[-1] == "The practice ground is closed."


async def test_a_long_channel_loses_its_oldest_but_never_what_it_opened_with(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(simulated, "MOST_MESSAGES", 12)
    monkeypatch.setattr(simulated, "KEPT_MESSAGES", 5)
    async with opened() as state:
        ground = state.ground
        assert ground is not None
        channel, talker = ground.channels["wind-questions"], ground.members["Tamsin"]
        async with ground.hold():
            for number in range(13):
                await talker.send(channel, f"line {number}")
        await ground.tick()
        left = [message.content for message in channel.history()]
        assert left == ["Type `/cup` and a name.", *(f"line {number}" for number in range(8, 13))]
        assert len(ground.channels["hole-notes"].history()) == 1
        async with ground.hold():
            await talker.send(channel, "line 13")
        await ground.tick()
        assert channel.history()[1].content == "line 8"


async def test_a_page_that_a_failed_action_left_stale_can_be_used_again() -> None:
    async with opened() as state:
        assert state.ground is not None
        page = state.ground._pages[0]
        tab = page.preview._open_page()

        async def fail(_: str | None, __: Mapping[str, Any]) -> dict[str, Any]:
            tab.status = "stale"
            return {}

        page.act = fail
        await page.preview._action(tab.id, {})
        assert tab.status == "current"


# Trouble at the door


async def test_without_the_simulation_one_sentence_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "simcord", None)
    monkeypatch.delitem(sys.modules, "bot.practice_ground.simulated")
    monkeypatch.delattr("bot.practice_ground.simulated")
    with pytest.raises(InputError) as caught:
        await open_ground(make_bot=StandIn, world=WORLD, announce=print)
    assert "not installed" in caught.value.sentence
    assert caught.value.example == "pip install -e '.[try]'"


async def test_without_what_the_page_needs_the_sentence_is_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(simulated, "can_serve_pages", lambda: False)
    with pytest.raises(InputError, match=r"pip install -e '\.\[try\]'"):
        await open_ground(make_bot=StandIn, world=WORLD, announce=print)


@pytest.mark.parametrize("port", [-4, 65535, 99999])
async def test_an_impossible_port_is_named(port: int) -> None:
    with pytest.raises(InputError, match=f"Port {port} is no port"):
        async with opened(port):
            pass


async def test_a_port_that_is_taken_is_named_and_the_bot_closed() -> None:
    made: list[StandIn] = []

    def make_bot() -> StandIn:
        made.append(StandIn())
        return made[-1]

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"Port {port} is taken"):
            await open_ground(make_bot=make_bot, world=WORLD, announce=print, port=port)
    assert made[0].was_closed


@pytest.mark.parametrize("name", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_closes_it_cleanly(name: signal.Signals) -> None:
    program = (
        "import asyncio; from bot.practice_ground import open_ground;"
        "from tests.chat.test_ground import WORLD; from tests.chat.stand_in import StandIn;"
        "asyncio.run(open_ground(make_bot=StandIn, world=WORLD,"
        " announce=lambda line: print(line, flush=True)))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", program],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        for line in process.stdout:
            if "Viewing as" in line:
                process.send_signal(name)
                break
        said, complaints = process.communicate(timeout=30)
    assert process.returncode == 0, complaints
    assert said == "The practice ground is closed.\n"
    assert "Traceback" not in complaints


# The page


async def use_everything(driver: PageDriver, url: str) -> None:
    await driver.open(url)
    assert "Type /cup and a name." in await driver.last_message()
    offered = await driver.type_command("cup", name="bi")
    assert offered == ["Birch Cup, 9 holes"]
    await driver.choose("Birch Cup, 9 holes")
    assert "Birch Cup\n\nNine holes." in await driver.send()
    assert "AMBER" in await driver.run_command("cup", name="Amber", loud="True")
    assert "Here it is once more." in await driver.press("Once more")
    await driver.press("Log a miss")
    assert "Logged 2.5 yd right." in await driver.fill_modal({"How far right": "2.5"})
    sorry = await driver.run_command("shrug")
    assert "Only you can see this" in sorry and "Sorry: nothing to show." in sorry
    assert "Sorry: lost my footing." in await driver.press("Stumble")
    await driver.run_command("ballot")
    await driver.vote("Cobalt Cup")
    assert "Cobalt Cup\n1 vote\n100%" in await driver.last_message()
    assert await driver.sideways_px() <= 0
    assert driver.errors == []


@needs_chromium
@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
async def test_a_newcomer_can_use_everything_on_the_page(size: tuple[int, int]) -> None:
    async with opened() as state, in_browser(size) as (driver,):
        await use_everything(driver, state.url("wind-questions"))
        assert state.bot.votes == [3]


@needs_chromium
async def test_what_time_brings_is_shown_by_itself_and_idle_time_changes_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(simulated, "TICK_S", 0.2)
    async with opened() as state, in_browser(DESKTOP) as (driver,):
        await driver.open(state.url("wind-questions"))
        await driver.run_command("later")
        await driver.page.get_by_text("A second has passed.", exact=True).first.wait_for()
        await driver.at_rest()
        shown = "() => window.simcordPreview.publishedRevision"
        before = await driver.page.evaluate(shown)
        await asyncio.sleep(1.5)
        assert await driver.page.evaluate(shown) == before


@needs_chromium
async def test_two_people_can_press_at_the_same_time_and_every_page_shows_it() -> None:
    sizes = (DESKTOP, PHONE, DESKTOP)
    async with opened() as state, in_browser(*sizes) as (coach, member, reader):
        await coach.open(state.url("wind-questions"))
        await member.open(state.url("wind-questions"))
        await reader.open(state.url("hole-notes"))
        await member.view_as("Tamsin")
        await asyncio.gather(
            coach.run_command("cup", name="Amber"), member.run_command("cup", name="Birch")
        )
        for _ in range(3):
            await asyncio.gather(coach.press("Once more"), member.press("Once more"))
        await asyncio.gather(coach.press("Once more"), member.run_command("note"))
        for driver in (coach, member):
            await driver.page.wait_for_function(
                """() => document.querySelector("#channel-message-list").innerText
                  .split("Here it is once more.").length === 1 + 7"""
            )
            text = "\n".join(await driver.messages())
            assert "Rosalind used /cup" in text and "Tamsin used /cup" in text
            assert driver.errors == []
        assert "Posted." not in "\n".join(await coach.messages())
        await reader.page.get_by_text("Hole 4: aim left.", exact=True).first.wait_for()


@needs_chromium
async def test_a_command_that_takes_too_long_does_not_spoil_the_next(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(simulated, "SETTLE_S", 0.6)
    monkeypatch.setattr(simulated, "TICK_S", 0.3)
    async with opened() as state, in_browser(DESKTOP) as (driver,):
        await driver.open(state.url("wind-questions"))
        with pytest.raises(AssertionError, match="timeout"):
            await driver.run_command("dawdle")
        await driver.page.get_by_text("At last.", exact=True).first.wait_for()
        assert "Birch" in await driver.run_command("cup", name="Birch")


@needs_chromium
async def test_an_answer_comes_before_the_eyes_and_a_new_tab_opens_on_the_newest() -> None:
    async with opened() as state, in_browser(PHONE) as (driver,):
        await driver.open(state.url("wind-questions"))
        for number in range(6):
            await driver.run_command("cup", name=f"Cup {number}")
        assert await driver.sees_newest()
        await driver.page.locator("#channel-timeline").evaluate("list => { list.scrollTop = 0; }")
        await driver.page.wait_for_timeout(200)
        assert not await driver.sees_newest()
        await driver.run_command("cup", name="Amber")
        assert await driver.sees_newest()
        await driver.page.reload()
        await driver.at_rest()
        assert "Amber" in await driver.last_message() and await driver.sees_newest()


@needs_chromium
async def test_ending_the_session_on_a_page_closes_the_ground() -> None:
    async with opened() as state, in_browser(DESKTOP) as (driver,):
        await driver.open(state.url("hole-notes"))
        await driver.page.get_by_text("More", exact=True).click()
        await driver.page.get_by_text("End preview session").click()
        started = time.monotonic()
        while "The practice ground is closed." not in state.lines:
            assert time.monotonic() - started < 15
            await asyncio.sleep(0.05)


def test_a_world_can_have_other_people() -> None:
    alone = World(guild="g", bot="b", rooms=(), people=(Person(name="Isolde", coach=True),))
    assert [person.name for person in alone.people] == ["Isolde"]
    assert alone.coach_role == "Coach"
