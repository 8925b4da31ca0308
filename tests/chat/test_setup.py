"""/setup start: one message that goes through everything; forums take a post a hole, roles say
divisions."""

import re
from typing import Any

import discord
import pytest
from simcord.builders import ChannelHandle
from sqlalchemy import update

from bot.chat.coaches import CoachesOnlyError, seen_words
from bot.cli.operate import declared_commands
from shared.errors import StorageError
from storage.outbox import Outbox
from storage.schema import outbox
from tests.chat.asking import card, text
from tests.chat.booking import labels_of, load_cup, only_message
from tests.chat.conftest import Stage


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    return stage


def menu_of(message: Any, place: int = 0) -> str:
    """The custom id of a menu."""
    found = [part for row in message.components for part in row["components"] if part["type"] != 2]
    return str(found[place]["custom_id"])


async def start(stage: Stage) -> Any:
    return only_message(await stage.coach.slash(stage.questions, "setup start"))


async def press(stage: Stage, message: Any, label: str) -> Any:
    return (await stage.coach.click(message, label=label)).response


async def test_one_message_goes_through_everything_and_is_taken_up_again(cup: Stage) -> None:
    role = cup.guild.create_role("Captain")
    message = await start(cup)
    assert message.embeds[0].title == "1 of 5: Who coaches" and message.ephemeral
    assert "those who manage this server" in text(message.embeds[0].description)
    message = (await cup.coach.select(message, custom_id=menu_of(message), values=[role])).response
    assert f"Now: <@&{role.id}>" in text(message.embeds[0].description)
    assert "/publish" in text(message.embeds[0].description)  # what Discord hides from them
    message = await press(cup, message, "Next")
    assert message.embeds[0].title == "2 of 5: Where notes go"
    message = (
        await cup.coach.select(message, custom_id=menu_of(message), values=[cup.notes])
    ).response
    assert f"Now: <#{cup.notes.id}>" in text(message.embeds[0].description)
    # Left here and opened anew after a restart, it says how it stands.
    await cup.restart()
    again = await start(cup)
    said = text(again.embeds[0].description)
    assert again.embeds[0].title == "5 of 5: How it stands"
    assert f"✓ Coaches: <@&{role.id}>" in said and f"✓ Notes: <#{cup.notes.id}>" in said
    assert "– Changes: none yet" in said and "✓ Cup: Windlass Cup" in said
    assert labels_of(again) == ["Back"]
    # The first message goes on as well.
    message = await press(cup, message, "Next")
    assert message.embeds[0].title == "3 of 5: Who hears of changes"
    message = (
        await cup.coach.select(message, custom_id=menu_of(message), values=[cup.questions])
    ).response
    assert labels_of(message) == ["Back", "No channel", "Next"]
    message = await press(cup, message, "No channel")
    assert "Now: none yet" in text(message.embeds[0].description)
    assert labels_of(message) == ["Back", "Next"]
    message = await press(cup, await press(cup, message, "Back"), "Back")
    message = await press(cup, message, "Who manages the server")
    assert "Now: those who manage this server." in text(message.embeds[0].description)


async def test_it_says_who_sees_which_commands_in_the_words_of_the_check(cup: Stage) -> None:
    words = seen_words(declared_commands())
    assert text((await start(cup)).embeds[0].description).split("\n")[2:5] == words
    role = cup.guild.create_role("Captain")
    told = await card(cup, cup.coach, "setup coach", role=role)
    assert text(told.description).split("\n")[1:4] == words
    seen = {name.split()[0] for name in cup.tamsin.available_commands(cup.questions)}
    assert set(re.findall(r"/(\w+)", words[0])) == seen
    also = {name.split()[0] for name in cup.coach.available_commands(cup.questions)} - seen
    assert set(re.findall(r"/(\w+)", words[1])) == also


async def test_what_the_bot_lacks_in_a_channel_is_named(cup: Stage) -> None:
    deny = discord.PermissionOverwrite(embed_links=False, attach_files=False)
    me = cup.bot.user
    assert me is not None
    shut = cup.guild.create_text_channel("shut", overwrites={me: deny})
    message = await press(cup, await start(cup), "Next")
    message = (await cup.coach.select(message, custom_id=menu_of(message), values=[shut])).response
    said = text(message.embeds[0].description)
    assert f"⚠ In <#{shut.id}> I still need: Embed Links, Attach Files." in said


async def test_only_who_manages_the_server_presses(cup: Stage) -> None:
    result = await cup.tamsin.slash(cup.questions, "help")
    assert "/setup" not in str([field.value for field in result.response.embeds[0].fields])


async def test_a_role_says_the_division_until_its_member_does(cup: Stage) -> None:
    sail = cup.guild.create_role("Sailors")
    member = cup.guild.add_member(cup.env.create_user("wilma"), roles=[sail])
    asked = only_message(await member.slash(cup.questions, "hole", hole=1))
    assert labels_of(asked) == ["Sail", "Oar"]
    message = await start(cup)
    for _ in range(3):
        message = await press(cup, message, "Next")
    assert message.embeds[0].title == "4 of 5: Divisions by role"
    message = (await cup.coach.select(message, custom_id=menu_of(message), values=[sail])).response
    assert f"Sail: <@&{sail.id}>" in text(message.embeds[0].description)
    for _ in range(2):
        note = only_message(await member.slash(cup.questions, "hole", hole=1))
        assert "Sail" in str(note.embeds[0].to_dict()) and "For me" in labels_of(note)
        assert "Which division" not in str(note.embeds[0].to_dict())
        await cup.restart()
    await card(cup, member, "me division", division="Oar")
    note = only_message(await member.slash(cup.questions, "hole", hole=1))
    assert "Oar" in str(note.embeds[0].to_dict())
    # Whoever lacks the role is asked as before.
    asked = only_message(await cup.odile.slash(cup.questions, "hole", hole=1))
    assert labels_of(asked) == ["Sail", "Oar"]
    message = await press(cup, message, "No roles")
    assert "Sail: no role" in text(message.embeds[0].description)


@pytest.fixture
def posts_as_discord_numbers_them(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """A forum post and its first message have one id; the simulated Discord gives them two."""
    backend = stage.env.backend
    made, number = backend.create_forum_post, backend.snowflake

    def create(forum_id: int, name: str, starter: Any, **more: Any) -> Any:
        once = [starter.id]
        monkeypatch.setattr(backend, "snowflake", lambda: once.pop() if once else number())
        try:
            return made(forum_id, name, starter, **more)
        finally:
            monkeypatch.setattr(backend, "snowflake", number)

    monkeypatch.setattr(backend, "create_forum_post", create)


@pytest.mark.usefixtures("posts_as_discord_numbers_them")
async def test_a_forum_takes_a_post_a_hole_and_each_follows_its_hole(cup: Stage) -> None:
    forum = cup.guild.create_forum_channel("notes-forum")
    message = await press(cup, await start(cup), "Next")
    message = (await cup.coach.select(message, custom_id=menu_of(message), values=[forum])).response
    assert "still need" not in text(message.embeds[0].description)
    for hole in (2, 3):
        await cup.coach.slash(cup.questions, "publish", hole=hole)
    await cup.env.settle()
    guild = cup.bot.get_guild(cup.guild.id)
    assert guild is not None
    threads = sorted(guild.threads, key=lambda thread: thread.id)
    assert [each.name.split(":")[0].split(" ·")[0] for each in threads] == ["Hole 2", "Hole 3"]
    assert all(each.parent_id == forum.id for each in threads)
    await cup.coach.slash(cup.questions, "event hole", row="3 par 5, 444, bearing 95, The Groyne")
    await cup.env.settle()
    starter = await threads[1].fetch_message(threads[1].id)
    assert "par 5" in str([embed.to_dict() for embed in starter.embeds])
    assert len(guild.threads) == 2
    # A post that Discord has put to rest is woken for a change.
    await threads[1].edit(archived=True)
    await cup.coach.slash(cup.questions, "event hole", row="3 par 4, 444, bearing 95, The Groyne")
    await cup.env.settle()
    starter = await threads[1].fetch_message(threads[1].id)
    assert "par 4" in str([embed.to_dict() for embed in starter.embeds])


@pytest.mark.usefixtures("posts_as_discord_numbers_them")
async def test_a_post_that_a_crash_left_unknown_is_found_and_not_made_twice(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    forum = cup.guild.create_forum_channel("notes-forum")
    message = await press(cup, await start(cup), "Next")
    await cup.coach.select(message, custom_id=menu_of(message), values=[forum])
    await cup.coach.slash(cup.questions, "publish", hole=3)

    async def killed(*_: Any) -> bool:
        raise StorageError("killed before it was written down")

    seen = cup.env.error_cursor
    with monkeypatch.context() as patch:
        patch.setattr(Outbox, "posted", killed)
        await cup.coach.slash(cup.questions, "publish", hole=2)
    assert len(cup.env.errors[seen:]) == 1
    await cup.restart()
    assert cup.bot.services is not None
    lapsed = update(outbox).values(claimed_until=None)  # a minute by the wall later
    await cup.bot.services.db.write(lambda connection: connection.execute(lapsed))
    row = "2 par 4, 344, bearing 95, Gull's Table"
    await card(cup, cup.coach, "event hole", row=row)
    await cup.env.advance_time(61)
    guild = cup.bot.get_guild(cup.guild.id)
    assert guild is not None
    posts = {each.name.split(":")[0].split(" ·")[0]: each for each in guild.threads}
    assert sorted(posts) == ["Hole 2", "Hole 3"] and len(guild.threads) == 2
    starter = await posts["Hole 2"].fetch_message(posts["Hole 2"].id)
    assert "par 4" in str([embed.to_dict() for embed in starter.embeds])


async def test_notes_go_to_a_thread_too(cup: Stage) -> None:
    channel = cup.bot.get_channel(cup.notes.id)
    assert isinstance(channel, discord.TextChannel)
    made = await channel.create_thread(name="cup", type=discord.ChannelType.public_thread)
    thread = ChannelHandle(cup.env, cup.guild, cup.env.backend.get_channel(made.id))
    await card(cup, cup.coach, "setup notes", channel=thread)
    said = only_message(await cup.coach.slash(cup.questions, "publish", hole=2)).content
    assert said == f"Published 1 of 1 to <#{made.id}>."
    await cup.env.settle()
    assert [message.author.bot async for message in made.history()] == [True]


async def test_who_no_longer_manages_the_server_presses_for_nothing(cup: Stage) -> None:
    message = await start(cup)
    role = cup.guild.create_role("Captain")
    cup.env.backend.edit_member(cup.guild.id, cup.coach.id, {"role_ids": []})
    seen = cup.env.error_cursor
    pressed = await press(cup, message, "Next")
    assert pressed.content == "Only those who manage this server can do this."
    picked = await cup.coach.select(message, custom_id=menu_of(message), values=[role])
    assert picked.response.content == "Only those who manage this server can do this."
    assert all(isinstance(each, CoachesOnlyError) for each in cup.env.errors[seen:])
    service = cup.bot.services
    assert service is not None and await service.roles.coach_role(cup.guild.id) is None


async def test_show_names_the_channel_where_shares_wait(cup: Stage) -> None:
    assert "Shares wait" not in str((await card(cup, cup.coach, "setup show")).description)
    desk = cup.guild.create_text_channel("coaches")
    await card(cup, cup.coach, "sharing", approve_in=desk)
    shown = await card(cup, cup.coach, "setup show")
    assert f"Shares wait for a coach in: {desk.mention}" in str(shown.description)
