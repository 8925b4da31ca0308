"""From metres round the target to px of a frame, and the window that holds what must be seen."""

from dataclasses import dataclass

import numpy as np

from bot.drawing.canvas import Box, Points
from bot.drawing.scene import ShotScene

LEAST_MARKS = 4.0  # a close-up shows at least this many marks each way
PADDING = 0.17  # of the window, on each side
FARTHEST = 2.2  # room farther off than this many times the rest isn't worth the scale
HALF_INSIDE = 1.1774  # radius, in standard deviations, of the circle half of the shots fall in


@dataclass(frozen=True)
class View:
    """A frame in px that shows right_m and long_m from its lower left corner on."""

    box: Box
    right_m: float
    long_m: float
    px_across: float  # px per metre
    px_along: float

    def at(self, right_m: float, long_m: float) -> tuple[float, float]:
        """The px of a place."""
        x = self.box.left + (right_m - self.right_m) * self.px_across
        return x, self.box.bottom - (long_m - self.long_m) * self.px_along

    def line(self, right_m: Points, long_m: Points) -> Points:
        """The px of many places."""
        return np.stack(self.at_arrays(right_m, long_m), axis=1)

    def at_arrays(self, right_m: Points, long_m: Points) -> tuple[Points, Points]:
        """The px of many places, as x and y."""
        x = self.box.left + (right_m - self.right_m) * self.px_across
        return x, self.box.bottom - (long_m - self.long_m) * self.px_along

    @property
    def ends_m(self) -> tuple[float, float]:
        """Right and long at the upper right corner."""
        right = self.right_m + self.box.width / self.px_across
        return right, self.long_m + self.box.height / self.px_along


def close_view(box: Box, scene: ShotScene) -> View:
    """The close-up: target, aim point, landing, spread and what is near of the room, to scale."""
    reach = LEAST_MARKS * scene.mark_m
    aim, margin = scene.aim, scene.margin
    sides = [-reach, reach, aim.right_m - margin.right_m, aim.right_m + margin.right_m]
    ends = [-reach, reach, aim.long_m - margin.long_m, aim.long_m + margin.long_m]
    if scene.run is not None:
        sides.append(scene.run.down.right_m)
        ends.append(scene.run.down.long_m)
    if scene.spread is not None:
        spread = scene.spread
        across, along = spread.right_sd_m * HALF_INSIDE, spread.long_sd_m * HALF_INSIDE
        sides += [spread.centre.right_m - across, spread.centre.right_m + across]
        ends += [spread.centre.long_m - along, spread.centre.long_m + along]
    far = FARTHEST * max(abs(each) for each in (*sides, *ends))
    left, right, short, long = room_m(scene)
    sides += [each for each in (left, right) if abs(each) <= far]
    ends += [each for each in (short, long) if abs(each) <= far]
    width, height = max(sides) - min(sides), max(ends) - min(ends)
    scale = min(box.width / width, box.height / height) * (1 - 2 * PADDING)
    middle = (max(sides) + min(sides)) / 2, (max(ends) + min(ends)) / 2
    right_m = middle[0] - box.width / scale / 2
    return View(box, right_m, middle[1] - box.height / scale / 2, scale, scale)


def room_m(scene: ShotScene) -> tuple[float, float, float, float]:
    """Left, right, short and long edges of the room, metres; infinite where there is no limit."""
    room = scene.room
    if room is None:
        return -np.inf, np.inf, -np.inf, np.inf
    yard = 0.9144
    edges = (room.left_yd, room.right_yd, room.short_yd, room.long_yd)
    left, right, short, long = (np.inf if edge is None else edge * yard for edge in edges)
    return -left, right, -short, long
