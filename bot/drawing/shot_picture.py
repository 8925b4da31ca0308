"""The picture of one shot: what to do, the ground from behind the ball, the side view."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Box, Canvas, new_figure
from bot.drawing.glyphs import Faces
from bot.drawing.plan import draw_close_up, draw_way
from bot.drawing.scene import ShotScene
from bot.drawing.side import draw_side, side_height
from bot.drawing.style import (
    EDGE_PX,
    HEAD_PX,
    PHONE_PX,
    SMALL_PX,
    SOFT,
    TEXT_PX,
)
from bot.drawing.wind import draw_wind
from bot.drawing.wording import metres
from shared.units import METRES_PER_YARD
from shared.wording import offset_in

FLAT_PX = 376.0  # height without a side view
MOST_SIDE_PX = 130.0
LEAST_HEAD_PX = 15.0
FOR_WHOM = "Leeward · for video and simulator golf"
WIND = Box(EDGE_PX, 80, 118, 194)
WAY = Box(EDGE_PX, 216, 118, 331)
CLOSE = Box(152, 96, PHONE_PX - EDGE_PX, 326)
SIDE_TOP = 356.0


def shot_figure(scene: ShotScene, faces: Faces) -> Figure:
    """The picture as a figure of its own."""
    figure = new_figure(width_px=PHONE_PX, height_px=shot_height(scene))
    draw_shot(Canvas(figure, faces), scene)
    return figure


def shot_height(scene: ShotScene) -> float:
    """Height of the picture, px."""
    return FLAT_PX if scene.facts is None else _side(scene).bottom + 30


def _side(scene: ShotScene) -> Box:
    width = PHONE_PX - 2 * EDGE_PX
    height = side_height(scene, width_px=width, most_px=MOST_SIDE_PX)
    return Box(EDGE_PX, SIDE_TOP, PHONE_PX - EDGE_PX, SIDE_TOP + height)


def draw_shot(canvas: Canvas, scene: ShotScene) -> None:
    """The picture on a canvas, 390 px wide."""
    _head(canvas, scene)
    draw_wind(
        canvas,
        box=WIND,
        wind_mps=scene.wind_mps,
        wind_from_deg=scene.wind_from_deg,
        units=scene.units,
    )
    view = draw_close_up(canvas, CLOSE, scene)
    stretch = draw_way(canvas, WAY, scene, view)
    across = f"across ×{stretch}" if stretch > 1 else "to scale"
    canvas.text(WAY.left, WAY.top - 6, across, size=SMALL_PX, colour=SOFT)
    each = metres(scene.mark_m, scene.units)
    caption = f"one bar is one {scene.mark}, {each}"
    canvas.text(CLOSE.left, CLOSE.top - 6, _fit(canvas, caption), size=SMALL_PX, colour=SOFT)
    if scene.facts is not None:
        draw_side(canvas, _side(scene), scene)
    foot = shot_height(scene) - 9
    canvas.text(EDGE_PX, foot, FOR_WHOM, size=SMALL_PX, colour=SOFT)
    if scene.facts is not None:
        time = f"{scene.facts.time_s:.1f} s in the air"
        canvas.text(PHONE_PX - EDGE_PX, foot, time, size=SMALL_PX, colour=SOFT, anchor="right")


def _fit(canvas: Canvas, text: str) -> str:
    return canvas.faces.clipped(text, size_px=SMALL_PX, width_px=CLOSE.width)


def _head(canvas: Canvas, scene: ShotScene) -> None:
    width = PHONE_PX - 2 * EDGE_PX
    size = HEAD_PX
    while size > LEAST_HEAD_PX and canvas.faces.width_px(scene.headline, size, "title") > width:
        size -= 0.5
    headline = canvas.faces.clipped(scene.headline, size_px=size, width_px=width, face="title")
    canvas.text(EDGE_PX, 30, headline, size=size, face="title")
    yards = offset_in(
        scene.units,
        right_yd=scene.aim.right_m / METRES_PER_YARD,
        long_yd=scene.aim.long_m / METRES_PER_YARD,
    )
    distance = metres(scene.distance_m, scene.units, 0)
    plays = f"{distance}, plays {metres(scene.plays_m, scene.units, 0)}"
    second = plays if yards == "none" else f"{yards} · {plays}"
    for y, text, colour in ((49, second, SOFT), (66, scene.shot, SOFT)):
        clipped = canvas.faces.clipped(text, size_px=TEXT_PX, width_px=width)
        canvas.text(EDGE_PX, y, clipped, size=TEXT_PX, colour=colour)
