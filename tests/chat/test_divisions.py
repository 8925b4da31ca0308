"""What each command shows is the reader's division's; who never said theirs is asked once."""

from typing import Any

import pytest

from bot.commands.practice.cog import PracticeCog
from tests.chat.asking import card, text
from tests.chat.booking import labels_of, load_cup, only_embed, only_message
from tests.chat.conftest import Stage


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    return stage


async def asked(cup: Stage, command: str, **options: Any) -> Any:
    message = only_message(await cup.odile.slash(cup.questions, command, **options))
    assert message.content.startswith("Which division do you play in?"), message.content
    assert labels_of(message) == ["Sail", "Oar"]
    return message


async def pressed(cup: Stage, message: Any, label: str) -> Any:
    seen = cup.env.error_cursor
    result = await cup.odile.click(message, label=label)
    assert cup.env.errors[seen:] == []
    return result


@pytest.mark.parametrize(
    ("command", "options"),
    [("compare", {"hole": 2}), ("table", {}), ("guide", {"form": "text for a forum"})],
)
async def test_who_never_said_their_division_is_asked_and_answered_with_the_press(
    cup: Stage, command: str, options: dict[str, Any]
) -> None:
    answer = only_message(await pressed(cup, await asked(cup, command, **options), "Oar"))
    if command == "compare":
        embed = answer.embeds[0]
        assert [text(field.name)[0] for field in embed.fields] == ["B"]
    elif command == "guide":
        said = (await answer.attachments[0].read()).decode()
        assert "Oar" in answer.content and "one club more" in said
    else:
        assert answer.embeds[0].title
    assert (await card(cup, cup.odile, "cup show")).title == "Windlass Cup"
    again = only_message(await cup.odile.slash(cup.questions, command, **options))
    assert not again.content.startswith("Which division")


async def test_practice_asks_too_and_then_plans_over_what_the_division_plays(cup: Stage) -> None:
    message = await asked(cup, "practice", entries=7)
    answer = only_message(await pressed(cup, message, "Sail"))
    assert answer.embeds and isinstance(cup.bot.get_cog("PracticeCog"), PracticeCog)


async def test_what_was_asked_goes_on_with_its_own_options(cup: Stage) -> None:
    message = await asked(cup, "compare", hole=2, mine="3 from 9", file=True)
    answer = only_message(await pressed(cup, message, "Sail"))
    assert {file.filename for file in answer.attachments} >= {"hole-2.csv"}
    assert "3 mph from 9" in text(answer.embeds[0].description)


async def test_after_a_restart_the_division_counts_and_the_command_is_asked_for(
    cup: Stage,
) -> None:
    message = await asked(cup, "table")
    await cup.restart()
    said = only_message(await pressed(cup, message, "Oar")).content
    assert said == "You play in Oar. Please type your command once more."
    assert only_embed(await cup.odile.slash(cup.questions, "table"))


async def test_a_press_under_an_old_cup_leaves_the_division_of_the_current_one(cup: Stage) -> None:
    old = only_message(await cup.odile.slash(cup.questions, "hole", hole=2))
    await card(cup, cup.coach, "event copy", name="Second Cup", winds=True)
    await card(cup, cup.coach, "event use", event="Second Cup")
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    shown = only_embed(await pressed(cup, old, "Sail"))
    assert text(shown.fields[0].name).startswith("Sail")
    now = only_embed(await cup.odile.slash(cup.questions, "hole", hole=2))
    assert text(now.fields[0].name).startswith("Oar")


async def test_a_guide_may_be_another_divisions_and_a_poll_is_on_what_one_plays(
    cup: Stage,
) -> None:
    await cup.odile.slash(cup.questions, "me division", division="Oar")
    result = await cup.odile.slash(cup.questions, "guide", form="text for a forum", division="sail")
    assert "Windlass Cup, Opening round, Sail" in only_message(result).content
    said = only_message(
        await cup.coach.slash(cup.questions, "poll hole", hole=1, division="Sail")
    ).content
    assert said.startswith("The poll is open")
    poll = next(each.poll for each in reversed(cup.questions.history()) if each.poll)
    assert poll.question == "Hole 1 (Slipway), Sail: which line works best?"
    assert [answer.text[:2] for answer in poll.answers] == ["A:", "C:"]
