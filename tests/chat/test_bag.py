"""/bag: set and shown, kept per member and community, and kept over a restart."""

import asyncio
from typing import Any

from tests.chat.asking import ask_example, card, example_of, refused, suggested
from tests.chat.conftest import Stage
from tests.kits import demo_kit


async def lines_of(stage: Stage, who: Any, **options: str) -> list[str]:
    """The bag's card, line by line."""
    embed = await card(stage, who, "bag", **options)
    assert embed.title == "Your bag" and embed.description is not None
    return embed.description.splitlines()


async def test_an_empty_bag_shows_the_kits_defaults(stage: Stage) -> None:
    lines = await lines_of(stage, stage.tamsin)
    kit = demo_kit()
    assert lines[: len(kit.clubs)] == [
        f"**{club.name}** ash, {club.grades[0].full_yd:.0f} yd · default" for club in kit.clubs
    ]
    assert lines[-2:] == ["**Ball** plover · default", "**Units** yards and mph"]


async def test_one_club_is_set_and_the_rest_stay(stage: Stage) -> None:
    await lines_of(stage, stage.tamsin, club="gap wedge", grade="oak")
    lines = await lines_of(stage, stage.tamsin, club="5i", grade="YEW")
    assert "**5-iron** yew, 170 yd" in lines
    assert "**gap wedge** oak, 92 yd" in lines
    assert sum(line.endswith("· default") for line in lines) == len(demo_kit().clubs) - 2 + 1


async def test_a_grade_alone_sets_every_club_that_has_it(stage: Stage) -> None:
    lines = await lines_of(stage, stage.tamsin, grade="oak")
    assert lines[0] == "**driver** oak, 238 yd"
    assert sum(" oak, " in line for line in lines) == len(demo_kit().clubs)


async def test_ball_and_units_are_set_in_one_go_and_carries_turn_metric(stage: Stage) -> None:
    lines = await lines_of(stage, stage.tamsin, ball="hern", units="metric")
    assert lines[-2:] == ["**Ball** heron", "**Units** metres and m/s"]
    assert lines[5] == "**5-iron** ash, 151 m · default"
    assert (await lines_of(stage, stage.tamsin, grade="ash"))[-2:] == lines[-2:]


async def test_bags_are_each_members_own_in_each_community(stage: Stage) -> None:
    await lines_of(stage, stage.tamsin, club="driver", grade="yew")
    assert (await lines_of(stage, stage.odile))[0] == "**driver** ash, 232 yd · default"
    elsewhere = stage.env.create_guild()
    room = elsewhere.create_text_channel("wind-questions")
    away = elsewhere.add_member(stage.tamsin.user)
    result = await away.slash(room, "bag")
    assert result.response is not None
    assert "**driver** ash" in str(result.response.embeds[0].description)
    assert (await lines_of(stage, stage.tamsin))[0] == "**driver** yew, 243 yd"


async def test_a_restart_keeps_every_bag(stage: Stage) -> None:
    await lines_of(stage, stage.tamsin, club="7-iron", grade="yew")
    await lines_of(stage, stage.odile, ball="tern", units="metric")
    question = "10 mph off the left, 7-iron, 130 yd"
    people = (stage.tamsin, stage.odile)
    before = [await card(stage, who, "wind", question=question) for who in people]
    await stage.restart()
    after = [await card(stage, who, "wind", question=question) for who in people]
    assert before == after and before[0] != before[1]
    assert "**7-iron** yew, 145 yd" in await lines_of(stage, stage.tamsin)
    assert (await lines_of(stage, stage.odile))[-2:] == [
        "**Ball** tern",
        "**Units** metres and m/s",
    ]


async def test_changes_made_at_once_are_all_kept(stage: Stage) -> None:
    services = stage.bot.services
    assert services is not None
    clubs = [club.name for club in demo_kit().clubs]
    await asyncio.gather(
        *(services.bags.change(7, 9, grades={club: "oak"}) for club in clubs),
        services.bags.change(7, 9, grades={}, ball="heron"),
        services.bags.change(7, 9, grades={}, units="metric"),
    )
    services.bags.drop(7, 9)
    bag = await services.bags.get(7, 9)
    assert bag.grades == dict.fromkeys(clubs, "oak")
    assert (bag.ball, bag.units) == ("heron", "metric")


LACKING: tuple[tuple[dict[str, str], str], ...] = (
    ({"club": "5-iron"}, "Say which grade of the 5-iron you own: ash, oak, yew."),
    ({"club": "9-iron", "grade": "elm"}, "The 9-iron has no grade called `elm`; it has ash"),
    ({"grade": "**elm**"}, "The kit has no grade called `**elm**`"),
    ({"grade": "z" * 3000}, "The kit has no grade called `zzz"),
    ({"club": "spoon", "grade": "oak"}, "The kit has no club by this name"),
    ({"club": "x" * 3000, "grade": "oak"}, "The kit has no club by this name"),
    ({"ball": "@everyone"}, "The kit has no ball by this name"),
    ({"ball": "דרור"}, "The kit has no ball by this name"),
)


async def test_what_the_kit_lacks_is_met_with_a_sentence_and_changes_nothing(stage: Stage) -> None:
    for options, said in LACKING:
        before = await lines_of(stage, stage.tamsin)
        content = await refused(stage, stage.tamsin, "bag", **options)
        assert f"ou wrote `{next(iter(options.values()))[:100]}" in content
        assert said in content and len(content) < 500
        assert await lines_of(stage, stage.tamsin) == before
        example = example_of(content)
        embed = await ask_example(stage, stage.tamsin, example)
        assert embed.title == "Your bag"


async def test_options_suggest_what_the_kit_has_and_a_clubs_own_grades(stage: Stage) -> None:
    async def shown(option: str, typed: str, **filled: str) -> list[str]:
        found = await suggested(stage, stage.tamsin, "bag", option, typed, **filled)
        return [each for each, _ in found]

    assert await shown("club", "iron") == [
        "4-iron", "5-iron", "6-iron", "7-iron", "8-iron", "9-iron",
    ]  # fmt: skip
    assert await shown("club", "5") == ["5-wood", "5-iron"]
    assert await shown("grade", "", club="driver") == ["ash", "oak", "yew"]
    assert await shown("grade", "y") == ["yew"]
    assert await shown("ball", "N") == ["tern", "heron"]
