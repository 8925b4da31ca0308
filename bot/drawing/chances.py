"""A reliability diagram: what tries were given as a chance, against the share that went in."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, new_figure, points
from bot.drawing.chart import Chart, draw_frame, ticks
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.style import CARD, EDGE_PX, INK, PHONE_PX, RUST, SEA, SMALL_PX, SOFT
from bot.drawing.trust_scene import ChanceBin, ChancesScene

LEFT_PX = 56.0
SIDE_PX = 280.0  # of the frame, which is a square but for the margin
FOOT_PX = 62.0
CAP_PX = 4.0
LEAST_TOP = 0.05  # the scale reaches at least so far
ROOM = 1.08  # beyond the farthest


def chances_figure(scene: ChancesScene, faces: Faces) -> Figure:
    """The picture as a figure of its own."""
    height = heading_height(faces, scene.title, scene.subtitle) + SIDE_PX + FOOT_PX
    figure = new_figure(width_px=PHONE_PX, height_px=height)
    draw_chances(Canvas(figure, faces), scene)
    return figure


def draw_chances(canvas: Canvas, scene: ChancesScene) -> None:
    """The picture on a canvas, 390 px wide."""
    top = draw_heading(canvas, scene.title, scene.subtitle)
    most = max([LEAST_TOP, *(each.high for each in scene.bins), *(b.given for b in scene.bins)])
    edge = min(1.0, most * ROOM)
    box = Box(LEFT_PX, top, PHONE_PX - EDGE_PX, top + SIDE_PX)
    chart = Chart(box, 0.0, edge, 0.0, edge)
    marks = ticks(0.0, edge, 5)
    draw_frame(canvas, chart, up=[(value, percent(value)) for value in marks])
    diagonal = points((chart.x(0), chart.y(0)), (chart.x(edge), chart.y(edge)))
    canvas.line(diagonal, Pen(RUST, 1.4, dashes=(5.0, 3.0)), "as given")
    for each in scene.bins:
        _bin(canvas, chart, each)
    for value in marks:
        x = min(chart.x(value), box.right - 12)
        canvas.text(x, box.bottom + 14, percent(value), size=SMALL_PX, colour=SOFT, anchor="centre")
    canvas.text(box.left, box.bottom + 32, "chance given", size=SMALL_PX, colour=SOFT)
    legend = f"up: share that went in, {scene.interval}; dashes: as given"
    said = canvas.faces.clipped(legend, size_px=SMALL_PX, width_px=PHONE_PX - 2 * EDGE_PX)
    canvas.text(EDGE_PX, box.bottom + 50, said, size=SMALL_PX, colour=SOFT)


def percent(share: float) -> str:
    """'12%', '2.5%'."""
    return f"{share * 100:g}%"


def _bin(canvas: Canvas, chart: Chart, each: ChanceBin) -> None:
    x, low, high = chart.x(each.given), chart.y(each.low), chart.y(each.high)
    whisker = [points((x, low), (x, high))]
    whisker += [points((x - CAP_PX, y), (x + CAP_PX, y)) for y in (low, high)]
    canvas.lines(whisker, Pen(SEA, 1.8), name="interval")
    canvas.dots(points((x, chart.y(each.holed))), 4.0, INK, Pen(CARD, 0.7), name="went in")
