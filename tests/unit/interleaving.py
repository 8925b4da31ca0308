"""Several at work on one database, of whom one or a few at a time may make their next transaction.

Everybody stops before each transaction and waits to be let on, so that whoever drives them
chooses the order; two let on together meet inside the database.
"""

import asyncio
from collections.abc import Awaitable, Callable, Coroutine
from contextvars import ContextVar
from typing import Any, TypeVar

from storage.database import Database

T = TypeVar("T")

_ME: ContextVar["Worker | None"] = ContextVar("_ME", default=None)


class Worker:
    """One at work; ``is_done`` once it has its answer."""

    def __init__(self, work: Coroutine[Any, Any, object]) -> None:
        self._gate: asyncio.Future[None] | None = None
        self._stopped = asyncio.Event()
        self._task = asyncio.create_task(self._do(work))

    async def _do(self, work: Coroutine[Any, Any, object]) -> object:
        _ME.set(self)
        try:
            return await work
        finally:
            self._stopped.set()

    @property
    def is_done(self) -> bool:
        return self._task.done()

    @property
    def answer(self) -> object:
        """What it was answered. Raises what it raised."""
        return self._task.result()

    async def at_the_gate(self) -> None:
        """Wait until it stops before a transaction, or has ended."""
        await self._stopped.wait()

    def let_on(self) -> None:
        """Let it make its next transaction, and go on to the one after."""
        assert self._gate is not None
        self._stopped.clear()
        self._gate.set_result(None)

    async def stop(self) -> None:
        self._gate = asyncio.get_running_loop().create_future()
        self._stopped.set()
        await self._gate


async def all_on(workers: list[Worker]) -> None:
    """Let these make one transaction each, at once; returns when each is before its next."""
    for each in workers:
        each.let_on()
    for each in workers:
        await each.at_the_gate()


def gated(db: Database) -> Database:
    """The same database, before whose writes workers stop, whatever they have read."""

    def before(door: Callable[..., Awaitable[T]]) -> Callable[..., Awaitable[T]]:
        async def run(fn: Callable[..., T]) -> T:
            me = _ME.get()
            if me is not None:
                await me.stop()
            return await door(fn)

        return run

    db.write = before(db.write)  # type: ignore[method-assign]
    return db
