"""Several tries told at once: one action, counted once, corrected and taken back as one."""

from typing import Any

from bot.services.learning.full_pass import FullPass
from tests.chat.asking import card, refused, text
from tests.chat.booking import as_it_is, fields_of, fill, labels_of, only_message
from tests.chat.conftest import Stage
from tests.chat.test_results import kept, note, noted, press, said_on_note, told

__all__ = ["noted"]


async def test_ten_tries_are_one_form_and_count_as_ten(noted: Stage) -> None:
    answer = await press(noted, noted.tamsin, "Missed", outcome="10 tries, 2 in", wind="7 from 4")
    embed = told(answer)
    assert embed.title == "Counted: hole 2, line A 10 tries, 2 went in"
    assert text(embed.description).split("\n") == [
        "Your tries 1 to 10 on this line: 7 mph from 4 · 6-iron (ash)",
        "Everybody on line A: 10 tries, 2 went in",
    ]
    assert said_on_note(noted) == ["**A** 10 tries, 2 went in"]
    (result,) = await kept(noted, noted.tamsin)
    assert result.played.several == (10, 2)
    (part,) = result.played.parts
    assert part.scope == "hits" and part.vector[1:3] == (2.0, 8.0)  # in, and missed by who knows
    embed = told(await press(noted, noted.tamsin, "Missed", outcome="3 left"))
    assert text(embed.description).startswith("Your try 11 on this line")
    assert said_on_note(noted) == ["**A** 11 tries, 2 went in"]


async def test_they_count_in_every_table(noted: Stage) -> None:
    await press(noted, noted.tamsin, "Missed", outcome="3 of 12", wind="7 from 4")
    await press(noted, noted.odile, "Missed", line="B", outcome="2 in, 5 missed", wind="7 from 4")
    for who, said in ((noted.tamsin, "3 of 12"), (noted.odile, "2 of 7")):
        embed = await card(noted, who, "compare", hole=2)
        rows = [text(embed.description), *(text(each.name) for each in embed.fields)]
        rows += [text(each.value) for each in embed.fields]
        assert said in "\n".join(rows), rows


async def test_a_form_of_ten_sent_twice_counts_ten(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    real, seen = noted.bot.on_interaction, list[Any]()

    async def twice(interaction: Any) -> None:
        seen.append(interaction)
        await real(interaction)

    noted.bot.add_listener(twice, "on_interaction")
    await fill(noted, noted.tamsin, opened, outcome="10 tries, 2 in")
    assert len(seen) == 1
    assert said_on_note(noted) == ["**A** 10 tries, 2 went in"]


async def test_they_are_corrected_and_taken_back_as_one(noted: Stage) -> None:
    await press(noted, noted.tamsin, "Missed", outcome="4 short", wind="7 from 4")
    answer = await press(noted, noted.tamsin, "Missed", outcome="10 tries, 2 in", wind="7 from 4")
    assert labels_of(answer.response) == ["Correct", "Take back"]
    opened = await noted.tamsin.click(answer.response, label="Correct")
    assert fields_of(opened.modal)["outcome"] == "10 tries, 2 in"
    embed = told(await fill(noted, noted.tamsin, opened, outcome="9 tries, 4 in"))
    assert embed.title == "Counted: hole 2, line A 9 tries, 4 went in"
    assert said_on_note(noted) == ["**A** 10 tries, 4 went in"]
    (several, _) = await kept(noted, noted.tamsin)
    shown = await noted.tamsin.slash(noted.questions, "results", result=several.id)
    await noted.tamsin.click(shown.response, label="Take back")
    assert said_on_note(noted) == ["**A** 1 try, 0 went in"]


async def test_more_in_than_tried_is_refused_and_nothing_counts(noted: Stage) -> None:
    answer = await press(noted, noted.tamsin, "Missed", outcome="10 tries, 12 in")
    assert "Under **How far it missed** you wrote `10 tries, 12 in`." in answer.response.content
    assert said_on_note(noted) == []


async def test_a_full_pass_leaves_tries_told_at_once_as_they_are(noted: Stage) -> None:
    await press(noted, noted.tamsin, "Missed", outcome="10 tries, 10 in", wind="7 from 4")
    services = noted.bot.services
    assert services is not None
    found = FullPass(db=services.db, kits=services.kits, learner=services.learner)
    assert await found.refresh(noted.guild.id) == 0


async def test_a_hole_holed_in_one_of_five_tries_is_in_for_the_round(noted: Stage) -> None:
    message = only_message(await noted.tamsin.slash(noted.questions, "round"))
    opened = await noted.tamsin.click(message, label="Missed")
    await fill(noted, noted.tamsin, opened, outcome="5 tries, 1 in")
    said = text(as_it_is(noted, message).embeds[0].description).split("\n")
    assert "Hole 1 5 tries, 1 went in: counted" in said
    assert "So far 1 of 1 in: 1✓" in said
    form = await noted.tamsin.click(as_it_is(noted, message), label="Correct hole 1")
    await fill(noted, noted.tamsin, form, outcome="6 tries, 2 in")
    said = text(as_it_is(noted, message).embeds[0].description).split("\n")
    assert "Hole 1 6 tries, 2 went in: corrected" in said
    assert "So far 1 of 1 in: 1✓" in said


async def test_a_share_may_tell_of_several(noted: Stage) -> None:
    shot = "6-iron, 155, up 6 aim 6 right"
    await noted.tamsin.slash(noted.questions, "share", hole=2, shot=shot, result="6 tries, 2 in")
    embed = noted.notes.last_message.embeds[0]
    assert "6 tries, 2 in." in text(embed.description)
    assert "6 tries, 2 went in" in text(embed.description)
    said = await refused(noted, noted.tamsin, "share", hole=2, shot=shot, result="6 tries, 9 in")
    assert "no more in than tried" in said
