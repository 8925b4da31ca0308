"""/next: what is left after a shot, answered to the member alone."""

import re

from tests.chat.asking import answered, refused, text
from tests.chat.booking import only_embed
from tests.chat.conftest import Stage


async def test_what_is_left_is_answered_with_two_rows_a_club_and_no_chance(stage: Stage) -> None:
    await stage.odile.slash(stage.questions, "bag", grade="oak")
    said = await answered(stage, stage.odile, "next", left="171 left, rough, wind 6 from 4")
    embed = said.embeds[0]
    first = r"\S+ · set up \d+ yd \(full .\d+(, \d+%)?\) · aim [\d.]+ marks right, [\d.]+ short"
    assert said.ephemeral and re.fullmatch(first, text(embed.title)), embed.title
    lines = text(embed.description).splitlines()
    assert lines[0] == "6 mph from 4 · 171 yd, rough onto green"
    assert lines[3] == "*Or, set-up from full in yd: aim in marks*"
    assert re.fullmatch(r"\*\*\S+\*\* .\d+: [\d.]+ right, [\d.]+ short", lines[4]), lines[4]
    assert all(len(line.replace("*", "")) <= 40 for line in lines[:8])  # what a phone shows
    ground = re.fullmatch(r"down at (\d+) yd, runs (\d+), leaves about \d+", lines[1])
    assert ground and abs(int(ground[1]) + int(ground[2]) - 171) <= 1
    assert "%" not in lines[-1] and "not enough tries to give a chance" in lines[-1]


async def test_a_metric_member_reads_metres_and_is_told_the_usual_lie(stage: Stage) -> None:
    await stage.odile.slash(stage.questions, "bag", units="metric")
    said = await answered(stage, stage.odile, "next", left="140, 3 from 2", onto="fairway")
    assert re.search(r" · set up \d+ m ", text(said.embeds[0].title))
    shown = text(said.embeds[0].description)
    assert shown.startswith("3 m/s from 2 · 140 m, fairway onto fairway\n")
    assert " yd" not in shown and "Another lie" in shown


async def test_a_direct_message_answers_it_with_the_bag_of_the_community(stage: Stage) -> None:
    await stage.odile.slash(stage.questions, "bag", grade="oak", units="metric")
    here = only_embed(await stage.odile.slash(stage.questions, "next", left="140, rough, 3 from 2"))
    there = await stage.odile.user.slash("next", left="140, rough, 3 from 2")
    assert only_embed(there) == here and "Leeward" not in str(here.description)


async def test_what_cannot_be_played_or_read_is_refused_with_an_example(stage: Stage) -> None:
    assert "No club of yours plays that" in await refused(stage, stage.odile, "next", left="500")
    said = await refused(stage, stage.odile, "next", left="171 @everyone, rough")
    assert "mention" in said and "/next left:171, rough, 8.4 mph from 2" in said
    await stage.odile.slash(stage.questions, "bag", units="metres mph")
    said = await refused(stage, stage.odile, "next", left="rough")
    assert "/next left:156, rough, 8.4 mph from 2" in said
