"""Logging results by the buttons of notes and For-me cards, and what becomes of them later."""

import re
from typing import Any

import aiohttp
import discord
import pytest

from bot.commands.results.cog import ResultsCog
from bot.services.results.service import Try
from shared.actor import Actor
from storage.played import Result
from tests.chat.asking import text
from tests.chat.booking import fields_of, fill, labels_of, load_cup
from tests.chat.conftest import Stage


@pytest.fixture
async def noted(stage: Stage) -> Stage:
    """The demo's cup loaded, hole 2 published, Tamsin in the division Sail, Odile in Oar."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.odile.slash(stage.questions, "me division", division="Oar")
    return stage


def note(stage: Stage) -> Any:
    return stage.notes.history()[0]


def said_on_note(stage: Stage) -> list[str]:
    """The results a note shows."""
    lines = (note(stage).embeds[0].description or "").split("\n")
    return [line for line in lines if re.match(r"\*\*[A-Z]\*\* \d", line)]


def told(result: Any) -> discord.Embed:
    assert result.ephemeral
    message = result.response or result.followups[0]
    assert len(message.embeds) == 1, message.content
    return message.embeds[0]


async def kept(stage: Stage, who: Any) -> list[Result]:
    cog = stage.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    return await cog.service.results.of_member(stage.guild.id, who.id)


async def press(stage: Stage, who: Any, label: str, **typed: str) -> Any:
    """Press a button of the note and fill in the form it opens."""
    opened = await who.click(note(stage), label=label)
    return await fill(stage, who, opened, **typed)


async def test_went_in_asks_for_line_and_wind_prefilled_and_shows_on_the_note(
    noted: Stage,
) -> None:
    opened = await noted.tamsin.click(note(noted), label="Went in")
    assert fields_of(opened.modal) == {"line": "A", "wind": "9 mph from 3"}
    embed = told(await fill(noted, noted.tamsin, opened))
    assert embed.title == "Counted: hole 2, line A went in"
    assert "Your try 1 on this line: 9 mph from 3 · 6-iron" in text(embed.description)
    assert said_on_note(noted) == ["**A** 1 try, 1 went in"]


async def test_missed_asks_three_things_at_most_and_keeps_the_miss_for_learning(
    noted: Stage,
) -> None:
    await noted.tamsin.slash(noted.questions, "bag", club="6-iron", grade="yew")
    opened = await noted.tamsin.click(note(noted), label="Missed")
    assert set(fields_of(opened.modal)) == {"line", "outcome", "wind"}
    embed = told(
        await fill(noted, noted.tamsin, opened, outcome="5 short, 3 right", wind="12 from 4")
    )
    assert embed.title == "Counted: hole 2, line A missed: 3.0 yd right, 5.0 short"
    assert "12 mph from 4" in text(embed.description)
    (result,) = await kept(noted, noted.tamsin)
    played = result.played
    assert played.miss_cm == (-457, 274) and not played.holed
    assert (played.club, played.ball) == ("6-iron", "plover")
    assert played.effect_cm is not None and played.observed_cm is not None
    assert played.effect_cm[1] < -500  # a wind from the right blows it left
    assert [part.scope for part in played.parts] == ["response", "hits"]


async def test_the_same_press_delivered_twice_counts_once(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    cog = noted.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    seen: list[Any] = []
    real = noted.bot.on_interaction

    async def twice(interaction: Any) -> None:
        seen.append(interaction)
        await real(interaction)

    noted.bot.add_listener(twice, "on_interaction")
    answer = await fill(noted, noted.tamsin, opened, outcome="2 long")
    assert len(seen) == 1
    titles = [m.embeds[0].title for m in (answer.response, *answer.followups) if m]
    assert sorted(titles) == [
        "Counted before, not twice: hole 2, line A missed: 2.0 yd long",
        "Counted: hole 2, line A missed: 2.0 yd long",
    ]
    assert said_on_note(noted) == ["**A** 1 try, 0 went in"]
    assert len(await kept(noted, noted.tamsin)) == 1


async def test_two_presses_by_intent_count_twice(noted: Stage) -> None:
    await press(noted, noted.tamsin, "Went in")
    embed = told(await press(noted, noted.tamsin, "Went in"))
    assert text(embed.description).startswith("Your try 2 on this line")
    await press(noted, noted.odile, "Missed", line="B", outcome="1 mark left")
    assert said_on_note(noted) == ["**A** 2 tries, 2 went in", "**B** 1 try, 0 went in"]


async def test_on_a_for_me_card_nothing_known_is_asked_again(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    card = await fill(noted, noted.tamsin, opened, wind="11 mph from 2")
    assert labels_of(card.response)[:2] == ["Went in", "Missed"]
    embed = told(await noted.tamsin.click(card.response, label="Went in"))
    assert embed.title == "Counted: hole 2, line A went in"
    assert "11 mph from 2" in text(embed.description)
    form = await noted.tamsin.click(card.response, label="Missed")
    assert fields_of(form.modal) == {"outcome": "", "wind": "11 mph from 2"}


async def test_a_form_sent_twice_counts_once(noted: Stage) -> None:
    cog = noted.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    who = Actor(noted.guild.id, noted.tamsin.id, "Tamsin")
    opening = await cog.service.opening(who, event="Windlass Cup", hole=2, variant="A")
    assert opening.attempt == 1
    played = Try("Windlass Cup", 2, "A", "11 mph from 2")
    for interaction_id, counted in ((71, True), (72, False)):
        told = await cog.service.log(
            who, played, "3 left", interaction_id=interaction_id, attempt=opening.attempt
        )
        assert told.counted is counted and told.tally is not None and told.tally.tries == 1


async def test_a_restart_between_press_and_form_loses_nothing(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    await noted.restart()
    embed = told(await fill(noted, noted.tamsin, opened, outcome="4 long 2 left"))
    assert embed.title == "Counted: hole 2, line A missed: 2.0 yd left, 4.0 long"
    assert said_on_note(noted) == ["**A** 1 try, 0 went in"]


async def test_a_result_is_corrected_and_taken_back_and_every_change_is_kept(
    noted: Stage,
) -> None:
    answer = await press(noted, noted.tamsin, "Went in")
    await noted.restart()
    form = await noted.tamsin.click(answer.response, label="Correct")
    assert fields_of(form.modal) == {"outcome": "in", "wind": "9 mph from 3"}
    fixed = await fill(noted, noted.tamsin, form, outcome="6 short")
    assert told(fixed).title == "Counted: hole 2, line A missed: 6.0 yd short"
    assert "(corrected)" in text(told(fixed).description)
    assert said_on_note(noted) == ["**A** 1 try, 0 went in"]
    (result,) = await kept(noted, noted.tamsin)
    back = await noted.tamsin.click(fixed.response, label="Take back")
    assert back.acknowledged and said_on_note(noted) == []
    cog = noted.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    editions = await cog.service.results.editions(result.id)
    assert [each.played.holed for each in editions] == [True, False]
    assert all(each.removed_at is not None for each in editions)


async def test_only_its_author_changes_a_result_and_only_while_the_round_runs(
    noted: Stage,
) -> None:
    answer = await press(noted, noted.tamsin, "Went in")
    (result,) = await kept(noted, noted.tamsin)
    other = await noted.odile.slash(noted.questions, "results", result=result.id)
    assert "Only who logged a result can change it." in other.response.content
    assert noted.env.errors
    await noted.coach.slash(noted.questions, "event round", round="Closing round")
    late = await noted.tamsin.click(answer.response, label="Correct")
    assert "is over; its results stand" in late.response.content
    assert said_on_note(noted) == ["**A** 1 try, 1 went in"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"outcome": "sideways"}, "Say whether it went in"),
        ({"outcome": "5 short 3 short"}, "twice"),
        ({"outcome": "@everyone 5 short"}, "Say whether it went in"),
        ({"outcome": "قصير 5"}, "Say whether it went in"),
        ({"outcome": "900 long"}, "at most 300 yards"),
        ({"wind": "loud"}, "was not understood"),
        ({"line": "Q"}, "Hole 2 has A, B, C"),
    ],
)
async def test_what_cannot_be_read_gets_a_sentence_and_a_right_example(
    noted: Stage, typed: dict[str, str], sentence: str
) -> None:
    answer = await press(noted, noted.tamsin, "Missed", **typed)
    assert answer.ephemeral and sentence in answer.response.content
    assert "For example:" in answer.response.content
    assert await kept(noted, noted.tamsin) == []


async def test_a_deleted_note_stays_away_and_the_result_is_kept(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    card = await fill(noted, noted.tamsin, opened, wind="11 mph from 2")
    await noted.coach.delete(note(noted))
    embed = told(await noted.tamsin.click(card.response, label="Went in"))
    assert embed.title == "Counted: hole 2, line A went in"
    assert noted.notes.history() == []


async def test_a_deleted_channel_stops_no_result(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    card = await fill(noted, noted.tamsin, opened, wind="11 mph from 2")
    path = f"/channels/{noted.notes.id}/messages/{note(noted).id}"
    noted.env.inject_error("PATCH", path, status=404, code=10003)
    embed = told(await noted.tamsin.click(card.response, label="Went in"))
    assert embed.title == "Counted: hole 2, line A went in"
    assert len(await kept(noted, noted.tamsin)) == 1


async def test_a_press_whose_answer_did_not_arrive_counts_once_with_the_next(
    noted: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    card = await fill(noted, noted.tamsin, opened, wind="11 mph from 2")

    async def lost(*_: Any, **__: Any) -> None:
        raise aiohttp.ServerDisconnectedError

    monkeypatch.setattr(discord.InteractionResponse, "send_message", lost)
    unheard = await noted.tamsin.click(card.response, label="Went in")
    assert unheard.response is None and len(await kept(noted, noted.tamsin)) == 1
    monkeypatch.undo()
    again = told(await noted.tamsin.click(card.response, label="Went in"))
    assert "went in" in text(again.title) and len(await kept(noted, noted.tamsin)) == 1
    other = told(await noted.tamsin.click(card.response, label="Went in"))
    assert other.title == "Counted: hole 2, line A went in"
    assert len(await kept(noted, noted.tamsin)) == 2


async def test_results_lists_ones_own_newest_first(noted: Stage) -> None:
    empty = await noted.tamsin.slash(noted.questions, "results")
    assert empty.response.embeds[0].title == "You have logged no result yet"
    await press(noted, noted.tamsin, "Missed", outcome="7 left")
    await press(noted, noted.tamsin, "Went in", line="B")
    shown = (await noted.tamsin.slash(noted.questions, "results")).response.embeds[0]
    rows = shown.description.split("\n")
    assert rows[0].startswith("**Hole 2, line B** went in")
    assert rows[2].startswith("**Hole 2, line A** missed: 7.0 yd left")


async def test_a_miss_that_a_mistyped_wind_explains_is_asked_about(noted: Stage) -> None:
    await noted.tamsin.slash(noted.questions, "bag", club="6-iron", grade="yew")
    for _ in range(8):  # enough to know what this game's wind does
        opened = await noted.tamsin.click(note(noted), label="Went in")
        await fill(noted, noted.tamsin, opened, wind="12 mph from 3")
    opened = await noted.tamsin.click(note(noted), label="Went in")
    plain = told(await fill(noted, noted.tamsin, opened, wind="12 mph from 3"))
    assert "was it that?" not in (plain.description or "")
    opened = await noted.tamsin.click(note(noted), label="Missed")
    # Aimed for a wind from the right, and it came from the left: twice the drift, to the right.
    asked = told(await fill(noted, noted.tamsin, opened, outcome="31 right", wind="12 mph from 3"))
    assert "left for right: was it that?" in (asked.description or "")


async def test_a_miss_is_taken_from_the_aim_that_was_told_though_the_answer_has_moved(
    noted: Stage,
) -> None:
    async def told_aim() -> float:
        asked = await noted.tamsin.slash(
            noted.questions, "wind", question="9 from 9, 6-iron (yew), 154, up 6, back 2"
        )
        aim = re.match(r"([\d.]+) yd left", asked.response.embeds[0].description.split("\n")[1])
        assert aim is not None
        return -float(aim[1])

    await noted.tamsin.slash(noted.questions, "bag", club="6-iron", grade="yew")
    before = await told_aim()
    for _ in range(6):  # meanwhile others find that it blows less across
        await press(noted, noted.odile, "Missed", line="A", outcome="4 left", wind="9 from 9")
    logged = await press(noted, noted.tamsin, "Missed", line="A", outcome="1 left", wind="9 from 9")
    (result,) = await kept(noted, noted.tamsin)
    assert result.played.observed_cm is not None
    seen_yd = result.played.observed_cm[1] / 91.44
    assert seen_yd == pytest.approx(-1.0 - before, abs=0.06)
    assert await told_aim() > before + 0.5  # by now it tells less

    opened = await noted.tamsin.click(logged.response, label="Correct")
    await fill(noted, noted.tamsin, opened, outcome="2 left")
    (result,) = await kept(noted, noted.tamsin)
    assert result.played.observed_cm is not None
    assert result.played.observed_cm[1] / 91.44 == pytest.approx(-2.0 - before, abs=0.06)
