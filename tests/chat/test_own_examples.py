"""Examples name the community's own cup, divisions, rounds and clubs, not somebody else's."""

import re
from typing import Any

from tests.chat.asking import refused, text
from tests.chat.booking import fill, load_cup, only_message
from tests.chat.conftest import Stage
from tests.chat.test_own_kit import OTHER_KIT, loaded
from tests.kits import demo_kit
from tests.unit.test_command_texts import LIST

OWN_CUP = """
name = "Harbour Plate"
divisions = ["Gannet", "Tern"]
rounds = ["Friday", "Sunday"]
[[holes]]
number = 3
par = 4
yards = 388
"""


def hints(modal: Any) -> dict[str, str]:
    """What each field of a form shows while it is empty."""
    fields = [label["component"] for label in modal["components"]]
    return {each["custom_id"]: each.get("placeholder") or "" for each in fields}


async def test_forms_and_refusals_name_the_own_cup(stage: Stage) -> None:
    before = hints((await stage.coach.slash(stage.questions, "event new")).modal)
    assert before["name"] == "Spring Cup 2" and before["divisions"] == "First, Second"
    await load_cup(stage, OWN_CUP.encode(), "plate.toml")
    opened = await stage.coach.slash(stage.questions, "event new")
    assert hints(opened.modal) == {
        "name": "Harbour Plate 2",
        "divisions": "Gannet, Tern",
        "rounds": "Friday, Sunday",
        "holes": "1 par 4, 372, Tern 340, bearing 20",
        "units": "",
    }
    filled = await fill(
        stage, stage.coach, opened, name="Other", divisions="a", rounds="b", holes="1 par 9"
    )
    assert "1 par 4, 372, bearing 20" in str(only_message(filled).embeds[0].description)
    said = await refused(stage, stage.coach, "event rename", event="Harbour Plate", name="Other")
    assert "/event new" in said
    said = await refused(stage, stage.coach, "event hole", row="3 par")
    assert "1 par 4, 372, Tern 340, bearing 20" in said
    wrong = OWN_CUP.replace("388", "-1").replace('"Friday", "Sunday"', "7")
    (embed,) = only_message(
        await stage.coach.slash(stage.questions, "event load", file=("c.toml", wrong.encode()))
    ).embeds
    assert 'rounds = ["Friday", "Sunday"]' in text(embed.description)
    empty = only_message(await stage.coach.slash(stage.questions, "event file")).attachments[0]
    file = (await empty.read()).decode()
    assert '"Gannet"' in file and "Friday" in file and "Sail" not in file


async def test_a_kit_that_cannot_be_read_is_told_by_the_own_clubs(stage: Stage) -> None:
    await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    wrong = OTHER_KIT.replace("full_yd = 118", "full_yd = -1")
    (embed,) = only_message(
        await stage.coach.slash(stage.questions, "kit load", file=("game.toml", wrong.encode()))
    ).embeds
    said = text(embed.description)
    assert re.search(r'A right line: .*name = "(Long Spoon|9|Mk I)"', said), said


async def test_a_share_without_a_wind_is_refused_with_a_shot_of_the_own_kit(stage: Stage) -> None:
    await stage.coach.click(await loaded(stage, OTHER_KIT), label="Save")
    await load_cup(stage, OWN_CUP.encode(), "plate.toml")
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.odile.slash(stage.questions, "me division", division="Tern")
    said = await refused(stage, stage.odile, "share", hole=3)
    assert re.search(r"/share hole:3 shot:(Long Spoon|club 9), ", said), said


def test_no_description_names_a_club_or_a_division() -> None:
    """They are the same in every community."""
    words = {club.name for club in demo_kit().clubs} | {"Sail", "Oar", "Punt", "Slipway"}
    listed = LIST.read_text(encoding="utf-8")
    found = [word for word in sorted(words) if re.search(rf"\b{re.escape(word)}\b", listed)]
    assert found == []
