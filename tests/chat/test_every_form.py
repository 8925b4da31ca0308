"""Every form of the bot, every field of it that takes text, each with a bad value.

The refusal quotes the bad value and names its field by the label the form shows, and one press
brings back all that was typed. The forms are those that the code knows: a new one without a row in
``WALKS`` fails here.
"""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

import pytest

from bot.services.actions import FormAction
from shared.wording import quoted
from tests.chat.asking import text
from tests.chat.booking import as_it_is, fields_of, fill, labels_of, load_cup, only_message
from tests.chat.conftest import Stage
from tests.chat.test_share import share

Open = Callable[[Stage], Awaitable[Any]]
ANYTHING = ""
"""For a field in which nothing is wrong."""


@dataclass(frozen=True)
class Walk:
    """How a form is opened, by whom, and a bad value for each of its fields."""

    open: Open
    bad: dict[str, str]
    coach: bool = False
    back: str = "Change it"  # the button that brings what was typed back

    def who(self, stage: Stage) -> Any:
        return stage.coach if self.coach else stage.tamsin


async def _published(stage: Stage, label: str) -> Any:
    await stage.coach.slash(stage.questions, "publish", hole=2)
    return await stage.tamsin.click(stage.notes.last_message, label=label)


async def _for_me(stage: Stage) -> Any:
    return await _published(stage, "For me")


async def _missed(stage: Stage) -> Any:
    return await _published(stage, "Missed")


async def _correct(stage: Stage) -> Any:
    logged = await fill(stage, stage.tamsin, await _missed(stage), outcome="2 short")
    return await stage.tamsin.click(only_message(logged), label="Correct")


async def _share(stage: Stage) -> Any:
    moved = await fill(stage, stage.tamsin, await _for_me(stage))
    return await stage.tamsin.click(only_message(moved), label="Share")


async def _decline(stage: Stage) -> Any:
    channel = stage.guild.create_text_channel("coaches")
    await stage.coach.slash(stage.questions, "sharing", approve_in=channel)
    await share(stage)
    return await stage.coach.click(channel.last_message, label="Decline")


async def _measure(stage: Stage) -> Any:
    begun = await stage.tamsin.slash(stage.questions, "measure", club="5-iron")
    return await stage.tamsin.click(only_message(begun), label="Log it")


async def _round_missed(stage: Stage) -> Any:
    begun = await stage.tamsin.slash(stage.questions, "round")
    return await stage.tamsin.click(only_message(begun), label="Missed")


async def _round_correct(stage: Stage) -> Any:
    begun = await stage.tamsin.slash(stage.questions, "round")
    await stage.tamsin.click(only_message(begun), label="Went in")
    return await stage.tamsin.click(as_it_is(stage, only_message(begun)), label="Correct hole 1")


async def _line(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "line edit", hole=2, line="A")


async def _lines(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "line many")


async def _new_event(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "event new")


async def _dates(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "event dates")


async def _winds(stage: Stage) -> Any:
    return await stage.coach.slash(stage.questions, "event winds", division="Sail")


async def _refused(stage: Stage) -> Any:
    asked = await stage.tamsin.slash(
        stage.questions, "aim", wind="8 fron 2", club="7-iron", distance="120", height="up 4"
    )
    return await stage.tamsin.click(only_message(asked), label="Change it")


WALKS = {
    "windform": Walk(_for_me, {"wind": "8 fron 2", "line": "Q"}),
    "logform": Walk(_missed, {"line": "Q", "outcome": "purple", "wind": "8 fron 2"}),
    "fixform": Walk(_correct, {"outcome": "purple", "wind": "8 fron 2"}),
    "shareform": Walk(_share, {"outcome": "purple", "remark": ANYTHING}),
    "declineform": Walk(_decline, {"why": ANYTHING}, coach=True),
    "shotform": Walk(_measure, {"shot": "8 fron 2, 150", "aim": "purple", "landed": "green 4"}),
    "roundform": Walk(_round_missed, {"outcome": "purple"}),
    "roundfix": Walk(_round_correct, {"outcome": "purple", "wind": "8 fron 2"}),
    "lineform": Walk(
        _line,
        {"wind": "8 fron 2", "rows": "6-iron, 141\nspoon, 60 sideways", "notes": ANYTHING},
        coach=True,
        back="Change",
    ),
    "linesform": Walk(
        _lines, {"rows": "2, Sail, low | 8 from 2 | 6-iron 141\nhole two"}, coach=True
    ),
    "newevent": Walk(
        _new_event,
        {
            "name": "Windlass Cup",
            "divisions": ", ,",
            "rounds": ";",
            "holes": "1 par 4, 372\n2 pat 3",
        },
        coach=True,
    ),
    "datesform": Walk(_dates, {"rows": "Saturday: 2026-12-05 18:00\nMonday: noon"}, coach=True),
    "windsform": Walk(_winds, {"rows": "1: 8 from 2\n2: 8 fron 2"}, coach=True),
    "retryform": Walk(
        _refused,
        {"wind": "8 fron 3", "club": "spoon", "distance": "far", "height": "sideways"},
    ),
}
GOOD = {
    "newevent": {
        "name": "Bollard Cup",
        "divisions": "Sail, Oar",
        "rounds": "Friday",
        "holes": "1 par 4, 372",
    },
    "linesform": {"rows": "2, Sail, low | 8 from 2 | 6-iron 141"},
    "shotform": {"landed": "5 short, 3 right"},
    "retryform": {"wind": "8 from 2"},
}
FIELDS = [(name, field) for name, walk in WALKS.items() for field in walk.bad]
SHOWN = {"retryform": {"wind": "wind", "club": "club", "distance": "distance", "height": "height"}}


def forms() -> dict[str, type[FormAction]]:
    """Every form there is, by its name."""
    return {each.name: each for each in FormAction.__subclasses__()}


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    return stage


def test_every_form_and_every_field_of_it_is_walked() -> None:
    assert {name: set(walk.bad) for name, walk in WALKS.items()} == {
        name: set(form.labels or SHOWN[name]) for name, form in forms().items()
    }


@pytest.mark.parametrize(("name", "field"), FIELDS)
async def test_a_bad_value_is_quoted_by_its_label_and_comes_back(
    cup: Stage, name: str, field: str
) -> None:
    walk, who = WALKS[name], WALKS[name].who(cup)
    opened = await walk.open(cup)
    assert opened.modal["custom_id"].startswith(name)
    labels = {each["component"]["custom_id"]: each["label"] for each in opened.modal["components"]}
    known = {**SHOWN, **{each: form.labels for each, form in forms().items() if form.labels}}[name]
    assert labels[field].casefold().startswith(known[field].casefold())
    bad = walk.bad[field]
    given = GOOD.get(name, {}) | {field: bad or "<@&1> *anything* `at all`"}
    seen = cup.env.error_cursor
    filled = await fill(cup, who, opened, **given)
    answer = filled.followups[-1] if filled.followups else filled.response
    if bad == ANYTHING:
        assert cup.env.errors[seen:] == [] and walk.back not in labels_of(answer)[:1]
        return
    assert len(cup.env.errors[seen:]) <= 1  # a card of its own may say it
    said = "\n".join([answer.content, *(f"{e.title}\n{e.description}" for e in answer.embeds)])
    assert quoted(bad.splitlines()[-1]) in said, said
    assert f"**{known[field]}**" in said or f"“{known[field]}”" in said, said
    assert "For example: `" in said, said
    back = await who.click(answer, label=walk.back)
    shown = fields_of(opened.modal)
    wanted = {each: given.get(each, value) for each, value in shown.items()}
    wanted = {each: value for each, value in wanted.items() if isinstance(value, str)}
    assert {each: text(fields_of(back.modal)[each]) for each in wanted} == wanted
    again = {each["component"]["custom_id"]: each["label"] for each in back.modal["components"]}
    assert again[field].casefold().startswith(known[field].casefold())


async def test_what_was_chosen_comes_back_too(cup: Stage) -> None:
    opened = await _new_event(cup)
    given = GOOD["newevent"] | {"holes": "1 pat 4"}
    refused = await fill(cup, cup.coach, opened, **given, units=["metric"])
    back = await cup.coach.click(only_message(refused), label="Change it")
    await fill(cup, cup.coach, back, holes="1 par 4, 340")
    services = cup.bot.services
    assert services is not None
    assert (await services.book.event(cup.guild.id, "Bollard Cup")).units == "metric"
