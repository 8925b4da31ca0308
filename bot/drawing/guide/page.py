"""One hole on one printed page, drawn by the rules of the pictures."""

from dataclasses import dataclass

from matplotlib.figure import Figure

from bot.drawing.bars import bars_height, draw_bars
from bot.drawing.canvas import Box, Canvas, Pen, new_figure
from bot.drawing.glyphs import Faces
from bot.drawing.guide.model import Guide, GuideHole, Paper
from bot.drawing.guide.text import LEADING, Line, draw_lines, hole_facts, hole_lines, lines_height
from bot.drawing.heading import fitted
from bot.drawing.shot_picture import FOR_WHOM, draw_shot, shot_height
from bot.drawing.style import CARD, HAIR, INK, PAPER, PHONE_PX, SOFT
from bot.drawing.wind import draw_wind

SIZES: dict[Paper, tuple[float, float]] = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}
EDGE = 38.0  # points; a figure's px is a point of the page
GUTTER = 16.0
HEAD = 108.0  # from the top of the page to the text
FOOT = 30.0
COLUMNS = 2
MOST_ACROSS = 3  # shots in a row
SMALL = 8.0
AIR = 12.0  # above a picture
STEPS = (  # size of the text, shares of the shots' and of the bars' full size; the first that fits
    *((9.5, 1.0, 1.0), (9.0, 1.0, 1.0), (8.5, 1.0, 1.0), (8.0, 0.9, 0.9), (7.5, 0.8, 0.8)),
    *((7.5, 0.65, 0.8), (8.0, 0.0, 1.0), (7.0, 0.0, 0.8), (6.2, 0.0, 0.8), (6.2, 0.0, 0.0)),
)
CUT_SHORT = "More lines than a page holds: see the hole's notes."


@dataclass(frozen=True)
class _Fit:
    size: float
    shots: float
    bars: float
    columns: list[list[Line]]


def hole_page(guide: Guide, hole: GuideHole, faces: Faces, *, paper: Paper) -> Figure:
    """A page with the hole's facts, its variants and, as far as they fit, its pictures."""
    width, height = SIZES[paper]
    figure = new_figure(width_px=width, height_px=height)
    figure.set_facecolor("white")  # a page is printed; only its pictures bring their own ground
    canvas = Canvas(figure, faces, outlines=False)
    _head(canvas, guide, hole, width)
    pictures = _Pictures(faces, hole, width - 2 * EDGE)
    fit = _fit(hole, faces, pictures, height - HEAD - FOOT)
    column = _column_width(width)
    for count, lines in enumerate(fit.columns):
        draw_lines(canvas, lines, EDGE + count * (column + GUTTER), HEAD, fit.size)
    pictures.draw(canvas, height - FOOT, fit.shots, fit.bars)
    _foot(canvas, guide, hole, width, height)
    return figure


def _column_width(width: float) -> float:
    return (width - 2 * EDGE - (COLUMNS - 1) * GUTTER) / COLUMNS


def _head(canvas: Canvas, guide: Guide, hole: GuideHole, width: float) -> None:
    half = (width - 2 * EDGE - GUTTER) / 2
    title, whose = (
        canvas.faces.clipped(text, size_px=SMALL + 1, width_px=half)
        for text in (guide.title, guide.whose)
    )
    canvas.text(EDGE, 30, title, size=SMALL + 1, colour=SOFT)
    canvas.text(width - EDGE, 30, whose, size=SMALL + 1, colour=SOFT, anchor="right")
    draw_number(canvas, Box(EDGE, 40, EDGE + 54, 94), hole.number)
    left = EDGE + 68
    room = width - left - EDGE - (90 if hole.wind else 0)
    size, name = fitted(canvas.faces, hole.name or f"Hole {hole.number}", room)
    canvas.text(left, 59, name, size=size, face="title")
    facts = canvas.faces.clipped(hole_facts(hole, guide.units), size_px=10.5, width_px=room)
    canvas.text(left, 76, facts, size=10.5, colour=SOFT)
    more = canvas.faces.clipped(" · ".join(hole.facts), size_px=9.5, width_px=room)
    canvas.text(left, 91, more, size=9.5, colour=SOFT)
    if hole.wind is not None:
        wind = Box(width - EDGE - 84, 36, width - EDGE, 104)
        draw_wind(
            canvas,
            box=wind,
            wind_mps=hole.wind.speed_mps,
            wind_from_deg=hole.wind.from_deg,
            units=guide.units,
            size=11.0,
            least=SMALL,
        )


def draw_number(canvas: Canvas, box: Box, number: int) -> None:
    """The hole's number in a frame of as many bars as a round has holes on a side."""
    canvas.box(box, CARD, Pen(INK, 1.2))
    bar = box.width / 9
    bars = [
        Box(box.left + count * bar, box.bottom, box.left + (count + 1) * bar, box.bottom + 4)
        for count in range(0, 9, 2)
    ]
    canvas.box(Box(box.left, box.bottom, box.right, box.bottom + 4), CARD, Pen(INK, 1.0))
    canvas.boxes(bars, INK)
    size = 0.56 * box.height
    middle = (box.left + box.right) / 2
    baseline = box.top + box.height / 2 + 0.36 * size
    canvas.text(middle, baseline, str(number), size=size, face="title", anchor="centre")


def _foot(canvas: Canvas, guide: Guide, hole: GuideHole, width: float, height: float) -> None:
    y = height - 14
    canvas.text(EDGE, y, FOR_WHOM, size=SMALL, colour=SOFT)
    of = f"hole {hole.number} of {len(guide.holes)}"
    canvas.text(width - EDGE, y, of, size=SMALL, colour=SOFT, anchor="right")


class _Pictures:
    """Rows along the foot of a page, two or three shots in each; the bars beside one, else above
    them on the right, under the text."""

    def __init__(self, faces: Faces, hole: GuideHole, width: float) -> None:
        self.scenes, self.bars = hole.scenes(), hole.bars
        self.width = width
        self.shot_px = max((shot_height(scene) for scene in self.scenes), default=0.0)
        self.bars_px = bars_height(self.bars, faces) if self.bars else 0.0
        self.across = max(COLUMNS, min(len(self.scenes), MOST_ACROSS))
        self.rows = -(-len(self.scenes) // self.across)

    def scale(self, share: float) -> float:
        """A shot picture's px to points."""
        return share * self._cell() / PHONE_PX

    def bars_scale(self, share: float) -> float:
        """The bars' px to points."""
        return share * _column_width(self.width + 2 * EDGE) / PHONE_PX

    def row_px(self, shots: float) -> float:
        """Height of a row in a picture's px."""
        if not shots or not self.scenes:
            return 0.0
        return max(self.shot_px, self.bars_px if self._beside(shots) else 0.0)

    def _rows_pt(self, shots: float) -> float:
        """Height of all rows, with what is between them."""
        row = self.row_px(shots) * self.scale(shots)
        return self.rows * row + (self.rows - 1) * AIR if row else 0.0

    def _cell(self) -> float:
        return (self.width - (self.across - 1) * GUTTER) / self.across

    def rooms(self, room: float, shots: float, bars: float) -> tuple[float, float]:
        """What is left of ``room`` for the text of each column."""
        rows = self._rows_pt(shots)
        left = room - (rows + AIR if rows else 0.0)
        above = bool(self.bars) and bool(bars) and not self._beside(shots)
        return left, left - (self.bars_px * self.bars_scale(bars) + AIR if above else 0.0)

    def draw(self, canvas: Canvas, bottom: float, shots: float, bars: float) -> None:
        """Draw the rows so that they end at ``bottom``, and the bars where they go."""
        row, scale = self.row_px(shots), self.scale(shots)
        top = bottom - self._rows_pt(shots)
        for place, scene in enumerate(self.scenes if row else ()):
            left = EDGE + place % self.across * (self._cell() + GUTTER)
            y = top + place // self.across * (row * scale + AIR)
            draw_shot(_framed(canvas, left, y, scale, row), scene)
        if self.bars is None or not bars:
            return
        column = EDGE + (self.width - GUTTER) / COLUMNS + GUTTER
        if self._beside(shots):
            draw_bars(_framed(canvas, column, top, scale, row), self.bars)
            return
        scale = self.bars_scale(bars)
        top -= self.bars_px * scale + (AIR if row else 0.0)
        draw_bars(_framed(canvas, column, top, scale, self.bars_px), self.bars)

    def _beside(self, shots: float) -> bool:
        return bool(shots) and self.bars is not None and len(self.scenes) == 1


def _framed(canvas: Canvas, left: float, top: float, scale: float, height_px: float) -> Canvas:
    spot = canvas.part(left=left, top=top, scale=scale)
    spot.box(Box(0, 0, PHONE_PX, height_px), PAPER, Pen(HAIR, 1.0))
    return spot


def _fit(hole: GuideHole, faces: Faces, pictures: _Pictures, room: float) -> _Fit:
    width = _column_width(pictures.width + 2 * EDGE)
    columns: list[list[Line]] = [[]]
    size = SMALL
    for size, shots, bars in STEPS:
        lines = hole_lines(faces, hole, width_px=width, size_px=size)
        rooms = pictures.rooms(room, shots, bars)
        columns = _columns(lines, rooms, size)
        if _held(columns, rooms, size):
            return _Fit(size, shots, bars, _balanced(lines, columns, rooms, size))
    columns = columns[:COLUMNS]
    while columns[-1] and lines_height(columns[-1], size) + 2 * size > room:
        columns[-1].pop()
    columns[-1].append(Line(CUT_SHORT, face="bold"))
    return _Fit(size, 0.0, 0.0, columns)


def _held(columns: list[list[Line]], rooms: tuple[float, ...], size: float) -> bool:
    """Whether the columns are no more and no longer than there is room."""
    return len(columns) <= len(rooms) and all(
        lines_height(lines, size) <= room for lines, room in zip(columns, rooms, strict=False)
    )


def _balanced(
    lines: list[Line], columns: list[list[Line]], rooms: tuple[float, ...], size: float
) -> list[list[Line]]:
    """The columns, no longer than they must be and with whole variants if that is possible."""
    if len(columns) < COLUMNS:
        return columns
    step = LEADING * size
    for whole in (True, False):
        room = lines_height(lines, size) / COLUMNS
        while room < max(rooms) + step:
            least = tuple(min(room, each) for each in rooms)
            shorter = _columns(lines, least, size, whole=whole)
            if _held(shorter, rooms, size):
                return shorter
            room += step
    return columns


def _columns(
    lines: list[Line], rooms: tuple[float, ...], size: float, *, whole: bool = False
) -> list[list[Line]]:
    """Lines in columns of at most ``rooms``; a line that keeps goes with the next one.

    With ``whole`` a variant that would be cut goes to the next column, unless it began this one.
    """
    columns: list[list[Line]] = [[]]
    for line in lines:
        column = columns[-1]
        room = rooms[min(len(columns), len(rooms)) - 1]
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
