"""The wind: a fletched arrow that flies downwind, and streaks that show its grain."""

import math

import numpy as np

from bot.drawing.canvas import Box, Canvas, Pen, Points, points
from bot.drawing.style import HAIR, INK, SEA, SMALL_PX, SOFT
from bot.drawing.wording import clock
from shared.units import UnitSystem
from shared.wording import speed

CALM_MPS = 0.05  # shown as 0.0
HOURS = 12
FEATHERS = 3
SMALL_ARROW_PX = 32.0  # a shorter one has fewer feathers and a larger head
STREAK_GAP_PX = 21.0
STREAK_PX_PER_MPS = 3.2
LONGEST_STREAK_PX = 40.0
GOLDEN = 0.6180339887498949  # steps that never line up


def to_px(from_deg: float) -> tuple[float, float]:
    """Unit vector, in px with y down, of where a wind from ``from_deg`` blows to."""
    angle = math.radians(from_deg)
    return -math.sin(angle), math.cos(angle)


def draw_wind(
    canvas: Canvas,
    *,
    box: Box,
    wind_mps: float,
    wind_from_deg: float,
    units: UnitSystem,
    size: float = 16.0,
    least: float = SMALL_PX,
) -> None:
    """The wind in ``box``: the hours as dots, the arrow through them, speed and hour below.

    ``size`` is that of the speed; the hour stands smaller, but not below ``least``.
    """
    words = 2.7 * size
    radius = min(box.width, box.height - words) / 2 - 3
    centre = ((box.left + box.right) / 2, box.top + 3 + radius)
    calm = wind_mps < CALM_MPS
    _hours(canvas, centre, radius, None if calm else wind_from_deg)
    if not calm:
        draw_arrow(canvas, centre=centre, length=2 * radius - 14, from_deg=wind_from_deg)
    below = centre[1] + radius + 3
    label = "calm" if calm else speed(wind_mps, units)
    canvas.text(
        *(centre[0], below + 0.95 * size),
        label,
        size=size,
        colour=SEA,
        face="bold",
        anchor="centre",
    )
    if not calm:
        canvas.text(
            *(centre[0], below + 2.05 * size),
            f"from {clock(wind_from_deg)}",
            size=max(least, 0.72 * size),
            colour=SOFT,
            anchor="centre",
        )


def draw_arrow(
    canvas: Canvas,
    *,
    centre: tuple[float, float],
    length: float,
    from_deg: float,
    name: str = "wind",
) -> None:
    """A fletched arrow round ``centre`` that points downwind."""
    small = length < SMALL_ARROW_PX
    thick = length / (26 if small else 62)
    half, head = length / 2, (11 if small else 20) * thick
    shaft = points(
        *((half, 0), (half - head, 0.36 * head), (half - 0.8 * head, 2.1 * thick)),
        *((-half, 1.0 * thick), (-half, -1.0 * thick)),
        *((half - 0.8 * head, -2.1 * thick), (half - head, -0.36 * head)),
    )
    canvas.shape(_turned(shaft, centre, from_deg), SEA, name=f"{name} arrow")
    barb = (5.0 if small else 8.0) * thick
    feathers: list[Points] = []
    for feather in range(2 if small else FEATHERS):
        root = -half + (0.8 + 6.5 * feather) * thick
        for side in (-1, 1):
            piece = points((root, 0), (root - 0.8 * barb, side * barb))
            feathers.append(_turned(piece, centre, from_deg))
    canvas.lines(feathers, Pen(SEA, 2.0 * thick), name=f"{name} feathers")


def draw_streaks(canvas: Canvas, *, box: Box, wind_mps: float, wind_from_deg: float) -> None:
    """Faint streaks along the wind all over ``box``; the stronger, the longer."""
    if wind_mps < CALM_MPS:
        return
    reach = min(LONGEST_STREAK_PX, 5 + STREAK_PX_PER_MPS * wind_mps)
    dx, dy = to_px(wind_from_deg)
    columns = int(box.width / STREAK_GAP_PX) + 2
    rows = int(box.height / STREAK_GAP_PX) + 2
    pieces: list[Points] = []
    for count in range(columns * rows):
        column, row = count % columns, count // columns
        x = box.left + (column + (count * GOLDEN) % 1.0 - 0.5) * STREAK_GAP_PX
        y = box.top + (row + (count * GOLDEN * GOLDEN * 7) % 1.0 - 0.5) * STREAK_GAP_PX
        share = 0.55 + 0.45 * ((count * GOLDEN * 3) % 1.0)
        pieces.append(points((x, y), (x + dx * reach * share, y + dy * reach * share)))
    canvas.lines(pieces, Pen(SEA, 0.9, alpha=0.28), name="wind streaks")


def _hours(
    canvas: Canvas, centre: tuple[float, float], radius: float, from_deg: float | None
) -> None:
    angles = np.radians(np.arange(HOURS) * 360 / HOURS)
    ring = np.stack((np.sin(angles), -np.cos(angles)), axis=1) * radius + centre
    canvas.dots(ring[1::3], 1.3, HAIR)
    canvas.dots(ring[2::3], 1.3, HAIR)
    canvas.dots(ring[::3], 2.2, SOFT)
    if from_deg is not None:
        dx, dy = to_px(from_deg)
        source = (centre[0] - dx * radius, centre[1] - dy * radius)
        canvas.ellipse(source, (4.2, 4.2), SEA, Pen(INK, 0.8), name="wind source")


def _turned(at: Points, centre: tuple[float, float], from_deg: float) -> Points:
    dx, dy = to_px(from_deg)
    return at @ np.array([[dx, dy], [-dy, dx]]) + centre
