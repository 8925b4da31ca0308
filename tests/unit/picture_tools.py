"""What the picture tests look at: where a figure's artists really lie, in px of a phone."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from bot.drawing.canvas import Box
from bot.drawing.scene import ShotScene, Spread
from bot.services.caddie.caddie import Caddie
from bot.services.pictures.service import scene_of
from bot.settings import DEMO_KIT, load_kit
from shared.bag import Bag
from shared.book import Room
from shared.kit import Kit
from shared.shot_text import parse
from shared.units import UnitSystem

TOUCH_PX2 = 0.5  # two texts may have so much area in common


@dataclass(frozen=True)
class Words:
    """A text as drawn: its box and the size of its letters, px."""

    text: str
    size: float
    box: Box


class Drawn:
    """A figure's artists in px, origin top left."""

    def __init__(self, figure: Figure) -> None:
        self.figure = figure
        self.canvas = FigureCanvasAgg(figure)
        self.px = figure.dpi / 72
        self.width = figure.get_figwidth() * 72
        self.height = figure.get_figheight() * 72

    def box(self, artist: Artist) -> Box:
        extent = artist.get_window_extent(self.canvas.get_renderer())
        return Box(
            extent.x0 / self.px,
            self.height - extent.y1 / self.px,
            extent.x1 / self.px,
            self.height - extent.y0 / self.px,
        )

    def words(self) -> list[Words]:
        found: list[Words] = []
        for artist in self.figure.get_children():
            name, _, size = str(artist.get_gid() or "").partition(" ")
            if name == "text":
                text = getattr(artist, "get_text", artist.get_label)()
                found.append(Words(str(text), float(size), self.box(artist)))
        return found

    def named(self, name: str) -> list[PathPatch]:
        return [
            artist
            for artist in self.figure.get_children()
            if isinstance(artist, PathPatch) and artist.get_gid() == name
        ]

    def points(self, patch: PathPatch) -> np.ndarray:
        """A patch's own points, px; one row (nan) between its pieces."""
        path = patch.get_transform().transform_path(patch.get_path())
        at = np.array([0.0, self.height]) + np.asarray(path.vertices) / self.px * (1, -1)
        codes = path.codes
        if codes is None:
            return at
        starts = np.flatnonzero(np.asarray(codes) == Path.MOVETO)[1:]
        return np.insert(at, starts, np.nan, axis=0)

    def middle(self, patch: PathPatch) -> tuple[float, float]:
        at = self.points(patch)
        at = at[~np.isnan(at[:, 0])]
        low, high = at.min(axis=0), at.max(axis=0)
        return float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2

    def overlaps(self) -> list[tuple[str, str]]:
        return [
            (one.text, two.text)
            for one, two in combinations(self.words(), 2)
            if one.box.overlap(two.box) > TOUCH_PX2
        ]

    def on_edge(self, name: str) -> list[str]:
        """The words that an ellipse's edge runs through."""
        turn = np.linspace(0, 2 * math.pi, 721)
        found: list[str] = []
        for patch in self.named(name):
            box = self.box(patch)
            x = (box.left + box.right + box.width * np.sin(turn)) / 2
            y = (box.top + box.bottom + box.height * np.cos(turn)) / 2
            for words in self.words():
                across = (x > words.box.left) & (x < words.box.right)
                if (across & (y > words.box.top) & (y < words.box.bottom)).any():
                    found.append(words.text)
        return found

    def outside(self) -> list[str]:
        """What is drawn, at least in part, beyond the canvas."""
        canvas = Box(0, 0, self.width, self.height).grown(0.01)
        return [
            f"{artist.get_gid()}: {artist.get_label()}"
            for artist in self.figure.get_children()
            if artist is not self.figure.patch
            and artist.get_clip_box() is None
            and not canvas.holds(self.box(artist))
        ]


def heading_deg(start: np.ndarray, end: np.ndarray) -> float:
    """Where a line on the screen points: degrees clockwise from up."""
    return math.degrees(math.atan2(end[0] - start[0], start[1] - end[1])) % 360


def turned(one_deg: float, two_deg: float) -> float:
    """How far two directions are apart."""
    return abs((one_deg - two_deg + 180) % 360 - 180)


def pieces(at: np.ndarray) -> Iterator[np.ndarray]:
    """The pieces of points with nan rows between them."""
    cuts = np.flatnonzero(np.isnan(at[:, 0]))
    for piece in np.split(at, cuts):
        yield piece[~np.isnan(piece[:, 0])]


def demo_kit() -> Kit:
    return load_kit(DEMO_KIT)


def scene_from(
    caddie: Caddie,
    text: str,
    *,
    units: UnitSystem = "yards",
    room: Room | None = None,
    spread: Spread | None = None,
) -> ShotScene:
    shot = parse(text, kit=caddie.kit, units=units)
    answer = caddie.answer(shot=shot, bag=Bag(), given=text)
    return scene_of(caddie, answer, units=units, room=room, spread=spread)
