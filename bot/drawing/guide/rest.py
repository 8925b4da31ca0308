"""Holes for which no line is noted yet: a row each, on one page or one strip."""

from matplotlib.figure import Figure

from bot.drawing.canvas import Canvas, new_figure
from bot.drawing.glyphs import Faces
from bot.drawing.guide.model import Guide, GuideHole, Paper
from bot.drawing.guide.page import EDGE, SIZES, SMALL
from bot.drawing.guide.phone import STRIP_DENSITY
from bot.drawing.guide.text import Line, Setter, draw_lines, hole_facts, lines_height
from bot.drawing.style import EDGE_PX, PHONE_PX, SMALL_PX, SOFT, TEXT_PX

HEADING = "No line noted yet"
TOP_PX = 34.0


def rest_strip(guide: Guide, faces: Faces) -> Figure:
    """The rows at the width of a phone."""
    lines = _rows(guide, faces, PHONE_PX - 2 * EDGE_PX, TEXT_PX)
    height = TOP_PX + lines_height(lines, TEXT_PX) + 2 * EDGE_PX
    figure = new_figure(width_px=PHONE_PX, height_px=round(height))
    figure.set_dpi(72 * STRIP_DENSITY)
    canvas = Canvas(figure, faces)
    above = faces.clipped(guide.title, size_px=SMALL_PX, width_px=PHONE_PX - 2 * EDGE_PX)
    canvas.text(EDGE_PX, 20, above, size=SMALL_PX, colour=SOFT)
    draw_lines(canvas, lines, EDGE_PX, TOP_PX, TEXT_PX)
    return figure


def rest_page(guide: Guide, faces: Faces, *, paper: Paper) -> Figure:
    """The rows on a page."""
    width, height = SIZES[paper]
    figure = new_figure(width_px=width, height_px=height)
    figure.set_facecolor("white")
    canvas = Canvas(figure, faces, outlines=False)
    above = faces.clipped(guide.title, size_px=SMALL + 1, width_px=width - 2 * EDGE)
    canvas.text(EDGE, 30, above, size=SMALL + 1, colour=SOFT)
    size = 10.0
    draw_lines(canvas, _rows(guide, faces, width - 2 * EDGE, size), EDGE, 40, size)
    return figure


def _rows(guide: Guide, faces: Faces, width_px: float, size_px: float) -> list[Line]:
    setter = Setter(faces, width_px=width_px, size_px=size_px)
    setter.add(HEADING, size=1.2, face="bold")
    for hole in guide.bare:
        setter.add(hole_row(hole, guide), gap=0.35)
    return setter.lines


def hole_row(hole: GuideHole, guide: Guide) -> str:
    """'4 · Gull's Table · par 3 · 158 yd · Wind 9 mph from 3'."""
    name = [hole.name] if hole.name else []
    facts = [hole_facts(hole, guide.units), *hole.facts[:1]]
    return " · ".join([str(hole.number), *name, *facts])
