"""Pictures by their structure: where things lie, which way arrows point, whether words are true."""

import math
import warnings
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from bot.demo import pictures as demo
from bot.drawing import alt, style
from bot.drawing.canvas import Box, png
from bot.drawing.glyphs import Faces
from bot.drawing.scene import ShotScene, Spot, Spread
from bot.drawing.shot_picture import CLOSE, SIDE_TOP, shot_figure
from bot.services.caddie.caddie import Caddie
from bot.settings import DEMO
from shared.book import Room
from shared.errors import LeewardError
from tests.unit.picture_tools import Drawn, demo_kit, heading_deg, pieces, scene_from, turned

ROOM = Room(short_yd=4, long_yd=9, left_yd=12, right_yd=6)
SPREAD = Spread(2.4, 3.6, 14)


@pytest.fixture(scope="module")
def caddie() -> Caddie:
    return Caddie(demo_kit())


@pytest.fixture(scope="module")
def faces() -> Faces:
    return Faces()


@pytest.fixture(scope="module")
def scene(caddie: Caddie) -> ShotScene:
    return scene_from(
        caddie, "14 mph from 10:30, 7-iron, 120, up 8, draw", room=ROOM, spread=SPREAD
    )


@pytest.fixture(scope="module")
def drawn(scene: ShotScene, faces: Faces) -> Drawn:
    return Drawn(shot_figure(scene, faces))


def close_middle(drawn: Drawn, name: str) -> np.ndarray:
    """The middle of what is so named in the close-up."""
    inside = [drawn.middle(each) for each in drawn.named(name)]
    return np.array(next(at for at in inside if CLOSE.holds(Box(*at, *at))))


def random_scene(caddie: Caddie, seed: int) -> ShotScene:
    """A shot of any club in any wind that the kit can play."""
    rng = np.random.default_rng(seed)
    while True:
        club = caddie.kit.clubs[rng.integers(len(caddie.kit.clubs))]
        grade = club.grades[0]
        distance = rng.uniform(grade.short_yd + 4, 0.97 * grade.full_yd)
        height = rng.choice(["", f", up {rng.integers(1, 9)}", f", down {rng.integers(1, 15)}"])
        wind = f"{rng.uniform(0, 22):.1f} mph from {rng.integers(1, 13)}"
        edges = {
            name: int(rng.integers(2, 16))
            for name in ("short_yd", "long_yd", "left_yd", "right_yd")
            if rng.random() < 0.6
        }
        spread = Spread(rng.uniform(0.5, 5), rng.uniform(0.5, 9), 9, Spot(rng.uniform(-3, 3), 0.7))
        text = f"{wind}, {club.name}, {distance:.0f} yd{height}"
        try:
            return scene_from(
                caddie,
                text,
                units="metric" if rng.random() < 0.5 else "yards",
                room=Room(**edges) if rng.random() < 0.6 else None,
                spread=spread if rng.random() < 0.5 else None,
            )
        except LeewardError:
            continue  # this club can't be played so in this wind


@pytest.mark.parametrize("seed", range(24))
def test_no_words_overlap_leave_the_canvas_or_are_too_small(
    caddie: Caddie, faces: Faces, seed: int
) -> None:
    drawn = Drawn(shot_figure(random_scene(caddie, seed), faces))
    assert drawn.width == style.PHONE_PX
    assert drawn.overlaps() == []
    assert drawn.outside() == []
    words = drawn.words()
    assert len(words) > 15
    assert drawn.on_edge("spread") == []
    assert min(each.size for each in words) >= style.LEAST_TEXT_PX


@pytest.mark.parametrize("hour", range(1, 13))
def test_the_arrow_points_downwind_and_the_aim_lies_to_windward(
    caddie: Caddie, faces: Faces, hour: int
) -> None:
    drawn = Drawn(shot_figure(scene_from(caddie, f"9 mph from {hour}, 5-iron, 150"), faces))
    (arrow,) = drawn.named("wind arrow")
    shape = drawn.points(arrow)
    tip, tail = shape[0], (shape[3] + shape[4]) / 2
    from_deg = hour * 30.0
    assert turned(heading_deg(tail, tip), from_deg + 180) < 0.1
    (source,) = drawn.named("wind source")
    assert turned(heading_deg(tip, np.array(drawn.middle(source))), from_deg) < 0.1
    (streaks,) = drawn.named("wind streaks")
    for piece in pieces(drawn.points(streaks)):
        assert turned(heading_deg(piece[0], piece[1]), from_deg + 180) < 0.1
    aim = close_middle(drawn, "aim") - close_middle(drawn, "target")
    windward = np.array((math.sin(math.radians(from_deg)), -math.cos(math.radians(from_deg))))
    assert aim @ windward > 8.0  # px
    across = math.sin(math.radians(from_deg))
    assert np.sign(round(aim[0], 3)) == np.sign(round(across, 3))


def test_a_wind_from_two_points_to_eight(caddie: Caddie, faces: Faces) -> None:
    drawn = Drawn(shot_figure(scene_from(caddie, "8.4 mph from 2, 5-iron, 160"), faces))
    shape = drawn.points(drawn.named("wind arrow")[0])
    assert heading_deg((shape[3] + shape[4]) / 2, shape[0]) == pytest.approx(8 * 30, abs=0.1)
    assert {"8.4 mph", "from 2 o'clock"} <= {each.text for each in drawn.words()}


def test_a_calm_has_no_arrow(caddie: Caddie, faces: Faces) -> None:
    drawn = Drawn(shot_figure(scene_from(caddie, "calm, sand wedge, 70"), faces))
    assert drawn.named("wind arrow") == drawn.named("wind streaks") == []
    assert "calm" in {each.text for each in drawn.words()}


def test_bars_count_the_marks(drawn: Drawn, scene: ShotScene) -> None:
    """The aim point lies as many bars off the target as the headline says marks."""
    bars = [drawn.points(each) for each in drawn.named("marks across")]
    widths = [np.ptp(piece[:, 0]) for at in bars for piece in pieces(at)]
    bar = float(np.median(widths))  # those at the edge are cut
    aim = (close_middle(drawn, "aim") - close_middle(drawn, "target")) / bar
    assert aim[0] == pytest.approx(scene.aim.right_m / scene.mark_m, abs=0.05)
    assert -aim[1] == pytest.approx(scene.aim.long_m / scene.mark_m, abs=0.05)
    assert f"{abs(aim[0]):.1f} marks left, {-aim[1]:.1f} long" in scene.headline
    assert f"{abs(aim[0]):.1f} left" in {each.text for each in drawn.words()}


def test_room_and_spread_are_to_scale(drawn: Drawn, scene: ShotScene) -> None:
    target, aim = close_middle(drawn, "target"), close_middle(drawn, "aim")
    px = (aim[0] - target[0]) / (scene.aim.right_m / 0.9144)  # per yard
    room = drawn.points(drawn.named("room")[0])
    assert (room[:, 0].min() - target[0]) / px == pytest.approx(-12, abs=0.01)
    assert (room[:, 0].max() - target[0]) / px == pytest.approx(6, abs=0.01)
    assert (target[1] - room[:, 1].min()) / px == pytest.approx(9, abs=0.01)
    assert (target[1] - room[:, 1].max()) / px == pytest.approx(-4, abs=0.01)
    spread = drawn.box(drawn.named("spread")[0])
    # Half of a round normal's hits fall within 1.1774 s (check-values: CEP).
    assert spread.width / px * 0.9144 == pytest.approx(2 * 1.1774 * 2.4, rel=0.02)
    assert spread.height / px * 0.9144 == pytest.approx(2 * 1.1774 * 3.6, rel=0.02)


def test_half_of_a_normals_shots_land_in_the_spread_drawn(drawn: Drawn, scene: ShotScene) -> None:
    target, aim = close_middle(drawn, "target"), close_middle(drawn, "aim")
    px_per_m = (aim[0] - target[0]) / scene.aim.right_m
    shots = np.random.default_rng(5).normal(0, (2.4, 3.6), (20_000, 2)) * px_per_m + target
    box = drawn.box(drawn.named("spread")[0])
    middle = np.array([box.left + box.right, box.top + box.bottom]) / 2
    inside = np.hypot(*((shots - middle) * 2 / (box.width, box.height)).T) <= 1
    assert inside.mean() == pytest.approx(0.5, abs=0.015)
    said = [each.text for each in drawn.words()]
    assert said.index("half land in here") + 1 == said.index("from 14 shots")


def test_a_spread_under_the_targets_own_ring_is_said_to_be_there(
    scene: ShotScene, faces: Faces
) -> None:
    for sd_m, said in ((0.1, "half land by the target"), (1.0, "half land in here")):
        drawn = Drawn(shot_figure(replace(scene, spread=Spread(sd_m, sd_m, 31)), faces))
        (spread,), target = drawn.named("spread"), drawn.named("target")[0]
        assert (drawn.box(spread).width < drawn.box(target).width) == (sd_m < 0.5)
        assert said in {each.text for each in drawn.words()}
        assert drawn.overlaps() == drawn.on_edge("spread") == []


def test_where_no_spread_is_known_none_is_drawn_or_said(scene: ShotScene, faces: Faces) -> None:
    plain = replace(scene, spread=None)
    drawn = Drawn(shot_figure(plain, faces))
    assert drawn.named("spread") == []
    assert not any("half" in each.text or "shots" in each.text for each in drawn.words())
    assert "half" not in alt.shot_alt(plain)


def test_the_flight_comes_down_on_the_target_from_the_aim_line(drawn: Drawn) -> None:
    (flight,), (sight,) = drawn.named("flight"), drawn.named("sight")
    path, line = drawn.points(flight), drawn.points(sight)
    assert np.hypot(*(path[-1] - close_middle(drawn, "target"))) < 0.5
    assert np.hypot(*(line[-1] - close_middle(drawn, "aim"))) < 0.5
    assert np.hypot(*(path[0] - line[0])) < 0.5


def test_a_straight_shot_sets_off_for_the_aim_point(caddie: Caddie, faces: Faces) -> None:
    drawn = Drawn(shot_figure(scene_from(caddie, "11 mph from 8, 6-iron, 140"), faces))
    (way,) = drawn.named("way flight")
    (way_sight,) = drawn.named("way sight")
    start = heading_deg(drawn.points(way)[0], drawn.points(way)[1])
    aimed = heading_deg(*drawn.points(way_sight))
    target = heading_deg(drawn.points(way)[0], drawn.points(way)[-1])
    assert turned(target, aimed) > 5
    assert turned(start, aimed) < 0.1 * turned(target, aimed)


def test_the_side_view_has_the_apex_and_the_landing_angle(drawn: Drawn, scene: ShotScene) -> None:
    assert scene.facts is not None
    (flight,), (arc,), (apex,) = (
        drawn.named(name) for name in ("side flight", "landing angle", "apex")
    )
    path = drawn.points(flight)
    assert path[:, 1].min() > SIDE_TOP
    scale = (path[-1, 0] - path[0, 0]) / scene.distance_m
    assert (path[0, 1] - path[:, 1].min()) / scale == pytest.approx(scene.facts.apex_m, rel=0.01)
    assert (path[0, 1] - path[-1, 1]) / scale == pytest.approx(scene.height_m, abs=0.05)
    assert drawn.points(apex)[0] == pytest.approx(path[path[:, 1].argmin()])
    end = drawn.points(arc)[-1] - path[-1]
    assert math.degrees(math.atan2(-end[1], -end[0])) == pytest.approx(scene.facts.landing_deg)
    slope = path[-1] - path[-2]  # the path's last piece is a little flatter than its end
    assert math.degrees(math.atan2(slope[1], slope[0])) == pytest.approx(
        scene.facts.landing_deg, abs=3
    )
    said = {each.text for each in drawn.words()}
    assert f"lands at {scene.facts.landing_deg:.0f}°" in said
    assert f"apex {scene.facts.apex_m / 0.9144:.0f} yd" in said


def test_a_chart_that_cannot_be_flown_has_ground_but_no_side(
    scene: ShotScene, faces: Faces
) -> None:
    flat = replace(scene, flight=None, still=None, facts=None, law="chart")
    drawn = Drawn(shot_figure(flat, faces))
    assert drawn.named("side flight") == drawn.named("way flight") == []
    assert len(drawn.named("sight")) == 1
    assert drawn.height < Drawn(shot_figure(scene, faces)).height
    assert drawn.overlaps() == drawn.outside() == []
    assert "not drawn" in alt.shot_alt(flat)


def test_a_picture_is_small_opaque_and_always_the_same(scene: ShotScene, faces: Faces) -> None:
    data = png(shot_figure(scene, faces))
    assert data == png(shot_figure(scene, Faces()))
    assert 10_000 < len(data) <= 150_000
    image = Image.open(BytesIO(data))
    assert image.width == style.PHONE_PX * style.DENSITY
    assert "transparency" not in image.info
    corners = [(0, 0), (image.width - 1, 0), (0, image.height - 1)]
    paper = tuple(bytes.fromhex(style.PAPER[1:]))
    assert [image.convert("RGB").getpixel(at) for at in corners] == [paper] * 3


def test_any_names_can_be_drawn(scene: ShotScene, faces: Faces) -> None:
    odd = "𝔊 @everyone $x^2$ \\frac 🦆 שלום مرحبا\n\u202eabc\u0000 漢字 " + "w" * 300
    strange = replace(scene, headline=odd, shot=odd, mark=odd)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        figure = shot_figure(strange, faces)
        assert len(png(figure)) < 150_000
    drawn = Drawn(figure)
    assert drawn.overlaps() == drawn.outside() == []
    assert any("@everyone $x^2$" in each.text for each in drawn.words())


def test_alt_text_says_what_the_picture_shows(scene: ShotScene) -> None:
    text = alt.shot_alt(scene)
    right, long = scene.aim.right_m / 0.9144, scene.aim.long_m / 0.9144
    assert text.startswith(f"{scene.headline} ({abs(right):.1f} yd left, {long:.1f} long).")
    assert f"the wind moves it {abs(right):.1f} yd right, {long:.1f} short, onto" in text
    assert "120 yd to a target 8.0 yd up" in text
    assert "Wind 14 mph from 10:30, into and off the left; its arrow points to 4:30." in text
    assert scene.facts is not None
    assert f"lands at {scene.facts.landing_deg:.0f}° after {scene.facts.time_s:.1f} s" in text
    assert "Room: 4 yd short, 9 yd long, 12 yd left and 6 yd right." in text
    assert (
        "The spread of 14 shots with this club and grade: nine in ten within 4.3 yd across and "
        "within 6.5 yd along; if misses are normal, about half land in the ellipse."
    ) in text


@pytest.mark.parametrize("seed", range(100, 112))
def test_every_alt_text_fits_and_agrees_with_its_scene(caddie: Caddie, seed: int) -> None:
    scene = random_scene(caddie, seed)
    text = alt.shot_alt(scene)
    assert len(text) <= 1024  # Discord's limit
    unit, per = ("m", 1.0) if scene.units == "metric" else ("yd", 0.9144)
    assert f"plays {scene.plays_m / per:.0f} {unit}" in text
    assert ("Room:" in text) == (scene.room is not None and any(scene.room.model_dump().values()))
    assert ("spread" in text) == (scene.spread is not None)
    side = "right" if scene.aim.right_m > 0 else "left"
    if abs(scene.aim.right_m) / per >= 0.05:
        assert f"{abs(scene.aim.right_m) / per:.1f} {unit} {side}" in text


def test_the_readmes_pictures_are_there_and_what_the_script_makes(tmp_path: Path) -> None:
    demo.main(tmp_path)
    made = {path.name: Image.open(path) for path in tmp_path.iterdir()}
    assert set(made) == {"shot.png", "sheet.png", "variants.png"}
    for name, picture in made.items():
        kept = DEMO / name
        assert kept.stat().st_size <= 150_000
        assert Image.open(kept).size == picture.size
        gap = np.abs(
            np.asarray(Image.open(kept).convert("RGB"), dtype=int)
            - np.asarray(picture.convert("RGB"), dtype=int)
        )
        assert (gap > 60).mean() < 0.02, f"{name} is stale: python -m bot.demo.pictures"


def test_a_ball_that_is_to_finish_comes_down_before_the_target_and_runs_to_it(
    caddie: Caddie, faces: Faces
) -> None:
    scene = scene_from(caddie, "8.4 mph from 2, 5-iron, 165, onto green")
    assert scene.run is not None and scene.run.down.long_m < -8
    drawn = Drawn(shot_figure(scene, faces))
    assert drawn.overlaps() == [] and drawn.outside() == []
    (flight,), (roll,) = drawn.named("flight"), drawn.named("roll")
    down = close_middle(drawn, "down")
    assert np.hypot(*(drawn.points(flight)[-1] - down)) < 0.5
    assert np.hypot(*(drawn.points(roll)[-1] - close_middle(drawn, "target"))) < 0.5
    assert np.hypot(*(down - close_middle(drawn, "target"))) > 20
    (side,), (path,) = drawn.named("side run"), drawn.named("side flight")
    assert np.hypot(*(drawn.points(side)[0] - drawn.points(path)[-1])) < 0.5
    assert "comes down" in {each.text for each in drawn.words()}
    words = alt.shot_alt(scene)
    down_yd = -scene.run.down.long_m / 0.9144
    assert f"{down_yd:.1f} short of the target, bounces and rolls to the target" in words
    assert "onto green" in words


@pytest.mark.parametrize(
    "text", ["12 from 6, driver, 245", "9 from 9, sand wedge, 70", "5 into, 8-iron, 120"]
)
@pytest.mark.parametrize("onto", ["green", "fairway", "sand"])
def test_no_words_of_a_run_overlap(caddie: Caddie, faces: Faces, text: str, onto: str) -> None:
    drawn = Drawn(shot_figure(scene_from(caddie, f"{text}, onto {onto}"), faces))
    assert drawn.overlaps() == [] and drawn.outside() == []
