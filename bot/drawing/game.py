"""What the game does with a club beside what is computed, and what is left of its latest shots."""

import numpy as np
from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, new_figure, points
from bot.drawing.chart import Chart, draw_counts, draw_frame, ticks
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.style import CARD, EDGE_PX, HAIR, INK, PHONE_PX, RUST, SEA, SMALL_PX, SOFT, TEXT_PX
from bot.drawing.trust_scene import GameRow, GameScene
from bot.drawing.wording import unit_m, unit_name

LEFT_PX = 50.0
ROW_PX = 62.0
MISS_PX = 84.0
GAP_PX = 26.0
FOOT_PX = 44.0
CAP_PX = 5.0
LEAST_REACH = 2.0  # the scale shows at least so much to either side, in the reader's unit


def game_figure(scene: GameScene, faces: Faces) -> Figure:
    """The picture as a figure of its own."""
    height = heading_height(faces, scene.title, scene.subtitle)
    height += ROW_PX * len(scene.rows) + FOOT_PX
    height += 2 * (MISS_PX + GAP_PX) + FOOT_PX if scene.residuals else 0
    figure = new_figure(width_px=PHONE_PX, height_px=height)
    draw_game(Canvas(figure, faces), scene)
    return figure


def draw_game(canvas: Canvas, scene: GameScene) -> None:
    """The picture on a canvas, 390 px wide."""
    top = draw_heading(canvas, scene.title, scene.subtitle)
    frame = Box(EDGE_PX, top, PHONE_PX - EDGE_PX, top + ROW_PX * len(scene.rows))
    chart = _scale(frame, scene)
    canvas.box(frame, CARD)
    marks = ticks(chart.left, chart.right, 6)
    hairs = [points((chart.x(v), frame.top), (chart.x(v), frame.bottom)) for v in marks]
    canvas.lines(hairs, Pen(HAIR, 0.8))
    canvas.line(points((chart.x(0), frame.top), (chart.x(0), frame.bottom)), Pen(SOFT, 1.2), "none")
    canvas.box(frame, None, Pen(INK, 1.1))
    for count, row in enumerate(scene.rows):
        _row(canvas, chart, frame.top + count * ROW_PX, row, unit_m(scene.units))
    _foot(canvas, chart, marks, scene)
    if not scene.residuals:
        return
    low, last = frame.bottom + FOOT_PX, len(scene.residuals)
    for name, colour, values in (
        ("left over across, right +", RUST, [each.right_m for each in scene.residuals]),
        ("left over along, long +", SEA, [each.long_m for each in scene.residuals]),
    ):
        low = _misses(canvas, low + GAP_PX, last, scene, name, colour, values)
    draw_counts(canvas, Chart(Box(LEFT_PX, low - 1, PHONE_PX - EDGE_PX, low), 0, last, 0, 1))
    canvas.text(LEFT_PX, low + 30, "latest shots", size=SMALL_PX, colour=SOFT)


def _scale(frame: Box, scene: GameScene) -> Chart:
    unit = unit_m(scene.units)
    ends = [-LEAST_REACH, LEAST_REACH]
    for row in scene.rows:
        ends += [row.computed_m / unit, (row.learned_m - row.half_m) / unit]
        ends.append((row.learned_m + row.half_m) / unit)
    edge = 0.06 * (max(ends) - min(ends))
    return Chart(frame, min(ends) - edge, max(ends) + edge, 0, 1)


def _row(canvas: Canvas, chart: Chart, top: float, row: GameRow, unit: float) -> None:
    width = chart.box.width - 14
    label = canvas.faces.clipped(row.label, size_px=TEXT_PX, width_px=width, face="bold")
    canvas.text(chart.box.left + 7, top + 16, label, size=TEXT_PX, face="bold", halo=CARD)
    words = canvas.faces.clipped(row.words, size_px=SMALL_PX, width_px=width)
    canvas.text(chart.box.left + 7, top + 31, words, size=SMALL_PX, colour=SOFT, halo=CARD)
    y = top + 47
    x = chart.x(row.computed_m / unit)
    canvas.line(points((x, y - 8), (x, y + 8)), Pen(RUST, 2.4), "computed")
    low, high = (chart.x((row.learned_m + side * row.half_m) / unit) for side in (-1, 1))
    whisker = [points((low, y), (high, y))]
    whisker += [points((end, y - CAP_PX), (end, y + CAP_PX)) for end in (low, high)]
    canvas.lines(whisker, Pen(SEA, 1.8), name="interval")
    dot = points((chart.x(row.learned_m / unit), y))
    canvas.dots(dot, 4.0, SEA, Pen(CARD, 0.7), name="your game")


def _foot(canvas: Canvas, chart: Chart, marks: list[float], scene: GameScene) -> None:
    low, box = chart.box.bottom, chart.box
    for value in marks:
        if box.left + 16 < chart.x(value) < box.right - 16:
            said = f"{value:g}".replace("-", "−")
            canvas.text(
                *(chart.x(value), low + 14, said), size=SMALL_PX, colour=SOFT, anchor="centre"
            )
    legend = (
        f"{unit_name(scene.units)} to aim off; line: computed, dot: your game, "
        f"whiskers: {scene.interval}"
    )
    said = canvas.faces.clipped(legend, size_px=SMALL_PX, width_px=box.width)
    canvas.text(box.left, low + 32, said, size=SMALL_PX, colour=SOFT)


def _misses(
    canvas: Canvas,
    top: float,
    last: int,
    scene: GameScene,
    name: str,
    colour: str,
    values: list[float],
) -> float:
    unit = unit_m(scene.units)
    size = np.array(values) / unit
    reach = max(1.0, float(np.abs(size).max())) * 1.12
    box = Box(LEFT_PX, top, PHONE_PX - EDGE_PX, top + MISS_PX)
    chart = Chart(box, 0, last, -reach, reach)
    most = ticks(0, reach, 2)[-1]
    unit_word = unit_name(scene.units)
    draw_frame(canvas, chart, up=[(-most, f"−{most:g}"), (0, "0"), (most, f"{most:g} {unit_word}")])
    shots = np.array([each.shot for each in scene.residuals], dtype=np.float64)
    at = chart.line(shots, size)
    canvas.lines(
        [points((float(x), chart.y(0)), (float(x), float(y))) for x, y in at], Pen(SOFT, 0.7)
    )
    canvas.dots(at, 2.8, colour, Pen(CARD, 0.7), name="residuals")
    canvas.text(box.left, box.top - 6, name, size=SMALL_PX, colour=SOFT)
    return box.bottom
