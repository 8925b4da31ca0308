"""Seen from the side, to scale: apex, landing angle, and the same shot in still air."""

import math

import numpy as np

from bot.drawing.canvas import Box, Canvas, Pen, Points, points
from bot.drawing.frames import ground_edge
from bot.drawing.labels import Labels, Line
from bot.drawing.plan import ROLL, draw_aim, draw_ball, draw_down, draw_target
from bot.drawing.scene import Curve, ShotScene
from bot.drawing.style import INK, PAPER, RUST, SEA, SMALL_PX, SOFT
from bot.drawing.wording import metres, unit_m, unit_name

FLOOR_PX = 24.0  # for the graduated ground and its numbers
HEAD_PX = 19.0  # for what stands above the apex
ASIDE_PX = 14.0  # left and right of it
ARC_PX = 30.0
STILL = Pen(RUST, 1.2, dashes=(2.0, 2.6))


def side_height(scene: ShotScene, *, width_px: float, most_px: float) -> float:
    """Height a side view to scale takes at this width, at most ``most_px``."""
    along, high, low = _extents(scene)
    return min(most_px, (high - low) * (width_px - ASIDE_PX) / along + FLOOR_PX + HEAD_PX)


def draw_side(canvas: Canvas, box: Box, scene: ShotScene) -> None:
    """The side view of a shot that flies."""
    if scene.flight is None or scene.facts is None:
        return
    along, high, lowest = _extents(scene)
    scale = min((box.width - ASIDE_PX) / along, (box.height - FLOOR_PX - HEAD_PX) / (high - lowest))
    ground = box.bottom - FLOOR_PX + lowest * scale
    left = box.left + 6
    labels = Labels(canvas, box, halo=PAPER)
    unit = unit_m(scene.units)
    floor = box.bottom - FLOOR_PX
    ground_edge(
        canvas,
        left=left,
        right=box.right - 4,
        top=floor,
        px_per_unit=scale * unit,
        unit=unit_name(scene.units),
    )
    labels.avoid(Box(box.left, floor, box.right, box.bottom))
    place = _Place(left, ground, scale)
    _still(canvas, place, scene, labels)
    path = place.curve(scene.flight)
    canvas.line(path, Pen(INK, 2.2), "side flight")
    labels.avoid_line(path)
    arc = _angle(canvas, path, scene, labels)
    if abs(scene.height_m) > 0:
        _height(canvas, place, scene, labels)
    _landing(arc, scene, labels)
    _apex(canvas, path, ground, scene, labels)
    if scene.run is not None:
        _run(canvas, place, scene, path)
    draw_target(canvas, place.at(scene.distance_m, scene.height_m), 0.7)
    draw_ball(canvas, place.at(0, 0))


def _extents(scene: ShotScene) -> tuple[float, float, float]:
    """How far, how high and how low the view must reach, metres."""
    ends = [scene.distance_m, scene.distance_m + scene.aim.long_m]
    heights = [0.0, scene.height_m, scene.facts.apex_m if scene.facts else 0.0]
    if scene.still is not None:
        ends.append(scene.still.long_m[-1])
        heights.append(max(scene.still.up_m))
    return max(ends) * 1.04, max(heights), min(heights)


class _Place:
    """From metres along and up to px."""

    def __init__(self, left: float, ground: float, scale: float) -> None:
        self.left, self.ground, self.scale = left, ground, scale

    def at(self, along_m: float, up_m: float) -> tuple[float, float]:
        return self.left + along_m * self.scale, self.ground - up_m * self.scale

    def curve(self, curve: Curve) -> Points:
        along, up = np.array(curve.long_m), np.array(curve.up_m)
        return np.stack((self.left + along * self.scale, self.ground - up * self.scale), axis=1)


def _still(canvas: Canvas, place: _Place, scene: ShotScene, labels: Labels) -> None:
    if scene.still is None:
        return
    path = place.curve(scene.still)
    canvas.line(path, STILL, "side still")
    labels.avoid_line(path)
    end = float(path[-1, 0]), float(path[-1, 1])
    draw_aim(canvas, end, 0.7)


def _run(canvas: Canvas, place: _Place, scene: ShotScene, path: Points) -> None:
    """The way on the ground, from where the flight ends to the target."""
    down = float(path[-1, 0]), float(path[-1, 1])
    canvas.line(points(down, place.at(scene.distance_m, scene.height_m)), ROLL, "side run")
    draw_down(canvas, down, 0.8)


def _height(canvas: Canvas, place: _Place, scene: ShotScene, labels: Labels) -> None:
    x, y = place.at(scene.distance_m, scene.height_m)
    _, level = place.at(0, 0)
    canvas.line(points((x - 16, y), (x + 12, y)), Pen(SOFT, 1.2))
    canvas.line(points((x, level), (x, y)), Pen(SOFT, 1.0, dashes=(2.0, 2.0)))
    if scene.height_m < 0:
        canvas.line(points((place.left, level), (x, level)), Pen(SOFT, 1.0, dashes=(2.0, 2.0)))
    way = "up" if scene.height_m > 0 else "down"
    text = f"{metres(abs(scene.height_m), scene.units)} {way}"
    labels.put([Line(text, SMALL_PX, SOFT)], (x, (y + level) / 2), gap=6, first=270)


def _angle(canvas: Canvas, path: Points, scene: ShotScene, labels: Labels) -> tuple[float, float]:
    """The angle at which the ball comes down, as an arc over the level; the arc's middle."""
    assert scene.facts is not None
    x, y = float(path[-1, 0]), float(path[-1, 1])
    angle = math.radians(scene.facts.landing_deg)
    turn = np.linspace(0.0, angle, 16)
    level = points((x, y), (x - ARC_PX - 8, y))
    arc = np.stack((x - ARC_PX * np.cos(turn), y - ARC_PX * np.sin(turn)), axis=1)
    canvas.line(level, Pen(SEA, 1.0))
    canvas.line(arc, Pen(SEA, 1.6), "landing angle")
    labels.avoid(Box(x - 8, y - 8, x + 8, y + 8))
    labels.avoid_line(arc)
    labels.avoid_line(level)
    return x - ARC_PX * math.cos(angle / 2), y - ARC_PX * math.sin(angle / 2)


def _landing(at: tuple[float, float], scene: ShotScene, labels: Labels) -> None:
    assert scene.facts is not None
    lands = Line(f"lands at {scene.facts.landing_deg:.0f}°", 12.0, INK, "bold")
    labels.put([lands], at, gap=5, first=292.5)


def _apex(canvas: Canvas, path: Points, ground: float, scene: ShotScene, labels: Labels) -> None:
    assert scene.facts is not None
    top = int(np.argmin(path[:, 1]))
    x, y = float(path[top, 0]), float(path[top, 1])
    canvas.line(points((x, y), (x, ground)), Pen(SOFT, 1.0, dashes=(2.0, 2.6)), "apex")
    labels.avoid_line(points((x, y), (x, ground)))
    label = Line(f"apex {metres(scene.facts.apex_m, scene.units, 0)}", 12.0, INK, "bold")
    labels.put([label], (x, y), gap=4, first=0)
