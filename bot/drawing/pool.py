"""The pool of workers that draw off the event loop; it caches, and says every picture in words.

It draws in a process, not in a thread: measured on the event loop beside it (tests/bench/
pictures.py), drawing threads hold the interpreter long enough to be felt, processes don't.
"""

import asyncio
import multiprocessing
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from hashlib import blake2b

from bot.drawing import alt, worker
from bot.drawing.event_winds import EventWindsScene
from bot.drawing.guide.job import guide_images, guide_pdf
from bot.drawing.guide.markdown import guide_markdown
from bot.drawing.guide.model import Guide, Paper
from bot.drawing.scene import ShotScene
from bot.drawing.sheet_scene import SheetScene
from bot.drawing.trust_scene import BarsScene, ChancesScene, GameScene
from shared.errors import EngineError
from shared.picture import Picture

CACHE_BYTES = 24_000_000  # some 400 shot pictures
WORKERS = 2  # a guide takes one for seconds; a shot must not wait for it
POLL_S = 0.25  # how often a guide's progress is read

Files = tuple[bytes, ...]
Progress = Callable[[int, int], None]  # holes done, holes in all


class PictureCache:
    """Bytes by key; forgets what was longest not asked for."""

    def __init__(self, *, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self.used_bytes = 0
        self._kept: OrderedDict[bytes, tuple[bytes, ...]] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, key: bytes) -> tuple[bytes, ...] | None:
        """What is kept under ``key``."""
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
        return kept

    def put(self, key: bytes, files: tuple[bytes, ...]) -> None:
        """Keep ``files``, unless they alone are more than may be kept."""
        size = _size(files)
        if key in self._kept or size > self.most_bytes:
            return
        self._kept[key] = files
        self.used_bytes += size
        while self.used_bytes > self.most_bytes:
            _, gone = self._kept.popitem(last=False)
            self.used_bytes -= _size(gone)


class PicturePool:
    """Draws pictures and guides. Open it where an event loop runs, close it at the end.

    ``in_thread`` draws in one thread of this process instead: for tests and the command line.
    """

    def __init__(self, *, in_thread: bool = False, cache_bytes: int = CACHE_BYTES) -> None:
        self.in_thread = in_thread
        self.cache = PictureCache(most_bytes=cache_bytes)
        self._meter, self._workers = self._start()
        self._drawing: dict[bytes, asyncio.Task[Files]] = {}
        self._one_guide = asyncio.Lock()
        self._warming: asyncio.Task[None] | None = None

    async def warm(self) -> None:
        """Start a worker, so that the first picture is as quick as the next."""
        with suppress(BrokenProcessPool):  # a picture that finds it broken starts new ones
            await asyncio.get_running_loop().run_in_executor(self._workers, worker.wake)

    def warm_soon(self) -> None:
        """``warm`` without waiting for it: a second, in which the loop was never held 11 ms.

        A thread needs no warming.
        """
        if not self.in_thread:
            self._warming = asyncio.create_task(self.warm())

    async def close(self) -> None:
        """Stop the workers; what is being drawn is given up."""
        if self._warming is not None:
            self._warming.cancel()
        for task in self._drawing.values():
            task.cancel()
        await asyncio.to_thread(self._workers.shutdown, wait=True, cancel_futures=True)

    async def shot_picture(self, scene: ShotScene) -> Picture:
        """The picture of one shot. Errors, here and below: EngineError where drawing failed."""
        png, said = await self._files(worker.shot_files, scene)
        return Picture(png, said.decode())

    async def wind_sheet(self, scene: SheetScene, *, columns: int = 1) -> Picture:
        """A wind sheet; one column for a phone, two or three for a wide screen or paper."""
        (png,) = await self._files(worker.sheet_png, scene, columns)
        return Picture(png, alt.sheet_alt(scene))

    async def sheet_pages(self, scene: SheetScene) -> tuple[Picture, ...]:
        """A wind sheet as pages that a chat shows at a phone's whole width."""
        said = alt.sheet_alt(scene)
        return tuple(Picture(png, said) for png in await self._files(worker.sheet_page_pngs, scene))

    async def sheets_pdf(self, scenes: tuple[SheetScene, ...]) -> bytes:
        """Wind sheets as a PDF, a sheet a page."""
        return (await self._files(worker.sheets_pdf, scenes))[0]

    async def bars(self, scene: BarsScene) -> Picture:
        """Variants as bars with intervals."""
        (png,) = await self._files(worker.bars_png, scene)
        return Picture(png, alt.bars_alt(scene))

    async def event_winds(self, scene: EventWindsScene) -> Picture:
        """The winds of an event as a table."""
        (png,) = await self._files(worker.event_winds_png, scene)
        return Picture(png, scene.alt)

    async def game(self, scene: GameScene) -> Picture:
        """What the game does with a club."""
        (png,) = await self._files(worker.game_png, scene)
        return Picture(png, alt.game_alt(scene))

    async def chances(self, scene: ChancesScene) -> Picture:
        """Chances given against what went in."""
        (png,) = await self._files(worker.chances_png, scene)
        return Picture(png, alt.chances_alt(scene))

    async def guide_pdf(
        self, guide: Guide, *, paper: Paper = "a4", progress: Progress | None = None
    ) -> bytes:
        """The guide as a PDF, a hole a page; the same bytes for the same guide."""
        return (await self._guide(guide, progress, guide_pdf, guide, paper))[0]

    async def guide_images(self, guide: Guide, *, progress: Progress | None = None) -> Files:
        """The guide as a PNG of phone width a hole; those without a line share the last."""
        return await self._guide(guide, progress, guide_images, guide)

    async def guide_markdown(self, guide: Guide) -> str:
        """The guide as Markdown, pictures in words."""
        return await asyncio.to_thread(guide_markdown, guide)

    async def _guide(
        self, guide: Guide, progress: Progress | None, job: Callable[..., Files], *parts: object
    ) -> Files:
        """One guide at a time; ``progress`` hears of every hole that is done."""
        async with self._one_guide:
            self._meter.value = 0
            task = asyncio.ensure_future(self._files(job, *parts))
            reported, count = -1, len(guide.holes)
            while True:
                await asyncio.wait({task}, timeout=POLL_S)
                done = count if task.done() else min(self._meter.value, count)
                if progress is not None and done != reported and not _failed(task):
                    reported = done
                    progress(done, count)
                if task.done():
                    return await task

    async def _files(self, job: Callable[..., bytes | Files], *parts: object) -> Files:
        """What ``job`` makes of ``parts``, cached or drawn; asked for twice it is drawn once."""
        key = content_key(job.__name__, *parts)
        cached = self.cache.get(key)
        if cached is not None:
            return cached
        task = self._drawing.get(key)
        if task is None:
            task = asyncio.ensure_future(self._draw(key, job, parts))
            self._drawing[key] = task
            task.add_done_callback(lambda _: self._drawing.pop(key, None))
        return await asyncio.shield(task)  # who stops waiting doesn't stop it for the others

    async def _draw(
        self, key: bytes, job: Callable[..., bytes | Files], parts: tuple[object, ...]
    ) -> Files:
        loop = asyncio.get_running_loop()
        workers = self._workers
        try:
            made = await loop.run_in_executor(workers, job, *parts)
        except BrokenProcessPool:  # a worker was killed: once more with new ones
            if self._workers is workers:
                self._meter, self._workers = self._start()
            try:
                made = await loop.run_in_executor(self._workers, job, *parts)
            except BrokenProcessPool as error:
                raise EngineError("the picture could not be drawn") from error
        files = (made,) if isinstance(made, bytes) else made
        self.cache.put(key, files)
        return files

    def _start(self) -> tuple[worker.Meter, Executor]:
        if self.in_thread:
            count = worker.Count()
            return count, ThreadPoolExecutor(
                1, "pictures", initializer=worker.enter_thread, initargs=(count,)
            )
        context = multiprocessing.get_context("spawn")  # a fork would copy the bot's threads' locks
        meter = context.Value("i", 0, lock=False)
        return meter, ProcessPoolExecutor(
            WORKERS, mp_context=context, initializer=worker.enter_process, initargs=(meter,)
        )


def _failed(task: "asyncio.Task[Files]") -> bool:
    return task.done() and (task.cancelled() or task.exception() is not None)


def content_key(*parts: object) -> bytes:
    """A key that is the same for the same content; parts are plain values and dataclasses."""
    return blake2b("\x1f".join(repr(part) for part in parts).encode(), digest_size=16).digest()


def _size(files: tuple[bytes, ...]) -> int:
    return sum(len(file) for file in files)
