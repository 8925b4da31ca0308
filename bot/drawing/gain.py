"""A club's gain against the number of shots, with its interval, and what is left unexplained."""

import numpy as np
from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, Pen, Points, new_figure, points
from bot.drawing.chart import Chart, draw_counts, draw_frame, ticks
from bot.drawing.glyphs import Faces
from bot.drawing.heading import draw_heading, heading_height
from bot.drawing.labels import Labels, Line
from bot.drawing.style import CARD, EDGE_PX, PHONE_PX, RUST, SEA, SMALL_PX, SOFT
from bot.drawing.trust_scene import GainScene, GainTrack
from bot.drawing.wording import unit_m, unit_name

LEFT_PX = 50.0
GAIN_PX = 170.0
MISS_PX = 84.0
GAP_PX = 26.0
FOOT_PX = 40.0
LEAST_REACH = 0.12  # a gain's chart shows at least this much about 1


def gain_figure(scene: GainScene, faces: Faces) -> Figure:
    """The picture as a figure of its own."""
    height = heading_height(faces, scene.title, scene.subtitle) + 16
    height += GAIN_PX + FOOT_PX + (2 * (MISS_PX + GAP_PX) if scene.residuals else 0)
    figure = new_figure(width_px=PHONE_PX, height_px=height)
    draw_gain(Canvas(figure, faces), scene)
    return figure


def draw_gain(canvas: Canvas, scene: GainScene) -> None:
    """The picture on a canvas, 390 px wide."""
    top = draw_heading(canvas, scene.title, scene.subtitle) + 16
    last = max((*scene.across.shots, *scene.along.shots, 1))
    canvas.text(
        EDGE_PX, top - 6, f"gain on the law; bands: {scene.interval}", size=SMALL_PX, colour=SOFT
    )
    chart = _gain_chart(top, last, scene)
    _gains(canvas, chart, scene)
    low = chart.box.bottom
    if scene.residuals:
        for name, colour, values in (
            ("what is left over across, right +", RUST, [each.right_m for each in scene.residuals]),
            ("what is left over along, long +", SEA, [each.long_m for each in scene.residuals]),
        ):
            low = _misses(canvas, low + GAP_PX, last, scene, name, colour, values)
    draw_counts(canvas, Chart(Box(LEFT_PX, low - 1, PHONE_PX - EDGE_PX, low), 0, last, 0, 1))
    canvas.text(LEFT_PX, low + 30, "shots logged", size=SMALL_PX, colour=SOFT)


def _gain_chart(top: float, last: int, scene: GainScene) -> Chart:
    ends = [1 - LEAST_REACH, 1 + LEAST_REACH]
    for track in (scene.across, scene.along):
        ends += [*track.low, *track.high]
    margin = 0.06 * (max(ends) - min(ends))
    box = Box(LEFT_PX, top, PHONE_PX - EDGE_PX, top + GAIN_PX)
    return Chart(box, 0, last, min(ends) - margin, max(ends) + margin)


def _gains(canvas: Canvas, chart: Chart, scene: GainScene) -> None:
    draw_frame(canvas, chart, up=[(v, f"{v:g}") for v in ticks(chart.low, chart.high, 6)])
    inside = canvas.part(left=0, top=0, clip=chart.box)
    one = points((chart.box.left, chart.y(1)), (chart.box.right, chart.y(1)))
    inside.line(one, Pen(SOFT, 1.2, dashes=(4.0, 3.0)), "the law")
    labels = Labels(canvas, chart.box.grown(-3))
    labels.avoid_line(one, weight=8.0)
    tracks = (("across", scene.across, RUST, ()), ("along", scene.along, SEA, (7.0, 3.0)))
    for name, track, colour, dashes in tracks:
        _band(inside, chart, track, colour, dashes, name)
    for _, track, _, _ in tracks:
        labels.avoid_line(_way(chart, track), weight=20.0)
    for name, track, colour, _ in tracks:
        if track.shots:
            end = _way(chart, track)[-1]
            label = Line(f"{name} {track.gain[-1]:.2f}", 13.0, colour, "bold")
            labels.put([label], (float(end[0]), float(end[1])), gap=5, first=315)
    labels.put([Line("the law as it is", SMALL_PX, SOFT)], _at(one[0]), gap=4, first=45)


def _at(point: Points) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _way(chart: Chart, track: GainTrack) -> Points:
    return chart.line(np.array(track.shots, dtype=np.float64), np.array(track.gain))


def _band(
    canvas: Canvas,
    chart: Chart,
    track: GainTrack,
    colour: str,
    dashes: tuple[float, ...],
    name: str,
) -> None:
    if not track.shots:
        return
    shots = np.array(track.shots, dtype=np.float64)
    low, high = chart.line(shots, np.array(track.low)), chart.line(shots, np.array(track.high))
    canvas.shape(np.concatenate((low, high[::-1])), colour, Pen(colour, 0.1, alpha=0.17))
    for edge in (low, high):
        canvas.line(edge, Pen(colour, 0.9, alpha=0.7), f"{name} interval")
    canvas.line(_way(chart, track), Pen(colour, 2.4, dashes=dashes), f"{name} gain")


def _misses(
    canvas: Canvas,
    top: float,
    last: int,
    scene: GainScene,
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
