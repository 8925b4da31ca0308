"""Members who asked are reminded once a round to log it, by a direct message."""

from datetime import timedelta
from typing import Any

import pytest

from bot.commands.book.event_cog import EventCog
from tests.chat.asking import text
from tests.chat.booking import fill, labels_of, only_embed, only_message
from tests.chat.conftest import Stage
from tests.chat.polling import cup_of


@pytest.fixture
async def dated(stage: Stage) -> Stage:
    """The demo's cup, its closing round in five hours; Tamsin and Odile asked to be reminded."""
    await cup_of(stage)
    at = stage.env.now() + timedelta(hours=5)
    opened = await stage.coach.slash(stage.questions, "event dates")
    await fill(stage, stage.coach, opened, rows=f"Closing round: {at:%Y-%m-%d %H:%M}")
    for who in (stage.tamsin, stage.odile):
        await who.slash(stage.questions, "me division", division="Sail")
        message = only_message(await who.slash(stage.questions, "cup show"))
        assert labels_of(message) == ["Remind me to log"]
        embed = only_embed(await who.click(message, label="Remind me to log"))
        assert embed.title == "You will be reminded to log"
    return stage


async def pass_hours(stage: Stage, hours: float) -> None:
    """Let time pass by the database's clock alone, then have what is due done."""
    services = stage.bot.services
    assert services is not None
    now = services.db.now() + timedelta(hours=hours)
    services.db._clock = lambda: now
    cog = stage.bot.get_cog("EventCog")
    assert isinstance(cog, EventCog)
    assert await cog.rounds.once()


def told(who: Any) -> list[str]:
    channel = who.user.dm_channel
    return [] if channel is None else [text(m.embeds[0].title) for m in channel.history()]


async def test_who_asked_is_reminded_once_also_after_a_restart(dated: Stage) -> None:
    await pass_hours(dated, 6)
    assert told(dated.tamsin) == []
    await pass_hours(dated, 20)
    said = "Closing round, Windlass Cup: how did it go?"
    assert told(dated.tamsin) == [said] and told(dated.odile) == [said]
    assert told(dated.coach) == []
    services = dated.bot.services
    assert services is not None
    now = services.db.now()
    await dated.restart()
    services = dated.bot.services
    assert services is not None
    services.db._clock = lambda: now
    await pass_hours(dated, 3)
    assert told(dated.tamsin) == [said]


async def test_who_has_logged_or_asked_no_more_is_left_alone(dated: Stage) -> None:
    await pass_hours(dated, 6)
    await dated.coach.slash(dated.questions, "publish", hole=2)
    opened = await dated.tamsin.click(dated.notes.last_message, label="Went in")
    await fill(dated, dated.tamsin, opened, line="A", wind="9 from 3")
    message = only_message(await dated.odile.slash(dated.questions, "cup show"))
    ended = only_embed(await dated.odile.click(message, label="No more reminders"))
    assert ended.title == "No more reminders"
    await pass_hours(dated, 20)
    assert told(dated.tamsin) == [] and told(dated.odile) == []


async def test_who_closed_direct_messages_is_tried_once(dated: Stage) -> None:
    await pass_hours(dated, 6)
    await only_tamsin(dated)
    dated.env.inject_error("POST", "/users/@me/channels", status=403, code=50007, times=1)
    await pass_hours(dated, 20)
    assert told(dated.tamsin) == []
    await pass_hours(dated, 12)
    assert told(dated.tamsin) == []


async def test_discord_at_fault_is_tried_again(dated: Stage) -> None:
    await pass_hours(dated, 6)
    await only_tamsin(dated)
    dated.env.inject_error("POST", "/users/@me/channels", status=400, code=0, times=1)
    await pass_hours(dated, 20)
    assert told(dated.tamsin) == []
    await pass_hours(dated, 1)
    assert told(dated.tamsin) == ["Closing round, Windlass Cup: how did it go?"]


async def only_tamsin(stage: Stage) -> None:
    message = only_message(await stage.odile.slash(stage.questions, "cup show"))
    await stage.odile.click(message, label="No more reminders")


async def test_the_message_has_a_button_that_ends_reminders(dated: Stage) -> None:
    await pass_hours(dated, 6)
    await pass_hours(dated, 20)
    message = dated.tamsin.user.dm_channel.history()[-1]
    assert "/round leads you through it" in text(message.embeds[0].description)
    (row,) = message.components
    assert [button.label for button in row.children] == ["No more reminders"]
    assert row.children[0].custom_id == f"remindme|off|{dated.guild.id}"
