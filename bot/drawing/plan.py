"""Seen from above, from behind the ball: the close-up at the target, and the whole way."""

import math

import numpy as np

from bot.drawing.canvas import Box, Canvas, Pen, Points, points
from bot.drawing.frames import mark_frame, yard_edge
from bot.drawing.labels import Labels, Line
from bot.drawing.scene import Curve, ShotScene
from bot.drawing.style import CARD, HAIR, INK, RUST, SAND, SEA, SHADE, SMALL_PX, SOFT, TINT
from bot.drawing.view import HALF_INSIDE, View, close_view, room_m
from bot.drawing.wind import draw_streaks
from bot.drawing.wording import metres
from shared.wording import plural

SIGHT = Pen(RUST, 1.2, dashes=(5.0, 3.0))
FLIGHT = Pen(INK, 2.2)
HOPS = Pen(SEA, 1.8, dashes=(1.5, 2.5))
ROLL = Pen(SEA, 2.2)
LEG = Pen(RUST, 1.6)
LEG_TURNED = 8.0  # what a leg's label costs for each sixteenth of a turn off its side
TARGET_PX = 7.0  # radius of the target's ring
NEAR_PX = 14.0  # target and aim point lie upon each other
SHOWN_MARKS = 0.05  # a leg shorter than this many marks shows as 0.0
RUN_WEIGHT = 40.0  # what crossing 10 px of the way on the ground costs a label
EDGE_POINTS = 49
EDGE_WEIGHT = 40.0  # what crossing 10 px of the spread's edge costs a label
STRETCHES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)


def draw_close_up(canvas: Canvas, box: Box, scene: ShotScene) -> View:
    """The ground round the target to scale, framed in marks."""
    view = close_view(box, scene)
    inside = canvas.part(left=0, top=0, clip=box)
    inside.box(box, SHADE if scene.room else CARD)
    labels = Labels(canvas, box.grown(-2))
    _room(inside, view, scene, labels)
    draw_streaks(inside, box=box, wind_mps=scene.wind_mps, wind_from_deg=scene.wind_from_deg)
    target, aim = view.at(0, 0), view.at(scene.aim.right_m, scene.aim.long_m)
    labels.avoid(_round(target, 9), _round(aim, 9))
    _spread(inside, view, scene, labels)
    _ways(inside, view, scene, labels)
    _run(inside, view, scene, labels)
    _legs(inside, view, scene)
    _margin(inside, view, scene, labels)
    draw_aim(inside, aim)
    draw_target(inside, target, hollow=math.dist(target, aim) < NEAR_PX)
    _leg_labels(view, scene, labels)
    _names(view, scene, labels)
    mark_frame(canvas, view, scene)
    return view


def draw_way(canvas: Canvas, box: Box, scene: ShotScene, window: View) -> int:
    """The whole way from the ball; how many times wider than long it is drawn."""
    view, stretch = _way_view(box, scene)
    inside = canvas.part(left=0, top=0, clip=box)
    inside.box(box, CARD)
    left, low = view.at(window.right_m, window.long_m + scene.distance_m)
    right, high = view.at(window.ends_m[0], window.ends_m[1] + scene.distance_m)
    inside.box(Box(left, high, right, low), TINT, Pen(HAIR, 1.0), name="window")
    yard_edge(canvas, view, scene)
    ball = view.at(0, 0)
    aim = view.at(scene.aim.right_m, scene.distance_m + scene.aim.long_m)
    inside.line(points(ball, aim), SIGHT, "way sight")
    if scene.flight is not None:
        inside.line(view.line(*_ground(scene.flight)), FLIGHT, "way flight")
    if scene.run is not None:
        start = scene.run.down
        down = view.at(start.right_m, scene.distance_m + start.long_m)
        inside.line(points(down, view.at(0, scene.distance_m)), ROLL, "way run")
    draw_target(inside, view.at(0, scene.distance_m), 0.7)
    draw_aim(inside, aim, 0.75)
    draw_ball(inside, ball)
    canvas.box(box, None, Pen(INK, 1.2))
    return stretch


def draw_target(
    canvas: Canvas, at: tuple[float, float], size: float = 1.0, *, hollow: bool = False
) -> None:
    """The target: a ring with its middle; hollow where it must not hide what is below."""
    radius = TARGET_PX * size
    canvas.ellipse(
        at, (radius, radius), None if hollow else CARD, Pen(INK, 2.2 * size), name="target"
    )
    canvas.ellipse(at, (2 * size, 2 * size), INK)


def draw_aim(canvas: Canvas, at: tuple[float, float], size: float = 1.0) -> None:
    """The aim point: a saltire."""
    x, y = at
    arm = 6.5 * size
    cross = [
        points((x - arm, y - arm), (x + arm, y + arm)),
        points((x - arm, y + arm), (x + arm, y - arm)),
    ]
    canvas.lines(cross, Pen(CARD, 6.5 * size))
    canvas.lines(cross, Pen(RUST, 3.4 * size), name="aim")


def draw_ball(canvas: Canvas, at: tuple[float, float], size: float = 1.0) -> None:
    """The ball: a white disc."""
    canvas.ellipse(at, (4.5 * size, 4.5 * size), "#FFFFFF", Pen(INK, 1.6 * size), name="ball")


def _round(at: tuple[float, float], reach: float) -> Box:
    return Box(at[0], at[1], at[0], at[1]).grown(reach)


def _ground(curve: Curve) -> tuple[Points, Points]:
    return np.array(curve.right_m), np.array(curve.long_m)


def _room(canvas: Canvas, view: View, scene: ShotScene, labels: Labels) -> None:
    if scene.room is None:
        return
    left, right, short, long = room_m(scene)
    far = 10 * (view.box.width + view.box.height) / view.px_across
    x0, y0 = view.at(max(left, -far), max(short, -far))
    x1, y1 = view.at(min(right, far), min(long, far))
    canvas.box(Box(x0, y1, x1, y0), CARD, Pen(SOFT, 1.3, dashes=(7.0, 2.5, 1.5, 2.5)), name="room")
    seen = view.box
    low, high = max(x0, seen.left), min(x1, seen.right)
    top, bottom = max(y1, seen.top), min(y0, seen.bottom)
    for edge in (
        *(points((low, y), (high, y)) for y in (y0, y1) if seen.top < y < seen.bottom),
        *(points((x, top), (x, bottom)) for x in (x0, x1) if seen.left < x < seen.right),
    ):
        labels.avoid_line(edge, weight=7.0)


def _spread(canvas: Canvas, view: View, scene: ShotScene, labels: Labels) -> None:
    """The ellipse that half of the shots land in, if they scatter as a normal does."""
    spread = scene.spread
    if spread is None:
        return
    centre = view.at(spread.centre.right_m, spread.centre.long_m)
    across = spread.right_sd_m * HALF_INSIDE * view.px_across
    along = spread.long_sd_m * HALF_INSIDE * view.px_along
    canvas.ellipse(centre, (across, along), SAND, Pen(SAND, 1.0, alpha=0.55), name="spread")
    canvas.ellipse(centre, (across, along), None, Pen(INK, 0.9))
    turn = np.linspace(0.0, 2.0 * np.pi, EDGE_POINTS)
    edge = np.stack((across * np.sin(turn), along * np.cos(turn)), axis=1) + centre
    labels.avoid_line(edge, weight=EDGE_WEIGHT)


def _ways(canvas: Canvas, view: View, scene: ShotScene, labels: Labels) -> None:
    start = view.at(0, -scene.distance_m)
    aim = view.at(scene.aim.right_m, scene.aim.long_m)
    canvas.line(points(start, aim), SIGHT, "sight")
    labels.avoid_line(points(start, aim), weight=5.0)
    if scene.flight is None:
        return
    right, along = _ground(scene.flight)
    path = view.line(right, along - scene.distance_m)
    canvas.line(path, FLIGHT, "flight")
    labels.avoid_line(path)


def _run(canvas: Canvas, view: View, scene: ShotScene, labels: Labels) -> None:
    """The way on the ground: hops as dots, the roll as a line, a ring where it comes down."""
    run = scene.run
    if run is None:
        return
    down, second, rolls, ends = (
        view.at(spot.right_m, spot.long_m) for spot in (run.down, run.second, run.rolls, run.ends)
    )
    canvas.line(points(down, second), HOPS, "first bounce")
    canvas.line(points(second, rolls), HOPS, "bounces")
    canvas.line(points(rolls, ends), ROLL, "roll")
    draw_down(canvas, down)
    labels.avoid(_round(down, 6))
    labels.avoid_line(points(down, ends), weight=RUN_WEIGHT)


def draw_down(canvas: Canvas, at: tuple[float, float], size: float = 1.0) -> None:
    """Where the ball comes down: a small open ring."""
    canvas.ellipse(at, (3.6 * size, 3.6 * size), CARD, Pen(SEA, 2.0 * size), name="down")


def _legs(canvas: Canvas, view: View, scene: ShotScene) -> None:
    target, aim = view.at(0, 0), view.at(scene.aim.right_m, scene.aim.long_m)
    corner = (aim[0], target[1])
    pieces: list[Points] = []
    if _shown(scene.aim.right_m, scene):
        pieces.append(points(target, corner))
    if _shown(scene.aim.long_m, scene):
        pieces.append(points(corner, aim))
    canvas.lines(pieces, LEG, "legs")


def _margin(canvas: Canvas, view: View, scene: ShotScene, labels: Labels) -> None:
    """Half the 90% interval either way, as whiskers through the aim point."""
    x, y = view.at(scene.aim.right_m, scene.aim.long_m)
    across = scene.margin.right_m * view.px_across
    along = scene.margin.long_m * view.px_along
    cap = 3.0
    pieces: list[Points] = []
    if across > cap:
        pieces += [points((x - across, y), (x + across, y))]
        pieces += [points((end, y - cap), (end, y + cap)) for end in (x - across, x + across)]
    if along > cap:
        pieces += [points((x, y - along), (x, y + along))]
        pieces += [points((x - cap, end), (x + cap, end)) for end in (y - along, y + along)]
    canvas.lines(pieces, Pen(RUST, 1.0), "margin")
    for piece in pieces:
        labels.avoid_line(piece, weight=12.0)


def _leg_labels(view: View, scene: ShotScene, labels: Labels) -> None:
    target, aim = view.at(0, 0), view.at(scene.aim.right_m, scene.aim.long_m)
    right_m, long_m = scene.aim.right_m, scene.aim.long_m
    corner = (aim[0], target[1])
    for leg in (points(target, corner), points(corner, aim)):
        labels.avoid_line(leg, weight=20.0)
    if _shown(right_m, scene):
        middle = ((target[0] + corner[0]) / 2, target[1])
        way = "right" if right_m > 0 else "left"
        first = 180 if long_m > 0 else 0
        labels.put(_leg_lines(right_m, way, scene), middle, gap=5, first=first, turned=LEG_TURNED)
    if _shown(long_m, scene):
        middle = (aim[0], (target[1] + aim[1]) / 2)
        way = "long" if long_m > 0 else "short"
        first = 90 if right_m > 0 else 270
        labels.put(_leg_lines(long_m, way, scene), middle, gap=6, first=first, turned=LEG_TURNED)


def _leg_lines(value_m: float, way: str, scene: ShotScene) -> list[Line]:
    marks = abs(value_m) / scene.mark_m
    return [
        Line(f"{marks:.1f} {way}", 14.0, RUST, "bold"),
        Line(metres(abs(value_m), scene.units), SMALL_PX, SOFT),
    ]


def _names(view: View, scene: ShotScene, labels: Labels) -> None:
    target, aim = view.at(0, 0), view.at(scene.aim.right_m, scene.aim.long_m)
    straight = not _shown(scene.aim.right_m, scene) and not _shown(scene.aim.long_m, scene)
    away = 315.0 if scene.aim.right_m >= 0 else 45.0
    if straight:
        labels.put([Line("aim at the target", 12.0, RUST, "bold")], target, gap=11, first=away)
    else:
        labels.put([Line("aim", 12.0, RUST, "bold")], aim, gap=10, first=360 - away)
        labels.put([Line("target", 12.0, INK)], target, gap=10, first=away)
    if scene.run is not None:
        down = view.at(scene.run.down.right_m, scene.run.down.long_m)
        labels.put([Line("comes down", SMALL_PX, SEA)], down, gap=6, first=away)
    _spread_name(view, scene, labels)
    _room_names(view, scene, labels)


def _spread_name(view: View, scene: ShotScene, labels: Labels) -> None:
    spread = scene.spread
    if spread is None:
        return
    centre, target = view.at(spread.centre.right_m, spread.centre.long_m), view.at(0, 0)
    along = HALF_INSIDE * spread.long_sd_m * view.px_along
    across = HALF_INSIDE * spread.right_sd_m * view.px_across
    hidden = math.dist(centre, target) + max(across, along) < TARGET_PX
    where = "half land by the target" if hidden else "half land in here"
    label = [Line(where, SMALL_PX), Line(f"from {plural(spread.shots, 'shot')}", SMALL_PX)]
    at = (centre[0], centre[1] + max(along, TARGET_PX))
    labels.put(label, at, gap=4, first=180 + (25 if scene.aim.right_m < 0 else -25))


def _room_names(view: View, scene: ShotScene, labels: Labels) -> None:
    left, right, short, long = room_m(scene)
    box = view.box
    word = "room "
    for edge, value, first in (
        ((0.0, long), long, 180.0),
        ((left, 0.0), left, 90.0),
        ((right, 0.0), right, 270.0),
        ((0.0, short), short, 0.0),
    ):
        if not np.isfinite(value):
            continue
        at = view.at(*edge)
        if box.grown(-4).holds(Box(*at, *at)):
            text = word + metres(abs(value), scene.units, 0)
            word = ""
            labels.put([Line(text, SMALL_PX, SOFT)], at, gap=3, first=first)


def _way_view(box: Box, scene: ShotScene) -> tuple[View, int]:
    along = [0.0, scene.distance_m, scene.distance_m + scene.aim.long_m]
    across = [abs(scene.aim.right_m), 4 * scene.mark_m]
    if scene.flight is not None:
        across.append(max(abs(each) for each in scene.flight.right_m))
    length = max(along) * 1.13
    px_along = box.height / length
    fits = box.width / (2.5 * max(across)) / px_along
    stretch = max((each for each in STRETCHES if each <= fits), default=1)
    px_across = px_along * stretch
    low = -0.055 * max(along)
    return View(box, -box.width / px_across / 2, low, px_across, px_along), stretch


def _shown(value_m: float, scene: ShotScene) -> bool:
    return abs(value_m) / scene.mark_m >= SHOWN_MARKS
