"""What runs beside the event loop: drawing, in a process of its own or in a thread.

A job is a plain function of a scene; what a worker keeps between jobs (its faces, the meter of a
long job) is its own.
"""

import os
import signal
import threading
from dataclasses import dataclass, field
from functools import cache
from io import BytesIO
from multiprocessing import parent_process
from typing import Protocol

from matplotlib.backends.backend_pdf import PdfPages

from bot.drawing import alt
from bot.drawing.bars import bars_figure
from bot.drawing.canvas import png
from bot.drawing.chances import chances_figure
from bot.drawing.event_winds import EventWindsScene, event_winds_figure
from bot.drawing.game import game_figure
from bot.drawing.glyphs import Faces
from bot.drawing.scene import ShotScene
from bot.drawing.sheet import sheet_figure
from bot.drawing.sheet_pages import sheet_pages
from bot.drawing.sheet_scene import SheetScene
from bot.drawing.shot_picture import shot_figure
from bot.drawing.trust_scene import BarsScene, ChancesScene, GameScene


class Meter(Protocol):
    """How far a long job is; its maker looks at it from another process or thread."""

    value: int


@dataclass
class Count:
    """A meter for a worker nobody looks at."""

    value: int = 0


@dataclass
class Tools:
    """What one worker keeps."""

    faces: Faces = field(default_factory=Faces)
    meter: Meter = field(default_factory=Count)


class _Own(threading.local):
    """Tools of the thread that asks."""

    def __init__(self) -> None:
        self.tools = Tools()


@cache
def _own() -> _Own:
    return _Own()


def tools() -> Tools:
    """The tools of the worker this runs in."""
    return _own().tools


def enter_thread(meter: Meter) -> None:
    """Begin as a thread."""
    tools().meter = meter


def enter_process(meter: Meter) -> None:
    """Begin as a process: leave interrupts to the parent, and go when it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    tools().meter = meter


def _leave_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(0)


def wake() -> int:
    """A job that does nothing but have everything imported."""
    return os.getpid()


def shot_png(scene: ShotScene) -> bytes:
    """A shot picture."""
    return png(shot_figure(scene, tools().faces))


def shot_files(scene: ShotScene) -> tuple[bytes, bytes]:
    """``shot_png``, and what it shows in words."""
    return shot_png(scene), alt.shot_alt(scene).encode()


def sheet_png(scene: SheetScene, columns: int) -> bytes:
    """A wind sheet."""
    return png(sheet_figure(scene, tools().faces, columns=columns))


def sheet_page_pngs(scene: SheetScene) -> tuple[bytes, ...]:
    """A wind sheet as pages for a chat."""
    return tuple(png(figure) for figure in sheet_pages(scene, tools().faces))


def sheets_pdf(scenes: tuple[SheetScene, ...]) -> bytes:
    """Wind sheets as a PDF of a phone's width, a sheet a page; the same bytes each time."""
    stream = BytesIO()
    about = {"Title": scenes[0].title, "Creator": "Leeward", "CreationDate": None}
    with PdfPages(stream, metadata=about) as pages:
        for scene in scenes:
            figure = sheet_figure(scene, tools().faces)
            pages.savefig(figure)  # pyright: ignore[reportUnknownMemberType] its stub is untyped
    return stream.getvalue()


def bars_png(scene: BarsScene) -> bytes:
    """A bars picture."""
    return png(bars_figure(scene, tools().faces))


def event_winds_png(scene: EventWindsScene) -> bytes:
    """A table of winds."""
    return png(event_winds_figure(scene, tools().faces))


def chances_png(scene: ChancesScene) -> bytes:
    """A picture of chances given against what went in."""
    return png(chances_figure(scene, tools().faces))


def game_png(scene: GameScene) -> bytes:
    """A picture of what the game does."""
    return png(game_figure(scene, tools().faces))
