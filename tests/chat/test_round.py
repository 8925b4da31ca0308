"""/round: hole by hole in one private message, by touch alone."""

from typing import Any

import pytest

from bot.commands.for_me.round_cog import RoundCog
from bot.services.results.service import Try
from bot.services.round import RoundService
from shared.actor import Actor
from shared.quantities import Speed, Wind
from tests.chat.booking import (
    as_it_is,
    fields_of,
    fill,
    labels_of,
    load_cup,
    menus_of,
    only_embed,
    only_message,
    pick,
)
from tests.chat.conftest import Stage


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    """The demo's cup; Tamsin plays in Sail with an oak driver."""
    await load_cup(stage)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", club="driver", grade="oak")
    return stage


async def opened(stage: Stage, who: Any) -> Any:
    message = only_message(await who.slash(stage.questions, "round"))
    assert message.ephemeral
    return message


def rows(stage: Stage, message: Any) -> list[str]:
    embed = as_it_is(stage, message).embeds[0]
    return [embed.title or "", *(embed.description or "").split("\n")]


def service(stage: Stage) -> RoundService:
    cog = stage.bot.get_cog("RoundCog")
    assert isinstance(cog, RoundCog)
    return cog.service


async def test_a_hole_is_two_rows_a_shot_in_the_divisions_wind(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    said = rows(cup, message)
    assert said[0].startswith("1 · driver · set up ") and " · aim " in said[0]
    assert said[1].startswith("8 mph from 1 · 228 yd · ± ")
    assert said[2].startswith("**2 · 8-iron · set up ") and "8 mph from 1 · 128 yd" in said[3]
    assert said[4:] == ["Hole 1 of 9 · par 4 · line A"]
    assert labels_of(message)[:5] == ["Went in", "Missed", "2 →", "Why", "Picture"]
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    other = rows(cup, await opened(cup, cup.odile))
    assert other[1].startswith("6 mph from 1 ") and "line A" not in other[-1]


async def test_the_round_goes_on_in_one_message_and_remembers_each_holes_wind(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    before = len(cup.env.backend.messages[cup.questions.id])
    await pick(cup.tamsin, message, "11 mph")
    await cup.tamsin.click(as_it_is(cup, message), label="2 →")
    assert any("Hole 2 of 9" in row for row in rows(cup, message))
    await pick(cup.tamsin, as_it_is(cup, message), "from 10")
    await cup.restart()
    await cup.tamsin.click(as_it_is(cup, message), label="← 1")
    assert rows(cup, message)[1].startswith("11 mph from 1 · 228 yd")
    assert len(cup.env.backend.messages[cup.questions.id]) == before
    await cup.tamsin.click(as_it_is(cup, message), label="2 →")
    again = await opened(cup, cup.tamsin)  # where the member left it
    assert rows(cup, again) == rows(cup, message)
    assert rows(cup, again)[1].startswith("9 mph from 10")


async def test_went_in_logs_the_wind_shown_and_opens_the_next_hole(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    await pick(cup.tamsin, message, "11 mph")
    shown = as_it_is(cup, message)
    await cup.tamsin.click(shown, label="Went in")
    assert rows(cup, message)[-2:] == [
        "Hole 1 went in: counted",
        "So far 1 of 1 in: 1✓",
    ]
    assert any(row.startswith("Hole 2 of 9") for row in rows(cup, message))
    mine = only_embed(await cup.tamsin.slash(cup.questions, "results"))
    assert "**Hole 1, line A** went in" in str(mine.description)
    assert "11 mph from 1" in str(mine.description)


async def test_missed_asks_how_far_and_a_press_made_twice_counts_once(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    form = await cup.tamsin.click(message, label="Missed")
    assert fields_of(form.modal) == {"outcome": ""}
    await fill(cup, cup.tamsin, form, outcome="3 short 2 r")
    assert rows(cup, message)[-2].startswith("Hole 1 missed: 2.0 yd right, 3.0 short: counted")
    assert rows(cup, message)[-1] == "So far 0 of 1 in: 1✗"
    again = await service(cup).log(
        Actor(cup.guild.id, cup.tamsin.id, "tamsin"),
        Try("Windlass Cup", 1, "A", Wind(speed=Speed(value=8), from_deg=30)),
        "3 short 2 r",
        interaction_id=77,  # another press of the same form
        attempt=1,
    )
    assert again.told is not None and not again.told.counted
    mine = only_embed(await cup.tamsin.slash(cup.questions, "results"))
    assert str(mine.description).count("Hole 1, line A") == 1


async def test_what_was_logged_is_mended_where_the_round_stands(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    form = await cup.tamsin.click(message, label="Missed")
    await fill(cup, cup.tamsin, form, outcome="a bit left")
    assert rows(cup, message)[-2:] == [
        "Hole 1 missed: left, not measured: counted",
        "So far 0 of 1 in: 1✗",
    ]
    shown = as_it_is(cup, message)
    assert labels_of(shown)[-2:] == ["Correct hole 1", "Take it back"]
    form = await cup.tamsin.click(shown, label="Correct hole 1")
    assert fields_of(form.modal) == {"outcome": "left", "wind": "8 mph from 1"}
    await fill(cup, cup.tamsin, form, outcome="4 long 3 r", wind="11 from 2")
    said = rows(cup, message)
    assert said[-2:] == [
        "Hole 1 missed: 3.0 yd right, 4.0 long: corrected",
        "So far 0 of 1 in: 1✗",
    ]
    assert any(row.startswith("Hole 2 of 9") for row in said)  # the round stays where it was
    form = await cup.tamsin.click(as_it_is(cup, message), label="Correct hole 1")
    await fill(cup, cup.tamsin, form, outcome="it went in")
    assert rows(cup, message)[-1] == "So far 1 of 1 in: 1✓"
    mine = only_embed(await cup.tamsin.slash(cup.questions, "results"))
    assert str(mine.description).count("Hole 1, line A") == 1
    assert "11 mph from 2" in str(mine.description)
    await cup.tamsin.click(as_it_is(cup, message), label="Take it back")
    said = rows(cup, message)
    assert said[-2:] == ["Hole 1 of 9 · par 4 · line A", "Hole 1 went in: taken back"]
    assert said[1].startswith("11 mph from 2")  # as it was corrected
    assert "Take it back" not in labels_of(as_it_is(cup, message))
    again = await cup.tamsin.click(as_it_is(cup, message), label="Went in")
    assert again.modal is None and rows(cup, message)[-2] == "Hole 1 went in: counted"


async def test_a_miss_that_is_not_understood_comes_back_and_leads_on(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    form = await cup.tamsin.click(message, label="Missed")
    refused = (await fill(cup, cup.tamsin, form, outcome="3 banana")).followups[-1]
    assert "“banana” was not understood." in refused.content
    form = await cup.tamsin.click(refused, label="Change it")
    assert fields_of(form.modal) == {"outcome": "3 banana"}
    await fill(cup, cup.tamsin, form, outcome="3 left")
    now = as_it_is(cup, refused)
    assert now.content == "" and rows(cup, refused)[-1] == "So far 0 of 1 in: 1✗"
    assert any(row.startswith("Hole 2 of 9") for row in rows(cup, refused))


async def test_the_round_goes_on_in_direct_messages(cup: Stage) -> None:
    await cup.tamsin.click(await opened(cup, cup.tamsin), label="2 →")
    there = only_message(await cup.tamsin.user.slash("round"))
    assert rows(cup, there) == rows(cup, await opened(cup, cup.tamsin))
    await cup.tamsin.user.click(there, label="Went in")
    assert rows(cup, there)[-1] == "So far 1 of 1 in: 2✓"


async def test_another_line_is_one_press_and_stays_chosen(cup: Stage) -> None:
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    message = await opened(cup, cup.odile)
    other = next(label for label in labels_of(message) if label.startswith("Line "))
    await cup.odile.click(message, label=other)
    assert f"Hole 1 of 9 · par 4 · line {other[-1]}\n" in "\n".join(rows(cup, message))
    assert rows(cup, await opened(cup, cup.odile)) == rows(cup, message)


async def test_a_new_round_of_the_cup_begins_at_its_first_hole(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    await cup.tamsin.click(message, label="Went in")
    await cup.coach.slash(cup.questions, "event round", round="Closing round")
    said = rows(cup, await opened(cup, cup.tamsin))
    assert said[-1].startswith("Hole 1 of 9") and not any("So far" in row for row in said)


async def test_without_a_division_it_asks_once_and_the_press_opens_the_round(cup: Stage) -> None:
    message = only_message(await cup.odile.slash(cup.questions, "round"))
    assert cup.env.errors  # raised on purpose
    assert message.content.startswith("Which division do you play in?")
    assert labels_of(message) == ["Sail", "Oar"]
    begun = only_message(await cup.odile.click(message, label="Oar"))
    assert begun.ephemeral
    said = rows(cup, begun)
    assert said[1].startswith("6 mph from 1 ")
    assert any(row.startswith("Hole 1 of 9") for row in said)
    assert rows(cup, await opened(cup, cup.odile)) == said


async def test_a_hole_without_a_line_is_said_and_passed_by(cup: Stage) -> None:
    for letter in "ABC":
        await cup.coach.slash(cup.questions, "line retire", hole=2, line=letter)
    message = await opened(cup, cup.tamsin)
    await cup.tamsin.click(message, label="2 →")
    assert rows(cup, message)[0] == "For Sail, hole 2 has no line yet."
    assert labels_of(as_it_is(cup, message)) == ["← 1", "3 →"]
    assert menus_of(as_it_is(cup, message)) == {}
    await cup.tamsin.click(as_it_is(cup, message), label="3 →")
    assert any(row.startswith("Hole 3 of 9") for row in rows(cup, message))


async def test_a_press_of_a_cup_that_is_over_is_refused(cup: Stage) -> None:
    message = await opened(cup, cup.tamsin)
    await cup.coach.slash(cup.questions, "event copy", name="Second Cup")
    await cup.coach.slash(cup.questions, "event use", event="Second Cup")
    pressed = await cup.tamsin.click(message, label="2 →")
    assert "Another cup is played now." in pressed.followups[-1].content
