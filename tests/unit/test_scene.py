"""Scenes: many at once like one by one, from answers and from a line's shots."""

import pytest

from bot.services.caddie.adapt import Case, adapt, read_line
from bot.services.caddie.caddie import Caddie
from bot.services.caddie.rack import Choice
from bot.services.pictures.service import Pose, adapted_pose, scene_of, scenes
from shared.bag import Bag
from shared.book import Line, LineShot, Room, Worked
from shared.shot_text import parse
from tests.unit.picture_tools import demo_kit

ROOM = Room(short_yd=4, long_yd=9, left_yd=12, right_yd=6)


@pytest.fixture(scope="module")
def caddie() -> Caddie:
    return Caddie(demo_kit())


def test_many_scenes_are_made_at_once_and_alike(caddie: Caddie) -> None:
    texts = ("9 mph from 4, 3-wood, 190", "5 into, 9-iron, 100, down 6, fade", "calm, driver, 220")
    shots = [parse(text, kit=caddie.kit) for text in texts]
    answers = [caddie.answer(shot=shot, bag=Bag(), given="") for shot in shots]
    poses = [
        Pose(
            a.shot, Choice(a.club, a.grade, a.ball), a.allowance, a.margin, a.plays_yd, room=Room()
        )
        for a in answers
    ]
    for made, answer in zip(scenes(caddie, poses), answers, strict=True):
        alone = scene_of(caddie, answer)
        assert made.room is None
        assert made.headline == alone.headline and made.shot == alone.shot
        assert made.flight is not None and alone.flight is not None
        for axis in ("right_m", "long_m", "up_m"):
            assert getattr(made.flight, axis) == pytest.approx(
                getattr(alone.flight, axis), abs=2e-3
            )
        assert made.facts is not None and alone.facts is not None
        assert made.facts.apex_m == pytest.approx(alone.facts.apex_m, abs=2e-3)
    assert scenes(caddie, []) == []


def test_a_lines_shot_can_be_drawn_for_its_reader(caddie: Caddie) -> None:
    line = Line(
        variant="A",
        wind="9 mph from 4",
        shots=(
            LineShot(shot="7-iron (oak), 128", worked=Worked(right=4.1, long=-2.2), room=ROOM),
            LineShot(shot="gap wedge, 70"),
        ),
    )
    case = Case(read_line(line=line, kit=caddie.kit), Bag())
    (adapted,) = adapt(caddie=caddie, cases=[case])
    first, second = scenes(caddie, [adapted_pose(each) for each in adapted.shots])
    assert (first.room, second.room) == (ROOM, None)
    assert first.shot.startswith("7-iron (ash) · ")  # the reader's grade, not the note's
    mark_yd = first.mark_m / 0.9144
    assert first.aim.right_m / 0.9144 == pytest.approx(adapted.shots[0].allowance.right_yd)
    assert first.aim.right_m / 0.9144 == pytest.approx(4.1 * mark_yd, rel=0.2)
    assert second.distance_m == pytest.approx(70 * 0.9144)
