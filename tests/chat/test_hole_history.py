"""/cup history: what became of a hole's facts and winds, and bringing a state back."""

from tests.chat.asking import card, text
from tests.chat.booking import as_it_is, fill, labels_of, load_cup, only_message
from tests.chat.conftest import Stage


async def test_facts_and_winds_have_a_history_and_come_back_with_a_press(stage: Stage) -> None:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    before = text(stage.notes.last_message.embeds[0].fields[1].name)
    await card(stage, stage.coach, "event hole", row="2 par 3, 171, bearing 95, Gull's Table")
    opened = await stage.coach.slash(stage.questions, "event winds", division="Oar")
    await fill(stage, stage.coach, opened, rows="2: 12 from 10:30")
    told = only_message(await stage.coach.slash(stage.questions, "cup history", hole=2))
    rows = text(told.embeds[0].description).split("\n")
    assert rows[0].startswith("**3** <t:") and rows[0].endswith(" by rosalind")
    assert rows[1] == "Oar, Opening round: 7 mph from 3 → 12 mph from 10:30"
    assert rows[3].startswith("2 par 3, 158 yd, ")
    assert rows[3].endswith(" → 2 par 3, 171 yd, bearing 95, Gull's Table")
    assert rows[5] == "loaded"
    assert labels_of(told) == ["Bring back 2", "Bring back 1"]
    await stage.restart()
    await stage.coach.click(told, label="Bring back 1")
    rows = text(as_it_is(stage, told).embeds[0].description).split("\n")
    assert rows[0].startswith("**4** ")
    assert "Oar, Opening round: 12 mph from 10:30 → 7 mph from 3" in rows
    (embed,) = stage.notes.last_message.embeds
    assert text(embed.fields[1].name) == before and "158 yd" in text(embed.title)


async def test_a_member_sees_it_and_has_no_buttons(stage: Stage) -> None:
    await load_cup(stage)
    await card(stage, stage.coach, "event hole", row="4 par 4, 371")
    told = only_message(await stage.tamsin.slash(stage.questions, "cup history", hole=4))
    assert labels_of(told) == [] and told.embeds[0].title == "History of hole 4, Windlass Cup"
