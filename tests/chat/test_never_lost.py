"""What a member logs is never lost: bad texts come back whole, with a right example, in one press.

Whatever a thumb, a keyboard or a copied text leaves in a field: nothing is counted, one sentence
says what was not understood, its example can be sent as it stands, and the form comes back filled.
"""

import re
from typing import Any

import pytest

from tests.chat.booking import fields_of, fill, labels_of, only_message
from tests.chat.conftest import Stage
from tests.chat.test_results import kept, note, noted, said_on_note, told

__all__ = ["noted"]

OUTCOMES = [
    *(
        "🏌️ 3 left",
        "😀",
        "שלום",
        "\u202e3 left",
        "٣ יארד",
        "nan left",
        "NaN",
        "1e9 left",
        "inf short",
    ),
    *("-3", "3 short 2", "999 left", "l" * 90, "3 left; DROP TABLE", "<@1> left", "@everyone", "3"),
    *("`3` ** left", "left right", "two to three left", "\x00left", "3 left\n4 right\n5 long"),
]
WINDS = [
    *(
        "asdf",
        "8 fron 2",
        "🌬️ 8 from 2",
        "שמונה",
        "nan from 2",
        "1e9 from 2",
        "999 from 2",
    ),
    *(
        "-8 from 2",
        "8 from 14",
        "8 left",
        "8",
        "from 2",
        "8 from 2 from 3",
        "2 " * 40,
        "@everyone",
        "\x008",
    ),
    *("8 from 2, 5-iron", "8 from 2, 165 yd"),
]


async def refused(stage: Stage, **typed: str) -> tuple[Any, dict[str, str]]:
    """The refusal of a form of *Missed*, and what was typed into it."""
    opened = await stage.tamsin.click(note(stage), label="Missed")
    fields = fields_of(opened.modal) | typed
    answer = await fill(stage, stage.tamsin, opened, **typed)
    message = answer.response or answer.followups[0]
    assert message.ephemeral and not message.embeds, message.embeds
    return message, fields


def example_of(message: Any) -> str:
    found = re.search(r"For example: `([^`]+)`", message.content)
    assert found, message.content
    return found[1]


@pytest.mark.parametrize(
    ("field", "text"),
    [*(("outcome", text) for text in OUTCOMES), *(("wind", text) for text in WINDS)],
)
async def test_a_bad_text_comes_back_and_its_example_counts(
    noted: Stage, field: str, text: str
) -> None:
    good = {"outcome": "2 long", "wind": "9 from 3"}
    message, typed = await refused(noted, **{**good, field: text})
    label = {"outcome": "How far it missed", "wind": "Wind as played"}[field]
    assert message.content.startswith(f"Under **{label}** you wrote `")
    assert len(message.content) < 400
    assert "Traceback" not in message.content and "@everyone" not in message.content.split("`")[0]
    assert labels_of(message)[-1] == "Change it"
    assert await kept(noted, noted.tamsin) == []
    back = await noted.tamsin.click(message, label="Change it")
    assert fields_of(back.modal) == typed
    embed = told(await fill(noted, noted.tamsin, back, **{field: example_of(message)}))
    assert str(embed.title).startswith("Counted: hole 2, line A missed: ")
    assert len(await kept(noted, noted.tamsin)) == 1


async def test_two_forms_opened_at_once_are_of_one_try(noted: Stage) -> None:
    opened = await noted.tamsin.click(note(noted), label="For me")
    card = only_message(await fill(noted, noted.tamsin, opened))
    first = await noted.tamsin.click(card, label="Missed")
    second = await noted.tamsin.click(card, label="Missed")
    told(await fill(noted, noted.tamsin, first, outcome="2 long"))
    again = told(await fill(noted, noted.tamsin, second, outcome="2 long"))
    assert str(again.title).startswith("Counted before, not twice: ")
    assert len(await kept(noted, noted.tamsin)) == 1
    assert said_on_note(noted) == ["**A** 1 try, 0 went in"]


async def test_a_bad_text_after_a_restart_between_press_and_form_still_comes_back(
    noted: Stage,
) -> None:
    opened = await noted.tamsin.click(note(noted), label="Missed")
    await noted.restart()
    answer = await fill(noted, noted.tamsin, opened, outcome="3 lfet", wind="9 from 3")
    message = answer.response or answer.followups[0]
    back = await noted.tamsin.click(message, label="Change it")
    assert fields_of(back.modal)["outcome"] == "3 lfet"
    embed = told(await fill(noted, noted.tamsin, back, outcome="3 left"))
    assert embed.title == "Counted: hole 2, line A missed: 3.0 yd left"
