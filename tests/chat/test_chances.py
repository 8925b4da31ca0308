"""Chances of going in: kept as they were given, shown only once they have earned it."""

from typing import Any

import numpy as np
from sqlalchemy import Connection, func, select

from storage.played import Played
from storage.results import Results
from storage.schema import results as results_table
from tests.chat.asking import card
from tests.chat.conftest import Stage
from tests.chat.test_came_down import finishing
from tests.chat.test_draw import files_of
from tests.chat.test_results import fill, kept, press

__all__ = ["finishing"]


async def give(stage: Stage, tries: int, *, actual: float) -> None:
    """Log tries that were given chances about a fifth, of which a share of ``actual`` of that
    went in."""
    services = stage.bot.services
    assert services is not None
    results, rng = Results(services.db), np.random.default_rng(7)
    first = await services.db.read(count_of)
    for number, chance in enumerate(rng.uniform(0.1, 0.3, tries), start=first):
        holed = bool(rng.random() < actual * chance)
        played = Played("h", "h/A", "A", holed, club="6-iron", grade="ash", chance=float(chance))
        await results.add(
            stage.guild.id, played, member_id=5, author_name="x", interaction_id=9000 + number
        )


def count_of(connection: Connection) -> int:
    return connection.execute(select(func.count()).select_from(results_table)).scalar_one()


async def ways(stage: Stage) -> str:
    said: Any = await stage.odile.slash(stage.questions, "next", left="120, 6 from 4")
    return str((said.response or said.followups[0]).embeds[0].description)


async def test_a_try_keeps_the_chance_it_was_given_also_when_it_is_corrected(
    finishing: Stage,
) -> None:
    answer = await press(finishing, finishing.tamsin, "Missed", outcome="2 long")
    (given,) = await kept(finishing, finishing.tamsin)
    assert given.played.chance is not None and 0 < given.played.chance < 0.2
    form = await finishing.tamsin.click(answer.response, label="Correct")
    await fill(finishing, finishing.tamsin, form, outcome="in")
    (mended,) = await kept(finishing, finishing.tamsin)
    assert mended.played.holed and mended.played.chance == given.played.chance
    shown = await card(finishing, finishing.odile, "trust")
    assert shown.title == "No chance of going in is given yet"
    assert "1 logged try of shots" in str(shown.description)
    plain = await press(finishing, finishing.odile, "Missed", line="B", outcome="2 long")
    assert plain is not None
    (without,) = await kept(finishing, finishing.odile)
    assert without.played.chance is None  # nobody knows where it would end


async def test_before_a_try_there_is_no_picture_and_cards_give_no_chance(stage: Stage) -> None:
    said: Any = await stage.odile.slash(stage.questions, "trust")
    message = said.response or said.followups[0]
    assert not message.attachments and "0 logged tries" in message.embeds[0].description
    assert "goes in" not in await ways(stage)
    assert "not enough tries to give a chance" in await ways(stage)


async def test_chances_that_held_are_drawn_and_given(stage: Stage) -> None:
    await give(stage, 240, actual=1.0)
    said: Any = await stage.odile.slash(stage.questions, "trust")
    message = said.response or said.followups[0]
    assert message.embeds[0].title == "Chances of going in are given"
    _, alt = (await files_of(message))["chances.png"]
    assert (
        alt.startswith("Chances given, and what went in. The last 190 tries") and "went in (" in alt
    )
    shown = await ways(stage)
    assert "; goes in " in shown and "have held so far" in shown


async def test_chances_that_are_off_are_put_right_by_what_went_in(stage: Stage) -> None:
    await give(stage, 300, actual=2.0)
    said: Any = await stage.odile.slash(stage.questions, "trust")
    message = said.response or said.followups[0]
    assert message.embeds[0].title == "Chances of going in are given"
    assert "goes in" in await ways(stage)


async def test_chances_that_do_not_hold_are_drawn_and_not_given(stage: Stage) -> None:
    await give(stage, 150, actual=3.0)
    await give(stage, 120, actual=0.1)
    said: Any = await stage.odile.slash(stage.questions, "trust")
    message = said.response or said.followups[0]
    assert message.embeds[0].title == "No chance of going in is given"
    assert "chances.png" in await files_of(message)
    shown = await ways(stage)
    assert "goes in" not in shown and "do not agree with what went in" in shown
