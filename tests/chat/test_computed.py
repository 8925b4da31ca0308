"""What is computed of lines nobody tried: in /compare, For me, /round and /practice."""

from types import SimpleNamespace
from typing import Any

import pytest

from bot.commands.for_me.cog import ForMeCog
from engine.execution import PRIOR_RELATIVE_SD
from shared.errors import StorageError
from storage.played import Part, Played
from storage.results import Results
from tests.chat.asking import card, text
from tests.chat.booking import fill, labels_of, load_cup, only_embed
from tests.chat.conftest import Stage
from tests.chat.test_chances import give
from tests.kits import demo_kit

CUP = b"""
name = "Quay Cup"
divisions = ["Sail"]
rounds = ["Saturday"]

[[holes]]
number = 1
par = 5
yards = 424
winds = [{ division = "Sail", round = "Saturday", wind = "14 mph from 10" }]

[[holes.lines]]
variant = "A"
status = "recommended"
wind = "14 mph from 10"
shots = [
    { shot = "driver, 226", worked = { right = -9.0, long = 5.0 } },
    { shot = "3-wood, 196", worked = { right = -8.0, long = 4.0 } },
]

[[holes.lines]]
variant = "B"
status = "tested"
wind = "14 mph from 10"
shots = [
    { shot = "5-wood, 184", worked = { right = -8.0, long = 4.0 } },
    { shot = "5-wood, 180", worked = { right = -8.0, long = 4.0 } },
    { shot = "pitching wedge, 60", worked = { right = -2.0, long = 1.0 } },
]

[[holes.lines]]
variant = "C"
status = "idea"
wind = "14 mph from 10"
shots = [{ shot = "driver, 226" }, { shot = "5-wood, 180" }]

[[holes]]
number = 2
par = 3
yards = 150
winds = [{ division = "Sail", round = "Saturday", wind = "8 mph from 3" }]

[[holes.lines]]
variant = "A"
status = "recommended"
wind = "8 mph from 3"
shots = [{ shot = "6-iron, 150, onto green" }]

[[holes.lines]]
variant = "B"
status = "tested"
wind = "8 mph from 3"
shots = [{ shot = "sand wedge, 50, onto fairway" }, { shot = "9-iron, 100, onto green" }]
"""
LOGGED, WIDER = 200.0, 1.6


@pytest.fixture
async def quay(stage: Stage) -> Stage:
    """A cup of two holes, published; Tamsin in Sail."""
    await load_cup(stage, CUP)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    await stage.coach.slash(stage.questions, "publish")
    await stage.tamsin.slash(stage.questions, "me division", division="Sail")
    return stage


async def learn_hits(stage: Stage) -> None:
    """Have the group know how wide all clubs are hit: as from many logged shots."""
    services = stage.bot.services
    assert services is not None
    squares = [LOGGED * (WIDER * sd) ** 2 for sd in PRIOR_RELATIVE_SD]
    row = (LOGGED, 0.0, 0.0, 0.0, *squares, 0.0)
    parts = tuple(
        Part("hits", f"{club.name}/{grade.name}|{band}", row)
        for club in demo_kit().clubs
        for grade in club.grades
        for band in range(3)
    )
    played = Played("h", "h/A", "A", False, club="6-iron", grade="ash", parts=parts)
    await Results(services.db).add(
        stage.guild.id, played, member_id=5, author_name="x", interaction_id=8999
    )


async def for_me(stage: Stage, wind: str, line: str = "A") -> Any:
    """For me under the first hole's note: the answer as it stands in the end."""
    form = await stage.tamsin.click(stage.notes.history()[0], label="For me")
    answer = await fill(stage, stage.tamsin, form, wind=wind, line=line)
    assert answer.ephemeral
    return answer.response


def said(message: Any) -> str:
    return text(message.embeds[0].description)


async def test_lines_nobody_tried_are_ranked_as_far_as_they_can_be_told_apart(
    quay: Stage,
) -> None:
    embed = await card(quay, quay.tamsin, "compare", hole=2)
    rows = {text(field.name)[0]: text(field.value).split("\n") for field in embed.fields}
    about = text(embed.description)
    assert "not enough tries to give a chance" in about and "%" not in about.split("What")[0]
    assert rows["A"][0] == rows["B"][0] == "not tried yet"
    assert "Computed: A = B, no clear difference" in about
    assert rows["A"][1] == "computed to stay on the green: level with B"
    assert "taken to end" not in about  # the lines say so
    await learn_hits(quay)
    first = await card(quay, quay.tamsin, "compare", hole=1)
    about = text(first.description)
    assert "last shots taken to end on a green" in about
    assert "none clearly likelier to go in; likeliest to stay on the green **B**, then A" in about
    assert text(first.fields[0].name).startswith("B · tested")
    assert "computed to stay on the green: before A" in text(first.fields[0].value)


async def test_once_chances_have_held_they_are_given_with_their_margin(quay: Stage) -> None:
    await learn_hits(quay)
    await give(quay, 240, actual=1.0)
    embed = await card(quay, quay.tamsin, "compare", hole=1)
    rows = {text(field.name)[0]: text(field.value).split("\n") for field in embed.fields}
    assert "not enough tries" not in text(embed.description)
    shares: dict[str, float] = {}
    for letter in "ABC":
        assert rows[letter][0] == "not tried yet"
        words = rows[letter][1].split("stays on the green ")
        assert words[0].startswith("computed: goes in ") and "%" in words[0]
        share, margin = words[1].split("% ± ")
        shares[letter] = float(share)
        assert 2 <= float(margin) <= 40
    assert shares["B"] > shares["A"] + 20


async def test_in_a_strong_wind_for_me_names_the_safer_line_and_opens_it(quay: Stage) -> None:
    await learn_hits(quay)
    answer = await for_me(quay, "14 from 10")
    assert "**Line B is safer in this wind:** it stays on the green more often (computed)." in said(
        answer
    )
    assert "of tries" not in said(answer)  # no number before chances have held
    others = [label for label in labels_of(answer) if label.startswith("Line ")]
    assert others[0] == "Line B"
    opened = await quay.tamsin.click(answer, label="Line B")
    assert "line B" in said(opened.response) and "safer" not in said(opened.response)
    why = only_embed(await quay.tamsin.click(answer, label="Why"))
    assert "Line B is safer in this wind" in text(why.description)
    await give(quay, 240, actual=1.0)
    numbers = said(await for_me(quay, "14 from 10"))
    assert "(computed: 9" in numbers and "% of tries, not " in numbers


async def test_in_little_wind_or_from_noise_no_line_is_named(quay: Stage) -> None:
    assert "safer" not in said(await for_me(quay, "14 from 10"))  # nothing is known of hits
    await learn_hits(quay)
    assert "safer" not in said(await for_me(quay, "9 from 10"))
    assert "safer" not in said(await for_me(quay, "14 from 10", line="B"))


async def test_the_round_names_the_safer_line_too(quay: Stage) -> None:
    await learn_hits(quay)
    opened = await quay.tamsin.slash(quay.questions, "round")
    assert "Line B is safer in this wind" in said(opened.response)
    again = await quay.tamsin.click(opened.response, label="Line B")
    assert "line B" in said(again.response) and "safer" not in said(again.response)


async def test_what_is_computed_late_changes_no_later_answer(
    quay: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another answer begins while the safer line is computed: the row belongs to the one before."""
    await learn_hits(quay)
    services, cog = quay.bot.services, quay.bot.get_cog("ForMeCog")
    assert services is not None and isinstance(cog, ForMeCog)
    of_hole, began = services.lines.of_hole, list[int]()
    member: Any = SimpleNamespace(
        extras={}, guild_id=quay.guild.id, user=SimpleNamespace(id=quay.tamsin.id)
    )

    async def slow(*args: Any, **named: Any) -> Any:
        began.append(cog.latest.begin(member))
        return await of_hole(*args, **named)

    with monkeypatch.context() as patched:
        patched.setattr(services.lines, "of_hole", slow)
        assert "safer" not in said(await for_me(quay, "14 from 10"))
    assert began == [2]
    assert "safer" in said(await for_me(quay, "14 from 10"))  # kept


async def test_what_cannot_be_computed_late_leaves_the_answer_as_it_is(
    quay: Stage, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    services = quay.bot.services
    assert services is not None

    async def failing(*_: Any, **__: Any) -> Any:
        raise StorageError("the database is away")

    monkeypatch.setattr(services.lines, "of_hole", failing)
    answer = await for_me(quay, "14 from 10")
    assert "line A" in said(answer) and not quay.env.errors
    assert "goes without the safer line" in caplog.text


async def test_practice_spends_tries_where_the_computed_chance_is_least_sure_and_says_so(
    quay: Stage,
) -> None:
    await learn_hits(quay)
    embed = await card(quay, quay.tamsin, "practice", entries=9)
    said = text(embed.description)
    (row,) = [line for line in said.split("\n") if line.startswith("Computed chance least sure: ")]
    assert f"**H{row.removeprefix('Computed chance least sure: h')}** " in said
    assert "the less sure it is, the more a try can show" in said
    await give(quay, 150, actual=3.0)
    await give(quay, 120, actual=0.1)  # far fewer go in than was given by then
    without = text((await card(quay, quay.tamsin, "practice", entries=9)).description)
    assert "computed" not in without.lower() and "Each try goes where" in without
