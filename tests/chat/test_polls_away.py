"""Polls when the bot was away, may not post, or somebody deleted them."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from bot.commands.polls.watch import SLACK
from storage.outbox import FIRST_WAIT_S
from storage.polls import Poll
from tests.chat.conftest import Stage
from tests.chat.polling import (
    HOUR,
    ask,
    at_discord_only,
    cog,
    counts,
    cup_of,
    later,
    on_hole,
    outcomes,
    poll_message,
    public,
    restart,
    run,
    stored,
    wire,
)


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    return await cup_of(stage)


async def test_votes_missed_while_the_bot_was_down_are_made_good(cup: Stage) -> None:
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=1)
    at_discord_only(cup, message, 1)
    wire(cup, message).votes[1].clear()
    at_discord_only(cup, message, 2, cup.odile, cup.coach)
    await restart(cup)
    assert await counts(cup, message) == {1: 0, 2: 2, 3: 0}
    assert (await stored(cup, message)).state == "open" and outcomes(cup) == []
    await cup.tamsin.vote(message, answer=2)
    await later(cup, 25)
    assert [embed.title for embed in outcomes(cup)] == ["Sunday wins: 3 of 3 voters"]


async def test_a_poll_due_while_the_bot_was_down_is_closed_once_at_the_start(cup: Stage) -> None:
    message = await ask(cup, time="1 hour")
    at_discord_only(cup, message, 3, cup.tamsin)
    # The next bot wakes up two hours later; Discord has not called the poll final yet.
    now = cup.env.now

    def two_hours_on() -> Any:
        return now() + timedelta(hours=2)

    cup.env.now = two_hours_on  # type: ignore[method-assign]
    await restart(cup)
    assert [embed.title for embed in outcomes(cup)] == ["either wins: 1 of 1 voter"]
    assert (await stored(cup, message)).ended == "time"
    await restart(cup)
    assert len(outcomes(cup)) == 1


async def test_a_restart_between_closing_and_telling_still_tells_once(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    message = await on_hole(cup)
    await cup.tamsin.vote(message, answer=1)
    watch = cog(cup).watch

    async def crash(community_id: int | None = None) -> int:
        raise RuntimeError("the power went")

    monkeypatch.setattr(watch._publisher, "deliver", crash)
    with pytest.raises(RuntimeError, match="the power went"):
        await watch.finish(await stored(cup, message), "early")
    assert (await stored(cup, message)).state == "closed" and outcomes(cup) == []
    monkeypatch.undo()
    await restart(cup)
    assert [embed.title for embed in outcomes(cup)] == [
        "A: down the middle (Sail) wins: 1 of 1 voter"
    ]
    assert [each.filename for each in public(cup)[-1].attachments] == ["bars1.png"]
    note = cup.notes.last_message.embeds[0].description
    link = f"https://discord.com/channels/{cup.guild.id}/{cup.questions.id}/{public(cup)[-1].id}"
    assert f"**Poll** A: down the middle (Sail) wins: 1 of 1 voter · [outcome]({link})" in note
    assert "open, closes" not in note


async def test_a_poll_posted_just_before_a_crash_is_found_again(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    service = cog(cup).service

    async def crash(poll: Poll, message_id: int) -> Poll:
        raise RuntimeError("the power went")

    monkeypatch.setattr(service, "opened", crash)
    seen = cup.env.error_cursor
    await cup.coach.slash(cup.questions, "poll ask", question="When?", answers="Saturday; Sunday")
    assert len(cup.env.errors) > seen
    monkeypatch.undo()
    message = poll_message(cup)
    await cup.tamsin.vote(message, answer=2)
    assert await service.polls.by_message(message.id) is None
    await restart(cup)
    assert (await stored(cup, message)).state == "open"
    assert await counts(cup, message) == {1: 0, 2: 1}
    assert len([each for each in public(cup) if each.poll is not None]) == 1


async def test_a_poll_that_was_never_posted_is_given_up(cup: Stage) -> None:
    path = f"/channels/{cup.questions.id}/messages"
    cup.env.inject_error("POST", path, status=500, times=None)
    said = await run(cup, "poll ask", question="When?", answers="Saturday; Sunday")
    assert said.startswith("Discord did not take the poll just now.")
    (poll,) = await cog(cup).service.polls.not_closed()
    assert poll.state == "waiting"
    await cup.env.advance_time(14 * 60)
    assert [each.id for each in await cog(cup).service.polls.not_closed()] == [poll.id]
    await cup.env.advance_time(3 * 60)
    assert await cog(cup).service.polls.not_closed() == []
    assert public(cup) == []


async def test_a_poll_a_moderator_deletes_is_said_once(cup: Stage) -> None:
    message = await ask(cup)
    await cup.tamsin.vote(message, answer=2)
    await cup.coach.delete(message)
    await restart(cup)
    await later(cup, 25)
    (embed,) = outcomes(cup)
    assert embed.title == "A poll was deleted before it closed, so it has no winner"
    assert embed.description.splitlines()[:5] == [
        "When do we meet?",
        "",
        "**0** Saturday",
        "**1** Sunday",
        "**0** either",
    ]
    closed = await stored(cup, message)
    assert (closed.state, closed.ended) == ("closed", "deleted")


async def test_a_poll_deleted_while_the_bot_was_down_is_found_out(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    message = await on_hole(cup)
    del cup.env.backend.messages[cup.questions.id][message.id]
    await restart(cup)
    assert [embed.title for embed in outcomes(cup)] == [
        "A poll was deleted before it closed, so it has no winner"
    ]
    assert "**Poll**" not in cup.notes.last_message.embeds[0].description
    await restart(cup)
    assert len(outcomes(cup)) == 1


async def test_ending_a_poll_that_is_gone_says_so(cup: Stage) -> None:
    message = await ask(cup)
    del cup.env.backend.messages[cup.questions.id][message.id]
    said = await run(cup, "poll end")
    assert said == "This poll had been deleted, so it has no winner."


async def test_a_poll_whose_channel_is_deleted_is_told_in_the_notes_channel(cup: Stage) -> None:
    await ask(cup)
    await cup.tamsin.vote(poll_message(cup), answer=3)
    cup.env.backend.delete_channel(cup.questions.id)
    await cup.env.settle()
    (told,) = cup.notes.history()
    assert told.embeds[0].title == "A poll was deleted before it closed, so it has no winner"
    assert await cog(cup).service.polls.not_closed() == []


async def test_where_voters_may_not_be_seen_the_kept_votes_count(cup: Stage) -> None:
    message = await ask(cup, time="1 hour")
    await cup.tamsin.vote(message, answer=1)
    path = f"/channels/{cup.questions.id}/polls/*"
    cup.env.inject_error("GET", path, status=403, code=50013, times=None)
    await later(cup, 1.1)
    assert [embed.title for embed in outcomes(cup)] == ["Saturday wins: 1 of 1 voter"]


async def test_while_discord_is_in_trouble_the_poll_waits_and_is_closed_later(cup: Stage) -> None:
    message = await ask(cup, time="1 hour")
    at_discord_only(cup, message, 2, cup.odile)
    path = f"/channels/{cup.questions.id}/polls/*"
    cup.env.inject_error("GET", path, status=500, times=None)
    await later(cup, 1 + 2 * SLACK.total_seconds() / HOUR)
    assert outcomes(cup) == [] and (await stored(cup, message)).state == "open"
    cup.env.backend.faults.clear()
    await later(cup, 0.1)
    assert [embed.title for embed in outcomes(cup)] == ["Sunday wins: 1 of 1 voter"]


async def test_an_outcome_that_its_channel_forbids_goes_to_the_notes_channel(cup: Stage) -> None:
    await cup.coach.slash(cup.questions, "publish", hole=1)
    message = await on_hole(cup)
    await cup.tamsin.vote(message, answer=3)
    path = f"/channels/{cup.questions.id}/messages"
    cup.env.inject_error("POST", path, status=403, code=50013)
    said = await run(cup, "poll end")
    assert outcomes(cup) == []
    note, told = cup.notes.history()
    assert told.embeds[0].title == "C: over the pot bunker wins: 1 of 1 voter"
    link = f"https://discord.com/channels/{cup.guild.id}/{cup.notes.id}/{told.id}"
    assert said == f"The poll has ended; this is its outcome: {link}"
    assert note.embeds[0].description.endswith(f" · [outcome]({link})")


async def test_an_outcome_discord_does_not_take_is_brought_later(cup: Stage) -> None:
    message = await ask(cup)
    path = f"/channels/{cup.questions.id}/messages"
    cup.env.inject_error("POST", path, status=500)
    said = await run(cup, "poll end")
    assert said.startswith("The poll has ended, but its outcome is not posted yet (Discord did not")
    assert outcomes(cup) == [] and (await stored(cup, message)).state == "closed"
    services = cup.bot.services
    assert services is not None
    services.db._clock = lambda: datetime.now(UTC) + timedelta(seconds=2 * FIRST_WAIT_S)
    await cup.env.advance_time(61)
    assert [embed.title for embed in outcomes(cup)] == ["Nobody voted"]
