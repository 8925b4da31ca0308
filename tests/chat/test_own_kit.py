"""A community's own game: loaded and looked at, kept, exported, taken back; bags keep theirs."""

import re
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from bot.services.kits.changes import kit_changes
from bot.services.kits.kept import KeptCharts, KitRepository, keep_charts
from bot.services.kits.toml_out import kit_toml
from bot.settings import Settings
from bot.wiring import kits_in_force
from shared.actor import Author
from shared.kit import Charts, Kit
from shared.kit_file import read_kit
from tests.chat.asking import ask_example, card, refused, text
from tests.chat.booking import fill, labels_of, no_coach, only_embed, only_message
from tests.chat.conftest import Stage
from tests.chat.polling import cup_of
from tests.chat.test_kit_help import OTHER_KIT
from tests.kits import DEMO_KIT, demo_kit

FLAT = Charts(into=((1.0, 0.9),), helping=((1.0, 0.5),), across=((1.0, 0.7),))


def changed_demo(**of_the_iron: object) -> str:
    """The demo's file with another 5-iron and without its last club."""
    file = tomlkit.parse(DEMO_KIT.read_text(encoding="utf-8"))
    clubs = file["clubs"]
    iron = next(each for each in clubs if each["name"] == "5-iron")
    iron.update(of_the_iron)
    clubs.pop()
    return tomlkit.dumps(file)


async def loaded(stage: Stage, text_: str, name: str = "game.toml", who: Any = None) -> Any:
    given = {"file": (name, text_.encode())}
    return only_message(await (who or stage.coach).slash(stage.questions, "kit load", **given))


async def played(stage: Stage) -> str:
    return text((await card(stage, stage.tamsin, "clubs")).title)


async def test_a_kit_is_looked_at_saved_and_undone(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", club="5-iron", grade="oak", units="metric")
    grades = [{"name": "ash", "full_yd": 171, "short_yd": 107}]
    message = await loaded(stage, changed_demo(grades=grades))
    embed = message.embeds[0]
    said = text(embed.description)
    assert embed.title == f"{demo_kit().name}: not saved yet"
    assert "5-iron: ash 165 yd (from 107 yd) → 171 yd (from 107 yd); − oak; − yew" in said
    assert "− sand wedge" in said and "the operator's kit" in said
    assert "1 bag holds what it lacks: kept, and its member is told." in said
    assert labels_of(message) == ["Save", "Discard"]
    # Nothing has moved before it is saved.
    assert "**sand wedge**" in text((await card(stage, stage.tamsin, "clubs")).description)
    await stage.restart()
    saved = await stage.coach.click(message, label="Save")
    assert text(saved.response.embeds[0].title).startswith("You play ")
    shown = await card(stage, stage.tamsin, "clubs")
    assert "**5-iron** ash 156" in text(shown.description)
    assert "sand wedge" not in text(shown.description)
    assert "your group's own" in text(shown.footer.text)
    # The bag keeps what has vanished and says so; an answer says it of its club.
    bag = text((await card(stage, stage.tamsin, "bag")).description)
    assert "*Your game has no oak 5-iron any more: kept, should it come back.*" in bag
    answer = await card(stage, stage.tamsin, "wind", question="calm, 5-iron, 150 m")
    assert "no longer has the grade oak" in text(answer.description)
    undone = await stage.coach.click(saved.response, label="Undo")
    assert "the operator's kit" in text(undone.response.embeds[0].title)
    bag = text((await card(stage, stage.tamsin, "bag")).description)
    assert "**5-iron** oak" in bag and "any more" not in bag


async def test_discard_keeps_nothing_and_a_saved_kit_waits_no_more(stage: Stage) -> None:
    before = await played(stage)
    message = await loaded(stage, OTHER_KIT)
    gone = await stage.coach.click(message, label="Discard")
    assert gone.response.embeds[0].title == "Discarded: nothing has changed"
    assert not labels_of(gone.response) and await played(stage) == before
    message = await loaded(stage, OTHER_KIT)
    await stage.coach.click(message, label="Save")
    assert await played(stage) == "Kit: Bogside"
    same = await loaded(stage, OTHER_KIT)
    assert same.embeds[0].title == "Bogside: nothing would change" and not labels_of(same)


async def test_two_coaches_at_once_overwrite_nothing(stage: Stage) -> None:
    first, second = await loaded(stage, OTHER_KIT), await loaded(stage, changed_demo())
    await stage.coach.click(first, label="Save")
    late = await stage.coach.click(second, label="Save")
    said = late.followups[0].content
    assert "The kit has changed since you looked; nothing was kept." in said
    assert await played(stage) == "Kit: Bogside"


async def test_a_file_with_something_wrong_names_its_line_and_field(stage: Stage) -> None:
    broken = OTHER_KIT.replace("full_yd = 197", "full_yd = -4")
    embed = (await loaded(stage, broken)).embeds[0]
    assert embed.title == "Nothing was loaded: one thing to put right"
    line = broken[: broken.index("full_yd = -4")].count("\n") + 1
    assert f"**line {line}** clubs" in text(embed.description)
    assert "Mk II" in text(embed.description) and "full\\_yd" in text(embed.description)
    far = OTHER_KIT.replace("full_yd = 118", "full_yd = 480")
    embed = (await loaded(stage, far)).embeds[0]
    assert "No swing of the 9 carries 480 yards." in text(embed.description)
    line = far[: far.index("full_yd = 480")].count("\n") + 1
    assert f"**line {line}**" in text(embed.description)


async def test_members_see_and_coaches_change(stage: Stage) -> None:
    given = {"file": ("game.toml", OTHER_KIT.encode())}
    said = await no_coach(stage, stage.odile, "kit load", **given)
    assert "Only a coach can do this" in said
    message = await loaded(stage, OTHER_KIT)
    await stage.coach.click(message, label="Save")
    shown = only_message(await stage.odile.slash(stage.questions, "clubs", file=True))
    assert text(shown.embeds[0].title) == "Kit: Bogside"
    assert shown.attachments[0].filename.endswith(".toml")
    history = only_message(await stage.coach.slash(stage.questions, "kit history"))
    assert "**1** Bogside · loaded by" in text(history.embeds[0].description)


async def test_the_history_says_what_changed_and_brings_back(stage: Stage) -> None:
    for file in (OTHER_KIT, OTHER_KIT.replace("full_yd = 118", "full_yd = 121")):
        await stage.coach.click(await loaded(stage, file), label="Save")
    history = only_message(await stage.coach.slash(stage.questions, "kit history"))
    said = text(history.embeds[0].description)
    assert "9: Mk I 118 yd (from 77 yd) → 121 yd (from 77 yd)" in said
    assert labels_of(history) == ["Bring back 1", "The operator's kit"]
    await stage.restart()
    await stage.coach.click(history, label="Bring back 1")
    shown = await card(stage, stage.tamsin, "clubs")
    assert "**9** Mk I 118" in text(shown.description)
    history = only_message(await stage.coach.slash(stage.questions, "kit history"))
    assert "brought back revision 1" in text(history.embeds[0].description)
    back = await stage.coach.click(history, label="The operator's kit")
    assert "the operator's kit" in text(back.response.embeds[0].title)
    assert await played(stage) == f"Kit: {demo_kit().name}"


async def test_an_export_comes_back_as_the_same_kit_and_charts_stay_laid_over(
    stage: Stage,
) -> None:
    services = stage.bot.services
    assert services is not None
    await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    charts = KeptCharts().with_charts("Long Spoon", FLAT)
    here, now = stage.guild.id, services.db.now()
    who = Author(None, "Odile")
    await services.db.write(
        lambda c: keep_charts(c, here, charts, author=who, reason="measured", at=now)
    )
    shown = await card(stage, stage.tamsin, "clubs")
    assert "**Long Spoon** Mk I 191, Mk II 197 · chart" in text(shown.description)
    for with_charts in (False, True):
        given = {"charts": with_charts}
        message = only_message(await stage.coach.slash(stage.questions, "kit export", **given))
        assert message.attachments[0].filename == "bogside.toml"
        data = (await message.attachments[0].read()).decode()
        kit = read_kit(data, file="bogside.toml")
        assert kit.club("Long Spoon").charts == (FLAT if with_charts else None)
        plain_kit = read_kit(OTHER_KIT, file="other.toml")
        assert (kit == plain_kit) is not with_charts
    again = await loaded(stage, OTHER_KIT.replace("full_yd = 197", "full_yd = 199"))
    assert "Measured charts stay: Long Spoon." in text(again.embeds[0].description)
    saved = await stage.coach.click(again, label="Save")
    assert saved.response.embeds[0].title == "You play Bogside"
    shown = await card(stage, stage.tamsin, "clubs")
    assert "Mk II 199 · chart" in text(shown.description)


async def test_lines_that_the_new_game_cannot_play_are_named_and_stay(stage: Stage) -> None:
    cup = await cup_of(stage)
    message = await loaded(cup, OTHER_KIT)
    said = text(message.embeds[0].description)
    assert "Lines that name what it lacks: 1A, 1B" in said and "more. They stay" in said
    saved = await cup.coach.click(message, label="Save")
    note = only_message(await cup.tamsin.slash(cup.questions, "hole", hole=4))
    assert note.embeds or note.content
    await cup.coach.click(saved.response, label="Undo")
    embed = only_embed(await cup.tamsin.slash(cup.questions, "cup line", hole=4, line="A"))
    assert text(embed.title).startswith("Hole 4, line A")


async def test_the_helps_examples_are_of_the_own_kit(stage: Stage) -> None:
    await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    said = await refused(stage, stage.tamsin, "wind", question="8 from 2, mashie, 150")
    example = said.split("`")[-2]
    await ask_example(stage, stage.tamsin, example)


def test_the_start_says_which_kit_is_in_force() -> None:
    kit = demo_kit()
    said = kits_in_force(kit, Path("game.toml"), [])
    assert said == f"kit: {kit.name} (game.toml) where a community has none of its own; none has"
    said = kits_in_force(kit, Path("game.toml"), [(42, "Bogside")])
    assert said.endswith("; Bogside in 42")


async def test_whoever_has_a_kit_of_their_own_is_known_at_the_start(
    stage: Stage, settings: Settings
) -> None:
    services = stage.bot.services
    assert services is not None
    repository = KitRepository(services.db)
    assert await repository.owners() == []
    saved = await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    assert await repository.owners() == [(stage.guild.id, "Bogside")]
    await stage.coach.click(saved.response, label="Undo")
    assert await repository.owners() == []


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"limits": {"over_full": 0.2}}, "set-ups beyond full carry 0.12 → 0.2"),
        ({"spin": {"back_share": 0.05}}, "a step of backspin"),
        ({"mark": {"name": "tick", "full_yd": 1.5, "short_yd": 0.5}}, "One mark: mark"),
        ({"surfaces": [{"kind": "green", "stimp_ft": 12.0}]}, "green: Stimpmeter"),
        ({"balls": [{"name": "plover", "wind_share": 0.5}]}, "ball plover: share of the wind"),
    ],
)
def test_every_kind_of_change_has_a_row(changed: dict[str, object], said: str) -> None:
    old = demo_kit()
    new = Kit.model_validate({**old.model_dump(), **changed})
    rows = kit_changes(old, new, "yards")
    assert any(row.startswith(said) for row in rows), rows
    assert kit_changes(old, old, "yards") == []


async def test_a_cups_file_is_put_right_by_an_example_of_the_own_kit(stage: Stage) -> None:
    await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    cup = (
        'name = "Bog Cup"\ndivisions = ["Sail"]\nrounds = ["Saturday"]\n[[holes]]\nnumber = 1\n'
        'par = 3\nyards = 150\n[[holes.lines]]\nvariant = "A"\nwind = "8 from 2"\n'
        '[[holes.lines.shots]]\nshot = "5-iron, 150"\n'
    )
    given = {"file": ("bog.toml", cup.encode())}
    embed = only_embed(await stage.coach.slash(stage.questions, "event load", **given))
    said = text(embed.description)
    assert "A right line: `shot =" in said
    shot = said.split('shot = "')[-1].split('"')[0]
    right = cup.replace("5-iron, 150", shot)
    given = {"file": ("bog.toml", right.encode())}
    embed = only_embed(await stage.coach.slash(stage.questions, "event load", **given))
    assert embed.title == "Bog Cup is in the book"


async def test_for_me_says_which_grade_the_game_no_longer_has(stage: Stage) -> None:
    cup = await cup_of(stage)
    await card(cup, cup.tamsin, "me division", division="Oar")
    kit = demo_kit()
    more = [
        club.model_copy(
            update={"grades": (*club.grades, club.grades[0].model_copy(update={"name": "elm"}))}
        )
        for club in kit.clubs
    ]
    other = kit_toml(kit.model_copy(update={"clubs": tuple(more)}))
    saved = await cup.coach.click(await loaded(cup, other), label="Save")
    await card(cup, cup.tamsin, "bag", grade="elm")
    note = only_message(await cup.tamsin.slash(cup.questions, "hole", hole=4))
    said = text(only_embed(await for_me(cup, note)).description)
    assert "no longer has" not in said
    await cup.coach.click(saved.response, label="Undo")
    said = text(only_embed(await for_me(cup, note)).description)
    assert re.search(r"^The kit no longer has the grade elm of the .+: default used$", said, re.M)


async def for_me(cup: Stage, note: Any) -> Any:
    """For me under a note, in the wind that stands in its form."""
    return await fill(cup, cup.tamsin, await cup.tamsin.click(note, label="For me"))
