"""/trust and /gain: what is known of a club, and what a coach decides about it, with a reason."""

import numpy as np
import pytest

from bot.services.learning.full_pass import FullPass
from engine.gain import moved
from storage.played import Played
from storage.results import Results
from tests.chat.asking import card, refused, text
from tests.chat.conftest import Stage

GAIN_ALONG, GAIN_ACROSS = 1.4, 0.75


async def play(
    stage: Stage,
    *,
    count: int,
    club: str = "5-iron",
    grade: str = "ash",
    seed: int = 3,
    first: int = 1,
) -> None:
    """Log shots of a hidden game with a club; every tenth is a gross mishit."""
    services = stage.bot.services
    assert services is not None
    rng = np.random.default_rng(seed)
    for number in range(count):
        effect = rng.uniform(-12, 12, 2)
        seen = effect * (GAIN_ALONG, GAIN_ACROSS) + rng.normal(0, 1.5, 2)
        if number % 10 == 9:
            seen += (35, -40)
        lesson = await services.learner.lesson(
            stage.guild.id,
            club=club,
            grade=grade,
            predicted_m=(float(effect[0]), float(effect[1])),
            observed_m=(float(seen[0]), float(seen[1])),
        )
        assert lesson is not None
        played = Played(
            hole_key="cup/01",
            line_key="cup/01/A",
            variant="A",
            holed=False,
            club=club,
            grade=grade,
            ball="plover",
            effect_cm=(round(effect[0] * 100), round(effect[1] * 100)),
            observed_cm=(round(seen[0] * 100), round(seen[1] * 100)),
            weight=lesson.weight,
            parts=(lesson.part,),
        )
        await Results(services.db).add(
            stage.guild.id,
            played,
            member_id=7,
            author_name="Odile",
            interaction_id=first + number,
        )
        await services.learner.learn(stage.guild.id)


async def test_before_any_shot_it_says_so(stage: Stage) -> None:
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    assert text(embed.title) == "5-iron: no shots yet"


async def test_logged_shots_change_the_answer_its_margin_and_its_source(stage: Stage) -> None:
    question = "10 mph from 2, 5-iron, 150"
    before = await card(stage, stage.tamsin, "wind", question=question)
    await play(stage, count=40)
    after = await card(stage, stage.tamsin, "wind", question=question)
    assert text(before.title) != text(after.title)
    assert "no shots logged yet" in text(before.description)
    assert "from 36 shots with this grade in your group" in text(after.description)


async def test_a_grade_nobody_logged_borrows_from_its_kin_and_says_so(stage: Stage) -> None:
    await play(stage, count=20)
    other = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 5-iron yew, 150")
    assert "no shots yet with this grade: borrowed from" in text(other.description)
    kin = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 4-iron, 150")
    assert "with the long irons" in text(kin.description)


async def test_trust_shows_the_gain_near_the_hidden_one_and_what_is_set_aside(
    stage: Stage,
) -> None:
    await play(stage, count=60)
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    assert "more along" in text(embed.title) and "less across" in text(embed.title)
    fields = {field.name: text(field.value) for field in embed.fields}
    assert "Set aside" in fields and "too far off" in fields["Set aside"]
    ash = fields["Gain (90% interval)"].splitlines()[0]
    along = float(ash.split("along ")[1].split(" ")[0])
    across = float(ash.split("across ")[1].split(" ")[0])
    assert along == pytest.approx(GAIN_ALONG, abs=0.12)
    assert across == pytest.approx(GAIN_ACROSS, abs=0.12)


async def test_a_frozen_gain_stays_until_it_is_released(stage: Stage) -> None:
    question = "10 mph from 2, 5-iron, 150"
    await play(stage, count=20)
    await card(stage, stage.coach, "gain freeze", club="5-iron", reason="cup week")
    held = await card(stage, stage.tamsin, "wind", question=question)
    await play(stage, count=30, seed=8, first=100)
    still = await card(stage, stage.tamsin, "wind", question=question)
    assert text(still.title) == text(held.title)
    assert "frozen by a coach: cup week" in text(still.description)
    await stage.restart()
    again = await card(stage, stage.tamsin, "wind", question=question)
    assert again.title == held.title
    await card(stage, stage.coach, "gain release", club="5-iron", reason="cup is over")
    released = await card(stage, stage.tamsin, "wind", question=question)
    assert "from 4" in text(released.description)


async def test_a_reset_club_begins_anew_and_the_log_says_why(stage: Stage) -> None:
    await play(stage, count=20)
    await card(stage, stage.coach, "gain reset", club="5-iron", reason="the game was updated")
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    assert text(embed.title) == "5-iron: no shots yet"
    log = await card(stage, stage.tamsin, "gain log")
    assert "reset the 5-iron (20 shots): the game was updated" in text(log.description)


async def test_a_result_left_out_no_longer_teaches(stage: Stage) -> None:
    await play(stage, count=12)
    await card(stage, stage.coach, "gain leave-out", result=1, reason="typed the wrong club")
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    aside = next(field for field in embed.fields if field.name == "Set aside")
    assert "`1` ash" in text(aside.value) and "typed the wrong club" in text(aside.value)


async def test_only_a_coach_decides(stage: Stage) -> None:
    result = await stage.tamsin.slash(
        stage.questions, "gain freeze", club="5-iron", reason="because"
    )
    assert result.ephemeral and "Only a coach can do this" in result.response.content
    assert stage.env.errors


async def test_a_decision_needs_what_can_be_found_and_a_reason(stage: Stage) -> None:
    said = await refused(stage, stage.coach, "gain leave-out", result=99, reason="wrong club")
    assert "no result of this number" in said
    said = await refused(stage, stage.coach, "gain release", club="5-iron", reason="cup is over")
    assert "is not frozen" in said
    said = await refused(stage, stage.coach, "gain freeze", club="5-iron", reason="x")
    assert "needs a reason" in said
    assert "no club by this name" in await refused(stage, stage.tamsin, "trust", club="spoon")


async def test_a_full_pass_weighs_anew_and_the_two_doors_agree(stage: Stage) -> None:
    await play(stage, count=60)
    services = stage.bot.services
    assert services is not None
    before = await services.learner.posterior(stage.guild.id)
    refresher = FullPass(db=services.db, kits=services.kits, learner=services.learner)
    changed = await refresher.refresh(stage.guild.id)
    after = await services.learner.posterior(stage.guild.id)
    assert 0 < changed < 60
    # The bound that the bench states for a group of this size, in standard errors.
    assert moved(before, after).max() < 1.0
    assert await refresher.refresh(stage.guild.id) == 0
