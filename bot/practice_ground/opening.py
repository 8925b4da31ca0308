"""Opening the practice ground, keeping it open, and closing it."""

import asyncio
import signal
from collections.abc import Awaitable, Callable, Generator, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from discord.ext import commands

from bot.practice_ground.world import World
from shared.errors import InputError

if TYPE_CHECKING:
    from bot.practice_ground.simulated import Ground

INSTALL = "pip install -e '.[try]'"


async def open_ground(
    *,
    make_bot: Callable[[], commands.Bot],
    world: World,
    announce: Callable[[str], None],
    port: int | None = None,
    until: asyncio.Event | None = None,
    on_open: "Callable[[Ground], Awaitable[None]] | None" = None,
    before: "Callable[[Ground], Awaitable[None]] | None" = None,
) -> None:
    """Open the practice ground and stay until ``until`` is set or somebody ends it.

    ``make_bot`` is called inside the running loop and its bot is closed at the end; ``before``
    may put things there before that bot is, ``on_open`` may prepare the community (the welcomes
    are posted by then) before the addresses are announced, one line a call. The first room is
    served on ``port``, the next on ``port + 1`` and so on; without a port each takes a free one.
    Ctrl-C and SIGTERM set ``until``; ending the session on a page closes the ground too.

    Raises InputError where the simulation is not installed or a port is taken.
    """
    simulated = _simulation()
    ended = until or asyncio.Event()
    with _signals_set(ended):
        ground = simulated.Ground(make_bot, world)
        if before is not None:
            await before(ground)
        async with ground:
            await ground.post_welcomes()
            if on_open is not None:
                await on_open(ground)
            await ground.open_pages(port)
            for line in _announcement(ground, world):
                announce(line)
            await ground.stay(ended)
    announce("The practice ground is closed.")


def _simulation():
    """Import the simulation late: it is an optional extra and everything else works without."""
    missing = InputError(
        "The practice ground needs the simulated Discord, which is not installed here.", INSTALL
    )
    try:
        from bot.practice_ground import simulated
    except ImportError as error:
        raise missing from error
    if not simulated.can_serve_pages():
        raise missing
    return simulated


@contextmanager
def _signals_set(ended: asyncio.Event) -> Generator[None, None, None]:
    """Let Ctrl-C and SIGTERM set the event, where this loop can be told of signals."""
    loop = asyncio.get_running_loop()
    taken: list[signal.Signals] = []
    for name in (signal.SIGINT, signal.SIGTERM):
        with suppress(NotImplementedError, ValueError, RuntimeError):
            loop.add_signal_handler(name, ended.set)
            taken.append(name)
    try:
        yield
    finally:
        for name in taken:
            loop.remove_signal_handler(name)


def _announcement(ground: "Ground", world: World) -> Iterator[str]:
    yield "The practice ground is open. Ctrl-C closes it."
    for address in ground.addresses:
        yield f"  #{address.room}: {address.url}"
    names = [f"{person.name} (coach)" if person.coach else person.name for person in world.people]
    if len(names) > 1:
        yield f'You are {names[0]}; "Viewing as" at the top of the page makes you {names[1]}.'
