"""Logging where a ball came down and where it ended: kept apart, shown both, corrected both."""

from typing import Any

import pytest

from storage.played import Played
from tests.chat.booking import CUP, fields_of, load_cup
from tests.chat.conftest import Stage
from tests.chat.test_results import fill, kept, press, told

ONTO = CUP.replace(b"154 yd, up 6 yd, back 2", b"154 yd, up 6 yd, back 2, onto green")


@pytest.fixture
async def finishing(stage: Stage) -> Stage:
    """The demo's cup, whose hole 2 line A is to finish on the green, published; Tamsin in Sail."""
    assert ONTO != CUP
    await load_cup(stage, ONTO)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    await stage.tamsin.slash(stage.questions, "bag", club="6-iron", grade="yew")
    return stage


def scopes(played: Played) -> list[str]:
    """What a result is learned of."""
    return [part.scope for part in played.parts]


async def said(stage: Stage) -> str:
    shown = await stage.tamsin.slash(stage.questions, "results")
    return str(shown.response.embeds[0].description).split("\n")[0]


async def test_a_plain_miss_of_a_ball_that_finishes_is_where_it_ended_and_teaches_no_wind(
    finishing: Stage,
) -> None:
    logged = told(await press(finishing, finishing.tamsin, "Missed", outcome="2 long 1 right"))
    assert logged.title == "Counted: hole 2, line A ended 1.0 yd right, 2.0 long"
    (result,) = await kept(finishing, finishing.tamsin)
    played = result.played
    assert (played.miss_cm, played.ended_cm, played.onto) == (None, (183, 91), "green")
    assert played.observed_cm is None and scopes(played) == ["hits"]
    went_in = told(await press(finishing, finishing.tamsin, "Went in"))
    assert went_in.title == "Counted: hole 2, line A went in"
    newest = (await kept(finishing, finishing.tamsin))[0].played
    assert newest.holed and scopes(newest) == ["hits"] and newest.observed_cm is None


async def test_both_are_kept_apart_and_where_it_came_down_is_learned_from(
    finishing: Stage,
) -> None:
    answer = await press(
        finishing, finishing.tamsin, "Missed", outcome="came down 3 short, ended 2 long"
    )
    both = "came down 3.0 yd short, ended 2.0 yd long"
    assert told(answer).title == f"Counted: hole 2, line A {both}"
    (result,) = await kept(finishing, finishing.tamsin)
    assert (result.played.miss_cm, result.played.ended_cm) == ((-274, 0), (183, 0))
    assert result.played.observed_cm is not None
    assert scopes(result.played) == ["response", "hits", "runs"]
    assert both in await said(finishing)
    form = await finishing.tamsin.click(answer.response, label="Correct")
    assert fields_of(form.modal)["outcome"] == both
    fixed = await fill(
        finishing, finishing.tamsin, form, outcome="came down 4 short 1 left, ended 1 short"
    )
    assert told(fixed).title == (
        "Counted: hole 2, line A came down 1.0 yd left, 4.0 short, ended 1.0 yd short"
    )
    (mended,) = await kept(finishing, finishing.tamsin)
    assert (mended.played.miss_cm, mended.played.ended_cm) == ((-366, -91), (-91, 0))
    assert mended.played.aim_cm == result.played.aim_cm


async def test_export_and_forget_carry_both(finishing: Stage) -> None:
    await press(finishing, finishing.tamsin, "Missed", outcome="came down 3 short, ended 2 long")
    exported = await finishing.tamsin.slash(finishing.questions, "me export")
    files: dict[str, Any] = {each.filename: each for each in exported.response.attachments}
    read = {name: await each.read() for name, each in files.items()}
    page = next(data for name, data in read.items() if name.endswith(".txt"))
    assert "came down 3.0 yd short, ended 2.0 yd long" in page.decode()
    whole = next(data for name, data in read.items() if name.endswith(".json"))
    assert b'"ended_long_cm": 183' in whole and b'"onto": "green"' in whole


async def test_what_cannot_be_read_keeps_the_text_and_shows_an_example(finishing: Stage) -> None:
    refused = await press(finishing, finishing.tamsin, "Missed", outcome="came down a bit short")
    content = refused.response.content
    assert "where it came down, and by how much" in content
    assert "came down 3 short, ended 2 long" in content and "came down a bit short" in content
    assert await kept(finishing, finishing.tamsin) == []
