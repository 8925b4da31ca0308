"""Title and second line of a picture."""

from bot.drawing.canvas import Canvas
from bot.drawing.glyphs import Faces
from bot.drawing.style import EDGE_PX, HEAD_PX, PHONE_PX, SOFT, TEXT_PX

LEAST_TITLE_PX = 15.0
LEADING = 1.32
MOST_LINES = 3


def draw_heading(canvas: Canvas, title: str, subtitle: str, *, width_px: float = PHONE_PX) -> float:
    """The title, as large as fits, and what stands below it; where the rest may begin."""
    room = width_px - 2 * EDGE_PX
    size, title = fitted(canvas.faces, title, room)
    canvas.text(EDGE_PX, 30, title, size=size, face="title")
    y = 31.0
    for line in _lines(canvas.faces, subtitle, room):
        y += TEXT_PX * LEADING
        canvas.text(EDGE_PX, y, line, size=TEXT_PX, colour=SOFT)
    return y + 12


def heading_height(faces: Faces, title: str, subtitle: str, *, width_px: float = PHONE_PX) -> float:
    """What ``draw_heading`` will return."""
    lines = _lines(faces, subtitle, width_px - 2 * EDGE_PX)
    return 43.0 + TEXT_PX * LEADING * len(lines)


def fitted(faces: Faces, title: str, width_px: float) -> tuple[float, str]:
    """The size at which a title fits, clipped where it can't."""
    size = HEAD_PX
    while size > LEAST_TITLE_PX and faces.width_px(title, size, "title") > width_px:
        size -= 0.5
    return size, faces.clipped(title, size_px=size, width_px=width_px, face="title")


def _lines(faces: Faces, subtitle: str, width_px: float) -> list[str]:
    lines = faces.wrap(subtitle, size_px=TEXT_PX, width_px=width_px)
    if len(lines) > MOST_LINES:
        rest = " ".join(lines[MOST_LINES - 1 :])
        lines[MOST_LINES - 1 :] = [faces.clipped(rest, size_px=TEXT_PX, width_px=width_px)]
    return lines
