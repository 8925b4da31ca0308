"""Which handler answers a button or a form: found by the first word of its custom id.

Buttons and forms of an earlier life are answered too, for all they ask for stands in their custom
id. A feature registers its handlers when it is loaded; what they raise is answered here.
"""

import asyncio
import logging
import re
from collections.abc import AsyncGenerator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress

import discord

from bot.chat.respond import Interaction, acknowledge, answer_error
from shared.errors import GONE, InputError

Handler = Callable[[Interaction, str], Awaitable[None]]

_NAME = re.compile(r"[a-z]+")
PATIENCE_S = 1.5  # of the three seconds Discord gives; as long is left for the way there

log = logging.getLogger(__name__)


class Router:
    """The handlers by the first word of the custom ids they answer."""

    def __init__(self) -> None:
        self._handlers: dict[str, Handler] = {}
        self._under_way: set[asyncio.Task[object]] = set()

    def on(self, name: str, handler: Handler) -> None:
        """Have ``handler`` answer every button and form whose id begins with ``name``."""
        self._handlers[name] = handler

    async def route(self, interaction: Interaction, custom_id: str) -> None:
        """Hand a press or a filled form to its handler; answer what goes wrong."""
        found = _NAME.match(custom_id)
        handler = self._handlers.get(found[0]) if found else None
        async with self.answering(interaction):
            try:
                if handler is None:
                    raise InputError(GONE, "/help")
                await handler(interaction, custom_id)
            except Exception as error:
                await answer_error(interaction, error)

    @asynccontextmanager
    async def answering(self, interaction: Interaction) -> AsyncGenerator[None]:
        """While a press or a command is answered: in time, and waited for when Leeward stops."""
        task = asyncio.current_task()
        assert task is not None
        self._under_way.add(task)
        try:
            async with acknowledged_in_time(interaction):
                yield
        finally:
            self._under_way.discard(task)

    async def all_answered(self) -> None:
        """Wait until everything under way is answered."""
        while self._under_way:
            await asyncio.wait(self._under_way)

    async def route_form(self, interaction: Interaction) -> None:
        """Hand on an interaction if it is a filled form."""
        if interaction.type is discord.InteractionType.modal_submit:
            await self.route(interaction, str((interaction.data or {}).get("custom_id", "")))


@asynccontextmanager
async def acknowledged_in_time(interaction: Interaction) -> AsyncGenerator[None]:
    """While the body runs, acknowledge by ourselves where it takes too long."""
    watch = asyncio.create_task(_watch(interaction))
    try:
        yield
    finally:
        watch.cancel()
        with suppress(asyncio.CancelledError):
            await watch


async def _watch(interaction: Interaction) -> None:
    await asyncio.sleep(PATIENCE_S)
    try:
        await acknowledge(interaction)
    except discord.HTTPException as error:
        log.warning("an interaction could not be acknowledged: %s", error)
