"""/trust and /gain: what is known of a club, and what a coach decides about it, with a reason."""

import re
from collections.abc import Sequence

import numpy as np

from bot.services.learning.full_pass import FullPass
from bot.services.learning.learner import Lesson, Seen
from bot.services.members import wind_mmps
from engine.law import Allowances, Shots
from engine.response import moved
from shared.quantities import Speed, Wind
from storage.played import Part, Played
from storage.results import Results
from storage.reweigh import Reweighed, reweigh
from tests.chat.asking import card, refused, text
from tests.chat.booking import no_coach
from tests.chat.conftest import Stage
from tests.kits import demo_caddie

MORE_ALONG, LESS_ACROSS = 1.4, 0.75


def ground(rng: np.random.Generator, club: str, grade: str) -> tuple[Shots, Allowances]:
    """One shot in some wind, and what the law says of it."""
    caddie = demo_caddie()
    row = caddie.kit_rack.row_of[club, grade, "plover"]
    full_m = float(caddie.kit_rack.rack.full_m[row])
    shots = Shots(
        row=np.array([row]),
        distance_m=full_m * rng.uniform(0.75, 1.0, 1),
        height_m=np.zeros(1),
        wind_mps=rng.uniform(1.5, 5.5, 1),
        wind_from_deg=rng.uniform(0.0, 360.0, 1),
        spin_factor=np.ones(1),
        tilt_rad=np.zeros(1),
    )
    return shots, caddie.allow(shots)


def as_played(
    shots: Shots,
    law: Allowances,
    lesson: Lesson,
    *,
    way: tuple[str, str],
    effect_m: Sequence[float],
    observed_m: Sequence[float],
    miss: bool = False,
) -> Played:
    """A shot as the bot keeps it, computed and seen effects along and across."""
    blows = Wind(
        speed=Speed(value=float(shots.wind_mps[0]), unit="m/s"),
        from_deg=float(shots.wind_from_deg[0]),
    )
    return Played(
        hole_key="cup/01",
        line_key="cup/01/A",
        variant="A",
        holed=False,
        miss_cm=(0, 0) if miss else None,
        wind_mmps=wind_mmps(blows),
        club=way[0],
        grade=way[1],
        ball="plover",
        share=float(law.situations.share[0]),
        carry_cm=round(float(shots.distance_m[0]) * 100),
        height_cm=0,
        effect_cm=(round(effect_m[0] * 100), round(effect_m[1] * 100)),
        observed_cm=(round(observed_m[0] * 100), round(observed_m[1] * 100)),
        weight=lesson.weight,
        parts=(lesson.part,),
    )


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
        shots, law = ground(rng, club, grade)
        effect = -np.array([law.law_long_m[0], law.law_right_m[0]])
        seen = effect * (MORE_ALONG, LESS_ACROSS) + rng.normal(0, 0.7, 2)
        if number % 10 == 9:
            seen += (35, -40)
        lesson = await services.learner.lesson(
            stage.guild.id,
            Seen(club, grade, law.situations, (float(seen[0]), float(seen[1]))),
        )
        assert lesson is not None
        played = as_played(
            shots,
            law,
            lesson,
            way=(club, grade),
            effect_m=effect.tolist(),
            observed_m=seen.tolist(),
            miss=True,
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
    assert [text(field.name) for field in embed.fields] == ["ash at full carry (0 shots)"]
    assert "10 mph into: computed 14.6 yd long ± 9.7\n" in text(embed.fields[0].value)
    await stage.odile.slash(stage.questions, "bag", club="5-iron", grade="yew")
    embed = await card(stage, stage.odile, "trust", club="5-iron")
    assert [text(field.name) for field in embed.fields] == ["yew at full carry (0 shots)"]


async def test_logged_shots_change_the_answer_its_margin_and_its_source(stage: Stage) -> None:
    question = "10 mph from 2, 5-iron, 150"
    before = await card(stage, stage.tamsin, "wind", question=question)
    await play(stage, count=40)
    after = await card(stage, stage.tamsin, "wind", question=question)
    assert text(before.title) != text(after.title)
    assert "no shots logged yet" in text(before.description)
    assert "from 36 shots with this grade" in text(after.description)


async def test_a_grade_nobody_logged_borrows_from_its_kin_and_says_so(stage: Stage) -> None:
    await play(stage, count=20)
    other = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 5-iron yew, 150")
    assert "shots with other grades of 5-iron" in text(other.description)
    kin = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 4-iron, 150")
    assert "with other long irons" in text(kin.description)


GAME = re.compile(r"computed ([\d.]+) yd (\w+), your game ([\d.]+) yd (\w+) ± ([\d.]+)")


async def test_trust_says_what_the_game_does_beside_what_is_computed(stage: Stage) -> None:
    await play(stage, count=60)
    answer = await stage.tamsin.slash(stage.questions, "trust", club="5-iron")
    embed = answer.response.embeds[0]
    assert "more along" in text(embed.title) and "less across" in text(embed.title)
    fields = {field.name: text(field.value) for field in embed.fields}
    assert "Set aside" in fields and "too far off" in fields["Set aside"]
    rows = next(value for name, value in fields.items() if name.startswith("ash")).splitlines()
    assert [row.split(":")[0] for row in rows] == [
        "10 mph into",
        "10 mph helping",
        "10 mph off the right",
        "10 yd up, calm",
    ]
    for row, factor in zip(rows, (MORE_ALONG, MORE_ALONG, LESS_ACROSS), strict=False):
        found = GAME.search(row)
        assert found is not None, row
        sign = 1 if found[2] == found[4] else -1
        truth = factor * float(found[1])
        assert abs(sign * float(found[3]) - truth) <= 1.5 * float(found[5])
        assert float(found[5]) < 3.0
    alt = answer.response.attachments[0].description
    for row in rows:  # the picture says what the card says
        assert row in alt


async def test_the_alarm_of_a_changed_game_ends_with_a_reset(stage: Stage) -> None:
    services = stage.bot.services
    assert services is not None
    await play(stage, count=24)
    for number in range(24):  # another game from here on, whatever the wind
        shots, law = ground(np.random.default_rng(number), "5-iron", "ash")
        lesson = await services.learner.lesson(
            stage.guild.id, Seen("5-iron", "ash", law.situations, (9.0, -7.0))
        )
        assert lesson is not None
        played = as_played(
            *(shots, law, lesson),
            way=("5-iron", "ash"),
            effect_m=(0.0, 0.0),
            observed_m=(9.0, -7.0),
        )
        await Results(services.db).add(
            *(stage.guild.id, played), member_id=7, author_name="Odile", interaction_id=500 + number
        )
    await services.learner.learn(stage.guild.id)
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    assert "The game may have changed" in text(embed.description)
    await card(stage, stage.coach, "gain reset", club="5-iron", reason="the game was updated")
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    assert "changed" not in str(embed.to_dict())


async def test_sums_of_another_law_are_made_anew_from_the_results(stage: Stage) -> None:
    await play(stage, count=20)
    services = stage.bot.services
    assert services is not None
    learner, results = services.learner, Results(services.db)
    known = await learner.posterior(stage.guild.id)
    old = [
        Reweighed(each.id, each.played.weight, (Part("gain", "5-iron/ash", (1.0, 2.0)),))
        for each in await results.page(stage.guild.id)
    ]
    await reweigh(services.db, stage.guild.id, old)
    await learner.learn(stage.guild.id)
    asked = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 5-iron, 150")
    assert "the shots logged before are being weighed anew" in text(asked.description)
    assert not (await learner.posterior(stage.guild.id)).shots.any()
    await FullPass(db=services.db, kits=services.kits, learner=learner).refresh_stale()
    again = await learner.posterior(stage.guild.id)
    assert (again.shots + again.set_aside[:, None] >= known.shots).all() and again.shots.any()
    assert moved(known, again).max() < 1.0
    asked = await card(stage, stage.tamsin, "wind", question="10 mph from 2, 5-iron, 150")
    assert "weighed anew" not in text(asked.description)


async def test_a_frozen_club_stays_until_it_is_released(stage: Stage) -> None:
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
    log = await card(stage, stage.tamsin, "decisions")
    assert "reset the 5-iron (20 shots): the game was updated" in text(log.description)


async def test_a_result_left_out_no_longer_teaches(stage: Stage) -> None:
    await play(stage, count=12)
    await card(stage, stage.coach, "gain leave-out", result=1, reason="typed the wrong club")
    embed = await card(stage, stage.tamsin, "trust", club="5-iron")
    aside = next(field for field in embed.fields if field.name == "Set aside")
    assert "`1` ash" in text(aside.value) and "typed the wrong club" in text(aside.value)


async def test_only_a_coach_decides(stage: Stage) -> None:
    said = await no_coach(stage, stage.tamsin, "gain freeze", club="5-iron", reason="because")
    assert "Only a coach can do this" in said


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
