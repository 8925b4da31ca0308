"""An open poll on a shared line that a coach takes in meanwhile."""

from typing import Any

import pytest

from tests.chat.asking import text
from tests.chat.booking import labels_of, load_cup, only_message
from tests.chat.conftest import Stage
from tests.chat.polling import (
    counts,
    keep_time,
    later,
    on_hole,
    outcomes,
    public,
    restart,
    run,
    wire,
)
from tests.chat.test_share import share

RENAMED = "In this poll S1 is line D now"


@pytest.fixture
async def voted(stage: Stage) -> tuple[Stage, Any]:
    """A poll on hole 2 with a shared line, which two of three voted for."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    keep_time(stage)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", club="6-iron", grade="yew")
    await share(stage)
    poll = await on_hole(stage, 2, time="2 days")
    labels = [answer.text for answer in wire(stage, poll).answers]
    assert labels[3] == "S1: 6-iron (yew), 155 yd, up 6 yd"
    await stage.tamsin.vote(poll, answer=4)
    await stage.odile.vote(poll, answer=4)
    await stage.coach.vote(poll, answer=2)
    return stage, poll


async def take_in(stage: Stage) -> None:
    await stage.coach.slash(stage.questions, "line status", hole=2, line="S1", status="tested")


async def test_it_is_said_under_the_poll_and_the_outcome_names_the_letter(
    voted: tuple[Stage, Any],
) -> None:
    stage, poll = voted
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await take_in(stage)
    (said,) = outcomes(stage)
    assert said.title == RENAMED
    assert text(said.description).startswith("Votes stay: [the poll](https://discord.com/channels/")
    assert await counts(stage, poll) == {1: 0, 2: 1, 3: 0, 4: 2}
    await restart(stage)
    await later(stage, 49)
    again, told = outcomes(stage)
    assert again.title == RENAMED
    assert told.title == "D (was S1): 6-iron (yew), 155 yd, up 6 yd wins: 2 of 3 voters"
    rows = text(told.description).split("\n")
    assert rows[2] == "**2** D (was S1): 6-iron (yew), 155 yd, up 6 yd · holed 1 of 1"
    assert "**1** B:" in rows[3]
    (note,) = [
        each for each in stage.notes.history() if each.embeds[0].title.startswith("Hole 2 ·")
    ]
    assert "**Poll** D (was S1): 6-iron (yew), 155 yd, up 6 yd wins" in text(
        note.embeds[0].description
    )


async def test_another_change_of_the_hole_says_nothing_anew(voted: tuple[Stage, Any]) -> None:
    stage, _ = voted
    await take_in(stage)
    before = len(public(stage))
    await stage.coach.slash(stage.questions, "line status", hole=2, line="C", status="tested")
    await stage.coach.slash(stage.questions, "line status", hole=2, line="D", status="idea")
    assert len(public(stage)) == before and len(outcomes(stage)) == 1


async def test_a_deleted_poll_names_the_letter_too(voted: tuple[Stage, Any]) -> None:
    stage, poll = voted
    await take_in(stage)
    await stage.coach.delete(poll)
    await stage.env.settle()
    deleted = outcomes(stage)[-1]
    assert "**2** D (was S1): 6-iron (yew), 155 yd, up 6 yd" in text(deleted.description)


async def test_a_copy_of_a_line_that_was_shared_is_not_the_one_voted_for(
    voted: tuple[Stage, Any],
) -> None:
    stage, _ = voted
    await take_in(stage)
    copied = only_message(
        await stage.coach.slash(stage.questions, "line copy", division="Oar", hole=2, line="D")
    )
    await stage.coach.click(copied, label=labels_of(copied)[0])
    services = stage.bot.services
    assert services is not None
    lines = {each.variant: each for each in (await services.book.hole(stage.guild.id, 2)).lines}
    assert (lines["D"].shared_as, lines["E"].shared_as) == ("S1", None)
    assert lines["E"].copied == "2D"
    assert (await run(stage, "poll end")).startswith("The poll has ended")
    assert text(outcomes(stage)[-1].title).startswith("D (was S1): ")
