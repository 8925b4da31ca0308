"""Answers at their longest: each is held to Discord's limits, keeps what matters and says the rest.

``bodies_within_limits`` checks every body that is sent.
"""

from typing import Any

import pytest

from bot.commands.results.cog import ResultsCog
from bot.services.results.service import Try
from shared.actor import Actor, Author
from tests.chat.booking import fill, only_embed, only_message
from tests.chat.conftest import Stage

ONE_DATABASE = "what is too long to be shown is the same wherever it was kept"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LONG = "a line whose title is as long as a title of a line may be ok"
NOTE = "Past the bunker with the steep face, and never left of the flag. " * 9


def cup(lines: int, shots: int) -> bytes:
    """One hole with so many lines of so many shots, everything that is said of them at length."""
    rows = ['name = "Windlass Cup"', 'divisions = ["Sail"]', 'rounds = ["Opening round"]']
    rows += ["[[holes]]", "number = 1", "par = 5", "yards = 560"]
    for letter in LETTERS[:lines]:
        title = f"{letter}{LONG[1:]}"
        rows += ["[[holes.lines]]", f'variant = "{letter}"', f'title = "{title}"']
        rows += ['status = "tested"', 'wind = "10 mph from 2"', f'notes = "{NOTE[:590]}"']
        for number in range(shots):
            rows += [
                "[[holes.lines.shots]]",
                f'shot = "7-iron (yew), {118 + number} yd, down 2 yd"',
            ]
            rows += [f'note = "{number + 1}. {NOTE[:580]}"', "leaves_yd = [120, 140]"]
            rows += ["room = { short_yd = 8, long_yd = 12, left_yd = 10, right_yd = 6 }"]
    return "\n".join(rows).encode()


async def loaded(stage: Stage, *, lines: int, shots: int) -> None:
    given = {"file": ("cup.toml", cup(lines, shots))}
    only_embed(await stage.coach.slash(stage.questions, "event load", **given))
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")


@pytest.fixture
async def results(stage: Stage) -> Any:
    """What logs a try without a form."""
    cog = stage.bot.get_cog("ResultsCog")
    assert isinstance(cog, ResultsCog)
    return cog.service


async def test_compare_with_26_lines_names_every_line_that_was_tried(
    stage: Stage, results: Any
) -> None:
    await loaded(stage, lines=26, shots=1)
    who = Actor(stage.guild.id, stage.odile.id, "odile")
    for number, letter in enumerate(LETTERS):
        tried = Try("Windlass Cup", 1, letter, "10 mph from 2")
        said = "in" if number % 3 == 0 else "2 long, 3 right"
        await results.log(who, tried, said, interaction_id=900 + number)
    embed = only_embed(await stage.tamsin.slash(stage.questions, "compare", hole=1))
    shown = f"{embed.description} {' '.join(f'{each.name} {each.value}' for each in embed.fields)}"
    named = [letter for letter in LETTERS if f"{letter} · tested" in shown]
    missing = sorted(set(LETTERS) - set(named))
    assert len(named) == 24 and embed.fields[-1].name == "and 2 more"
    assert embed.fields[-1].value == ", ".join(f"{letter} 0/1" for letter in missing)


async def test_for_me_with_8_long_shots_gives_every_shots_aim(stage: Stage) -> None:
    await loaded(stage, lines=1, shots=8)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=1)
    note = stage.notes.history()[0]
    opened = await stage.tamsin.click(note, label="For me")
    answer = await fill(stage, stage.tamsin, opened, wind="11 mph from 2")
    embed = only_message(answer).embeds[0]
    shown = f"{embed.title}\n{embed.description}\n"
    shown += "\n".join(f"{each.name}\n{each.value}" for each in embed.fields)
    carries = [f" {118 + number} yd, down 2 yd" for number in range(8)]
    assert shown.count("set up ") == 8 and [each for each in carries if each not in shown] == []


async def test_for_me_on_a_hole_of_14_lines_offers_ten_others_in_full_rows(stage: Stage) -> None:
    await loaded(stage, lines=14, shots=1)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish", hole=1)
    opened = await stage.tamsin.click(stage.notes.history()[0], label="For me")
    answer = await fill(stage, stage.tamsin, opened, wind="3 mph from 2")
    rows = [
        [item["label"] for item in row["components"] if item["type"] == 2]
        for row in only_message(answer).components
    ]
    labels = [label for row in rows for label in row]
    assert [len(row) for row in rows if row] == [5, 5, 5]
    assert labels[:2] == ["Went in", "Missed"] and sum("Line " in each for each in labels) == 10


def game() -> str:
    """Thirteen clubs of twelve grades, their names as long as names may be."""
    rows = ['name = "A game whose name is just as long as it"', "[mark]"]
    rows += ['name = "a mark with a name that is not short"', "full_yd = 1.6", "short_yd = 0.8"]
    rows += ["[[balls]]", 'name = "a ball with a name that is as long also"']
    for club in range(13):
        name = f"{LETTERS[club] * 3}wagtail" + "o" * 30
        rows += ["[[clubs]]", f'name = "{name[:40]}"', 'family = "short iron"', "grades = ["]
        for grade in range(12):
            kind = f"{LETTERS[grade].lower() * 3}alder" + "u" * 32
            full = 90 + 8 * club + grade
            rows.append(f'{{ name = "{kind[:40]}", full_yd = {full}, short_yd = 60 }},')
        rows.append("]")
    return "\n".join(rows)


async def test_a_kit_of_13_clubs_of_12_grades_is_shown_club_by_club(
    stage: Stage,
) -> None:
    given = {"file": ("game.toml", game().encode())}
    preview = only_message(await stage.coach.slash(stage.questions, "kit load", **given))
    saved = await stage.coach.click(preview, label="Save")
    assert str(saved.response.embeds[0].title).startswith("You play ")
    shown = only_message(await stage.tamsin.slash(stage.questions, "clubs")).embeds[0]
    clubs = [f"**{letter * 3}wagtail" for letter in LETTERS[:13]]
    *rows, last = str(shown.description).splitlines()
    assert [club for club, row in zip(clubs, rows, strict=False) if club not in row] == []
    assert all(row.count("alder") == 12 for row in rows) and len(rows) >= 6
    assert last == "… the rest does not fit here"
    whole = only_message(await stage.tamsin.slash(stage.questions, "clubs", file=True))
    file = (await whole.attachments[0].read()).decode()
    assert [letter for letter in LETTERS[:13] if f"{letter * 3}wagtail" not in file] == []


async def test_decisions_with_the_longest_reasons_show_the_last_and_say_that_there_are_more(
    stage: Stage,
) -> None:
    services = stage.bot.services
    assert services is not None
    for number in range(60):
        await services.decisions.decide(
            stage.guild.id,
            Author(stage.coach.id, "rosalind"),
            "froze the 5-iron",
            f"{number} " + "x" * 180,
            lambda _: True,
        )
    embed = only_embed(await stage.tamsin.slash(stage.questions, "decisions"))
    *lines, last = str(embed.description).splitlines()
    assert "59 xxx" in lines[0] and len(lines) == 15 and last == "… and 45 before"
