"""The simulated Discord behind a real socket: bots are processes of their own, and may be killed.

The simulation's backend answers HTTP and speaks the gateway on a port of this machine, each bot
hears what its shard would, and the clock is the wall's. As on Discord, an event that nobody was
connected to hear is lost, and a message with a nonce that was posted before is not posted again.
"""

import asyncio
import io
import json
import os
import signal
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import discord
import simcord
from aiohttp import WSMsgType, web
from simcord import intents as simulated_intents
from simcord._clock import Clock
from simcord.backend import Backend, serializers
from simcord.backend.errors import BackendError
from simcord.http import router
from simcord.results import ResponseMessage

from bot.chat.respond import NOWHERE

ROOT = Path(__file__).parents[2]
TOKEN = "wire." + "t" * 24
BEAT_MS = 41_250  # as Discord asks for a sign of life
SAME_NONCE_S = 300.0  # "the past few minutes" in Discord's documentation
ANSWER_S = 60.0
START_S = 60.0

FILES = "https://cdn.simcord.invalid"  # where the simulation says that files are

START = """
import sys
import discord.gateway, discord.http, yarl
place = sys.argv[1]
discord.http.Route.BASE = f"http://{place}/api/v10"
discord.gateway.DiscordWebSocket.DEFAULT_GATEWAY = yarl.URL(f"ws://{place}/gateway")
from bot.__main__ import main
sys.exit(main(["run"]))
"""


class WallClock(Clock):
    """The simulation's clock with the wall's time."""

    def now(self) -> datetime:
        """This moment."""
        return datetime.now(UTC)


class WireEnv(simcord.Env):
    """The simulation's people and places, without a bot of its own and without its clock."""

    def __init__(self) -> None:
        super().__init__(discord.Client(intents=discord.Intents.none()), check_errors=False)
        self.backend = Backend(clock=WallClock())

    def _begin_operation(self, label: str) -> None:
        """Let several people act at once."""

    def _end_operation(self) -> None:
        """As ``_begin_operation``."""

    async def _settle_internal(self, **_: Any) -> None:
        """Wait for nobody: a bot answers when it does."""


@dataclass(eq=False)
class Connection:
    """A bot on the gateway."""

    socket: web.WebSocketResponse
    place_of_files: Callable[[str], str]
    shard: tuple[int, int] = (0, 1)
    intents: discord.Intents = field(default_factory=discord.Intents.none)
    queue: "asyncio.Queue[str]" = field(default_factory=asyncio.Queue)
    sequence: int = 0

    def say(self, **said: Any) -> None:
        """Send something, in order and as it is now."""
        self.queue.put_nowait(self.place_of_files(json.dumps(said)))

    def put(self, event: str, payload: Mapping[str, Any]) -> None:
        """Send an event."""
        self.sequence += 1
        self.say(op=0, s=self.sequence, t=event, d=dict(payload))

    def hears(self, event: str, payload: Mapping[str, Any]) -> bool:
        """Whether its shard and its intents are for an event."""
        guild = payload.get("id" if event.startswith("GUILD_") else "guild_id")
        if event.startswith("GUILD_") and payload.get("guild_id") is not None:
            guild = payload["guild_id"]
        number, count = self.shard
        if ((int(guild or NOWHERE) >> 22) % count) != number:
            return False
        needed = simulated_intents.required_intent(event, payload)
        return needed is None or bool(getattr(self.intents, needed))


class Wire:
    """Discord on a port."""

    def __init__(self, env: WireEnv) -> None:
        self.env = env
        self.backend = env.backend
        self.place = ""
        self.connections: list[Connection] = []
        self._nonces: dict[tuple[str, str], tuple[float, Any]] = {}
        self.backend.subscribers.append(self._tell)

    def _tell(self, event: str, payload: Mapping[str, Any]) -> None:
        for connection in self.connections:
            if connection.hears(event, payload):
                connection.put(event, payload)

    # HTTP -------------------------------------------------------------------------------------

    def _with_files_here(self, text: str) -> str:
        return text.replace(FILES, f"http://{self.place}/files")

    async def file(self, request: web.Request) -> web.StreamResponse:
        """A file that somebody attached."""
        data = self.backend.cdn.get(f"{FILES}/{request.match_info['path']}")
        return web.Response(status=404) if data is None else web.Response(body=data)

    async def answer(self, request: web.Request) -> web.StreamResponse:
        """One request of a bot."""
        path = "/" + request.match_info["path"]
        if path == "/gateway/bot":
            limit = {"total": 1000, "remaining": 1000, "reset_after": 0, "max_concurrency": 16}
            url = f"ws://{self.place}/gateway"
            return self._said({"url": url, "shards": 1, "session_start_limit": limit})
        body, files = await _parts(request)
        posts = request.method == "POST" and path.endswith("/messages")
        nonce = (path, str(body["nonce"])) if posts and body and body.get("enforce_nonce") else None
        if nonce in self._nonces and time.monotonic() - self._nonces[nonce][0] < SAME_NONCE_S:
            return self._said(self._nonces[nonce][1])
        try:
            found = router.dispatch(
                self.backend,
                request.method,
                path,
                json=body,
                params=dict(request.query),
                files=files,
                reason=request.headers.get("X-Audit-Log-Reason"),
            )
        except BackendError as error:
            return self._said(error.to_json(), status=error.status)
        if nonce is not None:
            self._nonces[nonce] = time.monotonic(), found
        return web.Response(status=204) if found is None else self._said(found)

    def _said(self, found: Any, *, status: int = 200) -> web.Response:
        body = self._with_files_here(json.dumps(found)).encode()
        # The library takes a body for JSON only by this type, without a character set.
        return web.Response(body=body, status=status, headers={"Content-Type": "application/json"})

    # The gateway ------------------------------------------------------------------------------

    async def gateway(self, request: web.Request) -> web.StreamResponse:
        """A bot's connection, until one side ends it."""
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        connection = Connection(socket, self._with_files_here)
        await socket.send_json({"op": 10, "d": {"heartbeat_interval": BEAT_MS}})
        sending = asyncio.create_task(self._send(connection))
        try:
            async for message in socket:
                if message.type is WSMsgType.TEXT:
                    self._heard(connection, json.loads(message.data))
        finally:
            if connection in self.connections:
                self.connections.remove(connection)
            sending.cancel()
        return socket

    async def _send(self, connection: Connection) -> None:
        while True:
            await connection.socket.send_str(await connection.queue.get())

    def _heard(self, connection: Connection, said: Mapping[str, Any]) -> None:
        if said["op"] == 1:
            connection.say(op=11)
        elif said["op"] == 6:  # a session that is resumed: none is kept
            connection.say(op=9, d=False)
        elif said["op"] == 2:
            number, count = said["d"].get("shard") or (0, 1)
            connection.shard = number, count
            connection.intents = discord.Intents._from_value(int(said["d"]["intents"]))
            self._welcome(connection)

    def _welcome(self, connection: Connection) -> None:
        number, count = connection.shard
        served = [
            each for each in self.backend.guilds.values() if (each.id >> 22) % count == number
        ]
        ready = {
            "v": 10,
            "user": dict(serializers.user_payload(self.backend.bot_user)),
            "guilds": [{"id": str(each.id), "unavailable": True} for each in served],
            "session_id": f"wire-{id(connection)}",
            "resume_gateway_url": f"ws://{self.place}/gateway",
            "shard": [number, count],
            "application": {"id": str(self.backend.application_id), "flags": 0},
        }
        connection.put("READY", ready)
        for guild in served:
            payload: dict[str, Any] = dict(serializers.guild_create_payload(self.backend, guild))
            simulated_intents.prune_guild_create(
                payload, connection.intents, self.backend.bot_user.id
            )
            connection.put("GUILD_CREATE", payload)
        self.connections.append(connection)

    # What the tests ask -----------------------------------------------------------------------

    def messages(self, channel: Any) -> list[ResponseMessage]:
        """What everybody sees in a channel, oldest first."""
        kept = self.backend.messages.get(channel.id, {})
        return [
            ResponseMessage(self.env, each)
            for each in sorted(kept.values(), key=lambda each: each.id)
            if not each.is_ephemeral
        ]

    async def answered(self, result: Any, *, within_s: float = ANSWER_S) -> Any:
        """The same interaction once it has its answer: a form, choices or a finished message."""
        await until(lambda: is_answered(result), within_s=within_s)
        return result


def is_answered(result: Any) -> bool:
    """Whether an interaction has its answer."""
    record = result._interaction
    if record.modal is not None or record.autocomplete_choices is not None:
        return True
    said = result.response is not None or bool(result.followups)
    return said and record.responded and not record.loading


async def until(holds: Callable[[], bool], *, within_s: float = ANSWER_S) -> None:
    """Wait until something holds. Raises TimeoutError."""
    async with asyncio.timeout(within_s):
        while not holds():
            await asyncio.sleep(0.02)


async def until_so(holds: Callable[[], Awaitable[bool]], *, within_s: float = ANSWER_S) -> None:
    """Wait until something that must be asked for holds. Raises TimeoutError."""
    async with asyncio.timeout(within_s):
        while not await holds():
            await asyncio.sleep(0.1)


async def _parts(request: web.Request) -> tuple[Any, list[discord.File]]:
    """The body and the files of a request."""
    if not request.content_type.startswith("multipart/"):
        text = await request.text()
        return (json.loads(text) if text else None), []
    body: Any = None
    files: list[discord.File] = []
    async for part in await request.multipart():
        assert not isinstance(part, type(None))
        if getattr(part, "name", "") == "payload_json":
            body = json.loads(await part.text())  # type: ignore[union-attr]
        else:
            data = await part.read()  # type: ignore[union-attr]
            files.append(discord.File(io.BytesIO(bytes(data)), getattr(part, "filename", "file")))
    return body, files


@asynccontextmanager
async def serving_discord() -> AsyncIterator[Wire]:
    """Discord on a free port of this machine."""
    wire = Wire(WireEnv())
    app = web.Application(client_max_size=2**24)
    app.router.add_get("/gateway", wire.gateway)
    app.router.add_get("/gateway/", wire.gateway)
    app.router.add_get("/files/{path:.*}", wire.file)
    app.router.add_route("*", "/api/v10/{path:.*}", wire.answer)
    runner = web.AppRunner(app, shutdown_timeout=1.0)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    address = runner.addresses[0]
    wire.place = f"{address[0]}:{address[1]}"
    try:
        yield wire
    finally:
        await runner.cleanup()


class BotProcess:
    """``python -m bot run`` against the wire."""

    def __init__(self, wire: Wire, database: str, log: Path, **settings: str) -> None:
        self._wire = wire
        self._log = log
        self.database = database
        self._environment = {
            **{name: value for name, value in os.environ.items() if "LEEWARD" not in name},
            "PYTHONPATH": str(ROOT),
            "DISCORD_TOKEN": TOKEN,
            "LEEWARD_DATABASE": database,
            **settings,
        }
        self._process: asyncio.subprocess.Process | None = None
        self._connection: Connection | None = None
        self.deaths = 0

    async def answered(self, result: Any) -> Any | None:
        """An interaction once this bot has answered it; None where it died before."""
        deaths, heard = self.deaths, self._connection in self._wire.connections
        await until(lambda: is_answered(result) or not heard or self.deaths != deaths)
        return result if is_answered(result) else None

    async def start(self) -> None:
        """Start it; returns when it serves."""
        before = list(self._wire.connections)
        with self._log.open("ab") as log:
            self._process = await asyncio.create_subprocess_exec(
                *(sys.executable, "-c", START, self._wire.place),
                cwd=ROOT,
                env=self._environment,
                stdout=log,
                stderr=log,
            )
        process = self._process

        def serves() -> bool:
            assert process.returncode is None, self.said()
            return any(each not in before for each in self._wire.connections)

        await until(serves, within_s=START_S)
        self._connection = next(each for each in self._wire.connections if each not in before)

    async def kill(self) -> None:
        """End it without a word (SIGKILL)."""
        await self._end(signal.SIGKILL)

    async def stop(self) -> int:
        """Tell it to stop (SIGTERM); its status."""
        return await self._end(signal.SIGTERM)

    async def _end(self, number: signal.Signals) -> int:
        process, self._process = self._process, None
        self._connection = None
        self.deaths += 1
        if process is None:
            return 0
        if process.returncode is None:
            process.send_signal(number)
        return await process.wait()

    def said(self) -> str:
        """Its log so far, over all its lives."""
        return self._log.read_text()
