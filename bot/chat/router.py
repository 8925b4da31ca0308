"""Which handler answers a button or a form: found by the first word of its custom id.

Buttons and forms of an earlier life are answered too, for all they ask for stands in their custom
id. A feature registers its handlers when it is loaded; what they raise is answered here.
"""

import asyncio
import logging
import re
from collections.abc import AsyncGenerator, Awaitable, Callable, Coroutine
from contextlib import asynccontextmanager, suppress
from typing import Any, ClassVar, Protocol, TypeVar, runtime_checkable

import discord
from discord import app_commands

from bot.chat.cooldown import Cooldowns, TooOftenError
from bot.chat.figures import Figures
from bot.chat.forms import FormAsked
from bot.chat.respond import (
    FIELDS,
    Interaction,
    acknowledge,
    answer_error,
    community_of,
    is_outside,
)
from bot.chat.written import Fields
from shared.errors import GONE, InputError

AnyCommand = TypeVar("AnyCommand", bound=app_commands.Command[Any, ..., Any])
Handler = Callable[[Interaction, str], Awaitable[None]]
Sleep = Callable[[float], Awaitable[None]]

_NAME = re.compile(r"[a-z]+")
SUBCOMMAND, SUBCOMMAND_GROUP = 1, 2  # Discord's types of options
PATIENCE_S = 1.5  # of the three seconds Discord gives; as long is left for the way there

log = logging.getLogger(__name__)


@runtime_checkable
class KnowsHomes(Protocol):
    """A client that knows whose bag answers a member outside a server."""

    async def settle_home(self, interaction: Interaction) -> bool:
        """Say it in the interaction; False where the member was asked to choose first."""
        ...


@runtime_checkable
class KnowsRoles(Protocol):
    """A client for which a member's roles say something."""

    def note_roles(self, interaction: Interaction) -> None:
        """Take in the roles of who acts."""
        ...


class NamedForm(FormAsked, Protocol):
    """A form that the router knows by its name."""

    name: ClassVar[str]


async def settled(interaction: Interaction) -> bool:
    """Whether it is known whose bag answers; else the member has been asked."""
    client = interaction.client
    if not is_outside(interaction):
        if isinstance(client, KnowsRoles):
            client.note_roles(interaction)
        return True
    if not isinstance(client, KnowsHomes):
        return True
    return await client.settle_home(interaction)


def command_name(interaction: Interaction) -> str:
    """The whole name of the command that is asked, of a group with what is in it."""
    data: Any = interaction.data or {}
    names, options = [str(data.get("name", ""))], data.get("options", [])
    while options and options[0].get("type") in (SUBCOMMAND, SUBCOMMAND_GROUP):
        names.append(str(options[0]["name"]))
        options = options[0].get("options", [])
    return " ".join(names)


def everywhere(command: AnyCommand) -> AnyCommand:
    """A command that also answers in direct messages, and for who installed Leeward alone."""
    anywhere = app_commands.allowed_contexts(guilds=True, dms=True, private_channels=True)
    return app_commands.allowed_installs(guilds=True, users=True)(anywhere(command))


class Router:
    """The handlers by the first word of the custom ids they answer."""

    def __init__(self, sleep: Sleep = asyncio.sleep, cooldowns: Cooldowns | None = None) -> None:
        self.sleep = sleep
        self.cooldowns = cooldowns or Cooldowns()
        self.figures = Figures()
        self._handlers: dict[str, Handler] = {}
        self._forms: dict[str, type[NamedForm]] = {}
        self._under_way: set[asyncio.Task[object]] = set()
        self.homeless: set[str] = set()  # names of what is answered before a community is known

    def on(self, name: str, handler: Handler) -> None:
        """Have ``handler`` answer every button and form whose id begins with ``name``."""
        self._handlers[name] = handler

    def on_form(self, asked: type[NamedForm], handler: Handler) -> None:
        """Have ``handler`` answer a form; errors name its fields by their labels."""
        self.on(asked.name, handler)
        self._forms[asked.name] = asked

    async def route(self, interaction: Interaction, custom_id: str) -> None:
        """Hand a press or a filled form to its handler; answer what goes wrong."""
        found = _NAME.match(custom_id)
        name = found[0] if found else ""
        handler = self._handlers.get(name)
        if (form := self._forms.get(name)) is not None:
            interaction.extras.setdefault(FIELDS, Fields(form.labels, form.many))
        async with self.answering(interaction):
            try:
                if handler is None:
                    raise InputError(GONE, "/help")
                if name not in self.homeless:
                    if not await settled(interaction):
                        return
                    self.count(interaction, "this button")
                await handler(interaction, custom_id)
            except Exception as error:
                await answer_error(interaction, error)

    def count(self, interaction: Interaction, name: str) -> None:
        """Count that a member asks. Errors: TooOftenError."""
        self.cooldowns.ask((community_of(interaction), interaction.user.id), name)

    @asynccontextmanager
    async def answering(self, interaction: Interaction) -> AsyncGenerator[None]:
        """While a press or a command is answered: in time, and waited for when Leeward stops."""
        task = asyncio.current_task()
        assert task is not None
        self._under_way.add(task)
        try:
            with self.figures.answers.time():
                async with acknowledged_in_time(interaction, self.sleep):
                    yield
        finally:
            self._under_way.discard(task)

    async def suggesting(
        self, interaction: Interaction, work: Callable[[], Coroutine[Any, Any, None]]
    ) -> None:
        """Let ``work`` give its suggestions; none where it fails or takes too long."""
        given, late = asyncio.create_task(work()), asyncio.ensure_future(self.sleep(PATIENCE_S))
        self._under_way.add(given)
        try:
            await asyncio.wait((given, late), return_when=asyncio.FIRST_COMPLETED)
        finally:
            late.cancel()
            given.cancel()
            self._under_way.discard(given)
        with suppress(asyncio.CancelledError):
            await given
        if interaction.response.is_done():
            return
        try:
            await interaction.response.autocomplete([])
        except discord.HTTPException as error:  # they were on their way
            log.debug("no suggestions could be given: %s", error)

    async def all_answered(self) -> None:
        """Wait until everything under way is answered."""
        while self._under_way:
            await asyncio.wait(self._under_way)

    async def route_form(self, interaction: Interaction) -> None:
        """Hand on an interaction if it is a filled form."""
        if interaction.type is discord.InteractionType.modal_submit:
            await self.route(interaction, str((interaction.data or {}).get("custom_id", "")))


@runtime_checkable
class HasRouter(Protocol):
    """A client whose router sees to it that answers come in time."""

    router: Router


class PatientTree(app_commands.CommandTree[discord.Client]):
    """Commands and suggestions that keep Discord's three seconds."""

    async def _call(self, interaction: Interaction) -> None:
        # The library has a hook before a command and none around it.
        client = interaction.client
        assert isinstance(client, HasRouter)
        if interaction.type is not discord.InteractionType.application_command:
            await client.router.suggesting(interaction, lambda: self._suggest(interaction))
            return
        async with client.router.answering(interaction):
            if not await settled(interaction):
                return
            try:
                client.router.count(interaction, command_name(interaction))
            except TooOftenError as error:
                await self.on_error(interaction, error)
                return
            await super()._call(interaction)

    async def _suggest(self, interaction: Interaction) -> None:
        if await settled(interaction):
            await super()._call(interaction)


@asynccontextmanager
async def acknowledged_in_time(interaction: Interaction, sleep: Sleep) -> AsyncGenerator[None]:
    """While the body runs, acknowledge by ourselves where it takes too long."""
    watch = asyncio.create_task(_watch(interaction, sleep))
    try:
        yield
    finally:
        watch.cancel()
        with suppress(asyncio.CancelledError):
            await watch


async def _watch(interaction: Interaction, sleep: Sleep) -> None:
    await sleep(PATIENCE_S)
    try:
        await acknowledge(interaction)
    except discord.HTTPException as error:
        log.warning("an interaction could not be acknowledged: %s", error)
