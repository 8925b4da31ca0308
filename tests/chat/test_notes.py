"""Publishing notes, For me, ceilings: what a coach and members see, and what a restart keeps."""

import asyncio
import re
from pathlib import Path
from typing import Any

import discord
import pytest

from bot.chat.publisher import Publisher
from storage import outbox
from storage.outbox import Message, Outbox
from tests.chat.asking import text
from tests.chat.booking import as_it_is, fields_of, fill, labels_of, only_embed, pick
from tests.chat.conftest import Stage

CUP = Path(__file__).resolve().parents[2] / "bot" / "demo" / "cup.toml"


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    """The demo's cup loaded, and a notes channel named."""
    attached = ("cup.toml", CUP.read_bytes())
    await stage.coach.slash(stage.questions, "event load", file=attached)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    for member in (stage.tamsin, stage.odile):
        await member.slash(stage.questions, "me division", division="Sail")
    return stage


async def publish(stage: Stage, **options: Any) -> str:
    result = await stage.coach.slash(stage.questions, "publish", **options)
    return result.response.content


async def for_me(stage: Stage, member: Any, *, wind: str, line: str = "A") -> discord.Embed:
    return (await moved(stage, member, wind=wind, line=line)).embeds[0]


async def moved(stage: Stage, member: Any, *, wind: str, line: str = "A") -> Any:
    form = await member.click(stage.notes.last_message, label="For me")
    answer = await member.submit_modal(form, {"wind": wind, "line": line})
    assert answer.ephemeral
    return answer.response


async def why(member: Any, message: Any) -> discord.Embed:
    return only_embed(await member.click(message, label="Why"))


async def refused(stage: Stage, command: str, **options: Any) -> str:
    result = await stage.tamsin.slash(stage.questions, command, **options)
    assert result.ephemeral and stage.env.errors
    return result.response.content


async def test_a_hole_is_one_message_with_its_lines_ceilings_and_button(cup: Stage) -> None:
    assert await publish(cup, hole=1) == f"Published 1 of 1 to {cup.notes.mention}."
    (message,) = cup.notes.history()
    embed = message.embeds[0]
    assert text(embed.title) == "Hole 1 · par 4 · 372 yd · Slipway"
    assert [field.name for field in embed.fields] == [
        "Sail · 8 mph from 1",
        "Oar · 6 mph from 1",
        "Ceilings",
    ]
    sail, oar = text(embed.fields[0].value), text(embed.fields[1].value)
    assert sail.startswith("★ **A** down the middle · as tested\n1 driver (yew) 228: **4.3 right, ")
    assert "**B**" not in sail and oar.startswith("**B** the safe one · as tested\n")
    assert "**C** over the pot bunker (idea): " in oar
    ceilings = text(embed.fields[2].value)
    assert "**A** holds up to " in ceilings and "mph into" in ceilings
    assert "any helping" in ceilings


async def test_the_whole_round_is_nine_messages_in_order_and_says_how_far(cup: Stage) -> None:
    assert (await publish(cup)).startswith("Published 9 of 9")
    titles = [text(message.embeds[0].title).split(" · ")[0] for message in cup.notes.history()]
    assert titles == [f"Hole {number}" for number in range(1, 10)]
    progress = [
        (request.json or {}).get("content", "")
        for request in cup.env.http_requests
        if request.path.endswith("/messages/@original")
    ]
    assert "Publishing: 4 of 9 holes are ready" in progress


async def test_publishing_again_changes_nothing_and_says_so(cup: Stage) -> None:
    await publish(cup, hole=3)
    before = cup.notes.last_message.id
    assert "1 stood there just so" in await publish(cup, hole=3)
    assert [message.id for message in cup.notes.history()] == [before]


async def test_a_changed_line_edits_its_message_in_place_also_after_a_restart(cup: Stage) -> None:
    await publish(cup, hole=1)
    before = cup.notes.last_message.id
    await cup.restart()
    result = await cup.coach.slash(
        cup.questions, "line status", hole=1, line="C", status="recommended"
    )
    assert result.acknowledged
    (message,) = cup.notes.history()
    assert message.id == before
    (oar,) = [f.value for f in message.embeds[0].fields if text(f.name).startswith("Oar")]
    assert text(oar).startswith("★ **C** over the pot bunker · computed\n")


async def test_another_round_moves_every_number_in_place(cup: Stage) -> None:
    await publish(cup, hole=1)
    before = cup.notes.last_message
    await cup.coach.slash(cup.questions, "event round", round="Closing round")
    (message,) = cup.notes.history()
    sail = message.embeds[0].fields[0]
    assert message.id == before.id and sail.name == "Sail · 11 mph from 10"
    assert "· moved from 8 mph from 1\n" in text(sail.value)
    assert "1 driver (yew) 228: " in text(sail.value) and "4.3 right" not in text(sail.value)


async def test_a_member_without_a_division_is_asked_and_then_shown_theirs(cup: Stage) -> None:
    await publish(cup, hole=1)
    asked = await cup.coach.click(cup.notes.last_message, label="More")
    assert asked.ephemeral
    shown = await cup.coach.click(asked.response, label="Oar")
    (embed,) = shown.response.embeds
    names = [text(field.name) for field in embed.fields]
    assert names[0] == "Oar · 6 mph from 1" and "B · tested · the safe one" in names
    assert not any(name.startswith(("A · ", "Sail")) for name in names)
    assert names[-1] == "Ceilings" and "**A**" not in text(embed.fields[-1].value)
    again = await cup.coach.slash(cup.questions, "hole", hole=1)
    assert text(again.response.embeds[0].fields[0].name) == "Oar · 6 mph from 1"


async def test_a_deleted_message_stays_away_until_published_again(cup: Stage) -> None:
    await publish(cup, hole=1)
    first = cup.notes.last_message
    await cup.coach.delete(first)
    await cup.coach.slash(cup.questions, "line status", hole=1, line="C", status="tested")
    assert cup.notes.history() == []
    await publish(cup, hole=1)
    (message,) = cup.notes.history()
    assert message.id != first.id


async def test_a_restart_in_the_middle_of_a_publish_leaves_no_hole_out_and_none_twice(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, brought = Publisher._bring, []

    async def only_four(self: Publisher, message: Message) -> None:
        if len(brought) < 4:
            brought.append(message.key)
            await real(self, message)

    claim = Outbox.claim
    monkeypatch.setattr(Publisher, "_bring", only_four)
    monkeypatch.setattr(Outbox, "claim", lambda self, limit: claim(self, limit=limit, lease_s=-1))
    monkeypatch.setattr(Publisher, "deliver", _one_round)
    await publish(cup)
    assert len(cup.notes.history()) == 4
    monkeypatch.undo()
    await cup.restart()
    holes = [text(message.embeds[0].title).split(" · ")[0] for message in cup.notes.history()]
    assert holes == [f"Hole {number}" for number in range(1, 10)]


async def _one_round(self: Publisher, community_id: int | None = None) -> int:
    waiting = await self._outbox.claim(limit=10)
    for message in waiting:
        await self._bring(message)
    return len(waiting)


async def test_what_discord_does_not_take_is_said_and_brought_later(
    cup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outbox, "FIRST_WAIT_S", 1.0)
    cup.env.inject_error("POST", f"/channels/{cup.notes.id}/messages", status=500)
    assert "tries again by itself" in await publish(cup, hole=2)
    assert cup.notes.history() == []
    await asyncio.sleep(1.1)
    await cup.env.advance_time(61)
    assert [text(m.embeds[0].title)[:6] for m in cup.notes.history()] == ["Hole 2"]


async def test_without_permission_the_coach_is_told_what_to_grant(cup: Stage) -> None:
    cup.env.inject_error("POST", f"/channels/{cup.notes.id}/messages", status=403, code=50013)
    said = await publish(cup, hole=1)
    assert said.startswith("The notes could not all be posted: ")


async def test_without_a_notes_channel_the_coach_is_told_how_to_name_one(stage: Stage) -> None:
    attached = ("cup.toml", CUP.read_bytes())
    await stage.coach.slash(stage.questions, "event load", file=attached)
    said = await publish(stage, hole=1)
    assert stage.env.errors and "There is no notes channel yet" in said


async def test_only_coaches_publish(cup: Stage) -> None:
    command = next(c for c in cup.bot.tree.get_commands() if c.name == "publish")
    assert isinstance(command, discord.app_commands.Command)
    assert command.default_permissions == discord.Permissions(manage_guild=True)


async def test_for_me_moves_the_line_and_says_what_changed_and_why(cup: Stage) -> None:
    await publish(cup, hole=1)
    await cup.tamsin.slash(cup.questions, "bag", club="8-iron", grade="yew")
    message = await moved(cup, cup.tamsin, wind="12 mph from 11")
    rows = [text(message.embeds[0].title), *text(message.embeds[0].description).splitlines()]
    assert re.fullmatch(
        r"1 · driver · set up \d+ yd \(full \+\d+\) · aim .* marks left, .*", rows[0]
    )
    assert rows[1].startswith("12 mph from 11 · 228 yd · ± ")
    assert rows[2].startswith("**2 · 8-iron · set up ") and rows[2].endswith("**")
    assert rows[3].startswith("12 mph from 11 · 128 yd, down 4 yd · ± ")
    assert rows[4] == "Hole 1, line A · your bag"
    embed = await why(cup.tamsin, message)
    title = text(embed.title)
    assert title.startswith("Hole 1, line A: aim ") and " marks left, " in title
    assert "Your wind **12 mph from 11**, tested in 8 mph from 1" in text(embed.description)
    second = embed.fields[1]
    assert second.name == "2 · 8-iron, 128 yd, down 4 yd"
    assert "The note: 3.3 marks" in text(second.value) and "Your wind adds" in text(second.value)
    assert "8-iron (yew): set up full" in text(second.value)
    assert "The note's 8-iron (oak, plover) was set up full" in text(second.value)
    assert "Margin ± " in text(second.value)


async def test_in_the_tested_wind_with_the_tested_grades_the_note_stands(cup: Stage) -> None:
    await publish(cup, hole=1)
    await cup.odile.slash(cup.questions, "bag", club="driver", grade="yew")
    await cup.odile.slash(cup.questions, "bag", club="8-iron", grade="oak")
    message = await moved(cup, cup.odile, wind="8 mph from 1")
    assert text(message.embeds[0].title).endswith(" · aim 4.3 marks right, 6.4 long")
    embed = await why(cup.odile, message)
    assert text(embed.title) == "Hole 1, line A: aim 4.3 marks right, 6.4 long"
    # What was tested is sure only up to the spread of the hits that tested it.
    assert (
        "Margin ± 1.8 yd (1.2 marks) across, ± 1.8 yd (1.2 marks) along (90%), of this move"
        in text(embed.fields[0].value)
    )


async def test_without_a_bag_the_default_grades_are_used_and_said(cup: Stage) -> None:
    await publish(cup, hole=1)
    message = await moved(cup, cup.odile, wind="8 mph from 1")
    assert "default grades, set yours with /bag" in text(message.embeds[0].description)
    embed = await why(cup.odile, message)
    assert "No bag set: default grades" in text(embed.description)
    assert "driver (ash)" in text(embed.fields[0].value)


async def test_the_form_is_prefilled_with_the_wind_of_the_members_division(cup: Stage) -> None:
    await publish(cup, hole=1)
    await cup.tamsin.slash(cup.questions, "me division", division="Oar")
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    fields = {part["component"]["custom_id"]: part for part in form.modal["components"]}
    assert fields["wind"]["component"]["value"] == "6 mph from 1"
    assert fields["line"]["label"] == "Line (B, C)"


async def test_a_shot_out_of_reach_is_said_with_what_would_reach(cup: Stage) -> None:
    await publish(cup, hole=1)
    embed = await for_me(cup, cup.odile, wind="30 mph into")
    assert text(embed.title) == "⚠ 1 · driver: not in this wind"
    body = text(embed.description)
    assert "set up" in body.splitlines()[0] and (
        "would reach" in body or "No club of yours reaches" in body
    )


async def test_another_line_is_one_press_away_in_the_same_wind_after_a_restart_too(
    cup: Stage,
) -> None:
    await publish(cup, hole=1)
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    answer = await cup.tamsin.submit_modal(form, {"wind": "9 mph from 4", "line": "A"})
    await cup.restart()
    other = await cup.tamsin.click(answer.response, label="Line C")
    embed = other.response.embeds[0]
    assert "Hole 1, line C" in text(embed.description)
    embed = await why(cup.tamsin, other.response)
    assert text(embed.title).startswith("Hole 1, line C")
    assert "Your wind **9 mph from 4**, tested in calm" in text(embed.description)


async def test_the_button_outlives_a_restart(cup: Stage) -> None:
    await publish(cup, hole=2)
    await cup.restart()
    embed = await for_me(cup, cup.tamsin, wind="5 helping", line="c")
    assert "Hole 2, line C" in text(embed.description)


async def test_another_wind_moves_the_line_in_place_also_after_a_restart(cup: Stage) -> None:
    await publish(cup, hole=2)
    message = await moved(cup, cup.tamsin, wind="9 mph from 4")
    await cup.restart()
    await pick(cup.tamsin, message, "12 mph")
    await pick(cup.tamsin, as_it_is(cup, message), "from 10")
    same = await moved(cup, cup.odile, wind="12 mph from 10")
    shown = as_it_is(cup, message)
    assert shown.embeds == same.embeds and "12 mph from 10" in text(same.embeds[0].description)
    assert labels_of(shown)[:5] == ["Went in", "Missed", "Why", "Picture", "Share"]
    told = only_embed(await cup.tamsin.click(shown, label="Went in"))
    assert "12 mph from 10" in text(told.description)  # what is shown is what is logged


async def test_a_past_cups_note_stands_in_its_own_last_round_and_asks(cup: Stage) -> None:
    await cup.tamsin.slash(cup.questions, "me division", division="Sail")
    await cup.coach.slash(cup.questions, "event round", round="Closing round")
    await publish(cup, hole=3)
    await cup.coach.slash(cup.questions, "event copy", name="Second Cup")
    await cup.coach.slash(cup.questions, "event use", event="Second Cup")
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    assert fields_of(form.modal)["wind"].startswith("7 mph from 225")
    opened = await cup.tamsin.click(cup.notes.last_message, label="Went in")
    assert opened.modal["title"] == "Not the current cup: hole 3 went in?"
    assert fields_of(opened.modal)["wind"].startswith("7 mph from SW")
    assert only_embed(await fill(cup, cup.tamsin, opened, line="A")).title is not None


@pytest.mark.parametrize(
    ("wind", "line", "sentence"),
    [
        ("sideways", "A", "“sideways” was not understood"),
        ("8 into, 7-iron", "A", "This should be a wind and nothing else"),
        ("8 into", "Q", "For Sail, hole 1 has lines A, C."),
        ("@everyone 8 into", "A", "“@everyone”"),
    ],
)
async def test_a_wrong_answer_in_the_form_gets_a_sentence_and_an_example(
    cup: Stage, wind: str, line: str, sentence: str
) -> None:
    await publish(cup, hole=1)
    form = await cup.tamsin.click(cup.notes.last_message, label="For me")
    answer = await cup.tamsin.submit_modal(form, {"wind": wind, "line": line})
    assert answer.ephemeral
    assert sentence in answer.response.content and "For example:" in answer.response.content


async def test_hole_shows_ones_own_division_and_the_button(cup: Stage) -> None:
    await cup.tamsin.slash(cup.questions, "me division", division="Oar")
    result = await cup.tamsin.slash(cup.questions, "hole", hole=1)
    assert result.ephemeral
    embed = result.response.embeds[0]
    assert embed.fields[0].name == "Oar · 6 mph from 1"
    assert not any("Sail" in text(field.name) for field in embed.fields)
    pressed = await cup.tamsin.click(result.response, label="For me")
    assert pressed.modal is not None


async def test_ceilings_come_as_a_table_by_the_hour(cup: Stage) -> None:
    result = await cup.tamsin.slash(cup.questions, "ceiling", hole=1, line="c")
    embed = result.response.embeds[0]
    assert text(embed.title).startswith("Hole 1, line C: holds up to ")
    rows = text(embed.description).split("```")[1].strip().splitlines()
    assert len(rows) == 13 and max(map(len, rows)) <= 30
    assert "Shot 2: allowance ± " in text(embed.description)
    assert "no shots logged yet" in text(embed.description)
    assert rows[1].startswith("12 into") and rows[1].endswith(" mph")


async def test_a_hole_or_a_line_that_is_not_there_is_said(cup: Stage) -> None:
    assert "For Sail, hole 1 has lines A, C." in await refused(cup, "ceiling", hole=1, line="Z")
    assert "The event has holes 1 to 9." in await refused(cup, "hole", hole=14)
