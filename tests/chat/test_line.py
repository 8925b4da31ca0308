"""/line: a line written, read back, saved, changed by two at once, looked back on."""

import asyncio
from typing import Any

import pytest
from sqlalchemy import select

from bot.commands.book.line_cog import LineCog
from shared.actor import Actor
from shared.errors import InputError
from storage.drafts import Drafts
from storage.schema import drafts
from tests.chat.asking import QUIET, card, refused, sent_mentions, suggested
from tests.chat.booking import (
    CUP,
    as_it_is,
    fields_of,
    fill,
    labels_of,
    load_cup,
    only_embed,
    only_message,
)
from tests.chat.conftest import Stage

ROWS = "driver 228 aim 4.1 right 5 long room 12 short leaves 128 to 137 note low\n8i 128 down 4"


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    return stage


async def opened(stage: Stage, who: Any, command: str, /, **options: Any) -> Any:
    result = await who.slash(stage.questions, command, **options)
    assert result.modal is not None, result.response and result.response.content
    return result


async def written(stage: Stage, who: Any | None = None, /, **typed: Any) -> Any:
    """The card of a new line on hole 1."""
    who = who or stage.coach
    form = await opened(stage, who, "line add", hole=1, title="the long way")
    return only_message(await fill(stage, who, form, **({"rows": ROWS} | typed)))


async def waiting(stage: Stage, who: Any) -> list[str]:
    """The tokens of somebody's drafts, oldest first."""
    assert stage.bot.services is not None
    c = drafts.c
    query = select(c.token).where(c.community_id == stage.guild.id, c.member_id == who.id)
    read = stage.bot.services.db.read
    query = query.order_by(c.id)
    return list(await read(lambda connection: connection.execute(query).scalars().all()))


async def test_a_line_is_written_read_back_and_saved(cup: Stage) -> None:
    await card(cup, cup.coach, "bag", club="driver", grade="yew")
    form = await opened(cup, cup.coach, "line add", hole=1, title="the long way")
    assert form.modal["title"] == "Hole 1, new line"
    assert fields_of(form.modal) == {
        "wind": "8 mph from 1",  # the hole's, for the first division of the current round
        "rows": "",
        "notes": "",
        "status": ["idea"],
        "divisions": [],
    }
    result = await fill(
        cup, cup.coach, form, rows=ROWS, notes="went in twice", status=["tested"], divisions=["Oar"]
    )
    message = only_message(result)
    assert message.ephemeral
    assert labels_of(message) == ["Save", "Change", "Give up"]
    (embed,) = message.embeds
    assert embed.title == "Hole 1, new line, not saved yet: the long way"
    assert embed.description == (
        "Tested in **8 mph from 1**\ntested · for Oar · by rosalind\nwent in twice"
    )
    assert [field.name for field in embed.fields] == [
        "1 · driver (yew), 228 yd",  # the bag it was tested in
        "2 · 8-iron (ash), 128 yd, down 4 yd",
    ]
    said = (embed.fields[0].value or "").split("\n")
    assert said[0] == "**Aim 4.1 marks right, 5.0 long** (worked)"
    assert said[1].startswith("Computed ") and "marks (" in said[1] and "yd) right" in said[1]
    assert said[2].startswith("Carry 228 yd, plays 23") and said[2].endswith("driver yew")
    assert said[3:] == ["Room 12 yd short", "Leaves 128 to 137 yd", "low"]
    assert "computed" in (embed.fields[1].value or "")

    unsaved = await refused(cup, cup.tamsin, "cup line", hole=1, line="D")
    assert "Hole 1 has no such line; it has A, B, C." in unsaved
    await cup.coach.click(message, label="Save")
    assert message.embeds[0].title == "Saved: hole 1, line D: the long way"
    assert labels_of(message) == []
    shown = await card(cup, cup.tamsin, "cup line", hole=1, line="d")
    assert shown.title == "Hole 1, line D: the long way"
    assert shown.fields[0].value == embed.fields[0].value


async def test_what_cant_be_read_is_said_row_by_row_and_nothing_typed_is_lost(cup: Stage) -> None:
    rows = "driver 228\nspoon 12\n8-iron\n*5-iron* 150 aim 5"
    message = await written(cup, rows=rows, notes="`mine` 🏆")
    assert labels_of(message) == ["Change", "Give up"]
    told, own = message.embeds
    assert [line for line in (told.description or "").split("\n") if line.startswith("**")] == [
        "**Shot 2** `spoon 12`: “spoon” was not understood.",
        "**Shot 3** `8-iron`: This shot needs a distance.",
        "**Shot 4** `*5-iron* 150 aim 5`: Give each number with its way.",
    ]
    assert "For example: `6-iron, 150 yd`" in (told.description or "")
    assert own.description == f"```\nthe long way\n8 mph from 1\n{rows}\n'mine' 🏆\n```"
    form = await cup.coach.click(message, label="Change")
    assert fields_of(form.modal)["rows"] == rows
    assert fields_of(form.modal)["notes"] == "`mine` 🏆"
    await fill(cup, cup.coach, form, rows="driver 228\n8-iron 128")
    assert message.embeds[0].title == "Hole 1, new line, not saved yet: the long way"
    assert labels_of(message) == ["Save", "Change", "Give up"]
    await cup.coach.click(message, label="Save")
    assert message.embeds[0].title == "Saved: hole 1, line D: the long way"


async def test_a_wind_that_cant_be_read_is_said(cup: Stage) -> None:
    message = await written(cup, wind="5-iron 160")
    assert (message.embeds[0].description or "").startswith(
        "Under **Wind it was tested in** you wrote `5-iron 160`. "
        "This should be a wind and nothing else.\nFor example: `8.4 mph from 2`"
    )


async def test_giving_up_shows_the_text_once_more(cup: Stage) -> None:
    message = await written(cup)
    await cup.coach.click(message, label="Give up")
    assert message.embeds[0].title == "Given up, nothing was saved; this was the text"
    assert ROWS in (message.embeds[0].description or "")
    assert labels_of(message) == []
    said = await refused(cup, cup.coach, "cup line", hole=1, line="D")
    assert "it has A, B, C" in said


async def test_the_buttons_outlive_a_restart(cup: Stage) -> None:
    message = await written(cup)
    await cup.restart()
    form = await cup.coach.click(message, label="Change")
    assert fields_of(form.modal)["rows"] == ROWS
    await cup.restart()
    await cup.coach.click(message, label="Save")
    assert (await card(cup, cup.tamsin, "cup line", hole=1, line="D")).title == (
        "Hole 1, line D: the long way"
    )


async def test_a_button_pressed_twice_saves_once(cup: Stage) -> None:
    await written(cup)
    cog = cup.bot.get_cog("LineCog")
    assert isinstance(cog, LineCog) and cup.bot.services is not None
    coach = Actor(cup.guild.id, cup.coach.id, "rosalind")
    (token,) = await waiting(cup, cup.coach)
    presses = await asyncio.gather(
        *(cog.service.save(coach, token) for _ in range(3)), return_exceptions=True
    )
    assert [isinstance(press, InputError) for press in presses] == [False, True, True]
    hole = await cup.bot.services.book.hole(coach.community_id, 1)
    assert [line.variant for line in hole.lines] == ["A", "B", "C", "D"]


async def test_two_coaches_at_once_and_the_second_keeps_both_texts(cup: Stage) -> None:
    role = cup.guild.roles["Coach"]
    second = cup.guild.add_member(cup.env.create_user("benedick"), roles=[role])
    first_form = await opened(cup, cup.coach, "line edit", hole=3, line="A")
    second_form = await opened(cup, second, "line edit", hole=3, line="a", title="my *line*")
    assert second_form.modal["title"] == "Hole 3, line A"
    before = fields_of(first_form.modal)
    assert before["wind"] == "10 mph from 11" and before["status"] == ["recommended"]
    assert before["rows"].startswith("driver (yew), 226 yd; aim ")

    first = only_message(await fill(cup, cup.coach, first_form, notes="the first text"))
    second_card = only_message(await fill(cup, second, second_form, notes="the second text"))
    await cup.coach.click(first, label="Save")
    assert first.embeds[0].title == "Saved: hole 3, line A: left of the wall"
    await second.click(second_card, label="Save")
    theirs, mine = second_card.embeds
    assert theirs.title == "Somebody was quicker; yours is not saved yet"
    assert (theirs.description or "").startswith("**rosalind** changed line 3A <t:")
    assert "the first text" in (theirs.description or "")
    assert "the second text" in (mine.description or "")
    assert labels_of(second_card) == ["Save mine over it", "Change", "Give up"]
    shown = await card(cup, cup.tamsin, "cup line", hole=3, line="A")
    assert "the first text" in (shown.description or "")

    form = await second.click(second_card, label="Change")
    assert fields_of(form.modal)["notes"] == "the second text"
    await fill(cup, second, form, notes="both texts")
    await second.click(second_card, label="Save")
    shown = await card(cup, cup.tamsin, "cup line", hole=3, line="A")
    assert shown.title == "Hole 3, line A: my \\*line\\*"
    assert "both texts" in (shown.description or "")
    history = await card(cup, cup.tamsin, "cup history", hole=3, line="A")
    said = [line for line in (history.description or "").split("\n") if line.startswith("**")]
    assert [line.split(" by ")[1] for line in said] == [
        "benedick: title, notes changed",
        "rosalind: notes changed",
        "rosalind: loaded",
    ]


async def test_mine_over_theirs(cup: Stage) -> None:
    mine = await opened(cup, cup.coach, "line edit", hole=3, line="B")
    message = only_message(await fill(cup, cup.coach, mine, notes="mine"))
    await card(cup, cup.coach, "line status", hole=3, line="B", status="recommended")
    await cup.coach.click(message, label="Save")
    await cup.coach.click(message, label="Save mine over it")
    assert (message.embeds[0].title or "").startswith("Saved: hole 3, line B")
    shown = await card(cup, cup.tamsin, "cup line", hole=3, line="B")
    assert (shown.description or "").split("\n")[1].startswith("tested · for Oar")


async def test_a_line_that_a_load_removed_is_told_and_can_be_saved_over(cup: Stage) -> None:
    form = await opened(cup, cup.coach, "line edit", hole=9, line="B")
    message = only_message(await fill(cup, cup.coach, form, notes="mine"))
    at = CUP.rindex(b"[[holes.lines]]")
    asked = only_message(
        await cup.coach.slash(cup.questions, "event load", file=("cup.toml", CUP[:at]))
    )
    assert "Missing from the file: line 9B." in (asked.embeds[0].description or "")
    await cup.coach.click(asked, label="Load the file as it is")
    said = as_it_is(cup, asked).embeds[0].description or ""
    assert "Removed: line 9B (last by rosalind)." in said
    await cup.coach.click(message, label="Save")
    assert message.embeds[0].title == "The line is gone; yours is not saved yet"
    await cup.coach.click(message, label="Save mine over it")
    shown = await card(cup, cup.tamsin, "cup line", hole=9, line="B")
    assert "mine" in (shown.description or "")


async def test_an_old_revision_is_brought_back(cup: Stage) -> None:
    await card(cup, cup.coach, "line retire", hole=3, line="B")
    await card(cup, cup.coach, "line status", hole=3, line="B", status="Recommended ")
    which = {"hole": 3, "line": "B"}
    offered = await suggested(cup, cup.coach, "line bring-back", "revision", "", **which)
    assert [value for _, value in offered] == [2, 1]
    back = await card(cup, cup.coach, "line bring-back", **which, revision=1)
    assert back.title == "Line 3B: revision 1 is back"
    message = only_message(await cup.tamsin.slash(cup.questions, "cup history", **which))
    said = [
        line.split(": ", 1)[1]
        for line in (message.embeds[0].description or "").split("\n")
        if line.startswith("**")
    ]
    assert said == [
        "recommended → tested (brought back revision 1)",
        "retired → recommended",
        "tested → retired",
        "loaded",
    ]
    shown = await card(cup, cup.tamsin, "cup line", hole=3, line="B")
    assert "\ntested · for Oar" in (shown.description or "")
    refusal = await refused(cup, cup.coach, "line bring-back", **which, revision=9)
    assert "Line 3B has no revision 9 to bring back." in refusal


async def test_suggestions_name_holes_lines_and_statuses(cup: Stage) -> None:
    holes = await suggested(cup, cup.tamsin, "cup line", "hole", "")
    assert holes[0] == ("1 · par 4 · lines A B C", 1)
    assert len(holes) == 9
    lines = await suggested(cup, cup.tamsin, "cup line", "line", "", hole=5)
    assert lines[2] == ("C · at the flag · retired", "C")
    assert await suggested(cup, cup.tamsin, "cup line", "line", "") == []
    statuses = await suggested(cup, cup.coach, "line status", "status", "RE", hole=5, line="C")
    assert [value for _, value in statuses] == ["recommended", "retired"]


@pytest.mark.parametrize(
    ("command", "options", "says"),
    [
        ("cup line", {"hole": 10, "line": "A"}, "The event has holes 1 to 9."),
        ("cup line", {"hole": 2, "line": "@everyone"}, "it has A, B, C."),
        ("line edit", {"hole": 2, "line": "🏆" * 40}, "it has A, B, C."),
        ("line status", {"hole": 2, "line": "A", "status": "fine"}, "A line is idea, tested"),
        ("line retire", {"hole": 2, "line": ""}, "it has A, B, C."),
        ("cup history", {"hole": 2, "line": "ש"}, "it has A, B, C."),
        ("line add", {"hole": 2, "title": "x" * 61}, "at most 60 characters"),
        ("line add", {"hole": 2, "title": "\u200b\u202e"}, "that can be seen"),
    ],
)
async def test_what_is_not_there_gets_a_sentence(
    cup: Stage, command: str, options: dict[str, Any], says: str
) -> None:
    said = await refused(cup, cup.coach, command, **options)
    assert says in said
    assert len(said) < 600


async def test_words_of_people_are_shown_as_typed_and_ping_nobody(cup: Stage) -> None:
    hostile = "**@everyone** <@1> [x](http://y) `z` \u202e ש 🏆"
    form = await opened(cup, cup.coach, "line add", hole=2, title="**@here** ש")
    message = only_message(
        await fill(cup, cup.coach, form, rows=f"5i 150 note {hostile}", notes=hostile)
    )
    (embed,) = message.embeds
    assert embed.title == ("Hole 2, new line, not saved yet: \u2068\\*\\*@here\\*\\* ש\u2069")
    shown = "\u2068\\*\\*@everyone\\*\\* \\<@1> \\[x](http://y) \\`z\\`  ש 🏆\u2069"
    assert (embed.description or "").endswith(shown)
    assert (embed.fields[0].value or "").endswith(shown)
    assert all(mentions == QUIET for mentions in sent_mentions(cup))


async def test_a_line_of_the_greatest_length_passes_the_form(cup: Stage) -> None:
    row = "5-iron 150 aim 5 right room 3 short note " + "n" * 390
    message = await written(cup, rows="\n".join([row] * 8), notes="w" * 600)
    assert len(message.embeds[0].fields) == 8
    await cup.coach.click(message, label="Save")
    assert (message.embeds[0].title or "").startswith("Saved: hole 1, line D")
    form = await opened(cup, cup.coach, "line edit", hole=1, line="D")
    assert fields_of(form.modal)["rows"].count("n" * 390) == 8


async def test_an_event_changed_meanwhile_does_not_misplace_a_line(cup: Stage) -> None:
    message = await written(cup)
    await card(cup, cup.coach, "event copy", name="Second Cup")
    await card(cup, cup.coach, "event use", event="Second Cup")
    await cup.coach.click(message, label="Save")
    said = await refused(cup, cup.coach, "cup line", hole=1, line="D")
    assert "it has A, B, C" in said
    await card(cup, cup.coach, "event use", event="Windlass Cup")
    shown = await card(cup, cup.coach, "cup line", hole=1, line="D")
    assert shown.title == "Hole 1, line D: the long way"


async def test_only_its_writer_finds_a_draft(cup: Stage) -> None:
    services = cup.bot.services
    assert services is not None
    await written(cup)
    (token,) = await waiting(cup, cup.coach)
    assert await waiting(cup, cup.tamsin) == []
    assert await Drafts(services.db).get(cup.guild.id, cup.tamsin.id, token) is None
    for _ in range(6):
        await written(cup)
    assert len(await waiting(cup, cup.coach)) == 5


async def test_the_embeds_of_a_full_conflict_fit(cup: Stage) -> None:
    row = "5-iron 150 aim 5 right room 3 short note " + "n" * 390
    form = await opened(cup, cup.coach, "line edit", hole=2, line="A")
    message = only_message(
        await fill(cup, cup.coach, form, rows="\n".join([row] * 8), notes="w" * 600)
    )
    await card(cup, cup.coach, "line retire", hole=2, line="A")
    await cup.coach.click(message, label="Save")
    assert len(message.embeds) == 2
    assert (
        only_embed(await cup.tamsin.slash(cup.questions, "cup history", hole=2, line="A")).title
        == "History of line 2A"
    )
