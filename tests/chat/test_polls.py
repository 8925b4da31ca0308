"""Polls: opened, voted on, closed once, with the results beside the votes."""

import asyncio
from datetime import timedelta
from typing import Any

import discord
import pytest

from shared.keys import EventKey
from tests.chat.booking import fill, no_coach, only_message
from tests.chat.conftest import Stage
from tests.chat.polling import (
    ask,
    cog,
    counts,
    cup_of,
    later,
    log_results,
    on_hole,
    outcomes,
    poll_message,
    public,
    refused,
    run,
    stored,
    wire,
)


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    return await cup_of(stage)


# Opening ---------------------------------------------------------------------------------------


async def test_a_hole_is_put_to_the_vote_by_its_lines(cup: Stage) -> None:
    said = await run(cup, "poll hole", hole=1, time="2 days")
    message = poll_message(cup)
    poll = wire(cup, message)
    assert poll.question == "Hole 1 (Slipway): which line works best?"
    assert [answer.text for answer in poll.answers] == [
        "A: down the middle (Sail)",
        "B: the safe one (Oar)",
        "C: over the pot bunker",
    ]
    assert not poll.allow_multiselect and message.content == ""
    link = f"https://discord.com/channels/{cup.guild.id}/{cup.questions.id}/{message.id}"
    assert said == f"The poll is open for 2 days: {link}"
    kept = await stored(cup, message)
    assert kept.state == "open" and kept.hole_key == str(EventKey.of("Windlass Cup").hole(1))
    assert abs(kept.closes_at - cup.env.now() - timedelta(hours=48)) < timedelta(minutes=1)


async def test_a_coach_asks_what_they_like_and_may_allow_several(cup: Stage) -> None:
    message = await ask(cup, several=True, time="a week")
    poll = wire(cup, message)
    assert (poll.question, poll.allow_multiselect) == ("When do we meet?", True)
    for answer in (1, 3):
        await cup.tamsin.vote(message, answer=answer)
    await cup.odile.vote(message, answer=3)
    assert await counts(cup, message) == {1: 1, 2: 0, 3: 2}
    await run(cup, "poll end")
    assert outcomes(cup)[-1].title == "either wins: 2 of 2 voters"


async def test_more_lines_than_a_poll_holds_are_named_in_the_channel_too(cup: Stage) -> None:
    for number in range(9):
        form = await cup.coach.slash(cup.questions, "line add", hole=1, title=f"try {number}")
        rows = "driver (yew), 228 yd"
        message = only_message(await fill(cup, cup.coach, form, wind="calm", rows=rows))
        await cup.coach.click(message, label="Save")
    said = await run(cup, "poll hole", hole=1)
    note = "A poll holds ten answers: without lines K, L."
    assert said.endswith(note) and poll_message(cup).content == note
    assert len((await stored(cup, poll_message(cup))).answers) == 10


@pytest.mark.parametrize(
    ("command", "options", "says"),
    [
        ("poll hole", {"hole": 12}, "The event has holes 1 to 9."),
        ("poll hole", {"hole": 1, "time": "soon"}, "You wrote `soon`. This is no length of time"),
        ("poll hole", {"hole": 1, "time": "40 days"}, "A poll is open for 1 hour to 32 days."),
        ("poll hole", {"hole": 1, "question": "q" * 301}, "at most 300 characters"),
        ("poll ask", {"question": "Well?", "answers": "yes"}, "at least two answers"),
        ("poll ask", {"question": "Well?", "answers": "a;b;A"}, "“A” is there twice"),
    ],
)
async def test_what_cannot_be_asked_is_said_and_nothing_is_posted(
    cup: Stage, command: str, options: dict[str, Any], says: str
) -> None:
    said = await refused(cup, command, **options)
    assert says in said and "\nFor example: `" in said
    assert public(cup) == [] or all(message.poll is None for message in public(cup))
    assert await cog(cup).service.polls.not_closed() == []


async def test_only_coaches_open_and_end_and_everybody_sees(cup: Stage) -> None:
    message = await ask(cup)
    for command, options in (
        ("poll hole", {"hole": 1}),
        ("poll ask", {"question": "Q?", "answers": "a;b"}),
        ("poll end", {}),
    ):
        assert "Only a coach" in await no_coach(cup, cup.tamsin, command, **options)
    await cup.odile.vote(message, answer=2)
    result = await cup.tamsin.slash(cup.questions, "polls")
    embed = only_message(result).embeds[0]
    assert result.ephemeral and embed.title == "1 poll open"
    assert "[When do we meet?](https://discord.com/channels/" in embed.description
    assert "1 voter · closes <t:" in embed.description


async def test_without_a_permission_the_coach_is_told_which_to_grant(cup: Stage) -> None:
    deny = discord.PermissionOverwrite(send_polls=False, read_message_history=False)
    me = cup.bot.user
    assert me is not None
    cup.questions = cup.guild.create_text_channel("votes", overwrites={me: deny})
    said = await run(cup, "poll ask", question="When?", answers="Saturday; Sunday")
    assert said == (
        "Leeward may not post polls in this channel: allow it Send Polls (Create Polls in newer "
        "settings), Read Message History here, then type the command again."
    )
    assert public(cup) == []


async def test_what_discord_forbids_or_does_not_take_leaves_no_poll_behind(cup: Stage) -> None:
    path = f"/channels/{cup.questions.id}/messages"
    cup.env.inject_error("POST", path, status=403, code=50013)
    said = await run(cup, "poll ask", question="When?", answers="Saturday; Sunday")
    assert said == (
        "Discord does not let Leeward post a poll in this channel; try another channel."
    )
    assert await cog(cup).service.polls.not_closed() == []


# Votes and closing -----------------------------------------------------------------------------


async def test_votes_are_kept_as_they_come_also_when_taken_back(cup: Stage) -> None:
    message = await on_hole(cup)
    await cup.tamsin.vote(message, answer=2)
    await cup.odile.vote(message, answer=2)
    await cup.coach.vote(message, answer=1)
    assert await counts(cup, message) == {1: 1, 2: 2, 3: 0}
    await cup.odile.remove_vote(message, answer=2)
    await cup.tamsin.vote(message, answer=3)
    assert await counts(cup, message) == {1: 1, 2: 0, 3: 1}


async def test_at_its_time_the_outcome_is_posted_once_and_linked_on_the_note(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    message = await on_hole(cup, time="3 hours")
    poll_link = f"https://discord.com/channels/{cup.guild.id}/{cup.questions.id}/{message.id}"
    kept = await stored(cup, message)
    note = cup.notes.last_message.embeds[0].description.splitlines()
    stamp = int(kept.closes_at.timestamp())
    assert note[-1] == f"**Poll** open, closes <t:{stamp}:R>: [vote]({poll_link})"
    await cup.tamsin.vote(message, answer=2)
    await cup.odile.vote(message, answer=2)
    await cup.coach.vote(message, answer=3)
    await later(cup, 4)
    (embed,) = outcomes(cup)
    assert embed.title == "B: the safe one (Oar) wins: 2 of 3 voters"
    assert embed.description.splitlines() == [
        "Hole 1 (Slipway): which line works best?",
        "",
        "**2** B: the safe one (Oar)",
        "**1** C: over the pot bunker",
        "**0** A: down the middle (Sail)",
        "",
        "No result is logged for these lines yet: the votes stand alone.",
        "",
        f"Closed at its time · [the poll]({poll_link})",
    ]
    told = public(cup)[-1]
    link = f"https://discord.com/channels/{cup.guild.id}/{cup.questions.id}/{told.id}"
    assert len(cup.notes.history()) == 1
    note = cup.notes.last_message.embeds[0].description.splitlines()
    assert note[-1] == f"**Poll** B: the safe one (Oar) wins: 2 of 3 voters · [outcome]({link})"
    closed = await stored(cup, message)
    assert (closed.state, closed.ended, closed.told) == ("closed", "time", {1: 0, 2: 2, 3: 1})
    await later(cup, 2)
    assert len(outcomes(cup)) == 1


async def test_results_stand_beside_the_votes(cup: Stage) -> None:
    await log_results(cup, 1, ("A", 6, 1), ("B", 7, 2), ("C", 12, 11))
    message = await on_hole(cup)
    await cup.tamsin.vote(message, answer=1)
    await run(cup, "poll end")
    embed, second = outcomes(cup)
    lines = embed.description.splitlines()
    assert lines[2] == "**1** A: down the middle (Sail) · holed 1 of 6"
    assert lines[4] == "**0** C: over the pot bunker · holed 11 of 12"
    assert lines[6] == ("By the results C leads: holed 11 of 12, 78% to be the best.")
    assert lines[7] == "The votes say A, the results lean to C."
    votes, results = await shown_alts(cup, [embed, second])
    assert "A: down the middle (Sail): 100% (27–100), 1 vote." in votes and "holed" not in votes
    assert results.startswith("What went in. 25 tries of the group.")
    assert "1 of 6 holed" in results and "11 of 12 holed" in results and "vote" not in results


async def test_votes_alone_are_shown_as_bars_too(cup: Stage) -> None:
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=1)
    await cup.odile.vote(message, answer=2)
    await run(cup, "poll end")
    (alt,) = await shown_alts(cup, outcomes(cup))
    assert alt.startswith("The votes. When do we meet? · share of 2 voters.")
    assert "Saturday: 50% (12–88), 1 vote." in alt and "either: 0% (0–57), 0 votes." in alt


async def test_an_outcome_is_posted_without_pictures_that_cannot_be_drawn(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fails(*_: object) -> None:
        raise ValueError("no such face")

    assert cup.bot.services is not None
    monkeypatch.setattr(cup.bot.services.pictures.pool, "bars", fails)
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=1)
    await run(cup, "poll end")
    (embed,) = outcomes(cup)
    assert embed.title == "Saturday wins: 1 of 1 voter"
    assert public(cup)[-1].attachments == [] and not embed.image.url


async def test_an_outcome_is_posted_where_no_file_may_be_attached(cup: Stage) -> None:
    deny = discord.PermissionOverwrite(attach_files=False)
    me = cup.bot.user
    assert me is not None
    cup.questions = cup.guild.create_text_channel("votes", overwrites={me: deny})
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=2)
    await run(cup, "poll end")
    assert [embed.title for embed in outcomes(cup)] == ["Sunday wins: 1 of 1 voter"]
    assert public(cup)[-1].attachments == []


async def shown_alts(stage: Stage, embeds: list[discord.Embed]) -> list[str]:
    """The words of the pictures in an outcome, each small enough for a phone."""
    alts: list[str] = []
    for embed, attachment in zip(embeds, public(stage)[-1].attachments, strict=True):
        assert embed.image.url and attachment.filename in embed.image.url
        data = await attachment.read()
        assert data.startswith(b"\x89PNG") and len(data) <= 150_000
        alts.append(attachment.description or "")
    return alts


async def test_few_tries_are_said_first_and_a_line_nobody_tried_is_called_so(cup: Stage) -> None:
    await log_results(cup, 1, ("A", 2, 1), ("B", 1, 0))
    message = await on_hole(cup)
    await cup.tamsin.vote(message, answer=1)
    await run(cup, "poll end")
    lines = outcomes(cup)[0].description.splitlines()
    assert lines[4] == "**0** C: over the pot bunker · not tried"
    assert lines[6] == "The results name no line yet, after 3 tries in all."
    assert len(lines) == 9


async def test_a_tie_and_no_vote_are_said(cup: Stage) -> None:
    message = await on_hole(cup, question="Which on Sunday?")
    await cup.tamsin.vote(message, answer=1)
    await cup.odile.vote(message, answer=3)
    await run(cup, "poll end")
    assert outcomes(cup)[-1].title == "A tie between A and C: 1 of 2 voters each"
    await ask(cup)
    await run(cup, "poll end")
    assert outcomes(cup)[-1].title == "Nobody voted"


async def test_a_poll_is_ended_by_command_early_and_the_coach_is_told(cup: Stage) -> None:
    first, second = await ask(cup), await on_hole(cup)
    said = await refused(cup, "poll end")
    assert "2 polls are open; say which" in said
    found = await cup.coach.autocomplete(cup.questions, "poll end", "poll", "hole 1")
    assert [each["name"] for each in found] == [
        "in 1 day · Hole 1 (Slipway): which line works best?"
    ]
    await cup.tamsin.vote(second, answer=1)
    said = await run(cup, "poll end", poll=found[0]["value"])
    told = f"https://discord.com/channels/{cup.guild.id}/{cup.questions.id}/{public(cup)[-1].id}"
    assert said == f"The poll has ended; this is its outcome: {told}"
    assert (await stored(cup, second)).ended == "early"
    assert "Ended early · " in outcomes(cup)[0].description and len(outcomes(cup)) == 1
    assert (await stored(cup, first)).state == "open"
    await run(cup, "poll end")
    assert await run(cup, "poll end") == "No poll is open here."
    assert len(outcomes(cup)) == 2


async def test_a_poll_ended_on_discord_itself_is_closed_at_once(cup: Stage) -> None:
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=2)
    cup.env.backend.expire_poll(message.channel.id, message.id)
    await cup.env.settle()
    assert (await stored(cup, message)).ended == "early"
    assert [embed.title for embed in outcomes(cup)] == ["Sunday wins: 1 of 1 voter"]


async def test_discords_own_result_message_closes_and_never_tells_twice(cup: Stage) -> None:
    """Message type 46, as Discord documents it; the simulation sends none."""
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=2)
    for place in range(2):
        cup.bot._connection.parse_message_create(result_payload(cup, message, place))
    # The simulation does not wait for what comes of an event that it did not send itself.
    async with asyncio.timeout(20):
        while not outcomes(cup):
            await asyncio.sleep(0.02)
    await cup.env.settle()
    assert (await stored(cup, message)).state == "closed"
    assert [embed.title for embed in outcomes(cup)] == ["Sunday wins: 1 of 1 voter"]
    cup.env.backend.expire_poll(message.channel.id, message.id)
    await cup.env.settle()
    await later(cup, 25)
    assert len(outcomes(cup)) == 1


def result_payload(stage: Stage, message: Any, place: int) -> Any:
    me = stage.env.backend.bot_user
    fields = {
        "poll_question_text": "When do we meet?",
        "victor_answer_votes": "1",
        "total_votes": "1",
        "victor_answer_id": "2",
        "victor_answer_text": "Sunday",
    }
    embed_fields = [{"name": n, "value": v, "inline": False} for n, v in fields.items()]
    return {
        "id": str(message.id + 1 + place),
        "type": 46,
        "channel_id": str(message.channel.id),
        "guild_id": str(stage.guild.id),
        "author": {"id": str(me.id), "username": "leeward", "discriminator": "0", "avatar": None},
        "content": "",
        "timestamp": stage.env.now().isoformat(),
        "edited_timestamp": None,
        "tts": False,
        "mention_everyone": False,
        "mentions": [],
        "mention_roles": [],
        "attachments": [],
        "embeds": [{"type": "poll_result", "fields": embed_fields}],
        "pinned": False,
        "message_reference": {
            "channel_id": str(message.channel.id),
            "message_id": str(message.id),
        },
    }


async def test_two_closers_at_once_tell_once(cup: Stage) -> None:
    message = await ask(cup)
    await cup.odile.vote(message, answer=1)
    poll, watch = await stored(cup, message), cog(cup).watch
    closed = await asyncio.gather(*(watch.finish(poll, "early") for _ in range(5)))
    assert sorted(closed) == [False, False, False, False, True]
    await cup.env.settle()
    assert [embed.title for embed in outcomes(cup)] == ["Saturday wins: 1 of 1 voter"]
