"""A coach's evening in the chat: a cup, its winds and its lines, in few actions."""

from dataclasses import dataclass, field
from typing import Any

import pytest

from tests.chat.asking import card, text
from tests.chat.booking import fill, labels_of, load_cup, only_embed, only_message
from tests.chat.conftest import Stage

MOST_ACTIONS = 60
LENGTHS = (372, 349, 405, 158, 391, 366, 418, 142, 380)
DIVISIONS = ("Sail", "Oar", "Punt")


@dataclass
class Counted:
    """A coach each of whose commands, forms and presses counts."""

    stage: Stage
    actions: int = 0
    seen: list[str] = field(default_factory=list[str])

    async def slash(self, command: str, **options: Any) -> Any:
        self.actions += 1
        return await self.stage.coach.slash(self.stage.questions, command, **options)

    async def fill(self, opened: Any, **typed: Any) -> Any:
        self.actions += 1
        return await fill(self.stage, self.stage.coach, opened, **typed)

    async def press(self, message: Any, label: str) -> Any:
        self.actions += 1
        return await self.stage.coach.click(message, label=label)


def hole_rows() -> str:
    return "\n".join(
        f"{n} par {3 if yards < 200 else 4}, {yards}, bearing {20 * n}, Hole of {n}"
        for n, yards in enumerate(LENGTHS, start=1)
    )


def line_rows() -> str:
    rows: list[str] = []
    for number, yards in enumerate(LENGTHS, start=1):
        head = f"{number}, Sail, recommended, way {number}"
        if yards < 200:
            rows.append(f"{head} | | 7-iron (yew), {yards - 14} aim 4.{number} right 2 long")
        else:
            rows.append(
                f"{head} / - / driver (yew), 222 aim 5.{number} right 3 long"
                f" / 7-iron (yew), {min(yards - 222, 140)} aim 3 right"
            )
    return "\n".join(rows)


async def test_nine_holes_three_divisions_and_27_lines_take_few_actions(stage: Stage) -> None:
    coach = Counted(stage)
    await coach.slash("setup notes", channel=stage.notes)
    await coach.fill(
        await coach.slash("event new"),
        name="Harbour Cup",
        divisions=", ".join(DIVISIONS),
        rounds="Saturday, Sunday",
        holes=hole_rows(),
    )
    for place, division in enumerate(DIVISIONS):
        for late, round_ in enumerate(("Saturday", "Sunday")):
            opened = await coach.slash("event winds", division=division, round=round_)
            speed = 10 - 2 * place + 3 * late
            winds = "\n".join(f"{n}: {speed} from {1 + n % 3}" for n in range(1, 10))
            await coach.fill(opened, rows=winds)
    shown = only_message(await coach.fill(await coach.slash("line many"), rows=line_rows()))
    assert shown.embeds[0].title == "9 lines, not saved yet"
    assert "⚠" not in text(shown.embeds[0].description), shown.embeds[0].description
    await coach.press(shown, "Save 9")
    for division in ("Oar", "Punt"):
        copies = only_message(await coach.slash("line copy", division=division, of="Sail"))
        assert "⚠" not in text(copies.embeds[0].description)
        assert "copied from 1A, not tested · in " in text(copies.embeds[0].description)
        saved = await coach.press(copies, "Save 9")
        assert saved is not None
    await coach.slash("publish")
    assert coach.actions <= MOST_ACTIONS, coach.actions
    assert coach.actions == 1 + 2 + 2 * 6 + 3 + 2 * 2 + 1
    notes = stage.notes.history()
    assert len(notes) == 9
    for number, note in enumerate(notes, start=1):
        names = [text(each.name) for each in note.embeds[0].fields][:3]
        hour = 1 + number % 3
        speeds = [f"{speed} mph from {hour}" for speed in (10, 8, 6)]
        assert names == [f"{d} · {wind}" for d, wind in zip(DIVISIONS, speeds, strict=True)]
        own, oar, punt = (text(each.value).split("\n") for each in note.embeds[0].fields[:3])
        assert own[0] == f"★ **A** way {number} · as tested"
        assert oar[0] == f"★ **B** way {number} · moved from 10 mph, not tested"
        assert punt[0].startswith("★ **C**") and own[1] != oar[1] != punt[1]
    shown = await card(stage, stage.coach, "cup line", hole=3, line="B")
    assert text(shown.description).startswith("Copied from 3A, which was tested in **10 mph from 1")
    await card(stage, stage.coach, "line status", hole=3, line="B", status="tested")
    shown = await card(stage, stage.coach, "cup line", hole=3, line="B")
    assert text(shown.description).startswith("Tested in **10 mph from 1")


@pytest.fixture
async def cup(stage: Stage) -> Stage:
    await load_cup(stage)
    return stage


async def many(cup: Stage, rows: str) -> Any:
    opened = await cup.coach.slash(cup.questions, "line many")
    return only_message(await fill(cup, cup.coach, opened, rows=rows))


async def test_what_looks_wrong_is_said_before_anything_is_kept(cup: Stage) -> None:
    shot = "driver (yew), 226 yd"
    message = await many(
        cup,
        f"2A, Sail, recommended, other | 9 from 3 | {shot} aim 6 left leaves 30 to 40"
        " | 7-iron, 140\n"
        "4 | | driver 390 | sand wedge 20\n"
        "9 Oar | 6 from 2 | 7-iron, 130",
    )
    assert message.embeds is not None
    told = text(message.embeds[0].description)
    if "can't be read" in text(message.embeds[0].title):
        pytest.fail(told)
    doubts = [row for row in told.split("\n") if row.startswith("⚠")]
    assert "⚠ **2E** The letter A is taken; this becomes E." in doubts or (
        "⚠ **2D** The letter A is taken; this becomes D." in doubts
    )
    said = "\n".join(doubts)
    assert "Shot 1 aims left, with the wind; right is computed." in said
    assert "Shot 1 leaves 30 to 40 yd, but shot 2 carries 140." in said
    assert "Line A is recommended for Sail too." in said
    assert "The shots carry 130 yd of the hole's" in said
    assert labels_of(message) == ["Save 3", "Change", "Give up"]
    gone = await cup.coach.click(message, label="Give up")
    assert gone is not None
    said = text((await card(cup, cup.coach, "cup show")).description)
    assert "**2** " in said and ", D" not in said.split("**2** ")[1].split("\n")[0]


async def test_rows_that_cant_be_read_come_back_with_a_button(cup: Stage) -> None:
    message = await many(cup, "2 | 9 from 3\n12 | | 7-iron, 130\n3 | 8 from 2 | spoon, 130")
    told = [row for row in text(message.embeds[0].description).split("\n") if "**Row" in row]
    assert [row.split("** ")[0] for row in told] == ["**Row 1", "**Row 2", "**Row 3"]
    assert "Shot 1: " in told[2] and "Change it" in labels_of(message)


async def test_a_copy_to_another_hole_keeps_how_the_wind_blew_where_it_was_tested(
    cup: Stage,
) -> None:
    message = only_message(
        await cup.coach.slash(cup.questions, "line copy", hole=3, line="A", to_hole=5)
    )
    await cup.coach.click(message, label="Save 1")
    shown = await card(cup, cup.coach, "cup line", hole=5, line="D")
    assert "Copied from 3A" in text(shown.description)
    told = text((await card(cup, cup.coach, "cup line", hole=3, line="A")).description)
    assert told.startswith("Tested in **")
    nothing = only_message(await cup.coach.slash(cup.questions, "line copy"))
    assert cup.env.errors and "Say for which division" in nothing.content


async def test_the_history_says_what_changed_and_a_press_brings_it_back(cup: Stage) -> None:
    opened = await cup.coach.slash(cup.questions, "line edit", hole=2, line="C")
    rows = "6-iron (yew), 150 yd aim 2.5 right"
    shown = only_message(await fill(cup, cup.coach, opened, rows=rows))
    await cup.coach.click(shown, label="Save")
    opened = await cup.coach.slash(cup.questions, "line edit", hole=2, line="C")
    shown = only_message(await fill(cup, cup.coach, opened, rows=rows.replace("2.5", "3.5")))
    await cup.coach.click(shown, label="Save")
    message = only_message(await cup.coach.slash(cup.questions, "cup history", hole=2, line="C"))
    told = text(message.embeds[0].description)
    assert "shot 1: aim 2.5 marks right → 3.5 marks right" in told
    assert labels_of(message) == ["Bring back 2", "Bring back 1"]
    reader = only_message(await cup.tamsin.slash(cup.questions, "cup history", hole=2, line="C"))
    assert labels_of(reader) == []
    back = only_message(await cup.coach.click(message, label="Bring back 2"))
    assert back.content == "Revision 2 is back."
    assert "brought back revision 2" in text(back.embeds[0].description)
    embed = only_embed(await cup.coach.slash(cup.questions, "cup line", hole=2, line="C"))
    assert "2.5 marks right" in str(embed.to_dict())
