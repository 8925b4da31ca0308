"""A member reads and types one unit of distance and one of speed, in every command and form."""

import re
from typing import Any

import pytest

from tests.chat.asking import answered
from tests.chat.booking import labels_of, load_cup, menus_of, only_message
from tests.chat.commands import EVERYBODY
from tests.chat.conftest import Stage
from tests.unit.test_command_texts import LIST

SAYS = {
    "yd": re.compile(r"\d ?yd\b|\bin yards\b"),
    "m": re.compile(r"\d ?m\b|\bin metres\b"),
    "mph": re.compile(r"\d ?mph\b|\bmph more\b"),
    "m/s": re.compile(r"\d ?m/s|\bm/s more\b"),
    "km/h": re.compile(r"\d ?km/h"),
    "kn": re.compile(r"\d ?kn\b"),
}
OWN = {"metric": ("m", "m/s"), "metres mph": ("m", "mph"), "yards km/h": ("yd", "km/h")}
# What is everybody's, not one member's: messages of the channel, files, and texts about units.
NOT_OWN = {"cup export", "me export", "me forget", "help", "cup history", "share", "decisions"}


def said(result: Any) -> str:
    """Every word of an answer, its form included."""
    parts: list[str] = []
    for message in [each for each in (result.response, *result.followups) if each is not None]:
        parts.append(message.content)
        for embed in message.embeds:
            parts += [embed.title or "", embed.description or "", embed.footer.text or ""]
            parts += [f"{field.name} {field.value}" for field in embed.fields]
        parts += [each.description or "" for each in message.attachments]
        parts += [
            *labels_of(message),
            *(text for menu in menus_of(message).values() for text in menu),
        ]
    if result.modal is not None:
        parts.append(str(result.modal))
    return "\n".join(re.sub(r"`/[^`]*`", "", part) for part in parts)


@pytest.mark.parametrize("units", OWN)
async def test_no_command_says_another_unit(stage: Stage, units: str) -> None:
    await load_cup(stage)
    await stage.odile.slash(stage.questions, "me division", division="Oar")
    await stage.odile.slash(stage.questions, "bag", units=units)
    others = {unit: found for unit, found in SAYS.items() if unit not in OWN[units]}
    wrong: list[str] = []
    asked = {
        **EVERYBODY,
        "aim": {"wind": "4 from 2", "club": "5-iron", "distance": "140"},
        "equal": {"carry": "140", "wind": "4 from 2"},
        "wind": {"question": "4 from 2, 5-iron, 140"},
        "measure": {"club": "7-iron"},
        "next": {"left": "140, rough, 4 from 2"},
    }
    for command, options in asked.items():
        if command in NOT_OWN:
            continue
        text = said(await stage.odile.slash(stage.questions, command, **options))
        for unit, at in others.items():
            wrong += [f"{command}: {unit} in {row}" for row in text.split("\n") if at.search(row)]
    assert not wrong, "\n\n".join(wrong)


@pytest.mark.parametrize("units", OWN)
async def test_no_form_says_another_unit(stage: Stage, units: str) -> None:
    """Forms that stand empty show a hint, and a hint is an example too."""
    await load_cup(stage)
    await stage.odile.slash(stage.questions, "me division", division="Oar")
    await stage.odile.slash(stage.questions, "bag", units=units)
    others = {unit: found for unit, found in SAYS.items() if unit not in OWN[units]}
    wrong: list[str] = []
    note = only_message(await stage.odile.slash(stage.questions, "hole", hole=2))
    for label in ("For me", "Missed"):
        pressed = await stage.odile.click(note, label=label)
        form = str(pressed.modal)
        assert pressed.modal is not None and "placeholder" in form
        wrong += [f"{label}: {unit} in {form}" for unit, at in others.items() if at.search(form)]
    assert not wrong, "\n\n".join(wrong)


# A wind is typed in the asker's own unit, so these ask in none.
WITHOUT_WIND: dict[str, dict[str, Any]] = {
    "bag": {},
    "clubs": {},
    "compare": {"hole": 4},
    "cup line": {"hole": 4, "line": "A"},
    "cup show": {},
    "equal": {"carry": "140"},
    "hole": {"hole": 4},
    "next": {"left": "140, rough"},
    "trust": {"club": "5-iron"},
    "wind": {"question": "calm, 5-iron, 140, up 3"},
}
OF_SPEED = re.compile(r"mph|m/s|km/h|kn\b|holds up to|Units")


@pytest.mark.parametrize(
    ("pure", "mixed"), [("metric", "metres km/h"), ("metric", "metres mph"), ("yards", "yards m/s")]
)
async def test_a_distance_is_the_same_number_whatever_the_speeds_are_in(
    stage: Stage, pure: str, mixed: str
) -> None:
    """Bare numbers too: a note's carries, what a shot leaves, the columns of a table."""
    await load_cup(stage)
    await stage.odile.slash(stage.questions, "me division", division="Oar")
    rows: dict[str, dict[str, list[str]]] = {}
    for units in (pure, mixed):
        await stage.odile.slash(stage.questions, "bag", units=units)
        asked = {
            command: await stage.odile.slash(stage.questions, command, **options)
            for command, options in WITHOUT_WIND.items()
        }
        asked["more"] = await stage.odile.click(only_message(asked["hole"]), label="More")
        rows[units] = {
            command: [row for row in said(each).split("\n") if not OF_SPEED.search(row)]
            for command, each in asked.items()
        }
    assert rows[mixed] == rows[pure]
    assert any("Leaves" in row for row in rows[pure]["more"])
    assert any("carries in" in row for row in rows[pure]["hole"])


async def test_descriptions_of_commands_take_nobodys_unit_for_granted(stage: Stage) -> None:
    """They are the same for everybody, so an example in them has no unit or says more than one."""
    listed = LIST.read_text(encoding="utf-8").splitlines()
    assert [row for row in listed if SAYS["mph"].search(row) or SAYS["m/s"].search(row)] == []
    lengths = [row for row in listed if SAYS["yd"].search(row) or SAYS["m"].search(row)]
    assert lengths and all(SAYS["yd"].search(row) and SAYS["m"].search(row) for row in lengths)
    for units in ("yards", *OWN):
        await stage.odile.slash(stage.questions, "bag", units=units)
        asked = {
            "wind": {"question": "8 from 2, 5-iron, 140"},
            "aim": {"wind": "8 from 2", "club": "5-iron", "distance": "140"},
            "equal": {"carry": "140", "wind": "8 from 2"},
            "next": {"left": "140, rough, 6 from 4"},
        }
        for command, options in asked.items():
            for said in options.values():
                shown = said.replace("5-iron", "your club")  # every group's clubs are its own
                assert any(shown in row for row in listed) or said == "5-iron", said
            await answered(stage, stage.odile, command, **options)
