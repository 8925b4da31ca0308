"""The drawing surface: px of a phone, origin top left, y down. The one place that knows matplotlib.

A canvas puts its artists straight on a figure, without axes: that is what makes a picture quick.
Parts of a picture are canvases of their own, smaller or elsewhere; a part may clip at its edge.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Literal

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox, TransformedBbox
from numpy.typing import NDArray
from PIL import Image

from bot.drawing.glyphs import FaceName, Faces, Outline
from bot.drawing.style import DENSITY, INK, INKS, PAPER

Points = NDArray[np.float64]  # (n, 2), px
Anchor = Literal["left", "centre", "right"]

POINTS_PER_INCH = 72.0  # a figure is one inch for 72 px, so that a px is a PDF's point
MOST_BYTES = 150_000  # of a picture in a message
QUICK, SMALL = 4, 6  # how hard zlib tries: the first takes half the time for 6% more bytes
DENSITIES = (  # px per CSS px, shades, zlib's level
    *((DENSITY, 256, QUICK), (DENSITY, 256, SMALL)),
    *((1.5, 256, SMALL), (1.5, 32, SMALL), (1.0, 32, SMALL)),
)
HALO_PX = 3.0  # width of the rim that sets a text off from lines below it
SEEN_EVERY = 4  # a flat colour is looked for in every fourth row and column
TEXT_NAME = "text"
CAP_RISE = 0.73  # height of a capital, em
DESCENT = 0.24  # below the baseline, em
_CURVE = 4 / 3 * (np.sqrt(2) - 1)  # control points of a quarter of a circle


@dataclass(frozen=True)
class Box:
    """A rectangle in px, y down."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    def overlap(self, other: "Box") -> float:
        """Area both have in common."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(across, 0.0) * max(down, 0.0)

    def grown(self, by: float) -> "Box":
        """The box with ``by`` more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def holds(self, other: "Box") -> bool:
        """Whether ``other`` lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom


@dataclass(frozen=True)
class Pen:
    """A line: colour, width in px, dashes (on, off, ...) in px, share of opacity."""

    colour: str = INK
    width: float = 1.2
    dashes: tuple[float, ...] = ()
    alpha: float = 1.0


def points(*pairs: tuple[float, float]) -> Points:
    """Points from pairs."""
    return np.array(pairs, dtype=np.float64).reshape(-1, 2)


def new_figure(*, width_px: float, height_px: float) -> Figure:
    """An empty sheet of paper."""
    size = (width_px / POINTS_PER_INCH, height_px / POINTS_PER_INCH)
    return Figure(figsize=size, dpi=POINTS_PER_INCH * DENSITY, facecolor=PAPER)


class Canvas:
    """A part of a figure, drawn on in px. What is drawn later lies above.

    ``outlines`` True draws letters as outlines (quick), False as a PDF's own text (searchable).
    """

    def __init__(
        self,
        figure: Figure,
        faces: Faces,
        *,
        left: float = 0.0,
        top: float = 0.0,
        scale: float = 1.0,
        outlines: bool = True,
    ) -> None:
        self.figure = figure
        self.faces = faces
        self.left, self.top, self.scale, self.outlines = left, top, scale, outlines
        self._clip: TransformedBbox | None = None
        height_in = float(figure.get_figheight())
        self._to_inches = (
            Affine2D()
            .scale(scale / POINTS_PER_INCH, -scale / POINTS_PER_INCH)
            .translate(left / POINTS_PER_INCH, height_in - top / POINTS_PER_INCH)
        )
        self.transform = self._to_inches + figure.dpi_scale_trans

    def part(
        self, *, left: float, top: float, scale: float = 1.0, clip: Box | None = None
    ) -> "Canvas":
        """A canvas whose origin lies at (left, top) of this one; ``clip`` is in its own px."""
        canvas = Canvas(
            self.figure,
            self.faces,
            left=self.left + left * self.scale,
            top=self.top + top * self.scale,
            scale=self.scale * scale,
            outlines=self.outlines,
        )
        if clip is not None:
            corners = Bbox([[clip.left, clip.top], [clip.right, clip.bottom]])
            canvas._clip = TransformedBbox(corners, canvas.transform)
        return canvas

    def line(self, at: Points, pen: Pen, name: str = "") -> None:
        """A line through points."""
        self._path(Path(at), pen, None, name)

    def lines(self, pieces: Sequence[Points], pen: Pen, name: str = "") -> None:
        """Many lines as one artist."""
        if pieces:
            self._path(Path.make_compound_path(*(Path(piece) for piece in pieces)), pen, None, name)

    def shape(self, at: Points, fill: str | None, pen: Pen | None = None, name: str = "") -> None:
        """A closed shape."""
        self._path(Path(at, closed=False), pen, fill, name, close=True)

    def shapes(self, pieces: Sequence[Points], fill: str, name: str = "") -> None:
        """Many closed shapes as one artist."""
        if pieces:
            path = Path.make_compound_path(*(_closed(piece) for piece in pieces))
            self._path(path, None, fill, name)

    def box(self, box: Box, fill: str | None, pen: Pen | None = None, name: str = "") -> None:
        """A rectangle."""
        self.boxes([box], fill, pen, name)

    def boxes(
        self, boxes: Iterable[Box], fill: str | None, pen: Pen | None = None, name: str = ""
    ) -> None:
        """Rectangles as one artist."""
        paths = [_closed(_corners(box)) for box in boxes]
        if paths:
            self._path(Path.make_compound_path(*paths), pen, fill, name)

    def ellipse(
        self,
        centre: tuple[float, float],
        radius: tuple[float, float],
        fill: str | None,
        pen: Pen | None = None,
        name: str = "",
    ) -> None:
        """An ellipse, its axes level and upright."""
        self._path(_ellipse(centre, radius), pen, fill, name)

    def dots(
        self, centres: Points, radius: float, fill: str, pen: Pen | None = None, name: str = ""
    ) -> None:
        """Discs as one artist."""
        paths = [_ellipse((float(x), float(y)), (radius, radius)) for x, y in centres]
        if paths:
            self._path(Path.make_compound_path(*paths), pen, fill, name)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float,
        colour: str = INK,
        face: FaceName = "plain",
        anchor: Anchor = "left",
        halo: str | None = None,
    ) -> Box:
        """A text on one line, its baseline at ``y``; the box it takes. ``halo`` colours its rim."""
        own = self.faces[face]
        clean = own.clean(text)
        width = own.width(clean) * size
        left = x - {"left": 0.0, "centre": width / 2, "right": width}[anchor]
        if clean:
            if halo is not None:
                rim = self._letters(clean, left, y, size, halo, face)
                rim.set(edgecolor=halo, linewidth=HALO_PX * self.scale, joinstyle="round")
                self._add(rim, "halo")
            artist = self._letters if self.outlines else self._words
            self._add(artist(clean, left, y, size, colour, face), self._size_name(size))
        return Box(left, y - CAP_RISE * size, left + width, y + DESCENT * size)

    def figures(
        self, x: float, y: float, text: str, *, size: float, colour: str, face: FaceName = "plain"
    ) -> Box:
        """Figures that end at ``x``, each on whole pixels: like ones look alike, and pack well."""
        if not self.outlines:
            return self.text(x, y, text, size=size, colour=colour, face=face, anchor="right")
        outline = self.faces[face].outline(text, grid=1 / (size * DENSITY))
        left, y = (round(each * DENSITY) / DENSITY for each in (x - outline.width * size, y))
        self._add(self._inked(outline, text, left, y, size, colour), self._size_name(size))
        return Box(left, y - CAP_RISE * size, left + outline.width * size, y + DESCENT * size)

    def _letters(
        self, text: str, left: float, y: float, size: float, colour: str, face: FaceName
    ) -> PathPatch:
        return self._inked(self.faces[face].outline(text), text, left, y, size, colour)

    def _inked(
        self, outline: Outline, text: str, left: float, y: float, size: float, colour: str
    ) -> PathPatch:
        place = Affine2D().scale(size, -size).translate(left, y)
        patch = PathPatch(outline.path, facecolor=colour, edgecolor="none", linewidth=0)
        patch.set_transform(place + self.transform)
        patch.set_label(text)
        return patch

    def _size_name(self, size: float) -> str:
        """What a text's artist is called, so that its size can be told."""
        return f"{TEXT_NAME} {size * self.scale:.3f}"

    def _words(
        self, text: str, left: float, y: float, size: float, colour: str, face: FaceName
    ) -> Artist:
        words = _Words(left, y, text, color=colour, parse_math=False)
        words.set_fontproperties(self.faces[face].properties)
        words.set_fontsize(size * self.scale)
        words.set_transform(self.transform)
        return words

    def _path(
        self, path: Path, pen: Pen | None, fill: str | None, name: str, close: bool = False
    ) -> None:
        patch = PathPatch(
            _closed(np.asarray(path.vertices)) if close else path,
            facecolor=fill or "none",
            edgecolor=pen.colour if pen else "none",
            linewidth=pen.width * self.scale if pen else 0.0,
            capstyle="butt" if pen and pen.dashes else "round",
            joinstyle="round",
        )
        if pen is not None:
            patch.set_alpha(pen.alpha if pen.alpha < 1 else None)
            if pen.dashes:  # matplotlib counts dashes in line widths
                patch.set_linestyle((0, tuple(dash / pen.width for dash in pen.dashes)))
        patch.set_transform(self.transform)
        self._add(patch, name)

    def _add(self, artist: Artist, name: str) -> None:
        artist.set_gid(name or None)
        artist.set_zorder(1)
        self.figure.add_artist(artist, clip=False)
        if self._clip is not None:
            artist.set_clip_box(self._clip)
            artist.set_clip_on(True)


class _Words(Text):
    """A text of one level line: its place is known, so nothing is laid out to draw it."""

    def draw(self, renderer: RendererBase) -> None:
        """Draw the words with their baseline where they were put."""
        x, y = self.get_transform().transform(self.get_position())
        if renderer.flipy():
            y = renderer.get_canvas_width_height()[1] - y
        ink = renderer.new_gc()
        ink.set_foreground(self.get_color())
        clip = self.get_clip_box()
        if clip is not None:
            ink.set_clip_rectangle(clip)
        words = self.get_text(), self.get_fontproperties()
        renderer.draw_text(ink, float(x), float(y), *words, 0.0)
        ink.restore()


def png(figure: Figure) -> bytes:
    """The figure as an indexed PNG of at most 150 KB, where need be coarser than a phone shows.

    Only a long page needs that: it stays readable and is no larger than a message should carry.
    """
    data = b""
    for density, shades, level in DENSITIES:
        figure.set_dpi(POINTS_PER_INCH * density)
        pixels = FigureCanvasAgg(figure)
        pixels.draw()
        data = encode(np.asarray(pixels.buffer_rgba()), shades=shades, level=level)
        if len(data) <= MOST_BYTES:
            break
    return data


def encode(rgba: NDArray[np.uint8], *, shades: int = 256, level: int = SMALL) -> bytes:
    """Pixels (rows, columns, 4) as an indexed PNG: flat inks and their edges need few colours."""
    image = Image.fromarray(rgba).convert("RGB")
    few = image.quantize(shades, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    _restore_inks(few, rgba)
    stream = BytesIO()
    few.save(stream, "PNG", compress_level=level)
    return stream.getvalue()


def _restore_inks(few: Image.Image, rgba: NDArray[np.uint8]) -> None:
    """Give the flat colours of a quantized image back exactly; its method rounds them off."""
    seen = rgba[::SEEN_EVERY, ::SEEN_EVERY, :3].astype(np.uint32)
    packed = (seen[..., 0] << 16) | (seen[..., 1] << 8) | seen[..., 2]
    chosen = np.asarray(few)[::SEEN_EVERY, ::SEEN_EVERY]
    palette = few.getpalette() or []
    for ink in INKS:
        places = np.flatnonzero(packed == int(ink[1:], 16))
        if places.size:
            entry = 3 * int(chosen.flat[places[0]])
            palette[entry : entry + 3] = bytes.fromhex(ink[1:])
    few.putpalette(palette)


def _corners(box: Box) -> Points:
    return points(
        (box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)
    )


def _closed(at: Points) -> Path:
    ring = np.concatenate((at, at[:1]))
    codes = [Path.MOVETO, *[Path.LINETO] * (len(at) - 1), Path.CLOSEPOLY]
    return Path(ring, codes)


def _ellipse(centre: tuple[float, float], radius: tuple[float, float]) -> Path:
    k = _CURVE
    unit = points(
        *((1, 0), (1, k), (k, 1), (0, 1), (-k, 1), (-1, k), (-1, 0)),
        *((-1, -k), (-k, -1), (0, -1), (k, -1), (1, -k), (1, 0), (1, 0)),
    )
    codes = [Path.MOVETO, *[Path.CURVE4] * 12, Path.CLOSEPOLY]
    return Path(unit * radius + centre, codes)
