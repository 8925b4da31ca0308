"""Frames that can be counted: bars of one mark round a close-up, bars of 25 units along a way."""

import numpy as np

from bot.drawing.canvas import Box, Canvas, Pen
from bot.drawing.scene import ShotScene
from bot.drawing.style import CARD, INK, SMALL_PX, SOFT
from bot.drawing.view import View
from bot.drawing.wording import unit_m

BAR_PX = 5.0  # width of a graduated edge
LABEL_GAP_PX = 30.0  # between two numbers along an edge
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def count_step(px_per_unit: float, gap_px: float = LABEL_GAP_PX) -> int:
    """How many units apart numbers must stand to be ``gap_px`` apart."""
    return next((step for step in STEPS if step * px_per_unit >= gap_px), STEPS[-1])


def mark_frame(canvas: Canvas, view: View, scene: ShotScene) -> None:
    """Bars of one mark below and to the left, counted from the target; a line all round."""
    box = view.box
    bar = scene.mark_m * view.px_across
    size = 1 if bar >= 3 else count_step(bar, 3)
    x0, y0 = view.at(0, 0)
    across = _bars(x0, bar * size, box.left, box.right)
    down = _bars(y0, bar * size, box.top, box.bottom)
    floor, wall = box.bottom + BAR_PX, box.left - BAR_PX
    canvas.box(Box(wall, box.top, box.right, floor), None, Pen(INK, 1.2))
    canvas.boxes([Box(a, box.bottom, b, floor) for a, b in across], INK, name="marks across")
    canvas.boxes([Box(wall, a, box.left, b) for a, b in down], INK, name="marks along")
    canvas.box(box, None, Pen(INK, 1.0))
    step = max(count_step(bar), size)
    for count, x in _counts(x0, bar * step, box.left + 8, box.right - 8):
        canvas.text(
            x, floor + 12, f"{abs(count) * step}", size=SMALL_PX, colour=SOFT, anchor="centre"
        )
    for count, y in _counts(y0, bar * step, box.top + 6, box.bottom - 4):
        canvas.text(
            wall - 4, y + 4, f"{abs(count) * step}", size=SMALL_PX, colour=SOFT, anchor="right"
        )


def yard_edge(canvas: Canvas, view: View, scene: ShotScene) -> None:
    """Bars of 25 yards or metres up the left side of a way, a number every 50 at least."""
    box = view.box
    bar = 25 * unit_m(scene.units) * view.px_along
    _, ball = view.at(0, 0)
    bars = _bars(ball, bar, box.top, ball)
    canvas.boxes([Box(box.left, a, box.left + BAR_PX, b) for a, b in bars], INK)
    step = 50 if 2 * bar >= 22 else 100
    for count, y in _counts(ball, bar * step / 25, box.top + 12, ball - 10):
        canvas.text(
            box.left + BAR_PX + 3, y + 4, f"{abs(count) * step}", size=SMALL_PX, colour=SOFT
        )


def ground_edge(
    canvas: Canvas, left: float, right: float, top: float, *, px_per_unit: float, unit: str
) -> None:
    """Bars of 10 or 20 units along the ground from the ball at ``left``; numbers below."""
    size = 10 if 10 * px_per_unit >= 4 else 20
    ends = np.arange(left, right, size * px_per_unit)
    boxes = [Box(a, top, min(a + size * px_per_unit, right), top + BAR_PX) for a in ends[::2]]
    canvas.box(Box(left, top, right, top + BAR_PX), CARD, Pen(INK, 1.0))
    canvas.boxes(boxes, INK)
    step = max(count_step(px_per_unit, 44), 20)
    last = int((right - left) / (step * px_per_unit))
    for count in range(last + 1):
        x = left + count * step * px_per_unit
        canvas.text(x, top + 17, f"{count * step}", size=SMALL_PX, colour=SOFT, anchor="centre")
    x = left + last * step * px_per_unit
    beside = canvas.faces.width_px(f"{last * step}", SMALL_PX) / 2 + 4
    if x + beside + canvas.faces.width_px(unit, SMALL_PX) > right:
        beside = -beside - canvas.faces.width_px(unit, SMALL_PX) - 4
        unit = ""  # no place for it behind the last number: the foot says it
    canvas.text(x + beside, top + 17, unit, size=SMALL_PX, colour=SOFT)


def _bars(origin: float, size: float, low: float, high: float) -> list[tuple[float, float]]:
    """Every second bar between ``low`` and ``high``, counted from ``origin``."""
    first = int(np.floor((low - origin) / size))
    last = int(np.ceil((high - origin) / size))
    starts = [origin + count * size for count in range(first, last) if count % 2 == 0]
    cut = [(max(start, low), min(start + size, high)) for start in starts]
    return [(a, b) for a, b in cut if b > a]


def _counts(origin: float, size: float, low: float, high: float) -> list[tuple[int, float]]:
    first, last = int(np.ceil((low - origin) / size)), int(np.floor((high - origin) / size))
    return [(count, origin + count * size) for count in range(first, last + 1)]
