"""Mentions and direct messages are answered as /wind is; all else stays unread."""

from typing import Any
from unittest.mock import Mock

import discord
import pytest

from tests.chat.asking import QUIET, answered, card, sent_mentions
from tests.chat.booking import as_it_is, fields_of, fill, labels_of, only_embed, pick
from tests.chat.conftest import Stage

QUESTION = "8 from 2 5i 165"


def newest(stage: Stage, channel: Any) -> Any:
    return as_it_is(stage, channel.history()[-1])


async def mention(stage: Stage, who: Any, text: str) -> Any:
    assert stage.bot.user is not None
    await who.send(stage.questions, f"<@{stage.bot.user.id}> {text}")
    return newest(stage, stage.questions)


async def test_a_mention_is_answered_as_the_command_is(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", club="5-iron", grade="yew")
    same = await answered(stage, stage.tamsin, "wind", question=QUESTION)
    said = await mention(stage, stage.tamsin, QUESTION)
    assert said.embeds == same.embeds and labels_of(said) == ["Why", "Picture"]
    assert stage.questions.history()[-1].reference is not None
    assert sent_mentions(stage)[-1]["parse"] == QUIET["parse"]
    await pick(stage.tamsin, said, "12 mph")
    assert "12 mph from 2" in str(newest(stage, stage.questions).embeds[0].description)


async def test_everything_else_stays_unread(stage: Stage) -> None:
    """Discord itself hands the bot no text but that of mentions and direct messages."""
    assert not stage.bot.intents.message_content
    before = len(stage.questions.history())
    await stage.tamsin.send(stage.questions, QUESTION)
    await stage.tamsin.send(stage.questions, f"<@{stage.odile.id}> {QUESTION}")
    assert len(stage.questions.history()) == before + 2


async def test_a_refused_mention_offers_what_may_be_meant_and_comes_back(stage: Stage) -> None:
    said = await mention(stage, stage.tamsin, "crosswind 9, 5i, 150")
    assert "You wrote `crosswind 9, 5i, 150`." in said.content
    assert labels_of(said) == [
        "9 off the left, 5i, 150",
        "9 off the right, 5i, 150",
        "Change it",
    ]
    pressed = await stage.tamsin.click(said, label="9 off the right, 5i, 150")
    same = await answered(stage, stage.tamsin, "wind", question="9 off the right, 5-iron, 150")
    assert only_embed(pressed) == same.embeds[0]
    opened = await stage.tamsin.click(said, label="Change it")
    assert fields_of(opened.modal) == {"question": "crosswind 9, 5i, 150"}
    filled = await fill(stage, stage.tamsin, opened, question="9 off the right, 5i, 150")
    assert only_embed(filled) == same.embeds[0]
    assert "nothing in the text" in (await mention(stage, stage.tamsin, "")).content


async def test_who_wants_answers_alone_gets_them_in_a_direct_message(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", private=True)
    before = len(stage.questions.history())
    assert stage.bot.user is not None
    await stage.tamsin.send(stage.questions, f"<@{stage.bot.user.id}> {QUESTION}")
    assert len(stage.questions.history()) == before + 1
    assert "8 mph from 2" in str(newest(stage, stage.tamsin.user.dm_channel).embeds[0].description)


async def test_a_refused_mention_of_who_wants_answers_alone_is_not_seen_in_the_channel(
    stage: Stage,
) -> None:
    await card(stage, stage.tamsin, "bag", private=True)
    before = len(stage.questions.history())
    assert stage.bot.user is not None
    await stage.tamsin.send(stage.questions, f"<@{stage.bot.user.id}> crosswind 9, 5i, 150")
    assert len(stage.questions.history()) == before + 1
    said = newest(stage, stage.tamsin.user.dm_channel)
    assert "You wrote `crosswind 9, 5i, 150`." in said.content
    pressed = await stage.tamsin.user.click(said, label="9 off the right, 5i, 150")
    assert "9 mph from 3" in str(only_embed(pressed).description)


async def test_who_takes_no_direct_message_is_told_the_command_and_nothing_else(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    await card(stage, stage.tamsin, "bag", private=True)

    async def refused(*_: Any, **__: Any) -> None:
        raise discord.Forbidden(Mock(status=403, reason="Forbidden"), "no direct messages")

    monkeypatch.setattr(discord.abc.Messageable, "send", refused)
    monkeypatch.setattr(discord.Member, "send", refused)
    monkeypatch.setattr(discord.User, "send", refused)
    assert stage.bot.user is not None
    cached = stage.bot.get_channel(stage.questions.id)
    assert isinstance(cached, discord.TextChannel)
    shown: list[str] = []

    async def reply(_: discord.Message, content: str = "", **__: Any) -> None:
        shown.append(content)

    monkeypatch.setattr(discord.Message, "reply", reply)
    await stage.tamsin.send(stage.questions, f"<@{stage.bot.user.id}> {QUESTION}")
    assert shown == ["You take no direct message from me. /wind answers you alone here."]


async def test_a_direct_message_is_answered_with_the_bag_of_the_members_community(
    stage: Stage,
) -> None:
    await card(stage, stage.tamsin, "bag", club="5-iron", grade="yew")
    await card(stage, stage.tamsin, "bag", units="metres mph")
    same = await answered(stage, stage.tamsin, "wind", question="8 from 2 5i 150")
    await stage.tamsin.send_dm("8 from 2 5i 150")
    said = newest(stage, stage.tamsin.user.dm_channel)
    assert said.embeds == same.embeds and "yew" in str(said.embeds[0].description)
    await pick(stage.tamsin.user, said, "from 10")
    assert "8 mph from 10" in str(newest(stage, stage.tamsin.user.dm_channel).embeds[0].description)
    slash = await stage.tamsin.user.slash("wind", question="8 from 2 5i 150")
    assert only_embed(slash) == same.embeds[0]


async def test_of_several_communities_it_is_asked_once_with_buttons(stage: Stage) -> None:
    other = stage.env.create_guild("The Other Club")
    there = other.add_member(stage.tamsin.user)
    channel = other.create_text_channel("talk")
    await card(stage, stage.tamsin, "bag", club="5-iron", grade="yew")
    await there.slash(channel, "bag", club="5-iron", grade="oak")
    await stage.tamsin.send_dm(QUESTION)
    asked = newest(stage, stage.tamsin.user.dm_channel)
    assert sorted(labels_of(asked)) == sorted(["The Other Club", stage.guild.name])
    await stage.restart()
    answer = await stage.tamsin.user.click(asked, label="The Other Club")
    shown = [each for each in (answer.response, *answer.followups) if each and each.embeds]
    assert "oak" in str(shown[-1].embeds[0].description)
    await stage.tamsin.send_dm(QUESTION)
    assert "oak" in str(newest(stage, stage.tamsin.user.dm_channel).embeds[0].description)
    await stage.tamsin.slash(stage.questions, "me home")
    await stage.tamsin.send_dm(QUESTION)
    assert "yew" in str(newest(stage, stage.tamsin.user.dm_channel).embeds[0].description)


async def test_a_stranger_gets_the_answer_of_the_kit(stage: Stage) -> None:
    stranger = stage.env.create_user("merle")
    await stranger.send_dm(QUESTION)
    assert "ash, plover ball" in str(newest(stage, stranger.dm_channel).embeds[0].description)


@pytest.mark.parametrize("name", ["wind", "aim", "equal", "next", "round", "bag", "clubs", "help"])
async def test_what_a_person_may_install_says_so(stage: Stage, name: str) -> None:
    command = next(each for each in stage.bot.tree.get_commands() if each.name == name)
    assert isinstance(command, discord.app_commands.Command | discord.app_commands.Group)
    sent = command.to_dict(stage.bot.tree)
    assert sorted(sent["integration_types"]) == [0, 1] and sorted(sent["contexts"]) == [0, 1, 2]
