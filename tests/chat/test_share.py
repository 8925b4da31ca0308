"""/share and the Share button: an idea in the book, a message in the notes channel, its buttons."""

from typing import Any

import discord
import pytest

from bot.commands.share.cog import ShareCog
from bot.services.book.book import Book
from bot.services.sharing.service import Share
from shared.actor import Actor
from shared.book import Line
from tests.chat.asking import sent_mentions, text
from tests.chat.booking import fields_of, fill, load_cup
from tests.chat.conftest import Stage

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 64


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", club="6-iron", grade="yew")
    return stage


def book(stage: Stage) -> Book:
    assert stage.bot.services is not None
    return stage.bot.services.book


async def line(stage: Stage, letter: str, hole: int = 2) -> Line:
    found = (await book(stage).hole(stage.guild.id, hole)).line(letter)
    assert found is not None
    return found


def labels_of(message: Any) -> list[str]:
    return [button.label for row in message.components for button in row.children]


def answer(result: Any) -> discord.Embed:
    assert result.ephemeral
    message = next(each for each in (result.response, *result.followups) if each and each.embeds)
    return message.embeds[0]


def refusal(result: Any) -> str:
    message = next(each for each in (result.response, *result.followups) if each and each.content)
    return message.content


async def share(stage: Stage, **options: Any) -> Any:
    asked = {"hole": 2, "shot": "6-iron, 155, up 6 aim 6 right", "result": "in"} | options
    given = {name: value for name, value in asked.items() if value is not None}
    return await stage.tamsin.slash(stage.questions, "share", **given)


async def test_a_shared_shot_is_an_idea_under_its_authors_name_and_a_message(cup: Stage) -> None:
    embed = answer(await share(cup, remark="Wait for the lull."))
    assert embed.title == "Shared as an idea: hole 2, line S1"
    assert f"It stands in {cup.notes.mention}" in text(embed.description)
    found = await line(cup, "S1")
    assert (found.status, found.author, found.wind) == ("idea", "tamsin", "9 mph from 3")
    assert found.notes == "It went in.\nWait for the lull."
    assert found.shots[0].shot == "6-iron (yew), 155 yd, up 6 yd"
    assert found.shots[0].worked is not None and found.shots[0].worked.right == 6
    message = cup.notes.last_message
    assert message.embeds[0].title == "Hole 2, line S1 (an idea): shared by tamsin"
    assert "**S1** 1 try, 1 went in" in message.embeds[0].description
    assert labels_of(message) == [
        "Worked for me",
        "Missed",
        "For me",
        "Make it a line",
        "Take back",
    ]


async def test_worked_for_me_is_one_press_and_shows_on_the_message(cup: Stage) -> None:
    await share(cup)
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    await cup.restart()
    told = answer(await cup.odile.click(cup.notes.last_message, label="Worked for me"))
    assert told.title == "Counted: hole 2, line S1 went in"
    assert "7 mph from 3" in text(told.description)
    form = await cup.odile.click(cup.notes.last_message, label="Missed")
    assert fields_of(form.modal) == {"outcome": "", "wind": "7 mph from 3"}
    await fill(cup, cup.odile, form, outcome="2 long")
    assert "**S1** 3 tries, 2 went in" in cup.notes.last_message.embeds[0].description


async def test_a_coach_makes_it_a_line_with_one_press_and_nobody_else_does(cup: Stage) -> None:
    await share(cup)
    await cup.coach.slash(cup.questions, "publish", hole=2)
    shared = cup.notes.history()[0]
    refused = await cup.odile.click(shared, label="Make it a line")
    assert "Only a coach can do this" in refused.response.content
    assert (await line(cup, "S1")).status == "idea"
    done = answer(await cup.coach.click(shared, label="Make it a line"))
    assert done.title == "Line 2D is now: tested"
    taken = await line(cup, "D")
    assert (taken.status, taken.shared_as, taken.author) == ("tested", "S1", "tamsin")
    shared, note = cup.notes.history()
    assert shared.embeds[0].title == "Hole 2, line D (now tested): shared by tamsin"
    assert labels_of(shared) == ["Worked for me", "Missed", "For me"]
    (sail,) = [field for field in note.embeds[0].fields if field.name.startswith("Sail")]
    assert [row for row in sail.value.split("\n") if row.startswith("**D**")] == [
        "**D**: 6.0 right · as tested"
    ]


async def test_its_author_takes_it_back_and_nobody_else_does(cup: Stage) -> None:
    result = await share(cup)
    other = await cup.odile.click(cup.notes.last_message, label="Take back")
    assert "Only who shared it can take it back." in other.response.content
    own = next(each for each in (result.response, *result.followups) if each and each.embeds)
    assert answer(await cup.tamsin.click(own, label="Take back")).title == "Taken back: line 2S1"
    assert (await line(cup, "S1")).status == "retired"
    assert cup.notes.history() == []


async def test_what_a_coach_recommended_its_author_does_not_take_back(cup: Stage) -> None:
    result = await share(cup)
    own = next(each for each in (result.response, *result.followups) if each and each.embeds)
    await cup.coach.slash(cup.questions, "line status", hole=2, line="S1", status="recommended")
    refused = await cup.tamsin.click(own, label="Take back")
    assert "only a coach retires it" in refusal(refused)
    assert (await line(cup, "S1")).status == "recommended"


async def test_a_for_me_card_is_shared_as_it_was_played(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=2)
    opened = await cup.tamsin.click(cup.notes.last_message, label="For me")
    card = await fill(cup, cup.tamsin, opened, wind="11 mph from 2", line="A")
    form = await cup.tamsin.click(card.response, label="Share")
    assert fields_of(form.modal) == {"outcome": "in", "remark": ""}
    await cup.restart()
    assert text(answer(await fill(cup, cup.tamsin, form)).title).endswith("hole 2, line S1")
    found = await line(cup, "S1")
    assert found.wind == "11 mph from 2"
    assert found.shots[0].shot == "6-iron (yew), 154 yd, up 6 yd, back 2"
    aim = card.response.embeds[0].title.split("aim ")[1]
    worked = found.shots[0].worked
    assert worked is not None and aim.startswith(f"{worked.right:.1f} marks right")


async def test_for_me_under_a_shared_line_opens_that_line(cup: Stage) -> None:
    """Also for whom it is not meant, and though the hole has others that come first."""
    await share(cup)
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    await cup.restart()
    opened = await cup.odile.click(cup.notes.last_message, label="For me")
    assert fields_of(opened.modal) == {"wind": "7 mph from 3"}
    card = answer(await fill(cup, cup.odile, opened, wind="10 mph from 4"))
    assert "Hole 2, line S1" in text(card.description)


async def test_what_the_bag_cannot_do_is_said_where_it_is_shared(cup: Stage) -> None:
    """An oak 6-iron carries 156 yd at full; nobody plays 175 yd with it in this wind."""
    await cup.tamsin.slash(cup.questions, "bag", club="6-iron", grade="oak")
    own = answer(await share(cup, shot="6-iron, 175 aim 6 right", result="in"))
    assert text(own.description).startswith("⚠ By the numbers shot 1 can't be: The 6-iron (oak) ")
    found = await line(cup, "S1")
    assert found.notes.startswith("It went in.\nBy the numbers shot 1 can't be: The 6-iron (oak) ")
    assert found.notes.endswith(" at most and the target is 175 yd away.")
    assert "By the numbers shot 1 can't be" in cup.notes.last_message.embeds[0].description
    answer(await share(cup, shot="6-iron, 150 aim 6 right", result="in"))
    assert (await line(cup, "S2")).notes == "It went in."


async def test_one_share_delivered_twice_shares_once(cup: Stage) -> None:
    cog = cup.bot.get_cog("ShareCog")
    assert isinstance(cog, ShareCog)
    who = Actor(cup.guild.id, cup.tamsin.id, "Tamsin")
    asked = Share("Windlass Cup", 2, shots="6-iron, 155", outcome="5 short")
    first = await cog.service.share(who, asked, interaction_id=81)
    assert await cog.service.share(who, asked, interaction_id=81) == first
    again = await cog.service.share(who, asked, interaction_id=82)
    assert (first.line.variant, again.line.variant) == ("S1", "S2")


async def test_a_picture_stands_with_the_message_also_after_it_changed(cup: Stage) -> None:
    answer(await share(cup, picture=("../my shot.png", PNG)))
    (attachment,) = cup.notes.last_message.attachments
    assert attachment.filename == "shot.png"
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    await cup.odile.click(cup.notes.last_message, label="Worked for me")
    assert "2 tries" in cup.notes.last_message.embeds[0].description
    assert len(cup.notes.last_message.attachments) == 1


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ({"shot": "banjo 12"}, "was not understood"),
        ({"shot": "6-iron"}, "This shot needs a distance."),
        ({"result": "sideways"}, "Say whether it went in"),
        ({"wind": "loud"}, "was not understood"),
        ({"shot": None, "line": "Q"}, "Hole 2 has A, B, C"),
        ({"hole": 14}, "The event has holes 1 to 9."),
        ({"picture": ("notes.txt", b"text")}, "This is no picture"),
    ],
)
async def test_what_cannot_be_shared_gets_a_sentence_and_leaves_nothing(
    cup: Stage, options: dict[str, Any], sentence: str
) -> None:
    said = refusal(await share(cup, **options))
    assert cup.env.errors and sentence in said and "For example:" in said
    assert len((await book(cup).hole(cup.guild.id, 2)).lines) == 3
    assert cup.notes.history() == []


async def test_remarks_are_shown_as_typed_and_mention_nobody(cup: Stage) -> None:
    await share(cup, remark="@everyone **loud** <@1> 🏌️‍♀️ אחורה # x")
    shown = cup.notes.last_message.embeds[0].description
    assert "\\*\\*loud\\*\\*" in shown and "🏌️‍♀️" in shown and "\u2068" in shown
    assert all(allowed == {"parse": []} for allowed in sent_mentions(cup) if allowed is not None)


async def test_where_the_bot_may_not_post_it_is_said_what_to_grant(cup: Stage) -> None:
    cup.env.inject_error("POST", f"/channels/{cup.notes.id}/messages", status=403, code=50013)
    embed = answer(await share(cup))
    assert "It is in the book, but not yet in" in text(embed.description)
    assert "A coach" in text(embed.description)
    assert (await line(cup, "S1")).status == "idea"


async def test_a_deleted_message_stays_away_while_the_idea_stays(cup: Stage) -> None:
    await share(cup)
    await cup.coach.delete(cup.notes.last_message)
    await cup.coach.slash(cup.questions, "line status", hole=2, line="S1", status="recommended")
    assert cup.notes.history() == []
    assert (await line(cup, "S1")).status == "recommended"


async def test_without_a_notes_channel_nothing_is_kept(stage: Stage) -> None:
    await load_cup(stage)
    said = refusal(await share(stage, wind="8 into"))
    assert stage.env.errors and "There is no notes channel yet" in said
    assert len((await book(stage).hole(stage.guild.id, 2)).lines) == 3


async def test_a_forgotten_author_is_named_nowhere(cup: Stage) -> None:
    await share(cup)
    asked = await cup.tamsin.slash(cup.questions, "me forget")
    await cup.tamsin.click(asked.response, label="Forget me")
    assert (await line(cup, "S1")).author == "unknown"
    assert cup.notes.last_message.embeds[0].title == "Hole 2, line S1 (an idea): shared by unknown"
