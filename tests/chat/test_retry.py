"""A refused text comes back with one press, and what was probably meant is one press too."""

from typing import Any

import pytest
from discord import app_commands

from bot.chat import router
from bot.chat.forms import OPENS_FORM
from tests.chat.booking import fields_of, fill, labels_of, load_cup, only_embed, only_message
from tests.chat.conftest import Stage


@pytest.fixture
async def noted(stage: Stage) -> Stage:
    """The demo's cup loaded and hole 2 published; Tamsin plays in Sail and reads metres."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", units="metric")
    return stage


async def test_a_refused_question_offers_what_may_be_meant(stage: Stage) -> None:
    refused = await stage.tamsin.slash(stage.questions, "wind", question="crosswind 9, 5i, 150")
    assert stage.env.errors and labels_of(refused.response) == [
        "9 off the left, 5i, 150",
        "9 off the right, 5i, 150",
        "Change it",
    ]
    pressed = await stage.tamsin.click(refused.response, label="9 off the right, 5i, 150")
    asked = await stage.tamsin.slash(
        stage.questions, "wind", question="9 off the right, 5-iron, 150"
    )
    assert only_embed(pressed) == only_embed(asked) and not pressed.response.ephemeral


async def test_a_refused_question_comes_back_in_a_form(stage: Stage) -> None:
    refused = await stage.tamsin.slash(
        stage.questions, "wind", question="9 from 2, 5i, 150 quickly", private=True
    )
    assert stage.env.errors
    opened = await stage.tamsin.click(refused.response, label="Change it")
    assert fields_of(opened.modal) == {"question": "9 from 2, 5i, 150 quickly"}
    again = await fill(stage, stage.tamsin, opened, question="9 from 2, 5i, 150 slowly")
    assert "“slowly” was not understood" in only_message(again).content
    opened = await stage.tamsin.click(again.response, label="Change it")
    answer = await fill(stage, stage.tamsin, opened, question="9 from 2, 5i, 150")
    asked = await stage.tamsin.slash(stage.questions, "wind", question="9 from 2, 5i, 150")
    assert only_embed(answer) == only_embed(asked) and only_message(answer).ephemeral


async def test_a_refused_option_comes_back_with_the_others(stage: Stage) -> None:
    options = {"wind": "8 fron 2", "club": "7-iron", "distance": "120", "height": "up 4"}
    refused = await stage.odile.slash(stage.questions, "aim", **options)
    assert stage.env.errors and labels_of(refused.response) == ["8 from 2", "Change it"]
    pressed = await stage.odile.click(refused.response, label="8 from 2")
    right = await stage.odile.slash(stage.questions, "aim", **options | {"wind": "8 from 2"})
    assert only_embed(pressed) == only_embed(right)


async def test_what_was_meant_and_is_refused_too_comes_back_itself(stage: Stage) -> None:
    """99 mph is a wind that is read, and one in which no 5-iron reaches 150."""
    refused = await stage.tamsin.slash(stage.questions, "wind", question="crosswind 99, 5i, 150")
    pressed = await stage.tamsin.click(refused.response, label="99 off the right, 5i, 150")
    assert len(stage.env.errors) == 1 and only_message(pressed).ephemeral
    opened = await stage.tamsin.click(pressed.response, label="Change it")
    assert fields_of(opened.modal) == {"question": "99 off the right, 5i, 150"}
    answer = await fill(stage, stage.tamsin, opened, question="9 off the right, 5i, 150")
    asked = await stage.tamsin.slash(
        stage.questions, "wind", question="9 off the right, 5-iron, 150"
    )
    assert only_embed(answer) == only_embed(asked)


async def test_a_form_is_the_first_response_however_slow_the_loop_is(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A press that was acknowledged could open no form any more."""
    monkeypatch.setattr(router, "PATIENCE_S", 0.0)
    refused = await stage.tamsin.slash(stage.questions, "wind", question="crosswind 9, 5i, 150")
    assert stage.env.errors
    message = only_message(refused)
    opened = await stage.tamsin.click(message, label="Change it")
    assert fields_of(opened.modal) == {"question": "crosswind 9, 5i, 150"}


async def test_who_is_no_coach_any_more_cannot_repeat_a_coachs_command(noted: Stage) -> None:
    refused = await noted.coach.slash(noted.questions, "event use", event="No Such Cup")
    assert noted.env.errors and labels_of(refused.response) == ["Change it"]
    opened = await noted.coach.click(refused.response, label="Change it")
    role = noted.guild.create_role("Captain")
    await noted.coach.slash(noted.questions, "setup coach", role=role)
    again = await fill(noted, noted.coach, opened, event="Windlass Cup")
    assert only_message(again).content.startswith("Only a coach can do this;")


async def test_what_is_answered_by_a_form_is_not_asked_by_one(noted: Stage) -> None:
    """Discord lets no form follow a form."""
    refused = await noted.coach.slash(noted.questions, "line edit", hole=2, line="Q")
    assert noted.env.errors and not labels_of(refused.response)
    for path in ("line add", "line edit", "event winds"):
        command = noted.bot.tree.get_command(path.split()[0])
        assert isinstance(command, app_commands.Group)
        found = command.get_command(path.split()[1])
        assert found is not None and found.extras == {OPENS_FORM: True}


async def test_refused_winds_come_back_in_their_form(noted: Stage) -> None:
    opened = await noted.coach.slash(noted.questions, "event winds", division="Sail")
    refused = await fill(noted, noted.coach, opened, rows="1: 9 from 3\n2: 5 from Mars")
    message = only_message(refused)
    assert message.embeds[0].title == "No wind was set: a row under “Winds” can't be read"
    form = await noted.coach.click(message, label="Change it")
    assert fields_of(form.modal) == {"rows": "1: 9 from 3\n2: 5 from Mars"}
    again = await fill(noted, noted.coach, form, rows="1: 9 from 3\n2: 5 from 8")
    assert only_embed(again).title == "Winds set for holes 1, 2"


async def test_after_a_restart_the_press_says_to_ask_anew(stage: Stage) -> None:
    refused = await stage.tamsin.slash(stage.questions, "wind", question="crosswind 9, 5i, 150")
    assert stage.env.errors
    await stage.restart()
    pressed = await stage.tamsin.click(refused.response, label="Change it")
    assert "is not kept any more" in pressed.response.content


def note(stage: Stage) -> Any:
    return stage.notes.history()[0]


async def test_a_refused_form_keeps_all_its_fields(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    refused = await fill(noted, noted.tamsin, opened, wind="4 fron 3", outcome="2 short")
    assert labels_of(refused.response) == ["4 from 3", "Change it"]
    form = await noted.tamsin.click(refused.response, label="Change it")
    assert fields_of(form.modal) == {"line": "A", "outcome": "2 short", "wind": "4 fron 3"}
    pressed = await noted.tamsin.click(refused.response, label="4 from 3")
    embed = only_embed(pressed)
    assert embed.title == "Counted: hole 2, line A missed: 2.0 m short"
    assert "4 m/s from 3 · 6-iron" in (embed.description or "")


async def test_a_bare_wind_is_in_the_members_unit_in_every_form(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    assert fields_of(opened.modal)["wind"] == "4 m/s from 3"  # the book's 9 mph
    moved = only_embed(await fill(noted, noted.tamsin, opened, wind="4 from 2"))
    assert "4 m/s from 2 · 141 m" in (moved.description or "")
    went = await noted.tamsin.click(note(noted), label="Went in")
    told = only_embed(await fill(noted, noted.tamsin, went, wind="4 from 2"))
    assert "4 m/s from 2" in (told.description or "")
    bare = await noted.tamsin.slash(noted.questions, "compare", hole=2, mine="4 from 2")
    full = await noted.tamsin.slash(noted.questions, "compare", hole=2, mine="4 m/s from 2")
    mph = await noted.tamsin.slash(noted.questions, "compare", hole=2, mine="4 mph from 2")
    assert only_embed(bare).description == only_embed(full).description
    assert only_embed(bare).description != only_embed(mph).description


async def test_a_side_without_a_number_counts_and_can_be_corrected(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    told = await fill(noted, noted.tamsin, opened, outcome="short, a bit left")
    assert only_embed(told).title == (
        "Counted: hole 2, line A missed: short and left, not measured"
    )
    form = await noted.tamsin.click(told.response, label="Correct")
    assert fields_of(form.modal)["outcome"] == "short and left"
    mended = only_embed(await fill(noted, noted.tamsin, form, outcome="3 short 2 l"))
    assert mended.title == "Counted: hole 2, line A missed: 2.0 m left, 3.0 short"
