"""Pictures in the chat: under an answer, on a For-me card, as a sheet, as a guide."""

import io
import re
from typing import Any

from PIL import Image

from shared import limits
from tests.chat.asking import card, refused
from tests.chat.booking import fill
from tests.chat.conftest import Stage
from tests.chat.test_notes import cup, publish
from tests.chat.test_trust import play
from tests.kits import demo_kit

ONE_DATABASE = "pictures are drawn from what other tests keep on both databases"

__all__ = ["cup"]
MOST_BYTES = 150_000


async def files_of(message: Any) -> dict[str, tuple[bytes, str]]:
    return {
        each.filename: (await each.read(), each.description or "") for each in message.attachments
    }


def is_picture(data: bytes) -> bool:
    with Image.open(io.BytesIO(data)) as image:
        return image.format == "PNG" and image.width >= 390


async def test_an_answer_has_a_picture_one_press_away_after_a_restart_too(stage: Stage) -> None:
    asked = await stage.tamsin.slash(
        stage.questions, "wind", question="8.4 mph from 2, 5-iron, 165"
    )
    await stage.restart()
    pressed = await stage.odile.click(asked.response, label="Picture")
    assert pressed.ephemeral
    message = pressed.response
    assert message.embeds[0].description == "For 8.4 mph from 2, 5-iron (ash), 165 yd, ball plover"
    data, alt = (await files_of(message))["shot.png"]
    assert is_picture(data) and len(data) <= MOST_BYTES
    assert "right" in alt and "2 o'clock" in alt


async def test_a_for_me_card_shows_each_shot(cup: Stage) -> None:
    await publish(cup, hole=1)
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    moved = await cup.tamsin.submit_modal(form, {"wind": "7 mph from 2", "line": "A"})
    answer = await cup.tamsin.click(moved.response, label="Picture")
    files = await files_of(answer.response)
    assert sorted(files) == ["shot1.png", "shot2.png"]
    for data, alt in files.values():
        assert is_picture(data) and len(data) <= MOST_BYTES and len(alt) > 60
    urls = [embed.image.url for embed in answer.response.embeds]
    assert len(urls) == 2 and all(urls)


async def test_a_sheet_comes_as_a_picture_and_as_numbers(stage: Stage) -> None:
    await stage.tamsin.slash(stage.questions, "bag", club="7-iron", grade="yew")
    asked = await stage.tamsin.slash(stage.questions, "sheet", club="7i")
    files = await files_of(asked.response)
    pages = [name for name in files if name.endswith(".png")]
    assert pages == ["wind-sheet-1.png", "wind-sheet-2.png"]
    assert all(is_picture(files[name][0]) for name in pages)
    (embed, second) = asked.response.embeds
    assert "so much long" in embed.description and second.description is None
    rows = files["wind-sheet.csv"][0].decode().splitlines()
    assert rows[0].startswith("club,grade,ball,carry_yd,wind_mph,from_clock")
    assert rows[1].startswith("7-iron,yew,plover,145.0,4.00,12,0,yes,")
    assert len(rows) == 1 + 4 * 12 * 4


async def test_a_sheet_of_the_whole_bag_has_every_club(stage: Stage) -> None:
    asked = await stage.tamsin.slash(stage.questions, "sheet")
    files: dict[str, tuple[bytes, str]] = {}
    embeds: list[Any] = []
    for message in (asked.response, *asked.followups):
        assert message.ephemeral and len(message.attachments) <= limits.FILES
        files |= await files_of(message)
        embeds += message.embeds
    rows = files["wind-sheet.csv"][0].decode().splitlines()
    assert {row.split(",")[0] for row in rows[1:]} == {club.name for club in demo_kit().clubs}
    assert len([row for row in rows if row.startswith("club,")]) == 1
    pictures = [name for name in files if name.endswith(".png")]
    assert pictures == [f"wind-sheet-{number}.png" for number in range(1, len(embeds) + 1)]
    for name in pictures:  # a chat shows what is no taller than wide at a phone's whole width
        size = Image.open(io.BytesIO(files[name][0])).size
        assert size[0] >= 390 and size[1] / size[0] < 1.04
    said = [embed.description.split(",")[0] for embed in embeds if embed.description]
    assert said == ["Woods", "Hybrids", "Long irons", "Short irons", "Wedges"]
    pdf = files["wind-sheet.pdf"][0]
    assert pdf.startswith(b"%PDF-") and pdf.count(b"/MediaBox") == 5


async def test_an_unknown_club_gets_a_sentence(stage: Stage) -> None:
    assert "no club by this name" in await refused(stage, stage.tamsin, "sheet", club="spoon")


async def test_the_guide_comes_as_pdf_picture_and_text_the_same_each_time(cup: Stage) -> None:
    first = await cup.tamsin.slash(cup.questions, "guide")
    again = await cup.tamsin.slash(cup.questions, "guide")
    pdf = (await files_of(first.response))["guide.pdf"][0]
    assert pdf.startswith(b"%PDF-") and pdf == (await files_of(again.response))["guide.pdf"][0]
    assert "Windlass Cup, Opening round" in first.response.content
    assert "9 holes, with the bags as tested" in first.response.content
    text = await cup.tamsin.slash(cup.questions, "guide", mine=True, form="text for a forum")
    said = (await files_of(text.response))["guide.md"][0].decode()
    assert "Slipway" in said and "Gull's Table" in said
    asked = await cup.tamsin.slash(cup.questions, "guide", form="a picture a hole")
    pictures = await files_of(asked.response)
    lined = [f"hole-{number}.png" for number in range(1, 10)]
    assert list(pictures) == lined and all(is_picture(data) for data, _ in pictures.values())


async def test_a_guide_for_a_chosen_division_grade_ball_and_wind(cup: Stage) -> None:
    given = {"division": "Oar", "grade": "oak", "ball": "tern", "wind": "12 mph from 3"}
    form = {"form": "text for a forum"}
    asked = await cup.tamsin.slash(cup.questions, "guide", **given, **form)
    assert "Windlass Cup, Opening round, Oar: 9 holes" in asked.response.content
    assert "for your bag, with oak, with tern ball, in 12 mph from 3." in asked.response.content
    said = (await files_of(asked.response))["guide.md"][0].decode()
    assert len(re.findall(r"(?m)^Wind 12 mph from 3 o.clock", said)) == 9
    assert "tern ball" in said and "(yew)" not in said
    assert re.search(r"> .*Line A, shot 2 ", said) and "± 0.0" not in said
    other = await cup.tamsin.slash(cup.questions, "guide", **{**given, "wind": ""}, **form)
    assert (await files_of(other.response))["guide.md"][0].decode() != said
    assert "no grade called" in await refused(cup, cup.tamsin, "guide", grade="brass")
    assert "wind and nothing else" in await refused(cup, cup.tamsin, "guide", wind="5-iron")
    await card(cup, cup.tamsin, "bag", units="metric")
    metric = await cup.tamsin.slash(cup.questions, "guide", division="Oar", **form)
    said = (await files_of(metric.response))["guide.md"][0].decode()
    assert "par 4 · 340 m" in said and "372 yd" not in said


async def test_holes_without_a_line_take_a_row(cup: Stage) -> None:
    for line in "ABC":
        await cup.coach.slash(cup.questions, "line retire", hole=2, line=line)
    asked = await cup.tamsin.slash(cup.questions, "guide", form="a picture a hole")
    assert "No line yet on hole 2." in asked.response.content
    assert [*await files_of(asked.response)][-2:] == ["hole-9.png", "holes-without-a-line.png"]


async def test_a_guide_without_an_event_says_how_to_get_one(stage: Stage) -> None:
    said = await refused(stage, stage.tamsin, "guide")
    assert "There is no cup here yet" in said


async def test_a_line_and_a_clubs_trust_are_shown_as_pictures_too(cup: Stage) -> None:
    line = await cup.tamsin.slash(cup.questions, "cup line", hole=1, line="A")
    files = await files_of(line.response)
    assert sorted(files) == ["shot1.png", "shot2.png"]
    await play(cup, count=12)
    trusted = await cup.tamsin.slash(cup.questions, "trust", club="5-iron")
    data, alt = (await files_of(trusted.response))["game.png"]
    assert is_picture(data) and len(data) <= MOST_BYTES and "5-iron" in alt


async def test_a_holes_lines_are_compared_as_bars(cup: Stage) -> None:
    await publish(cup, hole=2)
    for line, label in (("A", "Went in"), ("A", "Missed"), ("C", "Missed")):
        form = await cup.tamsin.click(cup.notes.last_message, label=label)
        await fill(cup, cup.tamsin, form, line=line)
    text = await cup.tamsin.slash(cup.questions, "guide", form="text for a forum")
    said = (await files_of(text.response))["guide.md"][0].decode()
    assert "2 tries, 1 went in" in said and "Hole 2: which line to take" in said
    compared = await cup.tamsin.slash(cup.questions, "compare", hole=2)
    data, alt = (await files_of(compared.response))["lines.png"]
    assert is_picture(data) and len(data) <= MOST_BYTES
    assert "1 of 2 holed" in alt and "0 of 1 holed" in alt


async def test_a_picture_shows_where_shots_come_down_once_that_is_known(stage: Stage) -> None:
    asked = await stage.tamsin.slash(
        stage.questions, "wind", question="8.4 mph from 2, 5-iron, 165"
    )
    before = await stage.tamsin.click(asked.response, label="Picture")
    await play(stage, count=14)
    after = await stage.tamsin.click(asked.response, label="Picture")
    (_, unknown), (data, known) = [
        (await files_of(each.response))["shot.png"] for each in (before, after)
    ]
    assert "spread" not in unknown
    assert "The spread of 13 shots with this club and grade" in known  # a mishit is set aside
    assert is_picture(data) and len(data) <= MOST_BYTES


async def test_lines_and_guides_show_the_spread_of_the_grade_that_has_one(cup: Stage) -> None:
    await publish(cup, hole=1)
    for grade, count in (("ash", 15), ("oak", 18)):  # line A was tested with an oak one
        await play(cup, count=count, club="8-iron", grade=grade, first=count * 100)
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    moved = await cup.tamsin.submit_modal(form, {"wind": "7 mph from 2", "line": "A"})
    for grade, known, answer in (
        ("oak", 17, await cup.tamsin.slash(cup.questions, "cup line", hole=1, line="A")),
        ("ash", 14, await cup.tamsin.click(moved.response, label="Picture")),
    ):
        files = await files_of(answer.response)
        (_, driver), (_, iron) = files["shot1.png"], files["shot2.png"]
        assert "driver" in driver and "spread" not in driver
        # One of the shots was a mishit, set aside.
        assert f"8-iron ({grade})" in iron and f"The spread of {known} shots" in iron
    text = await cup.tamsin.slash(cup.questions, "guide", form="text for a forum")
    words = (await files_of(text.response))["guide.md"][0].decode().splitlines()
    pictures = [line for line in words if line.startswith("   > ")]
    assert sum("The spread of 17 shots" in line for line in pictures) == 1
    assert all(("spread" in line) == ("8-iron (oak)" in plain(line)) for line in pictures)


def plain(markdown: str) -> str:
    return markdown.replace("\\", "")
