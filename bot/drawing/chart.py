"""A plain chart on a canvas: a frame, numbers that are round, and from values to px."""

import math
from dataclasses import dataclass

import numpy as np

from bot.drawing.canvas import Box, Canvas, Pen, Points, points
from bot.drawing.style import CARD, HAIR, INK, SMALL_PX, SOFT

ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True)
class Chart:
    """A frame in px and the values at its edges."""

    box: Box
    left: float
    right: float
    low: float
    high: float

    def x(self, value: float) -> float:
        """The px of a value along."""
        return self.box.left + (value - self.left) / (self.right - self.left) * self.box.width

    def y(self, value: float) -> float:
        """The px of a value up."""
        return self.box.bottom - (value - self.low) / (self.high - self.low) * self.box.height

    def line(self, along: Points, up: Points) -> Points:
        """The px of many values."""
        share = (along - self.left) / (self.right - self.left)
        rise = (up - self.low) / (self.high - self.low)
        return np.stack(
            (
                self.box.left + share * self.box.width,
                self.box.bottom - rise * self.box.height,
            ),
            axis=1,
        )


def ticks(low: float, high: float, most: int) -> list[float]:
    """Round numbers from ``low`` to ``high``, at most ``most``."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(each * power for each in ROUND if each * power >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(count * step, 10) + 0.0 for count in range(first, last + 1)]


def draw_frame(canvas: Canvas, chart: Chart, *, up: list[tuple[float, str]]) -> None:
    """The frame with a hair line and a number at each of ``up``."""
    box = chart.box
    canvas.box(box, CARD)
    hairs = [points((box.left, chart.y(v)), (box.right, chart.y(v))) for v, _ in up]
    canvas.lines(hairs, Pen(HAIR, 0.8))
    canvas.box(box, None, Pen(INK, 1.1))
    for value, text in up:
        canvas.text(
            box.left - 5, chart.y(value) + 4, text, size=SMALL_PX, colour=SOFT, anchor="right"
        )


def draw_counts(canvas: Canvas, chart: Chart, *, most: int = 6) -> None:
    """Whole numbers below the frame."""
    for value in ticks(chart.left, chart.right, most):
        if value == int(value):
            x = chart.x(value)
            canvas.line(points((x, chart.box.bottom), (x, chart.box.bottom + 3)), Pen(INK, 1.0))
            canvas.text(
                *(x, chart.box.bottom + 14, f"{value:.0f}"),
                size=SMALL_PX,
                colour=SOFT,
                anchor="centre",
            )
