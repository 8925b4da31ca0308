"""Wind sheets: one call of the engine, numbers that agree with single answers, a legible page."""

import csv
from dataclasses import replace
from io import StringIO

import numpy as np
import pytest

from bot.drawing import alt, style
from bot.drawing.canvas import png
from bot.drawing.glyphs import Faces
from bot.drawing.sheet import sheet_figure
from bot.drawing.sheet_pages import sheet_pages
from bot.drawing.sheet_scene import SheetScene
from bot.services.caddie.caddie import Caddie
from bot.services.pictures.wind_sheets import make_sheet
from engine.finish_law import Law, allow_finish
from engine.law import Allowances, Shots
from shared.bag import Bag
from shared.errors import InputError
from shared.kit import Kit
from shared.shot_text import parse
from shared.units import METRES_PER_YARD, MPS_PER_MPH
from tests.unit.picture_tools import Drawn, demo_kit, heading_deg, turned

BAG = Bag(grades={"7-iron": "oak", "driver": "yew"}, ball="tern")


class CountingCaddie(Caddie):
    """A caddie that counts how often the engine is asked, and for how many shots."""

    def __init__(self, kit: Kit) -> None:
        super().__init__(kit)
        self.asked: list[int] = []

    def allow(self, shots: Shots, law: Law = allow_finish) -> Allowances:
        self.asked.append(len(shots))
        return super().allow(shots, law)


@pytest.fixture(scope="module")
def caddie() -> CountingCaddie:
    return CountingCaddie(demo_kit())


@pytest.fixture(scope="module")
def faces() -> Faces:
    return Faces()


@pytest.fixture(scope="module")
def whole(caddie: CountingCaddie) -> SheetScene:
    return make_sheet(caddie, BAG)


@pytest.fixture(scope="module")
def single(caddie: CountingCaddie) -> SheetScene:
    return make_sheet(caddie, BAG, clubs=("7-iron",))


def rows(scene: SheetScene) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(scene.csv())))


def test_a_whole_bag_asks_the_engine_once(caddie: CountingCaddie) -> None:
    caddie.asked.clear()
    scene = make_sheet(caddie, BAG)
    assert caddie.asked == [13 * 12 * 3]
    assert [block.club for block in scene.blocks] == [club.name for club in caddie.kit.clubs]


def test_it_holds_what_a_single_answer_says(caddie: CountingCaddie, whole: SheetScene) -> None:
    for club, hour, count in (("7-iron", 2, 1), ("driver", 8, 2), ("gap wedge", 11, 0)):
        block = next(each for each in whole.blocks if each.club == club)
        mph = whole.speeds_mps[count] / MPS_PER_MPH
        text = f"{mph:.3f} mph from {hour}, {club}, {block.carry_m:.3f} m"
        answer = caddie.answer(shot=parse(text, kit=caddie.kit), bag=BAG, given=text)
        assert (answer.grade, answer.ball) == (block.grade, "tern")
        right, long = block.right_marks[hour][count], block.long_marks[hour][count]
        assert right == pytest.approx(answer.allowance.right_marks, abs=0.01)
        assert long == pytest.approx(answer.allowance.long_marks, abs=0.01)
        plays = block.plays_m[hour][count]
        assert plays == pytest.approx(answer.plays_yd * METRES_PER_YARD, abs=0.02)


def test_hours_mirror_and_grow_with_the_wind(single: SheetScene) -> None:
    assert [round(b.carry_m / METRES_PER_YARD) for b in single.blocks] == sorted(
        (round(b.carry_m / METRES_PER_YARD) for b in single.blocks), reverse=True
    )
    assert len(single.blocks) == 4
    for block in single.blocks:
        assert block.mirrored
        sides = np.array(block.right_marks[3], dtype=float)
        assert (sides > 0).all() and (np.diff(sides) > 0).all()
        assert block.right_marks[9] == pytest.approx(tuple(-sides), abs=0.02)
        assert block.right_marks[0][0] == pytest.approx(0, abs=0.01)


def test_what_cannot_be_set_up_is_left_out(whole: SheetScene) -> None:
    wedge = next(each for each in whole.blocks if each.club == "sand wedge")
    assert wedge.right_marks[0][-1] is None  # full carry into 15 mph
    assert wedge.right_marks[6][0] is not None
    row = next(
        each
        for each in rows(whole)
        if (each["club"], each["from_clock"], each["wind_mph"]) == ("sand wedge", "12", "15.00")
    )
    assert (row["playable"], row["right_marks"], row["plays_yd"]) == ("no", "", "")


def test_the_csv_has_every_wind(single: SheetScene) -> None:
    table = rows(single)
    assert len(table) == len(single.blocks) * 12 * len(single.speeds_mps)
    row = next(each for each in table if (each["from_clock"], each["wind_mph"]) == ("4", "8.00"))
    block = single.blocks[0]
    assert (row["club"], row["grade"], row["ball"]) == ("7-iron", "oak", "tern")
    assert (row["from_deg"], row["playable"]) == ("120", "yes")
    right, long = block.right_marks[4][1], block.long_marks[4][1]
    assert right is not None and long is not None and long < 0 < right
    assert float(row["right_marks"]) == pytest.approx(right, abs=0.006)
    assert float(row["long_marks"]) == pytest.approx(long, abs=0.006)
    mark_yd = block.mark_m / METRES_PER_YARD
    assert float(row["right_yd"]) == pytest.approx(right * mark_yd, abs=0.006)


def test_a_name_is_never_a_formula(caddie: CountingCaddie, single: SheetScene) -> None:
    block = replace(single.blocks[0], club="=1+1", grade="@x")
    scene = replace(single, blocks=(block,), ball="-3")
    first = rows(scene)[0]
    assert (first["club"], first["grade"], first["ball"]) == ("'=1+1", "'@x", "'-3")


@pytest.mark.parametrize("columns", [1, 3])
@pytest.mark.parametrize("which", ["whole", "single"])
def test_the_page_is_legible(
    request: pytest.FixtureRequest, faces: Faces, which: str, columns: int
) -> None:
    scene: SheetScene = request.getfixturevalue(which)
    figure = sheet_figure(scene, faces, columns=columns)
    drawn = Drawn(figure)
    assert drawn.width == style.PHONE_PX * columns
    assert drawn.overlaps() == []
    assert drawn.outside() == []
    words = drawn.words()
    assert min(each.size for each in words) >= style.LEAST_TEXT_PX
    if which == "whole" and columns == 1:
        numbers = [each.text for each in words if each.text.replace(".", "").isdigit()]
        played = sum(
            value is not None for b in scene.blocks for row in b.right_marks[:7] for value in row
        )
        assert len([each for each in numbers if "." in each]) == 2 * played
    assert len(png(figure)) <= 150_000


def test_its_arrows_point_downwind(faces: Faces, single: SheetScene, whole: SheetScene) -> None:
    for scene in (single, whole):
        drawn = Drawn(sheet_figure(scene, faces))
        for hour in range(1, 12):
            arrows = drawn.named(f"hour {hour} arrow")
            assert len(arrows) == (4 if scene is single else 1)
            for arrow in arrows:
                shape = drawn.points(arrow)
                pointing = heading_deg((shape[3] + shape[4]) / 2, shape[0])
                assert turned(pointing, hour * 30 + 180) < 0.1


def test_alt_text_reads_a_cell_out(whole: SheetScene) -> None:
    text = alt.sheet_alt(whole)
    block = whole.blocks[0]
    right, long = block.right_marks[2][0], block.long_marks[2][0]
    assert f"in 5 mph from 2 o'clock: {right:.1f} right, {long:.1f} long." in text
    assert "sand wedge" in text and "15 mph" in text
    assert len(text) <= 1024


def test_metric_members_get_metres(caddie: CountingCaddie, faces: Faces) -> None:
    scene = make_sheet(caddie, Bag(units="metric"), clubs=("9-iron",))
    said = {each.text for each in Drawn(sheet_figure(scene, faces)).words()}
    assert "6 m/s" in said or "6.0 m/s" in said
    assert [round(block.carry_m, 6) % 5 for block in scene.blocks[1:]] == [0] * 3
    assert any(text.startswith("9-iron (ash) · ") and text.endswith(" m") for text in said)


def test_carries_hold_for_the_clubs_that_reach_them(caddie: CountingCaddie) -> None:
    scene = make_sheet(
        caddie,
        BAG,
        clubs=("7-iron", "pitching wedge"),
        carries_m=(120 * METRES_PER_YARD, 95 * METRES_PER_YARD),
    )
    assert [(b.club, round(b.carry_m / METRES_PER_YARD)) for b in scene.blocks] == [
        ("7-iron", 120),
        ("7-iron", 95),
        ("pitching wedge", 95),
    ]


def test_more_than_a_page_holds_is_one_sentence(caddie: CountingCaddie) -> None:
    with pytest.raises(InputError, match="4 wind speeds"):
        make_sheet(caddie, BAG, speeds_mps=(1.0, 2.0, 3.0, 4.0, 5.0))
    with pytest.raises(InputError, match="set up for that carry"):
        make_sheet(caddie, BAG, carries_m=(400.0,))
    many = tuple(METRES_PER_YARD * each for each in range(100, 140, 4))
    with pytest.raises(InputError, match="16 set-ups"):
        make_sheet(caddie, BAG, carries_m=many)


@pytest.mark.parametrize("family", ["wood", "hybrid", "long iron", "short iron", "wedge"])
def test_its_pages_are_legible_and_hold_every_number(
    caddie: CountingCaddie, faces: Faces, family: str
) -> None:
    clubs = tuple(club.name for club in caddie.kit.clubs if club.family == family)
    scene = make_sheet(caddie, Bag(units="metric"), clubs=clubs, family=family)
    pages = [Drawn(figure) for figure in sheet_pages(scene, faces)]
    numbers = 0
    for page in pages:
        assert page.overlaps() == [] and page.outside() == []
        assert page.width == style.PHONE_PX and page.height <= 402
        words = page.words()
        assert min(each.size for each in words) >= style.LEAST_TEXT_PX
        assert [each.text for each in words if each.text.endswith(" m/s")][:3] == [
            "2 m/s",
            "4 m/s",
            "6 m/s",
        ]
        numbers += sum(each.text.replace(".", "").isdigit() and "." in each.text for each in words)
    played = sum(
        value is not None for b in scene.blocks for row in b.right_marks[:7] for value in row
    )
    assert numbers == 2 * played
