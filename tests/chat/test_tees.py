"""Par and length by division, where tees differ: typed in a row or a file, seen by each alone."""

from tests.chat.asking import card, refused, suggested, text
from tests.chat.booking import fill, labels_of, load_cup, only_embed, only_message
from tests.chat.conftest import Stage

FACTS = {"name": "Harbour Cup", "divisions": "Sail, Oar, Punt", "rounds": "Saturday"}
HOLES = "\n".join(
    (
        "1 par 4, 372, Oar 340, bearing 20, Old Slipway",
        "2 par 5, 512, punt par 4 430 m, oar: par 4, Gull Rest",
        "3 par 3, 158, bearing 40",
    )
)


async def new_cup(stage: Stage, holes: str = HOLES) -> str:
    opened = await stage.coach.slash(stage.questions, "event new")
    message = only_message(await fill(stage, stage.coach, opened, **FACTS, holes=holes))
    return text(message.embeds[0].title)


async def test_a_row_names_the_divisions_whose_tees_differ(stage: Stage) -> None:
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    assert await new_cup(stage) == "Harbour Cup is in the book"
    shown = await card(stage, stage.tamsin, "cup show")
    rows = [row for row in text(shown.description).split("\n") if row.startswith("**")]
    assert rows[0] == "**1** Old Slipway · par 4 · 372 yd · Oar 340 yd · no line"
    assert rows[1] == (
        "**2** Gull Rest · par 5 · 512 yd · Punt par 4 470 yd · Oar par 4 512 yd · no line"
    )
    await stage.coach.slash(stage.questions, "publish", hole=2)
    (embed,) = stage.notes.last_message.embeds
    assert embed.title == "Hole 2 · par 5 · 512 yd · Gull Rest"
    assert [field.name for field in embed.fields] == [
        "Sail · wind not known yet",
        "Oar · wind not known yet · par 4",
        "Punt · wind not known yet · par 4 · 470 yd",
    ]


async def test_a_member_sees_their_own_tee(stage: Stage) -> None:
    await new_cup(stage)
    row = "1 | 8 mph from 2 | driver (yew), 222 aim 5 right | 7-iron (yew), 118"
    opened = await stage.coach.slash(stage.questions, "line many")
    shown = only_message(await fill(stage, stage.coach, opened, rows=row))
    assert "⚠" not in text(shown.embeds[0].description), shown.embeds[0].description
    await stage.coach.click(shown, label=labels_of(shown)[0])
    for who, division, title in (
        (stage.tamsin, "Sail", "Hole 1 · par 4 · 372 yd · Old Slipway"),
        (stage.odile, "Oar", "Hole 1 · par 4 · 340 yd · Old Slipway"),
    ):
        await who.slash(stage.questions, "me division", division=division)
        embed = await card(stage, who, "hole", hole=1)
        assert embed.title == title
        assert embed.fields[0].name == f"{division} · wind not known yet"


async def test_a_hole_is_changed_by_its_row_as_it_stands(stage: Stage) -> None:
    await new_cup(stage)
    ((_, row),) = await suggested(stage, stage.coach, "event hole", "row", "2")
    assert row == "2 par 5, 512 yd, Punt par 4 470.3 yd, Oar par 4, Gull Rest"
    changed = row.replace("512", "498").replace("Oar par 4", "Oar 480 yd")
    embed = await card(stage, stage.coach, "event hole", row=changed)
    assert embed.description == "2 par 5, 498 yd, Punt par 4 470.3 yd, Oar 480 yd, Gull Rest"
    said = await refused(stage, stage.coach, "event hole", row="1 par 4, 372, Oor 340, bearing 20")
    assert "“Oor 340” is no bearing and no division (Sail, Oar, Punt) with its length" in said


async def test_a_file_carries_the_tees_and_refuses_those_of_nobody(stage: Stage) -> None:
    await new_cup(stage)
    data = (
        await only_message(await stage.coach.slash(stage.questions, "cup export"))
        .attachments[0]
        .read()
    )
    assert b'{division = "Oar", yards = 340}' in data
    embed = await load_cup(stage, data.replace(b"yards = 340", b"yards = 345"))
    assert text(embed.description).startswith("Changed: hole 1.")
    embed = await load_cup(stage, data.replace(b'{division = "Oar", y', b'{division = "Ore", y'))
    assert "The event has no division “Ore”; it has Sail, Oar, Punt." in text(embed.description)


async def test_tees_come_back_with_a_hole_played_before(stage: Stage) -> None:
    await new_cup(stage)
    opened = await stage.coach.slash(stage.questions, "event new")
    again = FACTS | {"name": "Second Cup", "divisions": "oar, Skiff"}
    only_embed(await fill(stage, stage.coach, opened, **again, holes="2 Gull Rest\n4 par 3, 150"))
    shown = await card(stage, stage.coach, "cup show", event="Second Cup")
    assert "**2** Gull Rest · par 5 · 512 yd · oar par 4 512 yd · no line" in text(
        shown.description
    )
