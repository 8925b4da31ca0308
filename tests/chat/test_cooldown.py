"""Who asks too often is told when to ask again, in private; nobody else waits."""

import pytest

from bot.chat import cooldown
from bot.chat.cooldown import Cooldowns, NoCooldowns, TooOftenError
from tests.chat.booking import load_cup, only_message
from tests.chat.conftest import Stage

ANN, BEN = (5, 71), (5, 72)


class Clock:
    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


def test_a_window_of_a_minute_slides() -> None:
    clock = Clock()
    cooldowns = Cooldowns(clock)
    for _ in range(cooldown.MOST_POSTS):
        cooldowns.ask(ANN, "share")
        clock.now_s += 2.0
    with pytest.raises(TooOftenError, match="share too often in a minute; again in 44 s"):
        cooldowns.ask(ANN, "share")
    cooldowns.ask(BEN, "share")
    cooldowns.ask((6, 71), "share")  # the same member elsewhere
    cooldowns.ask(ANN, "publish")
    clock.now_s = 1060.0
    cooldowns.ask(ANN, "share")  # the first is a minute old
    with pytest.raises(TooOftenError, match="again in 2 s"):
        cooldowns.ask(ANN, "share")


def test_what_draws_or_posts_is_rarer_than_a_question() -> None:
    often = {name: cooldown.most_of(name) for name in ("wind", "guide", "poll ask")}
    assert often == {"wind": 60, "guide": 8, "poll ask": 8}


def test_no_more_members_are_remembered_than_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cooldown, "REMEMBERED", 20)
    cooldowns = Cooldowns(Clock())
    for member in range(50):
        cooldowns.ask((5, member), "wind")
    assert len(cooldowns._asked) == 20


def test_who_measures_is_not_held_up() -> None:
    free = NoCooldowns(Clock())
    for _ in range(1000):
        free.ask(ANN, "share")


async def test_a_ninth_guide_in_a_minute_is_refused_in_private_and_the_others_go_on(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cooldown, "MOST_DRAWS", 2)
    monkeypatch.setattr(cooldown, "MOST_POSTS", 1)
    clock = Clock()
    stage.bot.router.cooldowns = Cooldowns(clock)
    await load_cup(stage)
    for _ in range(2):
        only_message(await stage.tamsin.slash(stage.questions, "sheet", club="5-iron"))
    refused = await stage.tamsin.slash(stage.questions, "sheet", club="5-iron")
    assert refused.ephemeral
    said = only_message(refused).content
    assert said == "That was sheet too often in a minute; again in 60 s."
    assert [type(error) for error in stage.env.errors] == [TooOftenError]
    only_message(await stage.odile.slash(stage.questions, "sheet", club="5-iron"))
    asked = {"question": "When?", "answers": "Saturday; Sunday"}
    await stage.coach.slash(stage.questions, "poll ask", **asked)
    refused = await stage.coach.slash(stage.questions, "poll ask", **asked)
    assert only_message(refused).content.startswith("That was poll ask too often in a minute")
    clock.now_s += 60.0
    again = await stage.tamsin.slash(stage.questions, "sheet", club="5-iron")
    assert not only_message(again).content.startswith("That was")
    assert len(stage.env.errors) == 2


async def test_a_button_pressed_again_and_again_is_refused_in_private(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=2)
    monkeypatch.setattr(cooldown, "MOST", 2)
    note = stage.notes.history()[0]
    for _ in range(2):
        assert (await stage.tamsin.click(note, label="Missed")).modal
    refused = await stage.tamsin.click(note, label="Missed")
    assert refused.ephemeral and refused.modal is None
    assert only_message(refused).content.startswith("That was this button too often in a minute")
    assert (await stage.odile.click(note, label="Missed")).modal
