"""/wind and /aim in the chat: the answer, the suggestions before it, and every wrong input."""

import re

import pytest

from shared.bag import Bag
from shared.shot_text import parse
from tests.chat.asking import (
    QUIET,
    answered,
    ask_example,
    card,
    example_of,
    refused,
    sent_mentions,
    suggested,
)
from tests.chat.booking import as_it_is, labels_of, menus_of, only_embed, pick
from tests.chat.conftest import Stage
from tests.kits import demo_caddie, demo_kit

QUESTION = "8.4 mph from 2, 5-iron, 165"
MARKS = re.compile(r"[Aa]im (\d+\.\d) marks right, (\d+\.\d) ")

# The list of bad input; what was typed, and what the sentence must say about it.
BAD = (
    ("   ", "nothing in the text"),
    ("165", "also needs a wind and a club"),
    ("-3 into, 5-iron, 150", "“-3” is negative"),
    ("400 mph into, 5-iron, 150", "stronger than any"),
    ("NaN into, 5-iron, 150", "“NaN” is not a number"),
    ("inf into, 5-iron, 150", "“inf” is not a number"),
    ("1e309 into, 5-iron, 150", "“1e309” is not a number"),
    ("x" * 6000, "6,000 characters"),
    ("8 into, 2-iron, 165", "no club “2-iron”"),
    ("8 mph into, 5-iron, 50 yd", "carries 107 yd at least and the target is 50 yd away"),
    ("calm, 5-iron, 191 yd", "185 yd at most and the target is 191 yd away; the hybrid"),
    ("20 mph into, 5-iron, 160 yd", "the 5-wood"),
    ("8 into, 7 helping, 5-iron, 150", "two winds"),
    ("8 into, 5-iron, 7-iron, 140", "two clubs"),
    ("8 into 🏌️ 5-iron, 140", "was not understood"),
    ("8 into, 5-iron, 150 @everyone", "“@everyone” is a mention"),
    ("<@&77> 8 into, 5-iron, 150", "is a mention"),
    ("**loud** 8 into, 5-iron, 150", "“loud” was not understood"),
    ("[8](https://example.org) into", "not understood"),
    ("8 into, 5-iron, 150 שלום", "“שלום” was not understood"),
    ("40 mph into, sand wedge, 70 yd", "No aim holds this ball"),
    ("8 into, 7-iron, 130, back 19", "5 steps of back or top spin, not 19"),
)


async def test_the_answer_says_first_what_to_do_and_is_the_engines(stage: Stage) -> None:
    message = await answered(stage, stage.tamsin, "wind", question=QUESTION)
    answer = demo_caddie().answer(shot=parse(QUESTION, kit=demo_kit()))
    aim, change, sure = answer.allowance, answer.if_wind, answer.margin
    assert message.embeds[0].title == (
        f"5-iron · set up {answer.plays_yd:.0f} yd (full +{answer.setup_yd:.0f}) · "
        f"aim {aim.right_marks:.1f} marks right, {aim.long_marks:.1f} long"
    )
    more = [each / answer.mark_yd for each in (change.per_mph.right_yd, change.per_mph.long_yd)]
    assert (message.embeds[0].description or "").splitlines() == [
        f"8.4 mph from 2 · 165 yd · ± {sure.right_marks:.1f} across, {sure.long_marks:.1f} along "
        "(90%)",
        f"{aim.right_yd:.1f} yd right, {aim.long_yd:.1f} long · 1 mph more {more[0]:.1f} marks "
        f"right, {more[1]:.1f} long · ash, plover ball",
        sure.source,
    ]
    embed = only_embed(await stage.odile.click(message, label="Why"))
    assert embed.description is not None and answer.flight is not None
    lines = embed.description.splitlines()
    assert lines[0] == "8.4 mph from 2, 5-iron (ash), 165 yd, ball plover"
    assert lines[2] == (
        f"**Plays** {answer.plays_yd:.0f} yd for 165 yd: set up full +{answer.setup_yd:.0f} yd "
        "(share 103%)"
    )
    assert lines[3].startswith(f"**Drift** {aim.right_yd:.1f} yd left, {aim.long_yd:.1f} short")
    assert lines[4] == (
        f"**1 mph more** {more[0]:.1f} marks ({change.per_mph.right_yd:.1f} yd) right, "
        f"{more[1]:.1f} ({change.per_mph.long_yd:.1f} yd) long"
    )
    turned = [change.per_10_deg.right_yd, -change.per_10_deg.long_yd]
    assert lines[5] == (
        f"**10° clockwise** {turned[0] / answer.mark_yd:.1f} marks ({turned[0]:.1f} yd) right, "
        f"{turned[1] / answer.mark_yd:.1f} ({turned[1]:.1f} yd) short"
    )
    assert lines[6].startswith(f"**Margin** ± {answer.margin.right_yd:.1f} yd")
    assert lines[6].endswith(answer.margin.source)
    assert embed.footer.text is not None and "4.3a" in embed.footer.text


async def test_everybody_sees_an_answer_unless_it_is_asked_for_in_private(stage: Stage) -> None:
    public = await answered(stage, stage.tamsin, "wind", question=QUESTION)
    private = await answered(stage, stage.tamsin, "wind", question=QUESTION, private=True)
    assert (public.ephemeral, private.ephemeral) == (False, True)
    assert public.embeds == private.embeds


async def test_a_calm_needs_no_allowance(stage: Stage) -> None:
    embed = await card(stage, stage.tamsin, "wind", question="0 mph into, 9-iron, 110")
    assert str(embed.title).endswith("(full −6, 95%) · aim straight")
    # No wind to be wrong about: what is left is the game's own offset.
    assert "calm · 110 yd · ± 1.4 across, 1.4 along (90%)" in str(embed.description)


async def test_the_first_suggestion_is_the_answer_that_is_then_sent(stage: Stage) -> None:
    await card(stage, stage.odile, "bag", club="5-iron", grade="yew")
    for who, grade in ((stage.tamsin, "ash"), (stage.odile, "yew")):
        shown, value = (await suggested(stage, who, "wind", "question", QUESTION))[0]
        assert value == QUESTION
        embed = await card(stage, who, "wind", question=value)
        sent = MARKS.search(embed.title or "")
        before = MARKS.search(shown)
        assert sent and before and sent.groups() == before.groups()
        assert shown.endswith(f"· 5-iron ({grade})") and len(shown) <= 100


async def test_until_then_the_suggestions_finish_what_is_typed(stage: Stage) -> None:
    for typed in ("8", "8.4 mph", "8.4 mph from 2", "8.4 mph from 2, 5", "8.4 mph from 2, 5-iron"):
        found = await suggested(stage, stage.tamsin, "wind", "question", typed)
        assert 0 < len(found) <= 25
        assert all(shown == value and value.startswith(typed) for shown, value in found), typed
    finished = [value for _, value in found]
    assert finished[0] == "8.4 mph from 2, 5-iron, 165"
    assert (await suggested(stage, stage.tamsin, "wind", "question", finished[0]))[0][0].startswith(
        "Aim "
    )


async def test_the_clubs_of_the_members_own_bag_come_first(stage: Stage) -> None:
    await card(stage, stage.odile, "bag", club="sand wedge", grade="oak")
    await card(stage, stage.odile, "bag", club="8-iron", grade="yew")
    typed = "6 mph off the left, "
    own = [value for value, _ in await suggested(stage, stage.odile, "wind", "question", typed)]
    other = [value for value, _ in await suggested(stage, stage.tamsin, "wind", "question", typed)]
    assert own[:3] == [typed + "8-iron", typed + "sand wedge", typed + "driver"]
    assert other[:2] == [typed + "driver", typed + "3-wood"]
    assert (await suggested(stage, stage.odile, "wind", "question", ""))[0][0].endswith(
        "8-iron, 130"
    )


async def test_no_text_breaks_the_suggestions(stage: Stage) -> None:
    for typed, _ in BAD:
        for shown, value in await suggested(stage, stage.tamsin, "wind", "question", typed):
            assert 0 < len(shown) <= 100 and 0 < len(value) <= 100


@pytest.mark.parametrize("units", ["yards", "metric"])
async def test_what_cannot_be_answered_is_met_with_a_sentence_and_an_example_that_works(
    stage: Stage, units: str
) -> None:
    await card(stage, stage.tamsin, "bag", units=units)
    for typed, said in BAD:
        content = await refused(stage, stage.tamsin, "wind", question=typed)
        own = re.sub(r"\s+", " ", typed.replace("`", "'")).strip()
        shown = own if len(own) <= 120 else f"{own[:119]}…"
        assert content.startswith(f"You wrote {f'`{shown}`' if shown else 'nothing'}. "), content
        if units == "yards":
            assert said in content, (typed, content)
        assert "aim " in ((await ask_example(stage, stage.tamsin, example_of(content))).title or "")
    public = [m for m in stage.env.backend.messages[stage.questions.id].values() if m.content]
    assert all(message.is_ephemeral for message in public)


async def test_an_error_speaks_in_the_members_units(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", units="metric")
    content = await refused(stage, stage.tamsin, "wind", question="calm, 5-iron, 175")
    assert "set up for 169 m at most and the target is 175 m away" in content
    assert example_of(content).endswith("175 m")


async def test_nobody_is_ever_pinged(stage: Stage) -> None:
    await card(stage, stage.tamsin, "wind", question=QUESTION)
    for question in ("8 into @everyone", "@here", "<@1> 8 into 5-iron 150", "8 into @​here"):
        await refused(stage, stage.tamsin, "wind", question=question)
    await card(stage, stage.tamsin, "help")
    sent = sent_mentions(stage)
    assert len(sent) == 6 and all(each == QUIET for each in sent), sent


async def test_two_members_with_other_bags_get_other_answers(stage: Stage) -> None:
    question = "12 mph from 1, 7-iron, 135"
    await card(stage, stage.odile, "bag", club="7-iron", grade="yew")
    await card(stage, stage.odile, "bag", ball="tern")
    plain = await card(stage, stage.tamsin, "wind", question=question)
    other = await card(stage, stage.odile, "wind", question=question)
    expected = demo_caddie().answer(
        shot=parse(question, kit=demo_kit()), bag=Bag(grades={"7-iron": "yew"}, ball="tern")
    )
    assert "ash, plover ball" in (plain.description or "")
    assert "yew, tern ball" in (other.description or "")
    assert plain.title != other.title
    assert f"aim {expected.allowance.right_marks:.1f} marks" in (other.title or "")


async def test_a_metric_member_types_and_reads_metres(stage: Stage) -> None:
    await card(stage, stage.odile, "bag", units="metric")
    typed = "4 from 2, 5-iron, 150"
    embed = await card(stage, stage.odile, "wind", question=typed)
    same = demo_caddie().answer(shot=parse("4 m/s from 2, 5-iron, 150 m", kit=demo_kit()))
    assert f"set up {same.plays_yd * 0.9144:.0f} m (full +" in (embed.title or "")
    lines = (embed.description or "").splitlines()
    assert lines[0].startswith("4 m/s from 2 · 150 m · ±")
    assert lines[1].startswith(f"{same.allowance.right_yd * 0.9144:.1f} m right")
    per_mps = same.if_wind.per_mph.right_yd / 0.44704 / same.mark_yd
    assert f" · 1 m/s more {per_mps:.1f} marks right" in lines[1]
    assert " yd" not in (embed.description or "")
    shown, _ = (await suggested(stage, stage.odile, "wind", "question", typed))[0]
    assert f"plays {same.plays_yd * 0.9144:.0f} m" in shown


async def test_aim_answers_as_wind_does(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", club="6-iron", grade="oak")
    whole = await card(
        stage, stage.tamsin, "wind", question="9 off the right, 6-iron, 140, up 10%, ball heron"
    )
    options = {"wind": "9 off the right", "club": "6i", "distance": "140"}
    fields = await answered(stage, stage.tamsin, "aim", **options, height="10%", ball="HERON")
    assert fields.embeds == [whole] and not fields.ephemeral
    plain = await card(stage, stage.tamsin, "aim", **options)
    assert plain == await card(stage, stage.tamsin, "wind", question="9 off the right, 6-iron, 140")
    assert plain.title != whole.title


WRONG_OPTIONS: tuple[tuple[dict[str, str], str], ...] = (
    ({"wind": "8"}, "In wind: this option takes a wind with its direction and nothing else"),
    ({"wind": "8 into, 7-iron"}, "In wind: this option takes a wind"),
    ({"club": "2-iron"}, "In club: The kit has no club “2-iron”"),
    ({"club": "plover"}, "In club: "),
    ({"distance": "150 up 5"}, "In distance: this option takes a distance and nothing else"),
    ({"distance": "300 yd"}, "185 yd at most and the target is 300 yd away"),
    ({"height": "draw"}, "In height: this option takes how far up or down"),
    ({"ball": "@everyone"}, "In ball: “@everyone” is a mention"),
)


async def test_a_wrong_option_of_aim_is_named(stage: Stage) -> None:
    for options, said in WRONG_OPTIONS:
        right = {"wind": "8 into", "club": "5-iron", "distance": "150"}
        content = await refused(stage, stage.tamsin, "aim", **(right | options))
        assert said in content and next(iter(options.values())) in content
        assert "aim " in ((await ask_example(stage, stage.tamsin, example_of(content))).title or "")


async def test_aim_suggests_clubs_and_balls(stage: Stage) -> None:
    clubs = [shown for shown, _ in await suggested(stage, stage.tamsin, "aim", "club", "wed")]
    assert clubs == ["pitching wedge", "gap wedge", "sand wedge"]
    every = await suggested(stage, stage.tamsin, "aim", "club", "")
    assert [shown for shown, _ in every] == [club.name for club in demo_kit().clubs]
    balls = [shown for shown, _ in await suggested(stage, stage.tamsin, "aim", "ball", "t")]
    assert balls == ["tern"]


# By touch


async def test_another_wind_is_two_presses_and_no_typing(stage: Stage) -> None:
    asked = await answered(stage, stage.tamsin, "wind", question="8.4 mph from 2, 5-iron, 160")
    was, before = asked.embeds[0], len(stage.env.backend.messages[stage.questions.id])
    await pick(stage.tamsin, asked, "6 mph")
    await pick(stage.tamsin, as_it_is(stage, asked), "from 10")
    moved = as_it_is(stage, asked)
    assert moved.id == asked.id and len(stage.env.backend.messages[stage.questions.id]) == before
    same = await answered(stage, stage.odile, "wind", question="6 mph from 10, 5-iron, 160")
    assert moved.embeds[0] == same.embeds[0] != was
    items = [item for row in moved.components for item in row["components"]]
    shown = [each["label"] for it in items for each in it.get("options", ()) if each["default"]]
    assert shown == ["6 mph", "from 10"]  # the menus stand where the answer stands
    assert labels_of(moved) == ["Why", "Picture"]
    why = only_embed(await stage.tamsin.click(moved, label="Why"))
    assert str(why.description).startswith("6 mph from 10, 5-iron (ash), 160 yd")


async def test_the_menus_stand_through_a_restart_and_start_with_the_members_own_winds(
    stage: Stage,
) -> None:
    for wind in ("7.3 mph from 4", "7.3 mph from 4", "11 mph from 8"):
        last = await answered(stage, stage.tamsin, "wind", question=f"{wind}, 5-iron, 160")
    speeds, hours = (list(menu) for menu in menus_of(last).values())
    assert speeds[:4] == ["7.3 mph", "11 mph", "calm", "1 mph"] and len(speeds) <= 25
    assert hours[:4] == ["from 4", "from 8", "from 12, into", "from 1"] and len(hours) == 12
    await stage.restart()
    await pick(stage.tamsin, last, "7.3 mph")
    assert "7.3 mph from 8 · 160 yd" in str(as_it_is(stage, last).embeds[0].description)


async def test_somebody_else_gets_another_wind_alone_and_with_their_own_bag(stage: Stage) -> None:
    await card(stage, stage.odile, "bag", club="5-iron", grade="yew")
    asked = await answered(stage, stage.tamsin, "wind", question="8 mph from 2, 5-iron, 160")
    was = asked.embeds[0]
    other = await pick(stage.odile, asked, "12 mph")
    assert other.response.ephemeral and "yew" in str(other.response.embeds[0].description)
    assert as_it_is(stage, asked).embeds[0] == was
    await pick(stage.odile, other.response, "from 9, off the left")
    assert as_it_is(stage, asked).embeds[0] == was


async def test_a_wind_that_no_aim_holds_leaves_the_answer_and_its_menus(stage: Stage) -> None:
    asked = await answered(stage, stage.tamsin, "wind", question="8 mph from 12, 5-iron, 150")
    was = asked.embeds[0]
    picked = await pick(stage.tamsin, asked, "20 mph")
    assert "would reach" in picked.response.content and picked.response.ephemeral
    assert menus_of(as_it_is(stage, asked)) and as_it_is(stage, asked).embeds[0] == was


async def test_without_a_club_every_club_that_reaches_is_said_at_once(stage: Stage) -> None:
    message = await answered(stage, stage.tamsin, "wind", question="8 mph from 2, 160")
    same = await answered(stage, stage.tamsin, "equal", carry="160", wind="8 mph from 2")
    assert message.embeds == same.embeds and not message.ephemeral
    assert labels_of(message) == ["All clubs"]
    every = await stage.odile.click(message, label="All clubs")
    assert every.response.ephemeral and "yew" in str(every.response.embeds[0].description)


async def test_who_wants_answers_alone_says_it_once(stage: Stage) -> None:
    await card(stage, stage.tamsin, "bag", private=True)
    assert (await answered(stage, stage.tamsin, "wind", question=QUESTION)).ephemeral
    shown = await answered(stage, stage.tamsin, "wind", question=QUESTION, private=False)
    assert not shown.ephemeral
    assert not (await answered(stage, stage.odile, "wind", question=QUESTION)).ephemeral
    await card(stage, stage.tamsin, "bag", club="5-iron", grade="oak")  # what is not said stays
    await stage.restart()
    assert (await answered(stage, stage.tamsin, "wind", question=QUESTION)).ephemeral
    await card(stage, stage.tamsin, "bag", private=False)
    assert not (await answered(stage, stage.tamsin, "wind", question=QUESTION)).ephemeral


async def test_onto_a_ground_the_answer_is_the_aim_that_finishes_and_says_the_run(
    stage: Stage,
) -> None:
    """Typed or chosen, and kept by the menus, Why and Picture."""
    typed = await answered(stage, stage.tamsin, "wind", question=f"{QUESTION}, onto green")
    chosen = await answered(stage, stage.odile, "wind", question=QUESTION, onto="green")
    assert typed.embeds[0].title == chosen.embeds[0].title
    assert typed.embeds[0].title.endswith("short")  # without the ground it is long
    lines = str(typed.embeds[0].description).splitlines()
    assert "165 yd, onto green" in lines[0]
    said = re.fullmatch(
        r"comes down [\d.]+ yd right, ([\d.]+) short of the target: carry (\d+), run ([\d.]+) "
        r"\(first bounce [\d.]+, roll [\d.]+\), total 165 yd",
        lines[1],
    )
    assert said and abs(int(said[2]) + float(said[3]) - 165) < 0.6
    why = await stage.tamsin.click(typed, label="Why")
    assert "**Ground** comes down" in str(only_embed(why).description)
    drawn = await stage.tamsin.click(typed, label="Picture")
    (file,) = drawn.response.attachments
    assert "short of the target, bounces and rolls to the target" in str(file.description)
    plain = await answered(stage, stage.tamsin, "wind", question=QUESTION)
    assert "comes down" not in str(plain.embeds[0].description)


async def test_two_grounds_are_refused_and_onto_alone_may_have_been_into(stage: Stage) -> None:
    said = await refused(
        stage, stage.tamsin, "wind", question=f"{QUESTION}, onto sand", onto="green"
    )
    assert "two grounds to end on" in said
    said = await refused(stage, stage.tamsin, "wind", question="8 onto, 5-iron, 150")
    assert "fringe or green" in said and example_of(said) == "8 into, 5-iron, 150"
