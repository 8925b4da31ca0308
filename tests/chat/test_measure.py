"""/measure: a designed series, its shrinking margin, taking it up again, the chart it ends in."""

import re
from typing import Any

import numpy as np
import pytest

from bot.services.learning.full_pass import FullPass
from shared.quantities import Wind
from shared.shot_text import parse
from storage.series import MeasuredSeries
from storage.vectors import VectorSums
from tests.chat.asking import card, refused, text
from tests.chat.conftest import Stage
from tests.kits import demo_caddie, demo_kit

GAIN_ALONG, GAIN_ACROSS = 1.3, 1.3
CLUB = "6-iron"


async def begin(stage: Stage, who: Any) -> Any:
    return (await who.slash(stage.questions, "measure", club=CLUB)).response


def landing(shot: str, aim: str, rng: np.random.Generator) -> str:
    """Where the hidden game lets a shot come down: its wind does GAIN times what the law says."""
    read = parse(f"{shot}, {CLUB}", kit=demo_kit())
    answer = demo_caddie().answer(shot=read)
    mark_yd = _mark_yd(answer)
    aimed = {way: float(n) for n, way in re.findall(r"([\d.]+)(?: marks)? (\w+)", aim)}
    right = (aimed.get("right", 0) - aimed.get("left", 0)) * mark_yd
    long = (aimed.get("long", 0) - aimed.get("short", 0)) * mark_yd
    miss_right = right - GAIN_ACROSS * answer.allowance.right_yd + rng.normal(0, 0.5)
    miss_long = long - GAIN_ALONG * answer.allowance.long_yd + rng.normal(0, 0.5)
    return (
        f"{abs(miss_long):.1f} yd {'long' if miss_long > 0 else 'short'}, "
        f"{abs(miss_right):.1f} yd {'right' if miss_right > 0 else 'left'}"
    )


def _mark_yd(answer: Any) -> float:
    a = answer.allowance
    big = max((a.right_yd, a.right_marks), (a.long_yd, a.long_marks), key=lambda p: abs(p[1]))
    return big[0] / big[1]


async def hit(stage: Stage, who: Any, message: Any, rng: np.random.Generator) -> Any:
    form = await who.click(message, label="Log it")
    given = {
        part["component"]["custom_id"]: part["component"].get("value", "")
        for part in form.modal["components"]
    }
    landed = landing(given["shot"], given["aim"], rng)
    answer = await who.submit_modal(form, {**given, "landed": landed})
    return answer.response


def margin(message: Any) -> float:
    found = re.search(r"± ([\d.]+) yd after", text(message.embeds[0].description))
    assert found
    return float(found[1])


async def test_a_series_names_the_next_shot_and_its_margin_shrinks(stage: Stage) -> None:
    rng = np.random.default_rng(5)
    message = await begin(stage, stage.tamsin)
    first = message.embeds[0]
    assert text(first.title).startswith("6-iron (ash): hit ")
    assert "Margin now ±" in text(first.description)
    margins: list[float] = []
    for _ in range(4):
        message = await hit(stage, stage.tamsin, message, rng)
        margins.append(margin(message))
    at_first = re.search(r"Margin ± ([\d.]+) yd at first", text(message.embeds[0].description))
    assert at_first is not None
    assert margins == sorted(margins, reverse=True) and margins[-1] < 0.6 * float(at_first[1])


async def test_it_can_be_left_and_taken_up_again_after_a_restart(stage: Stage) -> None:
    rng = np.random.default_rng(6)
    message = await hit(stage, stage.tamsin, await begin(stage, stage.tamsin), rng)
    await stage.restart()
    again = await begin(stage, stage.tamsin)
    assert margin(again) == margin(message)
    other = await begin(stage, stage.odile)
    assert "Margin now ±" in text(other.embeds[0].description)
    fresh = await stage.tamsin.click(again, label="Begin anew")
    assert "Margin now ±" in text(fresh.response.embeds[0].description)


def charted(embed: Any) -> dict[str, float]:
    """Marks per mph at full by direction, as a card shows them."""
    said = text(embed.description) + "".join(text(each.value) for each in embed.fields)
    return {
        way: float(marks)
        for way, marks in re.findall(r"(into|helping|across) at 100% of full: (-?[\d.]+)", said)
    }


async def test_a_coach_looks_at_the_charts_saves_them_and_takes_them_back(stage: Stage) -> None:
    rng = np.random.default_rng(7)
    across, into = (f"10 mph {way}, {CLUB}, 150" for way in ("off the right", "into"))
    before = [await card(stage, stage.tamsin, "wind", question=q) for q in (across, into)]
    message = await begin(stage, stage.coach)
    for _ in range(9):
        message = await hit(stage, stage.coach, message, rng)
    learned = [await card(stage, stage.tamsin, "wind", question=q) for q in (across, into)]
    offered = await stage.coach.click(message, label="Save as chart")
    preview = offered.response.embeds[0]
    assert text(preview.title) == "Chart of the 6-iron" and "stands at" in text(preview.description)
    same = [await card(stage, stage.tamsin, "wind", question=q) for q in (across, into)]
    assert [text(each.title) for each in same] == [text(each.title) for each in learned]
    saved = await stage.coach.click(offered.response, label="Save it")
    assert text(saved.response.embeds[0].title) == "The 6-iron has a chart"
    points = charted(saved.response.embeds[0])
    assert set(points) == {"into", "helping", "across"}
    assert points["into"] > points["helping"]
    services = stage.bot.services
    assert services is not None
    await FullPass(db=services.db, kits=services.kits, learner=services.learner).refresh_stale()
    known = await services.learner.posterior(stage.guild.id)
    assert known.shots.sum(axis=0)[0] == 9  # what was measured stays evidence
    await stage.restart()
    after = [await card(stage, stage.tamsin, "wind", question=q) for q in (across, into)]
    for old, new in zip(before, after, strict=True):
        said = [text(c.title).partition(" · aim ")[2] for c in (old, new)]
        aims = [max(map(float, re.findall(r"\d+\.\d", each))) for each in said]
        assert abs(aims[1] / aims[0] - GAIN_ACROSS) < 0.15
    kit = await card(stage, stage.tamsin, "clubs")
    assert "chart" in text(kit.description)
    undone = await stage.coach.click(saved.response, label="Take it back")
    assert "taken back" in text(undone.response.embeds[0].title)
    kit = await card(stage, stage.tamsin, "clubs")
    assert "chart" not in text(kit.description)


async def test_a_series_asks_for_the_winds_that_the_game_offers(stage: Stage) -> None:
    given = {"club": CLUB, "into": 7.0, "across": 12.0}
    first = (await stage.tamsin.slash(stage.questions, "measure", **given)).response.embeds[0]
    said = text(first.title) + "".join(text(each.value) for each in first.fields)
    assert "7 mph from 12" in said and "10 mph from 6" in said and "12 mph from 3" in said
    assert "12 mph from 3" in str((await begin(stage, stage.tamsin)).embeds[0].to_dict())


async def test_a_member_may_measure_and_only_a_coach_is_offered_the_chart(stage: Stage) -> None:
    rng = np.random.default_rng(8)
    message = await begin(stage, stage.odile)
    for _ in range(6):
        message = await hit(stage, stage.odile, message, rng)
    labels = [part["label"] for row in message.components for part in row["components"]]
    assert labels == ["Log it", "Begin anew"]


async def test_what_cannot_be_read_is_said_and_nothing_is_lost(stage: Stage) -> None:
    rng = np.random.default_rng(9)
    message = await hit(stage, stage.tamsin, await begin(stage, stage.tamsin), rng)
    form = await stage.tamsin.click(message, label="Log it")
    filled = {"shot": "10 mph from 3, 140", "aim": "5 right", "landed": "in the sea"}
    answer = await stage.tamsin.submit_modal(form, filled)
    assert "For example: `5 short, 3 right`" in answer.response.content
    assert answer.ephemeral and not answer.response.embeds
    assert margin(await begin(stage, stage.tamsin)) == margin(message)


def test_winds_of_the_grid_can_be_read_back() -> None:
    wind = parse("10 mph off the right, 140", kit=demo_kit()).wind
    assert isinstance(wind, Wind) and wind.relative_deg == 90


async def test_a_measured_shot_stands_among_ones_results(stage: Stage) -> None:
    await hit(stage, stage.coach, await begin(stage, stage.coach), np.random.default_rng(5))
    embed = await card(stage, stage.coach, "results")
    assert text(embed.title) == "Your last results"
    assert f"Measured {CLUB}" in text(embed.description)


def shots_of(stage: Stage, club: str = CLUB) -> Any:
    services = stage.bot.services
    assert services is not None
    return MeasuredSeries(services.db).get(stage.guild.id, stage.tamsin.id, club)


async def known_shots(stage: Stage) -> int:
    services = stage.bot.services
    assert services is not None
    known = await services.learner.posterior(stage.guild.id)
    return int((known.shots[:, 0] + known.set_aside).sum())


async def choice_of(stage: Stage, *, nth: int) -> tuple[str, int]:
    found = await stage.tamsin.autocomplete(stage.questions, "results", "result", "")
    return found[nth]["name"], found[nth]["value"]


async def test_a_measured_shot_is_corrected_and_its_series_follows(stage: Stage) -> None:
    rng = np.random.default_rng(8)
    message = await begin(stage, stage.tamsin)
    for _ in range(3):
        message = await hit(stage, stage.tamsin, message, rng)
    name, value = await choice_of(stage, nth=1)
    assert name.startswith("Measured 6-iron missed: ")
    shown = (await stage.tamsin.slash(stage.questions, "results", result=value)).response
    form = await stage.tamsin.click(shown, label="Correct")
    assert form.modal["title"] == "Measured 6-iron: correct it"
    given = {
        part["component"]["custom_id"]: part["component"].get("value", "")
        for part in form.modal["components"]
    }
    assert "mph from" in given["wind"] and given["outcome"] in name
    before = (await shots_of(stage))["shots"]
    answer = await stage.tamsin.submit_modal(form, {**given, "outcome": "2 yd long, 3 yd left"})
    card = (answer.response or answer.followups[0]).embeds[0]
    assert text(card.title) == "Counted: measured 6-iron missed: 3.0 yd left, 2.0 long"
    after = (await shots_of(stage))["shots"]
    assert [a == b for a, b in zip(after, before, strict=True)] == [True, False, True]
    moved = [
        new - old for new, old in zip(after[1]["observed_m"], before[1]["observed_m"], strict=True)
    ]
    assert any(abs(each) > 0.01 for each in moved)
    assert after[1]["carry_m"] == pytest.approx(before[1]["carry_m"], abs=0.005)  # kept in cm
    assert await known_shots(stage) == 3
    form = await stage.tamsin.click(shown, label="Correct")
    answer = await stage.tamsin.submit_modal(form, {**given, "outcome": "missed"})
    message = answer.response or answer.followups[0]
    assert "Say where it came down from the target" in message.content
    assert (await shots_of(stage))["shots"] == after


async def test_a_measured_shot_is_taken_back_once_with_its_place_in_the_series(
    stage: Stage,
) -> None:
    rng = np.random.default_rng(9)
    message = await begin(stage, stage.tamsin)
    for _ in range(3):
        message = await hit(stage, stage.tamsin, message, rng)
    _, value = await choice_of(stage, nth=0)
    shown = (await stage.tamsin.slash(stage.questions, "results", result=value)).response
    before = (await shots_of(stage))["shots"]
    back = await stage.tamsin.click(shown, label="Take back")
    assert text(back.response.embeds[0].title).startswith("Taken back: measured 6-iron missed")
    assert (await shots_of(stage))["shots"] == before[:2]
    assert await known_shots(stage) == 2
    said = await refused(stage, stage.tamsin, "results", result=value)
    assert "taken back already" in said
    assert await known_shots(stage) == 2


async def test_measured_shots_teach_how_the_club_is_hit(stage: Stage) -> None:
    """Nine clean shots: hits spread less than stated, those of clubs beside a little less; a shot
    that is taken back takes its own with it."""
    services = stage.bot.services
    assert services is not None
    rng = np.random.default_rng(9)
    message = await begin(stage, stage.tamsin)
    for _ in range(9):
        message = await hit(stage, stage.tamsin, message, rng)
    sums = VectorSums(services.db)
    rows = await sums.all(stage.guild.id, "hits")
    assert {key.split("|")[0] for key in rows} == {"6-iron/ash"}
    assert sum(row[0] for row in rows.values()) == 9  # measured, one each
    caddie, plain = await services.kits.caddie(stage.guild.id), demo_caddie()
    keys = [(club.name, grade.name) for club in plain.kit.clubs for grade in club.grades]
    less = caddie.hit_spread.relative_sd[:, 2, 0] / plain.hit_spread.relative_sd[:, 2, 0]
    own, beside = keys.index(("6-iron", "ash")), keys.index(("driver", "ash"))
    assert less[own] < less[beside] < 1
    _, value = await choice_of(stage, nth=0)
    shown = await stage.tamsin.slash(stage.questions, "results", result=value)
    await stage.tamsin.click(shown.response, label="Take back")
    rows = await sums.all(stage.guild.id, "hits")
    assert sum(row[0] for row in rows.values()) == 8
