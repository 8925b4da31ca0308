"""Trust pictures: bars and whiskers at their values, a game beside what is computed."""

from dataclasses import replace

import numpy as np
import pytest

from bot.drawing import alt, style
from bot.drawing.bars import bars_figure
from bot.drawing.canvas import png
from bot.drawing.game import game_figure
from bot.drawing.glyphs import Faces
from bot.drawing.trust_scene import Bar, BarsScene, GameRow, GameScene, Residual
from tests.unit.picture_tools import Drawn, pieces


@pytest.fixture(scope="module")
def faces() -> Faces:
    return Faces()


BARS = BarsScene(
    "Hole 4: which line to take",
    "61 tries logged in winds like yours",
    (
        Bar("A · low hybrid, run up", 0.42, 0.28, 0.57, "11 of 24 holed"),
        Bar("B · high 7-iron over the pond to the back shelf, then a putt", 0.31, 0.17, 0.47, "6"),
        Bar("C · wedge", 0.0, 0.0, 0.16, "0 of 18 holed"),
    ),
    "90% interval",
)


def test_bars_end_at_their_value_and_whiskers_at_their_interval(faces: Faces) -> None:
    drawn = Drawn(bars_figure(BARS, faces))
    assert drawn.overlaps() == drawn.outside() == []
    bars = [drawn.box(each) for each in drawn.named("bar")]
    zero = bars[0].left
    per_share = (bars[0].right - zero) / 0.42
    assert bars[1].right - zero == pytest.approx(0.31 * per_share)
    assert bars[2].width == 0
    for whisker, bar in zip(drawn.named("interval"), BARS.bars, strict=True):
        x = drawn.points(whisker)[:2, 0]
        assert (x - zero) / per_share == pytest.approx((bar.low, bar.high), abs=1e-6)
    text = alt.bars_alt(BARS)
    assert "A · low hybrid, run up: 42% (28–57), 11 of 24 holed." in text
    assert "90% interval" in text


def test_no_bars_say_so(faces: Faces) -> None:
    empty = replace(BARS, bars=())
    said = {each.text for each in Drawn(bars_figure(empty, faces)).words()}
    assert "nothing counted yet" in said
    assert "Nothing counted yet." in alt.bars_alt(empty)


def game_scene(shots: int) -> GameScene:
    rng = np.random.default_rng(8)
    rows = tuple(
        GameRow(name, computed, learned, half, f"computed {computed:.1f}, your game {learned:.1f}")
        for name, computed, learned, half in (
            ("10 mph into", 9.0, 11.0, 0.8),
            ("10 mph helping", -5.2, -7.1, 1.1),
            ("10 mph off the right", 8.1, 6.0, 0.7),
            ("10 yd up, calm", 12.5, 9.8, 2.9),
        )
    )
    left = tuple(Residual(n, *rng.normal(0, (2, 3))) for n in range(1, shots + 1))
    return GameScene("5-iron (ash): what our game does", f"{shots} logged", rows, left, "90%")


@pytest.mark.parametrize("shots", [0, 1, 2, 8])
def test_game_pictures_hold_whatever_was_logged(faces: Faces, shots: int) -> None:
    scene = game_scene(shots)
    figure = game_figure(scene, faces)
    drawn = Drawn(figure)
    assert drawn.overlaps() == drawn.outside() == []
    assert min(each.size for each in drawn.words()) >= style.LEAST_TEXT_PX
    assert len(png(figure)) <= 150_000
    text = alt.game_alt(scene)
    said = {each.text for each in drawn.words()}
    for row in scene.rows:  # picture and words say the same
        assert f"{row.label}: {row.words}" in text and {row.label, row.words} <= said


def test_the_games_effects_lie_on_one_scale_with_their_intervals(faces: Faces) -> None:
    scene = game_scene(8)
    drawn = Drawn(game_figure(scene, faces))
    (none,) = drawn.named("none")
    zero = drawn.points(none)[0, 0]
    lines = [drawn.points(each)[0, 0] - zero for each in drawn.named("computed")]
    per_m = lines[0] / scene.rows[0].computed_m
    assert per_m > 0
    for row, line, whisker in zip(scene.rows, lines, drawn.named("interval"), strict=True):
        assert line == pytest.approx(row.computed_m * per_m, abs=1e-6)
        low, high = (drawn.points(whisker)[:2, 0] - zero) / per_m
        assert (low, high) == pytest.approx(
            (row.learned_m - row.half_m, row.learned_m + row.half_m)
        )
    sizes = [len(list(pieces(drawn.points(each)))) for each in drawn.named("residuals")]
    assert sizes == [8, 8]
