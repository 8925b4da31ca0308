"""Variants as bars with intervals: how often each was holed, or what a poll says."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, new_figure, points
from bot.drawing.chart import ticks
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.style import CARD, EDGE_PX, HAIR, INK, PHONE_PX, SEA, SMALL_PX, SOFT, TEXT_PX
from bot.drawing.trust_scene import Bar, BarsScene

ROW_PX = 56.0
BAR_PX = 14.0
FOOT_PX = 44.0
CAP_PX = 5.0
SCALES = (0.1, 0.2, 0.4, 0.5, 0.6, 0.8, 1.0)
MOST_BARS = 26


def bars_figure(scene: BarsScene, faces: Faces) -> Figure:
    """The picture as a figure of its own."""
    figure = new_figure(width_px=PHONE_PX, height_px=bars_height(scene, faces))
    draw_bars(Canvas(figure, faces), scene)
    return figure


def bars_height(scene: BarsScene, faces: Faces) -> float:
    """Height of the picture, px."""
    head = heading_height(faces, scene.title, scene.subtitle)
    return head + ROW_PX * max(1, len(scene.bars)) + FOOT_PX


def draw_bars(canvas: Canvas, scene: BarsScene) -> None:
    """The picture on a canvas, 390 px wide."""
    top = draw_heading(canvas, scene.title, scene.subtitle)
    if not scene.bars:
        canvas.text(EDGE_PX, top + 24, "nothing counted yet", size=TEXT_PX, colour=SOFT)
        return
    end = next((each for each in SCALES if each >= max(bar.high for bar in scene.bars)), 1.0)
    frame = Box(EDGE_PX, top, PHONE_PX - EDGE_PX, top + ROW_PX * len(scene.bars))
    canvas.box(Box(frame.left, frame.top, frame.right, frame.bottom), CARD)
    per_share = frame.width / end
    marks = ticks(0.0, end, 5)
    hairs = [
        points((frame.left + v * per_share, frame.top), (frame.left + v * per_share, frame.bottom))
        for v in marks
    ]
    canvas.lines(hairs, Pen(HAIR, 0.8))
    canvas.box(frame, None, Pen(INK, 1.1))
    for count, bar in enumerate(scene.bars):
        row = Box(frame.left, frame.top + count * ROW_PX, frame.right, 0)
        _bar(canvas, row, bar, per_share)
    _foot(canvas, frame, marks, per_share, scene)


def _bar(canvas: Canvas, row: Box, bar: Bar, per_share: float) -> None:
    text_left, y = row.left + 7, row.top + 18
    share = percent(bar)
    wide = canvas.faces.width_px(share, TEXT_PX, "bold")
    label = canvas.faces.clipped(
        bar.label, size_px=TEXT_PX, width_px=row.width - wide - 24, face="bold"
    )
    canvas.text(text_left, y, label, size=TEXT_PX, face="bold", halo=CARD)
    canvas.text(
        *(row.right - 7, y, share),
        size=TEXT_PX,
        face="bold",
        colour=SEA,
        anchor="right",
        halo=CARD,
    )
    top = row.top + 25
    middle = top + BAR_PX / 2
    end = row.left + bar.value * per_share
    canvas.box(Box(row.left, top, end, top + BAR_PX), SEA, name="bar")
    low, high = (row.left + edge * per_share for edge in (bar.low, bar.high))
    whisker = [points((low, middle), (high, middle))]
    whisker += [points((x, middle - CAP_PX), (x, middle + CAP_PX)) for x in (low, high)]
    canvas.lines(whisker, Pen(CARD, 4.2))
    canvas.lines(whisker, Pen(INK, 1.8), name="interval")
    note = canvas.faces.clipped(bar.note, size_px=SMALL_PX, width_px=row.width - 14)
    canvas.text(text_left, top + BAR_PX + 12, note, size=SMALL_PX, colour=SOFT, halo=CARD)


def _foot(
    canvas: Canvas, frame: Box, marks: list[float], per_share: float, scene: BarsScene
) -> None:
    for value in marks:
        anchor = "left" if value == 0 else "right" if value == marks[-1] else "centre"
        canvas.text(
            *(frame.left + value * per_share, frame.bottom + 14, f"{value:.0%}"),
            size=SMALL_PX,
            colour=SOFT,
            anchor=anchor,
        )
    whiskers = canvas.faces.clipped(
        f"whiskers: {scene.interval}", size_px=SMALL_PX, width_px=frame.width
    )
    canvas.text(frame.left, frame.bottom + 32, whiskers, size=SMALL_PX, colour=SOFT)


def percent(bar: Bar) -> str:
    """A bar's value and interval in words: '42% (28–57)'."""
    return f"{bar.value:.0%} ({bar.low * 100:.0f}–{bar.high * 100:.0f})"
