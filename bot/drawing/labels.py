"""Labels that keep clear of each other, of their frame and, if they can, of the lines."""

from dataclasses import dataclass

import numpy as np

from bot.drawing.canvas import CAP_RISE, DESCENT, Box, Canvas, Points
from bot.drawing.glyphs import FaceName
from bot.drawing.style import CARD, INK

LINE_STEP = 1.22  # from baseline to baseline, em
CLEAR_PX = 2.0  # between two labels
AROUND = 16  # directions tried
REACHES_PX = (0.0, 6.0, 14.0, 24.0, 38.0, 56.0, 80.0, 110.0)
# What a place costs, in px of distance from what it names.
TURNED = 3.0  # a sixteenth of a turn off the direction asked for
COVERED = 40.0  # a square px of another label
OUTSIDE = 1e6  # a place beyond the frame
SPARE = 150.0  # a place anywhere else in the frame


@dataclass(frozen=True)
class Line:
    """One line of a label."""

    text: str
    size: float
    colour: str = INK
    face: FaceName = "plain"


class Labels:
    """Puts labels inside ``within``, each where it costs least."""

    def __init__(self, canvas: Canvas, within: Box, halo: str | None = CARD) -> None:
        self.canvas = canvas
        self.within = within
        self.halo = halo
        self.taken: list[Box] = []
        self._drawn: Points = np.zeros((0, 2))
        self._weights: Points = np.zeros(0)

    def avoid(self, *boxes: Box) -> None:
        """Keep off these boxes."""
        self.taken.extend(boxes)

    def avoid_line(self, at: Points, weight: float = 16.0) -> None:
        """Keep off a line where that is possible; crossing 10 px of it costs ``weight`` px."""
        sampled = _sampled(at)
        self._drawn = np.concatenate((self._drawn, sampled))
        self._weights = np.concatenate((self._weights, np.full(len(sampled), weight)))

    def put(
        self,
        lines: list[Line],
        at: tuple[float, float],
        *,
        gap: float,
        first: float,
        turned: float = TURNED,
    ) -> Box:
        """A label near ``at``, tried first in the direction ``first`` (degrees clockwise).

        Each sixteenth of a turn off it costs ``turned``.
        """
        width, height = self._size(lines)
        half = np.array([width / 2, height / 2])
        middles, penalty = self._places(at, width / 2 + gap, height / 2 + gap, first, turned)
        cost = penalty + self._costs(middles - half, middles + half)
        if cost.min() >= SPARE:  # nothing near is free
            spare = self._grid(width, height)
            middles = np.concatenate((middles, spare))
            cost = np.concatenate((cost, SPARE + self._costs(spare - half, spare + half)))
        best = int(np.argmin(cost))
        x, y = (float(each) for each in middles[best])
        box = Box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        self._draw(lines, box)
        self.taken.append(box)
        return box

    def _size(self, lines: list[Line]) -> tuple[float, float]:
        faces = self.canvas.faces
        width = max(faces.width_px(line.text, line.size, line.face) for line in lines)
        leading = sum((LINE_STEP * line.size for line in lines[:-1]), 0.0)
        return width, leading + (CAP_RISE + DESCENT) * lines[-1].size

    def _places(
        self, at: tuple[float, float], across: float, down: float, first: float, turned: float
    ) -> tuple[Points, Points]:
        """Middles all round ``at``, and what each costs for being far off or not first."""
        turn = np.arange(AROUND)
        angle = np.radians(first + turn * 360 / AROUND)
        penalty = np.minimum(turn, AROUND - turn) * turned
        reach = np.array(REACHES_PX)[:, None]
        x = at[0] + np.sin(angle) * (across + reach)
        y = at[1] - np.cos(angle) * (down + reach)
        return np.stack((x.ravel(), y.ravel()), axis=1), (reach + penalty).ravel()

    def _grid(self, width: float, height: float) -> Points:
        """Middles all over the frame, for when nothing near is free."""
        within = self.within
        x = np.linspace(within.left + width / 2 + 2, within.right - width / 2 - 2, 8)
        y = np.linspace(within.top + height / 2 + 2, within.bottom - height / 2 - 2, 12)
        return np.stack([each.ravel() for each in np.meshgrid(x, y)], axis=1)

    def _costs(self, low: Points, high: Points) -> Points:
        """What boxes from ``low`` to ``high`` (m, 2) would cover and cross."""
        within = self.within
        outside = (low < (within.left, within.top)) | (high > (within.right, within.bottom))
        cost = np.where(outside[:, 0] | outside[:, 1], OUTSIDE, 0.0)
        left, top = (low - CLEAR_PX).T[..., None]
        right, bottom = (high + CLEAR_PX).T[..., None]
        if self.taken:
            taken = np.array([(b.left, b.top, b.right, b.bottom) for b in self.taken]).T
            across = np.minimum(right, taken[2]) - np.maximum(left, taken[0])
            down = np.minimum(bottom, taken[3]) - np.maximum(top, taken[1])
            common = np.maximum(across, 0.0) * np.maximum(down, 0.0)
            cost += COVERED * common.sum(axis=1)
        x, y = self._drawn.T
        inside = (x > left) & (x < right) & (y > top) & (y < bottom)
        return cost + inside @ self._weights

    def _draw(self, lines: list[Line], box: Box) -> None:
        baseline = box.top
        for line in lines:
            baseline += CAP_RISE * line.size
            x = (box.left + box.right) / 2
            self.canvas.text(
                *(x, baseline, line.text),
                size=line.size,
                colour=line.colour,
                face=line.face,
                anchor="centre",
                halo=self.halo,
            )
            baseline += (LINE_STEP - CAP_RISE) * line.size


def _sampled(at: Points, every_px: float = 10.0) -> Points:
    """Points along a line, at most ``every_px`` apart."""
    if len(at) < 2:
        return at
    step = np.hypot(np.diff(at[:, 0]), np.diff(at[:, 1]))
    along = np.concatenate(([0.0], np.cumsum(step)))
    whole = float(along[-1])
    where: Points = np.linspace(0.0, whole, max(2, int(whole / every_px) + 2))
    return np.stack([np.interp(where, along, at[:, axis]) for axis in (0, 1)], axis=1)
