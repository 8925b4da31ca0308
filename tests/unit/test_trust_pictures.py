"""Trust pictures: bars and whiskers at their values, gains inside their intervals."""

from dataclasses import replace

import numpy as np
import pytest
from bot.drawing.gain import gain_figure

from bot.drawing import alt, style
from bot.drawing.bars import bars_figure
from bot.drawing.canvas import png
from bot.drawing.glyphs import Faces
from bot.drawing.trust_scene import Bar, BarsScene, GainScene, GainTrack, Residual
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


def gain_scene(shots: int) -> GainScene:
    rng = np.random.default_rng(8)
    count = np.arange(shots + 1)
    width = 0.4 / np.sqrt(1 + 0.6 * count)

    def track(end: float) -> GainTrack:
        gain = end + (1 - end) * np.exp(-count / 9)
        return GainTrack(
            tuple(count.tolist()), tuple(gain), tuple(gain - width), tuple(gain + width)
        )

    left = tuple(Residual(int(n), *rng.normal(0, (2, 3))) for n in count[1:])
    return GainScene(
        "5-iron: what our shots say", f"{shots} logged", track(1.16), track(0.93), left, "90%"
    )


@pytest.mark.parametrize("shots", [0, 1, 2, 7, 40, 300])
def test_gain_pictures_hold_whatever_was_logged(faces: Faces, shots: int) -> None:
    scene = gain_scene(shots)
    figure = gain_figure(scene, faces)
    drawn = Drawn(figure)
    assert drawn.overlaps() == drawn.outside() == []
    assert min(each.size for each in drawn.words()) >= style.LEAST_TEXT_PX
    assert len(png(figure)) <= 150_000
    text = alt.gain_alt(scene)
    assert f"{scene.across.gain[-1]:.2f}, 90% {scene.across.low[-1]:.2f} to" in text
    assert f"after {shots} shot{'' if shots == 1 else 's'}" in text


def test_a_gain_lies_between_its_edges_and_on_its_scale(faces: Faces) -> None:
    scene = gain_scene(40)
    drawn = Drawn(gain_figure(scene, faces))
    (law,) = drawn.named("the law")
    one = drawn.points(law)[0, 1]
    for name, track in (("across", scene.across), ("along", scene.along)):
        (gain,) = drawn.named(f"{name} gain")
        low, high = (drawn.points(each)[:, 1] for each in drawn.named(f"{name} interval"))
        at = drawn.points(gain)[:, 1]
        assert (high < at).all() and (at < low).all()
        assert np.sign(one - at[-1]) == np.sign(track.gain[-1] - 1)
    sizes = [len(list(pieces(drawn.points(each)))) for each in drawn.named("residuals")]
    assert sizes == [40, 40]
