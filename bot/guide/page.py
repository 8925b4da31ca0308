"""One hole on one printed page, drawn by the rules of the pictures."""

from dataclasses import dataclass

from matplotlib.figure import Figure

from bot.guide.model import Guide, GuideHole, Paper
from bot.guide.text import LEADING, Line, draw_lines, hole_facts, hole_lines, lines_height
from bot.pictures.bars import bars_height, draw_bars
from bot.pictures.glyphs import Faces
from bot.pictures.heading import fitted
from bot.pictures.pad import Box, Pad, Pen, new_figure
from bot.pictures.scene import ShotScene
from bot.pictures.shot_picture import FOR_WHOM, draw_shot, shot_height
from bot.pictures.style import CARD, HAIR, INK, PAPER, PHONE_PX, SOFT
from bot.pictures.trust_scene import BarsScene
from bot.pictures.wind import draw_wind

SIZES: dict[Paper, tuple[float, float]] = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
EDGE = 38.0  # points; a figure's px is a point of the page
GUTTER = 16.0
HEAD = 108.0  # from the top of the page to the text
FOOT = 30.0
COLUMNS = 2
SMALL = 8.0
STEPS = (  # size of the text, share of the pictures' full size; the first that fits is taken
    *((9.5, 1.0), (9.0, 1.0), (8.5, 1.0), (8.0, 0.9), (7.5, 0.8)),
    *((7.5, 0.65), (8.0, 0.0), (7.0, 0.0), (6.2, 0.0)),
)
CUT_SHORT = "More lines than a page holds: see the hole's notes."


@dataclass(frozen=True)
class _Fit:
    size: float
    share: float
    columns: list[list[Line]]


def hole_page(guide: Guide, hole: GuideHole, faces: Faces, *, paper: Paper) -> Figure:
    """A page with the hole's facts, its variants and, as far as they fit, its pictures."""
    width, height = SIZES[paper]
    figure = new_figure(width_px=width, height_px=height)
    figure.set_facecolor("white")  # a page is printed; only its pictures bring their own ground
    pad = Pad(figure, faces, outlines=False)
    _head(pad, guide, hole, width)
    pictures = _Pictures(faces, hole, width - 2 * EDGE)
    fit = _fit(hole, faces, pictures, height - HEAD - FOOT)
    column = _column_width(width)
    for count, lines in enumerate(fit.columns):
        draw_lines(pad, lines, EDGE + count * (column + GUTTER), HEAD, fit.size)
    pictures.draw(pad, height - FOOT, fit.share)
    _foot(pad, guide, hole, width, height)
    return figure


def _column_width(width: float) -> float:
    return (width - 2 * EDGE - (COLUMNS - 1) * GUTTER) / COLUMNS


def _head(pad: Pad, guide: Guide, hole: GuideHole, width: float) -> None:
    half = (width - 2 * EDGE - GUTTER) / 2
    title, whose = (
        pad.faces.clipped(text, size_px=SMALL + 1, width_px=half)
        for text in (guide.title, guide.whose)
    )
    pad.text(EDGE, 30, title, size=SMALL + 1, colour=SOFT)
    pad.text(width - EDGE, 30, whose, size=SMALL + 1, colour=SOFT, anchor="right")
    draw_number(pad, Box(EDGE, 40, EDGE + 54, 94), hole.number)
    left = EDGE + 68
    room = width - left - EDGE - (90 if hole.wind else 0)
    size, name = fitted(pad.faces, hole.name or f"Hole {hole.number}", room)
    pad.text(left, 59, name, size=size, face="title")
    facts = pad.faces.clipped(hole_facts(hole, guide.units), size_px=10.5, width_px=room)
    pad.text(left, 76, facts, size=10.5, colour=SOFT)
    more = pad.faces.clipped(" · ".join(hole.facts), size_px=9.5, width_px=room)
    pad.text(left, 91, more, size=9.5, colour=SOFT)
    if hole.wind is not None:
        wind = Box(width - EDGE - 84, 36, width - EDGE, 104)
        draw_wind(
            pad,
            box=wind,
            wind_mps=hole.wind.speed_mps,
            wind_from_deg=hole.wind.from_deg,
            units=guide.units,
            size=11.0,
            least=SMALL,
        )


def draw_number(pad: Pad, box: Box, number: int) -> None:
    """The hole's number in a frame of as many bars as a round has holes on a side."""
    pad.box(box, CARD, Pen(INK, 1.2))
    bar = box.width / 9
    bars = [
        Box(box.left + count * bar, box.bottom, box.left + (count + 1) * bar, box.bottom + 4)
        for count in range(0, 9, 2)
    ]
    pad.box(Box(box.left, box.bottom, box.right, box.bottom + 4), CARD, Pen(INK, 1.0))
    pad.boxes(bars, INK)
    size = 0.56 * box.height
    middle = (box.left + box.right) / 2
    baseline = box.top + box.height / 2 + 0.36 * size
    pad.text(middle, baseline, str(number), size=size, face="title", anchor="centre")


def _foot(pad: Pad, guide: Guide, hole: GuideHole, width: float, height: float) -> None:
    y = height - 14
    pad.text(EDGE, y, FOR_WHOM, size=SMALL, colour=SOFT)
    of = f"hole {hole.number} of {len(guide.holes)}"
    pad.text(width - EDGE, y, of, size=SMALL, colour=SOFT, anchor="right")


class _Pictures:
    """A row of pictures along the foot of a page: one or two shots, the bars beside one."""

    def __init__(self, faces: Faces, hole: GuideHole, width: float) -> None:
        scenes = hole.scenes()
        with_bars = [hole.bars] if hole.bars is not None and len(scenes) < COLUMNS else []
        self.parts: list[ShotScene | BarsScene] = [*scenes, *with_bars]
        self.width = width
        self.heights = [
            shot_height(part) if isinstance(part, ShotScene) else bars_height(part, faces)
            for part in self.parts
        ]

    def scale(self, share: float) -> float:
        """Picture's px to points."""
        return share * (self.width - (COLUMNS - 1) * GUTTER) / COLUMNS / PHONE_PX

    def height(self, share: float) -> float:
        """What the row takes, with the air above it."""
        return max(self.heights) * self.scale(share) + 12 if self.parts and share else 0.0

    def draw(self, pad: Pad, bottom: float, share: float) -> None:
        """Draw the row so that it ends at ``bottom``."""
        if not self.parts or not share:
            return
        scale = self.scale(share)
        top = bottom - max(self.heights) * scale
        for count, part in enumerate(self.parts):
            left = EDGE + count * ((self.width - GUTTER) / COLUMNS + GUTTER)
            spot = pad.part(left=left, top=top, scale=scale)
            spot.box(Box(0, 0, PHONE_PX, max(self.heights)), PAPER, Pen(HAIR, 1.0))
            if isinstance(part, ShotScene):
                draw_shot(spot, part)
            else:
                draw_bars(spot, part)


def _fit(hole: GuideHole, faces: Faces, pictures: _Pictures, room: float) -> _Fit:
    width = _column_width(pictures.width + 2 * EDGE)
    columns: list[list[Line]] = [[]]
    size = SMALL
    for size, share in STEPS:
        lines = hole_lines(faces, hole, width_px=width, size_px=size)
        most = room - pictures.height(share)
        columns = _columns(lines, most, size)
        if len(columns) <= COLUMNS:
            return _Fit(size, share, _balanced(lines, columns, most, size))
    columns = columns[:COLUMNS]
    while columns[-1] and lines_height(columns[-1], size) + 2 * size > room:
        columns[-1].pop()
    columns[-1].append(Line(CUT_SHORT, face="bold"))
    return _Fit(size, 0.0, columns)


def _balanced(
    lines: list[Line], columns: list[list[Line]], most: float, size: float
) -> list[list[Line]]:
    """The columns, no longer than they must be and with whole variants if that is possible."""
    if len(columns) < COLUMNS:
        return columns
    step = LEADING * size
    for whole in (True, False):
        room = lines_height(lines, size) / COLUMNS
        while room < most + step:
            shorter = _columns(lines, min(room, most), size, whole=whole)
            if len(shorter) <= COLUMNS:
                return shorter
            room += step
    return columns


def _columns(
    lines: list[Line], room: float, size: float, *, whole: bool = False
) -> list[list[Line]]:
    """Lines in columns of at most ``room``; a line that keeps goes with the next one.

    With ``whole`` a variant that would be cut goes to the next column, unless it began this one.
    """
    columns: list[list[Line]] = [[]]
    for line in lines:
        column = columns[-1]
        if lines_height([*column, line], size) > room and column:
            cut = len(column)
            if whole and column[0].block != line.block:
                while column[cut - 1].block == line.block:
                    cut -= 1
            while cut > 1 and column[cut - 1].keeps:
                cut -= 1
            columns.append(column[cut:])
            del column[cut:]
        columns[-1].append(line)
    return columns
