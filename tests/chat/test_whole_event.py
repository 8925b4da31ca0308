"""A cup as a whole: an empty file, a name, an end with a way back, dates, winds, holes again."""

from datetime import timedelta

import pytest

from bot.commands.book.event_cog import EventCog
from tests.chat.asking import card, refused, text
from tests.chat.booking import CUP, fields_of, fill, labels_of, load_cup, only_embed, only_message
from tests.chat.conftest import Stage
from tests.chat.polling import cup_of

FACTS = {"divisions": "Sail, Oar", "rounds": "Saturday, Sunday"}


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    return await cup_of(stage)


async def test_the_empty_file_loads_as_it_is(cup: Stage) -> None:
    message = only_message(await cup.coach.slash(cup.questions, "event file"))
    data = await message.attachments[0].read()
    embed = await load_cup(cup, data, "new-cup.toml")
    assert embed.title == "New Cup is in the book"
    assert "A new event: 9 holes, 1 line." in text(embed.description)
    for field in (b"bearing_deg", b"leaves_yd", b"room", b"worked", b"[[holes.lines.shots]]"):
        assert field in data


async def test_a_draft_is_deleted_and_comes_back_as_it_was(cup: Stage) -> None:
    said = await refused(cup, cup.coach, "event delete", event="Windlass Cup")
    assert "Windlass Cup is the current event and can't be deleted" in said
    await card(cup, cup.coach, "event copy", name="Second Cup", winds=True)
    before = await card(cup, cup.coach, "cup show", event="Second Cup")
    message = only_message(await cup.coach.slash(cup.questions, "event delete", event="second cup"))
    assert message.embeds[0].title == "Second Cup is deleted"
    said = await refused(cup, cup.coach, "cup show", event="Second Cup")
    assert "There is no event of this name; the book has Windlass Cup." in said
    assert labels_of(message) == ["Bring it back"]
    await cup.restart()
    await cup.coach.click(message, label="Bring it back")
    after = await card(cup, cup.coach, "cup show", event="Second Cup")
    assert after.to_dict() == before.to_dict()
    # One begun anew under the name of a deleted one has nothing of it.
    await cup.coach.slash(cup.questions, "event delete", event="Second Cup")
    opened = await cup.coach.slash(cup.questions, "event new")
    await fill(cup, cup.coach, opened, name="Second Cup", holes="1 par 4, 300", **FACTS)
    anew = text((await card(cup, cup.coach, "cup show", event="Second Cup")).description)
    assert anew.endswith("**1** · par 4 · 300 yd · no line")


async def test_a_draft_gets_another_name(cup: Stage) -> None:
    await card(cup, cup.coach, "event copy", name="Secnd Cup", winds=True)
    await card(cup, cup.coach, "event rename", event="Secnd Cup", name="Second Cup")
    shown = await card(cup, cup.coach, "cup show", event="second cup")
    assert "★" in text(shown.description)
    said = await refused(cup, cup.coach, "cup show", event="Secnd Cup")
    assert "There is no event of this name" in said
    said = await refused(cup, cup.coach, "event rename", event="Second Cup", name="WINDLASS cup")
    assert "There is an event of this name already." in said


async def test_a_round_begins_by_itself_and_its_date_is_shown(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "event dates")
    assert fields_of(opened.modal)["rows"] == "Opening round:\nClosing round:"
    told = only_message(await fill(cup, cup.coach, opened, rows="Closing round: next week"))
    assert "Row 1" in text(told.embeds[0].description) and "Change it" in labels_of(told)
    now = cup.env.now()
    at = now + timedelta(hours=5)
    opened = await cup.coach.slash(cup.questions, "event dates")
    typed = f"Closing round: {at:%Y-%m-%d %H:%M}"
    embed = only_embed(await fill(cup, cup.coach, opened, rows=typed))
    seconds = int(at.replace(second=0, microsecond=0).timestamp())
    assert f"**Closing round** <t:{seconds}:F>, <t:{seconds}:R>" in text(embed.description)
    shown = text((await card(cup, cup.tamsin, "cup show")).description)
    assert f"**Opening round** (now), Closing round <t:{seconds}:R>" in shown
    cog = cup.bot.get_cog("EventCog")
    assert isinstance(cog, EventCog)
    assert await cog.rounds.once()
    assert "**Opening round** (now)" in text((await card(cup, cup.tamsin, "cup show")).description)
    await cup.env.advance_time(timedelta(hours=5, minutes=2).total_seconds())
    assert await cog.rounds.once()
    assert "**Closing round** (now)" in text((await card(cup, cup.tamsin, "cup show")).description)


async def test_the_winds_stand_in_a_table_a_phone_shows(cup: Stage) -> None:
    embed = await card(cup, cup.tamsin, "cup winds")
    names = [text(field.name) for field in embed.fields]
    assert names == ["Opening round (now)", "Closing round"]
    rows = text(embed.fields[0].value).strip("`\n").split("\n")
    assert embed.image.url and embed.image.url.endswith("winds.png")
    assert rows[0].split() == ["Sail", "Oar"] and len(rows) == 10 and max(map(len, rows)) <= 28
    assert rows[1].split()[:2] == ["1", "8/1"] and rows[2].split() == ["2", "9/3", "7/3"]
    await cup.tamsin.slash(cup.questions, "bag", units="metric")
    embed = await card(cup, cup.tamsin, "cup winds")
    assert text(embed.description).startswith("m/s / hour")
    assert "4/3" in text(embed.fields[0].value)


async def test_a_hole_named_again_comes_back_with_its_facts_its_lines_and_its_tries(
    cup: Stage,
) -> None:
    await cup.coach.slash(cup.questions, "setup notes", channel=cup.notes)
    await cup.tamsin.slash(cup.questions, "me division", division="Sail")
    await cup.coach.slash(cup.questions, "publish", hole=3)
    opened = await cup.tamsin.click(cup.notes.last_message, label="Went in")
    await fill(cup, cup.tamsin, opened)
    opened = await cup.coach.slash(cup.questions, "event new")
    holes = "7 the groyne\n8 par 3, 150, bearing 20, Slipway\n9 par 4, 333, New One"
    await fill(cup, cup.coach, opened, name="Second Cup", holes=holes, **FACTS)
    old = text((await card(cup, cup.coach, "cup show")).description).split("\n")
    await card(cup, cup.coach, "event use", event="Second Cup")
    new = text((await card(cup, cup.coach, "cup show")).description).split("\n")
    groyne = next(row for row in old if "The Groyne" in row).replace("**3**", "**7**")
    assert groyne in new
    slipway = next(row for row in new if "Slipway" in row)
    assert slipway.startswith("**8** Slipway · par 3 · 150 yd · A ★, B")
    assert any(row.endswith("New One · par 4 · 333 yd · no line") for row in new)
    embed = only_embed(await cup.tamsin.slash(cup.questions, "compare", hole=7))
    assert "1 of 1 try went in" in str(embed.to_dict())


async def test_published_notes_are_in_the_units_of_the_cup(stage: Stage) -> None:
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    opened = await stage.coach.slash(stage.questions, "event new")
    holes = "3 par 4, 400, The Groyne"
    await fill(stage, stage.coach, opened, name="Metre Cup", holes=holes, units=["metric"], **FACTS)
    await stage.coach.slash(stage.questions, "publish", hole=3)
    assert stage.notes.last_message.embeds[0].title == "Hole 3 · par 4 · 366 m · The Groyne"
    export = only_message(await stage.coach.slash(stage.questions, "cup export"))
    data = await export.attachments[0].read()
    assert b'units = "metric"' in data
    await load_cup(stage, data)
    assert CUP
