"""One hole as a strip of phone width, for the long PNG."""

from matplotlib.figure import Figure

from bot.drawing.bars import bars_height, draw_bars
from bot.drawing.canvas import Box, Canvas, Pen, new_figure, points
from bot.drawing.glyphs import Faces
from bot.drawing.guide.model import Guide, GuideHole
from bot.drawing.guide.page import draw_number
from bot.drawing.guide.text import draw_lines, hole_facts, hole_lines, lines_height
from bot.drawing.heading import fitted
from bot.drawing.shot_picture import draw_shot, shot_height
from bot.drawing.style import EDGE_PX, HAIR, INK, PHONE_PX, SMALL_PX, SOFT, TEXT_PX
from bot.drawing.wind import draw_wind

STRIP_DENSITY = 1.5  # picture px per CSS px: long images are shown at phone width at most
TITLE_PX = 30.0
HEAD_PX = 96.0
AIR_PX = 12.0


def hole_strip(guide: Guide, hole: GuideHole, faces: Faces) -> Figure:
    """The hole's facts, its pictures and its variants, one below the other."""
    width = PHONE_PX - 2 * EDGE_PX
    lines = hole_lines(faces, hole, width_px=width, size_px=TEXT_PX, facts=True)
    scenes = hole.scenes()
    height = TITLE_PX + HEAD_PX + lines_height(lines, TEXT_PX) + 2 * AIR_PX
    height += sum(shot_height(scene) for scene in scenes)
    height += bars_height(hole.bars, faces) if hole.bars else 0.0
    figure = new_figure(width_px=PHONE_PX, height_px=round(height))
    figure.set_dpi(72 * STRIP_DENSITY)
    canvas = Canvas(figure, faces)
    _head(canvas, guide, hole)
    y = draw_lines(canvas, lines, EDGE_PX, TITLE_PX + HEAD_PX, TEXT_PX) + AIR_PX
    for scene in scenes:
        _rule(canvas, y)
        draw_shot(canvas.part(left=0, top=y), scene)
        y += shot_height(scene)
    if hole.bars is not None:
        _rule(canvas, y)
        draw_bars(canvas.part(left=0, top=y), hole.bars)
    return figure


def _rule(canvas: Canvas, y: float) -> None:
    canvas.line(points((EDGE_PX, y), (PHONE_PX - EDGE_PX, y)), Pen(HAIR, 1.0))


def _head(canvas: Canvas, guide: Guide, hole: GuideHole) -> None:
    canvas.box(Box(0, 0, PHONE_PX, 3), INK)
    above = " · ".join(each for each in (guide.title, guide.whose) if each)
    width = PHONE_PX - 2 * EDGE_PX
    clipped = canvas.faces.clipped(above, size_px=SMALL_PX, width_px=width)
    canvas.text(EDGE_PX, 20, clipped, size=SMALL_PX, colour=SOFT)
    draw_number(canvas, Box(EDGE_PX, TITLE_PX + 4, EDGE_PX + 56, TITLE_PX + 60), hole.number)
    left = EDGE_PX + 68
    room = PHONE_PX - left - EDGE_PX - (96 if hole.wind else 0)
    size, name = fitted(canvas.faces, hole.name or f"Hole {hole.number}", room)
    canvas.text(left, TITLE_PX + 26, name, size=size, face="title")
    facts = canvas.faces.wrap(hole_facts(hole, guide.units), size_px=SMALL_PX, width_px=room)
    for count, line in enumerate(facts[:3]):
        canvas.text(left, TITLE_PX + 44 + 15 * count, line, size=SMALL_PX, colour=SOFT)
    if hole.wind is not None:
        draw_wind(
            canvas,
            box=Box(PHONE_PX - EDGE_PX - 92, TITLE_PX - 4, PHONE_PX - EDGE_PX, TITLE_PX + 86),
            wind_mps=hole.wind.speed_mps,
            wind_from_deg=hole.wind.from_deg,
            units=guide.units,
            size=12.5,
        )
