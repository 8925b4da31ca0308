"""``python -m bot run``: Leeward on Discord, until SIGTERM or Ctrl-C."""

import asyncio
import logging
import signal
from contextlib import suppress

import discord

from bot.app import Leeward, make_bot
from bot.cli.metrics import metrics_served
from bot.settings import Settings, unknown_settings
from shared.errors import InputError
from storage.address import address_of
from storage.lock import FileLock

log = logging.getLogger(__name__)

GRACE_S = 5.0
TOKEN_EXAMPLE = "DISCORD_TOKEN=<your bot's token> python -m bot run"


async def run(settings: Settings) -> None:
    """Log in and serve.

    Errors: InputError for a missing or refused token or a shard of a file, StorageError where
    another Leeward serves from the same file.
    """
    if settings.token is None:
        raise InputError("DISCORD_TOKEN is not set: Discord gives one to every bot.", TOKEN_EXAMPLE)
    for name in unknown_settings():
        log.warning("%s is set, and no setting of Leeward is called so", name)
    address = address_of(settings.database)
    if address.is_sqlite and not settings.shard.is_alone:
        raise InputError(
            "LEEWARD_SHARD is for several processes on one PostgreSQL, and LEEWARD_DATABASE names a"
            " SQLite file.",
            "LEEWARD_DATABASE=postgresql://user@host/leeward",
        )
    with FileLock(address):
        await _until_stopped(settings)


async def _until_stopped(settings: Settings) -> None:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, stop.set)
    # Two warnings at each start about libraries for voice, which nobody needs here.
    discord.VoiceClient.warn_nacl = discord.VoiceClient.warn_dave = False
    bot = make_bot(settings)
    with metrics_served(settings.metrics_port, bot.router.figures, bot.is_ready):
        await _serve_until(stop, bot, settings)


async def _serve_until(stop: asyncio.Event, bot: Leeward, settings: Settings) -> None:
    serving = asyncio.create_task(_serve(bot, settings))
    stopping = asyncio.create_task(stop.wait())
    await asyncio.wait((serving, stopping), return_when=asyncio.FIRST_COMPLETED)
    stopping.cancel()
    if not serving.done():
        log.info("stopping")
        await bot.close()
        # Between two tries to reconnect the library sleeps on, for minutes, though it was closed.
        await asyncio.wait((serving,), timeout=GRACE_S)
        serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving


async def _serve(bot: discord.Client, settings: Settings) -> None:
    assert settings.token is not None
    try:
        async with bot:
            await bot.start(settings.token.get_secret_value())
    except discord.LoginFailure:
        raise InputError(
            "Discord refused the token in DISCORD_TOKEN: copy it anew from your bot's page.",
            TOKEN_EXAMPLE,
        ) from None
    except (discord.GatewayNotFound, OSError) as error:
        raise InputError(
            "Discord can't be reached from here: check the network and try again.", TOKEN_EXAMPLE
        ) from error
