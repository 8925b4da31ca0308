"""The simulated Discord and its pages: the only module that leans on simcord's private parts.

simcord is made for tests: its clock stands still, its page is a test's window, and its public API
knows one page for one channel. A practice ground needs a clock that goes, a page for each room and
hours of use. So this module, pinned to simcord 3.2.1 and held by tests/chat/test_ground.py, reads
and sets private attributes (no public way exists for any of them):

- ``Env.backend``: the bot's name, deleting old messages, the log that says whether anything
  happened, and emptying the logs a test would keep for ever.
- ``Env._preview``: the environment knows one page; it is told of the one that is acting.
- ``Env._errors``, ``Env._error_ids``: emptied, since nobody inspects them here.
- ``Env._bot_scope``: so that what the bot does of itself is seen through to its end.
- ``Preview.capability``: fixed before entering, so that an address outlives a restart.
- ``Preview._action``, ``._open_page``, ``._publish``: wrapped, to move the clock first, under one
  lock, and to scroll to what answers.
- ``Preview._pages``, ``._python``, ``._active``, ``._close_page``, ``._initial_target``,
  ``._advance_presentation_time``, ``._PAGE_LEASE_SECONDS``, ``._MAX_PAGES``: to show what time
  and other people changed, and to keep the tabs of the browser alive.
- ``Preview._server._static``: wrapped, to correct one script (see ``scripts``).
- ``on_error`` of the command tree and of views: simcord counts what it sees there as failure
  even when the bot answers it with a sentence, so the bot's own handlers are put back.
"""

# pyright: reportPrivateUsage=false

import asyncio
import logging
from collections.abc import AsyncGenerator, Awaitable, Callable, Coroutine, Generator, Mapping
from contextlib import AsyncExitStack, asynccontextmanager, contextmanager
from dataclasses import dataclass
from functools import partial
from types import TracebackType
from typing import Any, TypeVar

import discord
import simcord
from discord.ext import commands
from simcord.preview import Preview, _require_preview_runtime
from simcord.preview._pages import _Page as _Tab

from bot.practice_ground.clock import LivingClock
from bot.practice_ground.scripts import correcting
from bot.practice_ground.world import Room, World
from shared.errors import InputError

log = logging.getLogger(__name__)
T = TypeVar("T")
Body = Mapping[str, Any]
Act = Callable[[str | None, Body], Awaitable[dict[str, Any]]]

SETTLE_S = 60.0  # what a command may take before the page calls it failed
TICK_S = 5.0  # how often time passes while nobody presses anything
CLOSE_S = 10.0  # what the bot may take to close what it has open

# Publishing a page costs more the longer the channel (86 ms at 50 messages, 1.2 s at 2,000), so
# beyond the one number the oldest go, down to the other; what was there at the opening stays.
MOST_MESSAGES = 80
KEPT_MESSAGES = 50

KEPT_LOG_ENTRIES = 200
PAGE_LEASE_S = 30 * 24 * 3600.0  # a tab left open over the weekend must still work
HIGHEST_PORT = 65535
MOST_TABS = 8  # for each room; the one unused for longest makes way for a new one


@dataclass(frozen=True)
class Address:
    """Where a room's page is."""

    room: str
    url: str


def can_serve_pages() -> bool:
    """Tell whether what the page needs is installed with the simulation."""
    try:
        _require_preview_runtime()
    except simcord.SetupError:
        return False
    return True


def oldest(messages: Mapping[int, object], *, kept: set[int]) -> list[int]:
    """Pick the ids to drop from a channel that has grown long; ``kept`` ones never go."""
    passing = sorted(set(messages) - kept)
    return passing[:-KEPT_MESSAGES] if len(passing) > MOST_MESSAGES else []


class Ground:
    """A community on the simulated Discord with a real bot in it and a page for each room.

    ``channels`` and ``members`` are simcord's handles by name: a member can ``slash`` and
    ``click`` as a person would, for preparing things before the pages open.
    """

    def __init__(self, make_bot: Callable[[], commands.Bot], world: World) -> None:
        self.world = world
        self.bot = make_bot()
        self.env = simcord.Env(self.bot, check_errors=False, settle_timeout=SETTLE_S)
        self.addresses: tuple[Address, ...] = ()
        # The community is made before the clock is set, so that its ids are the same each time.
        self.env.backend.edit_bot_profile(world.bot)
        self.guild = self.env.create_guild(world.guild)
        self.channels = {
            room.name: self.guild.create_text_channel(room.name, topic=room.topic or None)
            for room in world.rooms
        }
        coach = self.guild.create_role(
            world.coach_role, permissions=discord.Permissions(manage_guild=True)
        )
        self.members = {
            person.name: self.guild.add_member(
                self.env.create_user(person.name.lower(), global_name=person.name),
                roles=[coach] if person.coach else [],
            )
            for person in world.people
        }
        self.others = {
            name: self.guild.add_member(self.env.create_user(name.lower(), global_name=name))
            for name in world.others
        }
        self._clock = LivingClock(now=self.env.now, advance=self.env.advance_time)
        self.env.backend.advance_clock(self._clock.behind_s())
        self._pages: list[_Page] = []
        self._lock = asyncio.Lock()
        self._kept: set[int] = set()
        self._shown = 0  # how much of the simulation's log the pages show
        self._stack = AsyncExitStack()

    async def __aenter__(self) -> "Ground":
        on_tree_error = self.bot.tree.on_error
        async with AsyncExitStack() as stack:
            stack.push_async_callback(self._close_bot)
            await self.env.start()
            stack.push_async_callback(self.env.shutdown)
            # The bot is closed while its Discord still answers.
            stack.push_async_callback(self._close_bot)
            stack.enter_context(self.env.time_context())
            _give_back_error_handlers(self.bot, on_tree_error)
            if self.bot.intents.members:
                await self.as_bot(self._meet_members())
            self._stack = stack.pop_all()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for page in self._pages:
            await page.preview.close()
        await self._stack.__aexit__(kind, error, trace)

    @asynccontextmanager
    async def hold(self) -> AsyncGenerator[None, None]:
        """Keep pages and time from moving while ``members`` do something; not needed in on_open."""
        async with self._lock:
            yield

    async def as_bot(self, work: Coroutine[Any, Any, T]) -> T:
        """Run ``work`` as the bot would, and wait for all that follows from it."""
        async with self._lock:
            with self.env._bot_scope():
                task = asyncio.get_running_loop().create_task(work)
            result = await task
            await self.env.settle()
            return result

    async def _meet_members(self) -> None:
        # On Discord the bot knows everybody by now; the simulation leaves no time for asking.
        for guild in self.bot.guilds:
            await guild.chunk()

    async def post_welcomes(self) -> None:
        """Let the bot say in each room what to try there."""
        for room in self.world.rooms:
            if room.welcome:
                await self.as_bot(self._welcome(room))

    async def _welcome(self, room: Room) -> None:
        channel = self.bot.get_channel(self.channels[room.name].id)
        if isinstance(channel, discord.TextChannel):
            await channel.send(room.welcome, allowed_mentions=discord.AllowedMentions.none())

    async def open_pages(self, port: int | None) -> None:
        """Serve every room; what its channel holds by now is never dropped from it."""
        if port is not None and not 0 < port <= HIGHEST_PORT - len(self.world.rooms):
            raise _bad_port(port, "is no port a page can be served on")
        for messages in self.env.backend.messages.values():
            self._kept.update(messages)
        for offset, room in enumerate(self.world.rooms):
            self._pages.append(await self._open_page(room, port + offset if port else 0))
        self.addresses = tuple(
            Address(room.name, page.preview.url)
            for room, page in zip(self.world.rooms, self._pages, strict=True)
        )

    async def _open_page(self, room: Room, port: int) -> "_Page":
        self.env._preview = None
        preview = self.env.preview(
            self.channels[room.name],
            viewers=tuple(self.members.values()),
            layout="channel",
            timezone=self.world.zone,
            port=port,
        )
        preview.capability = room.name
        vars(preview._server).update(_static=correcting(preview._server._static))
        try:
            await preview.__aenter__()
        except simcord.SetupError as error:
            if "bind" not in str(error):
                raise
            raise _bad_port(port, "is taken by something else on this machine") from error
        return _Page(preview, self._act)

    async def stay(self, until: asyncio.Event) -> None:
        """Let time pass until the event is set or somebody ends the session on a page."""
        waits = [asyncio.create_task(until.wait())]
        waits += [asyncio.create_task(page.preview.wait_closed()) for page in self._pages]
        try:
            while not (await asyncio.wait(waits, timeout=TICK_S, return_when="FIRST_COMPLETED"))[0]:
                await self.tick()
        finally:
            for wait in waits:
                wait.cancel()

    async def tick(self) -> None:
        """Let pass the time that has passed on the wall, and drop what is no longer needed."""
        async with self._lock:
            await self._pass_time()
            self._tidy()

    async def _act(self, page: "_Page", context_id: str | None, body: Body) -> dict[str, Any]:
        """Do what somebody does on a page: after all that was due before it, and nothing beside."""
        async with self._lock:
            await self._pass_time()
            self.env._preview = page.preview
            page.preview._advance_presentation_time()
            shown = {tab.id: tab.revision for tab in self._tabs()}
            seen = len(self.env.backend.transcript)
            with page.following(context_id):
                result = await page.act(context_id, page.up_to_date(context_id, body))
            touched = _channels(self.env.backend.transcript[seen:])
            for tab in self._tabs():
                missed = tab.channel_id in touched and shown.get(tab.id) == tab.revision
                if missed or tab.status == "stale":  # a stale tab refuses commands
                    tab.preview._publish(tab)
            self._tidy()
            return result

    async def _pass_time(self) -> None:
        """Catch up with the wall; publish only if something happened since the last time."""
        try:
            await self._clock.catch_up()
        except (TimeoutError, simcord.SetupError) as error:
            log.warning("Time could not pass: %s", error)
        if len(self.env.backend.transcript) != self._shown:
            self._publish_all()

    def _publish_all(self) -> None:
        for page in self._pages:
            page.preview._advance_presentation_time()
        for tab in self._tabs():
            tab.preview._publish(tab)

    def _tabs(self) -> list[_Tab]:
        return [tab for page in self._pages for tab in page.tabs()]

    def _tidy(self) -> None:
        """Drop what a test would keep and hours of use must not."""
        dropped = [
            (channel_id, message_id)
            for channel_id, messages in self.env.backend.messages.items()
            for message_id in oldest(messages, kept=self._kept)
        ]
        for channel_id, message_id in dropped:
            self.env.backend.delete_message(channel_id, message_id)
        if dropped:
            self._publish_all()
        del self.env.http_requests[:-KEPT_LOG_ENTRIES]
        del self.env.backend.transcript[:-KEPT_LOG_ENTRIES]
        self._shown = len(self.env.backend.transcript)
        self.env._errors.clear()
        self.env._error_ids.clear()

    async def _close_bot(self) -> None:
        if self.bot.is_closed():
            return
        with self.env._bot_scope():
            task = asyncio.get_running_loop().create_task(self.bot.close())
        try:
            await asyncio.wait_for(task, CLOSE_S)
        except TimeoutError:
            log.warning("The bot did not close within %.0f s.", CLOSE_S)


class _Page:
    """One room's page: simcord's, but told what to do by the ground, and open for ever."""

    def __init__(
        self,
        preview: Preview,
        act: "Callable[[_Page, str | None, Body], Awaitable[dict[str, Any]]]",
    ) -> None:
        self.preview = preview
        # The window meant for the test itself: nobody looks, and it is drawn with every change.
        preview._pages.clear()
        self.act: Act = preview._action
        self._open = preview._open_page
        self._publish = preview._publish
        self._follower: tuple[str, int] | None = None
        # Constants of the class and methods; only this page is to differ.
        vars(preview).update(
            _action=partial(act, self),
            _open_page=self._open_tab,
            _publish=self._publish_tab,
            _PAGE_LEASE_SECONDS=PAGE_LEASE_S,
            _MAX_PAGES=MOST_TABS,
        )

    def tabs(self) -> list[_Tab]:
        """List the browser tabs that show this page."""
        return list(self.preview._pages.values()) if self.preview._active else []

    def up_to_date(self, context_id: str | None, body: Body) -> Body:
        """Let an action count as meant for what its tab shows now.

        A tab says which publication its person was looking at, and is refused when there is a
        newer one. Here time and other people publish too, and what is pressed is still checked
        against what is there.
        """
        tab = self.preview._pages.get(context_id or "")
        if tab is None or "published_revision" not in body:
            return body
        return {**body, "published_revision": tab.revision}

    @contextmanager
    def following(self, context_id: str | None) -> Generator[None, None, None]:
        """Bring before the eyes of the person who acts what the bot answers them with."""
        tab = self.preview._pages.get(context_id or "")
        self._follower = (tab.id, self._newest(tab)) if tab is not None else None
        try:
            yield
        finally:
            self._follower = None

    def _newest(self, tab: _Tab) -> int:
        return self.preview._initial_target(tab.viewer, tab.channel_id) or 0

    def _publish_tab(self, tab: _Tab, **reason: Any) -> None:
        if self._follower is not None and tab.id == self._follower[0]:
            newest = self._newest(tab)
            if newest > self._follower[1]:
                tab.target_id = newest  # the page scrolls to where its target changes
        self._publish(tab, **reason)

    def _open_tab(self, viewer_id: Any = None, target_id: Any = None) -> _Tab:
        tabs = self.tabs()
        if len(tabs) >= MOST_TABS:
            self.preview._close_page(min(tabs, key=lambda tab: tab.last_activity).id)
        start = self.preview._python
        if start is not None:  # a tab opens on the newest, not on what was there at the start
            start.target_id = self._newest(start) or None
        return self._open(viewer_id, target_id)


def _channels(happened: list[tuple[str, str, Any]]) -> set[int]:
    """Find the channels in which something happened, from simcord's log of it."""
    return {
        int(payload["channel_id"])
        for kind, _, payload in happened
        if kind == "GATEWAY" and payload.get("channel_id") is not None
    }


def _bad_port(port: int, trouble: str) -> InputError:
    return InputError(f"Port {port} {trouble}.", "python -m bot try --port 8760", str(port))


def _give_back_error_handlers(bot: commands.Bot, on_tree_error: Any) -> None:
    """Put the bot's own handlers back, unless it has set a new one while starting."""
    if getattr(bot.tree.on_error, "__module__", "").startswith("simcord"):
        bot.tree.on_error = on_tree_error
    store = bot._connection._view_store
    store.add_view = _unwrapped(store.add_view)
    for items in store._views.values():
        for item in items.values():
            if item.view is not None:
                item.view.on_error = _unwrapped(item.view.on_error)


def _unwrapped(handler: Any) -> Any:
    while (inner := getattr(handler, "__simcord_original_callback__", handler)) is not handler:
        handler = inner
    return handler
