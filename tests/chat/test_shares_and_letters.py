"""Shares take no letters of the coach's, get one when they are taken in, and may need approval."""

from typing import Any

import pytest

from bot.commands.share.cog import ShareCog
from bot.services.sharing.service import Share
from shared.actor import Actor
from tests.chat.asking import card, text
from tests.chat.booking import fields_of, fill, labels_of, no_coach, only_message
from tests.chat.conftest import Stage
from tests.chat.test_share import answer, cup, line, share

__all__ = ["cup"]


async def test_many_shares_leave_the_coach_every_letter(cup: Stage) -> None:
    cog = cup.bot.get_cog("ShareCog")
    assert isinstance(cog, ShareCog)
    who = Actor(cup.guild.id, cup.tamsin.id, "tamsin")
    for number in range(1, 24):
        asked = Share("Windlass Cup", 2, shots=f"6-iron, {130 + number}", outcome="in")
        shared = await cog.service.share(who, asked, interaction_id=80 + number)
        assert shared.line.variant == f"S{number}"
    opened = await cup.coach.slash(cup.questions, "line many")
    rows = "2, Sail, tested, one more | 8 mph from 2 | 6-iron (yew), 150 aim 4 right"
    shown = only_message(await fill(cup, cup.coach, opened, rows=rows))
    await cup.coach.click(shown, label=labels_of(shown)[0])
    assert (await line(cup, "D")).title == "one more"
    listed = await card(cup, cup.tamsin, "cup show")
    (row,) = [r for r in text(listed.description).split("\n") if r.startswith("**2**")]
    assert row.endswith("S9, S10, S11, S12, S13, S14, S15, S16, S17, S18, S19, S20, S21, S22, S23")
    await cup.coach.slash(cup.questions, "publish", hole=2)
    asked = await cup.tamsin.click(cup.notes.last_message, label="Went in")
    (label,) = [
        each for each in asked.modal["components"] if each["component"]["custom_id"] == "line"
    ]
    assert label["label"] == "Line (A to D, S1 to S23)"
    assert fields_of(asked.modal)["line"] == "A"


async def test_what_was_tried_comes_along_when_a_coach_takes_it_in(cup: Stage) -> None:
    await share(cup)
    message = cup.notes.last_message
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    form = await cup.odile.click(message, label="Missed")
    logged = await fill(cup, cup.odile, form, outcome="2 long")
    await cup.coach.slash(cup.questions, "line status", hole=2, line="S1", status="recommended")
    taken = await line(cup, "D")
    assert (taken.status, taken.shared_as) == ("recommended", "S1")
    assert "**D** 2 tries, 1 went in" in text(cup.notes.last_message.embeds[0].description)
    assert cup.notes.last_message.id == message.id
    corrected = await fill(
        cup, cup.odile, await cup.odile.click(logged.response, label="Correct"), outcome="in"
    )
    assert text(answer(corrected).title) == "Counted: hole 2, line D went in"
    assert "**D** 2 tries, 2 went in" in text(cup.notes.last_message.embeds[0].description)
    again = await card(cup, cup.coach, "cup line", hole=2, line="S1")
    assert "line D" in text(again.title)
    assert (await share_title(cup)) == "Shared as an idea: hole 2, line S2"


async def share_title(stage: Stage) -> str:
    return text(answer(await share(stage, shot="6-iron, 149")).title)


async def test_buttons_of_before_lead_to_the_line_by_its_letter(cup: Stage) -> None:
    await share(cup)
    opened = await cup.tamsin.click(cup.notes.last_message, label="For me")
    mine = await fill(cup, cup.tamsin, opened, wind="10 mph from 4")
    await cup.coach.click(cup.notes.last_message, label="Make it a line")
    told = answer(await cup.tamsin.click(mine.response, label="Went in"))
    assert told.title == "Counted: hole 2, line D went in"
    back = await cup.tamsin.click(mine.response, label="Why")
    assert "line D" in text(answer(back).description) or "line D" in text(answer(back).title)


async def test_a_file_from_before_brings_no_share_back_that_was_taken_in(cup: Stage) -> None:
    await share(cup)
    exported = only_message(await cup.coach.slash(cup.questions, "cup export"))
    data = await exported.attachments[0].read()
    assert b'variant = "S1"' in data
    await cup.coach.click(cup.notes.last_message, label="Make it a line")
    loaded = only_message(
        await cup.coach.slash(cup.questions, "event load", file=("cup.toml", data))
    )
    for label in labels_of(loaded)[:1]:
        await cup.coach.click(loaded, label=label)
    found = await cup.bot.services.book.hole(cup.guild.id, 2)  # type: ignore[union-attr]
    assert [each.variant for each in found.lines] == ["A", "B", "C", "D"]


# After approval -----------------------------------------------------------------------------------


@pytest.fixture
async def asking(cup: Stage) -> tuple[Stage, Any]:
    """Shares wait in a channel of the coaches."""
    channel = cup.guild.create_text_channel("coaches")
    embed = await card(cup, cup.coach, "sharing", approve_in=channel)
    assert text(embed.description).startswith(f"Members' shares wait in {channel.mention}")
    return cup, channel


async def test_a_share_waits_unseen_until_a_coach_approves_it(asking: tuple[Stage, Any]) -> None:
    stage, channel = asking
    embed = answer(await share(stage, remark="Wait for the lull."))
    assert embed.description == "It waits for a coach to approve it. You get a direct message."
    assert stage.notes.history() == []
    await stage.coach.slash(stage.questions, "publish", hole=2)
    assert "S1" not in str(stage.notes.last_message.embeds[0].to_dict())
    await stage.restart()
    waiting = channel.last_message
    assert waiting.embeds[0].title == "Hole 2, line S1 (waits for a coach): shared by tamsin"
    assert "Wait for the lull." in waiting.embeds[0].description
    assert labels_of_components(waiting) == ["Approve", "Decline", "Take back"]
    other = await stage.odile.click(waiting, label="Approve")
    assert "Only a coach can do this" in other.response.content
    await stage.coach.click(waiting, label="Approve")
    done = channel.last_message
    assert done.id == waiting.id and labels_of_components(done) == []
    assert done.embeds[0].title == "Approved: hole 2, line S1"
    assert "tamsin has been told." in done.embeds[0].description
    posted = stage.notes.last_message
    assert posted.embeds[0].title == "Hole 2, line S1 (an idea): shared by tamsin"
    (told,) = stage.tamsin.user.dm_channel.history()
    assert told.embeds[0].title == "Your shot for hole 2 is approved"
    assert (await line(stage, "S1")).waiting is False


async def test_a_declined_share_is_gone_and_its_author_is_told_why(
    asking: tuple[Stage, Any],
) -> None:
    stage, channel = asking
    await share(stage)
    opened = await stage.coach.click(channel.last_message, label="Decline")
    embed = answer(await fill(stage, stage.coach, opened, why="It is line A, a yard short."))
    assert embed.title == "Declined: hole 2, line S1"
    assert channel.history() == [] and stage.notes.history() == []
    (told,) = stage.tamsin.user.dm_channel.history()
    assert told.embeds[0].title == "Your shot for hole 2 is not posted"
    assert "The coach says: It is line A, a yard short." in told.embeds[0].description


async def test_who_takes_no_direct_messages_is_named_to_the_coach(
    asking: tuple[Stage, Any],
) -> None:
    stage, channel = asking
    await share(stage)
    stage.env.inject_error("POST", "/users/@me/channels", status=403, code=50007)
    await stage.coach.click(channel.last_message, label="Approve")
    said = channel.last_message.embeds[0].description
    assert "tamsin takes no direct messages: tell them yourself." in said
    assert stage.notes.last_message.embeds[0].title.startswith("Hole 2, line S1 (an idea)")


async def test_approval_is_switched_off_again(asking: tuple[Stage, Any]) -> None:
    stage, _ = asking
    embed = await card(stage, stage.coach, "sharing")
    assert embed.description == "Members' shares are posted at once."
    await share(stage)
    assert len(stage.notes.history()) == 1
    assert "Only a coach" in await no_coach(stage, stage.odile, "sharing")


def labels_of_components(message: Any) -> list[str]:
    return [button.label for row in message.components for button in row.children]
