"""/equal: which clubs and grades reach a carry, and how each is set up."""

import re

import pytest

from shared.bag import Bag
from shared.errors import LeewardError
from shared.shot_text import parse
from tests.chat.asking import answered, ask_example, card, example_of, refused, suggested
from tests.chat.booking import as_it_is
from tests.chat.conftest import Stage
from tests.kits import demo_caddie, demo_kit

ROW = re.compile(
    r"(?P<yours>\*\*)?(?P<club>[^*]+) (?P<grade>\w+)(?:\*\*)? (?P<share>\d+)%, "
    r"(?P<setup>full(?: [+−]\d+)?): (?P<aim>.*) ± (?P<margin>\d+\.\d)"
)


async def rows(stage: Stage, **options: str) -> list[dict[str, str]]:
    """All clubs that reach, as the press under one's own shows them."""
    message = await answered(stage, stage.tamsin, "equal", **options)
    await stage.tamsin.click(message, label="All clubs")
    embed = as_it_is(stage, message).embeds[0]
    found = [ROW.fullmatch(line) for line in (embed.description or "").splitlines()]
    return [match.groupdict() for match in found if match]


async def test_each_way_is_what_a_wind_question_with_that_club_answers(stage: Stage) -> None:
    found = await rows(stage, carry="138", wind="9 off the left", height="up 3")
    assert len(found) >= 10
    for row in found[:: max(1, len(found) // 5)]:
        text = f"9 off the left, {row['club']} ({row['grade']}), 138, up 3"
        answer = demo_caddie().answer(shot=parse(text, kit=demo_kit()))
        assert f"{-answer.allowance.right_marks:.1f} left" in row["aim"]
        assert int(row["share"]) == round(100 * answer.swing_share)
        assert float(row["margin"]) == pytest.approx(answer.margin_yd, abs=0.06)
        if row["setup"] != "full":
            yards = float(row["setup"].split()[1].replace("−", "-"))
            assert yards == pytest.approx(answer.setup_yd, abs=0.51)


async def test_every_owned_club_that_reaches_is_there_and_marked(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", club="7-iron", grade="yew")
    await card(stage, stage.tamsin, "bag", club="6-iron", grade="oak")
    found = await rows(stage, carry="139", wind="5 into")
    yours = {(row["club"], row["grade"]) for row in found if row["yours"]}
    bag = Bag(grades={"7-iron": "yew", "6-iron": "oak"})
    reaching: set[tuple[str, str]] = set()
    for club in demo_kit().clubs:
        grade = bag.grades.get(club.name, "ash")
        shot = parse(f"5 into, {club.name}, 139", kit=demo_kit())
        try:
            demo_caddie().answer(shot=shot, bag=bag)
        except LeewardError:
            continue
        reaching.add((club.name, grade))
    assert yours == reaching and ("7-iron", "yew") in yours and ("8-iron", "ash") not in yours


async def test_whole_shots_come_first_by_margin_then_part_shots_by_theirs(stage: Stage) -> None:
    message = await answered(stage, stage.tamsin, "equal", carry="160", wind="11 from 2")
    await stage.tamsin.click(message, label="All clubs")
    embed = as_it_is(stage, message).embeds[0]
    lines = (embed.description or "").splitlines()
    parted = lines.index("*Part shots, under 80%:*")
    found = await rows(stage, carry="160", wind="11 from 2")
    whole = [row for row in found if int(row["share"]) >= 80]
    part = [row for row in found if int(row["share"]) < 80]
    assert whole and part and found == whole + part
    assert ROW.fullmatch(lines[parted - 1])["share"] == whole[-1]["share"]  # pyright: ignore[reportOptionalSubscript]
    for each in (whole, part):
        margins = [float(row["margin"]) for row in each]
        assert margins == sorted(margins)
    assert float(part[0]["margin"]) < float(whole[-1]["margin"])
    best = next(row for row in found if row["yours"])
    setup = re.escape(f"{best['club']} · set up ") + r"\d+ yd " + re.escape(f"({best['setup']}")
    aim = re.escape(best["aim"]).replace("\\ ", r" (?:marks )?", 1)
    assert re.fullmatch(rf"{setup}[^)]*\) · aim {aim}", str(embed.title)), embed.title


async def test_a_calm_is_meant_where_no_wind_is_given_and_the_ball_counts(stage: Stage) -> None:
    plain = await rows(stage, carry="120")
    assert all(row["aim"] == "straight" for row in plain)
    other = await rows(stage, carry="120", ball="heron")
    assert [row["share"] for row in plain] != [row["share"] for row in other]


async def test_the_answer_is_for_its_member_alone_and_in_their_units(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", units="metric")
    message = await answered(stage, stage.tamsin, "equal", carry="126", wind="3 from 10")
    text = message.embeds[0].description or ""
    assert message.ephemeral
    assert text.startswith("For 3 m/s from 10, 126 m\nSet-up from full in m: ")
    assert " yd" not in text


async def test_where_only_others_grades_reach_it_says_so(stage: Stage) -> None:
    embed = await card(stage, stage.tamsin, "equal", carry="265", wind="calm")
    assert embed.title == "None of your grades reaches this; these would"
    assert "driver yew 10" in (embed.description or "")


BAD: tuple[tuple[dict[str, str], str], ...] = (
    (
        {"carry": "900"},
        "(yew) can be set up for 272 yd at most and the target is 900 yd",
    ),
    ({"carry": "12"}, "carries 31 yd at least and the target is 12 yd away"),
    (
        {"carry": "150", "wind": "95 mph into"},
        "No aim holds this ball against a wind of 95",
    ),
    ({"carry": "5-iron"}, "In carry: this option takes a distance and nothing else"),
    ({"carry": "150", "wind": "8"}, "In wind: this option takes a wind with its direction"),
    ({"carry": "150", "wind": "8 into, 5-iron"}, "In wind: this option takes a wind"),
    ({"carry": "@everyone"}, "In carry: “@everyone” is a mention"),
    ({"carry": "nan"}, "In carry: “nan” is not a number"),
    ({"carry": "9" * 6000}, "In carry: "),
    ({"carry": "150", "ball": "gull"}, "In ball: "),
)


async def test_what_cannot_be_reached_or_read_is_met_with_a_sentence(stage: Stage) -> None:
    for options, said in BAD:
        content = await refused(stage, stage.tamsin, "equal", **options)
        assert said in content and len(content) < 500
        assert example_of(content).startswith("/equal ")
        assert await ask_example(stage, stage.tamsin, example_of(content))


async def test_the_ball_is_suggested(stage: Stage) -> None:
    found = await suggested(stage, stage.tamsin, "equal", "ball", "te", carry="150")
    assert found == [("tern", "tern")]
