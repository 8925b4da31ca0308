"""What is asked close together is answered in one go. Knows nothing of what is asked."""

import asyncio
from collections import deque
from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

Asked = TypeVar("Asked")
Answered = TypeVar("Answered")

GATHER_S = 0.004
MOST = 64  # of a batch


class Batcher(Generic[Asked, Answered]):
    """Hands what is asked to ``work`` in batches, in the order it came, off the event loop.

    ``work`` gives an answer or an exception for each, in order. Who asks while nothing is under way
    is answered at once; what comes meanwhile is gathered for the next batch, ``gather_s`` longer at
    the most. Where a whole batch fails each of it is worked alone, so that one fails nobody else.
    """

    def __init__(
        self,
        work: Callable[[Sequence[Asked]], Sequence[Answered | Exception]],
        *,
        gather_s: float = GATHER_S,
        most: int = MOST,
    ) -> None:
        self._work = work
        self._gather_s = gather_s
        self._most = most
        self._waiting: deque[tuple[Asked, asyncio.Future[Answered]]] = deque()
        self._running: asyncio.Task[None] | None = None

    async def ask(self, item: Asked) -> Answered:
        """The answer to ``item``. Errors: whatever ``work`` gives or raises for it."""
        future: asyncio.Future[Answered] = asyncio.get_running_loop().create_future()
        self._waiting.append((item, future))
        if self._running is None or self._running.done():
            self._running = asyncio.create_task(self._run())
        return await future

    async def _run(self) -> None:
        """Work batch after batch until nobody waits."""
        while self._waiting:
            taken = [self._waiting.popleft() for _ in range(min(self._most, len(self._waiting)))]
            # Who has gone meanwhile is not worked for.
            wanted = [(item, future) for item, future in taken if not future.done()]
            if not wanted:
                continue
            try:
                found = await asyncio.to_thread(self._results, [item for item, _ in wanted])
            except asyncio.CancelledError:  # the loop is stopping
                for _, future in (*wanted, *self._waiting):
                    future.cancel()
                raise
            for (_, future), result in zip(wanted, found, strict=True):
                _settle(future, result)
            if len(self._waiting) < self._most:
                await asyncio.sleep(self._gather_s)

    def _results(self, items: Sequence[Asked]) -> Sequence[Answered | Exception]:
        try:
            return self._work(items)
        except Exception as error:
            if len(items) == 1:
                return [error]
        return [result for item in items for result in self._results([item])]


def _settle(future: asyncio.Future[Answered], result: Answered | Exception) -> None:
    if future.done():
        return
    if isinstance(result, Exception):
        future.set_exception(result)
    else:
        future.set_result(result)
