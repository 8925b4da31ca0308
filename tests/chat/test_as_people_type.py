"""A cup typed as people type on a phone: other signs between, other units, words left out."""

from tests.chat.asking import card, text
from tests.chat.booking import fill, labels_of, only_embed, only_message
from tests.chat.conftest import Stage

HOLES = """1. par 4 - 388 yds - bearing 12 - Fox Gate
2) Par 3; 164; Heron
3 par5 512m brg 200 Long Marsh
#4 p4 401
5: 4, 377, 85°
6 par 4 355 Mill Race
hole 7, par 3, 188 yards, bearing north-east, Chimney
8 par 5 540, Silver 512 ⛳ Tide Mill
9. 420 yards, par 4, bearing NW, Home"""
READ = """Divisions: Gold; Silver; Bronze
Rounds: R1; R2
1 par 4, 388 yd, bearing 12, Fox Gate
2 par 3, 164 yd, Heron
3 par 5, 559.9 yd, bearing 200, Long Marsh
4 par 4, 401 yd
5 par 4, 377 yd, bearing 85
6 par 4, 355 yd, Mill Race
7 par 3, 188 yd, bearing 45, Chimney
8 par 5, 540 yd, Silver 512 yd, ⛳ Tide Mill
9 par 4, 420 yd, bearing 315, Home"""
WINDS = """1 8 from 2
2 - 12mph into
3: 5 m/s from NW
4  10mph r2l
5 9@3
6. 7 mph from 7:30
7 calm
#8 14 helping
hole 9 11 from 9 o'clock"""
SET = """Gold, R1
1: 8 mph from 2
2: 12 mph from 12
3: 5 m/s from 315 hole 200
4: 10 mph from 3
5: 9 mph from 3
6: 7 mph from 7:30
7: calm
8: 14 mph from 6
9: 11 mph from 9"""
LINES = """1, Gold, recommended, over | 8 from 2 | driver 225 aim 5 left | 7 iron 140 5R 2 long
1 gold safe: 8 from 2; 3w 210 aim 3L leaves 150; 6i 150 room 8 all round
2 Gold recommended | 12 into | 6-iron 150 aim 10 long
6, silver Bronze tested cut the race / 7 from 7:30 / driver 225, aim 2R / PW 105 aim 1R"""


async def test_a_cup_is_read_as_it_is_typed(stage: Stage) -> None:
    opened = await stage.coach.slash(stage.questions, "event new")
    begun = only_embed(
        await fill(
            stage,
            stage.coach,
            opened,
            name="Reed Bowl 🏆",
            divisions="Gold / Silver / Bronze",
            rounds="R1 and R2",
            holes=HOLES,
        )
    )
    assert text(begun.fields[0].value) == READ
    opened = await stage.coach.slash(stage.questions, "event winds", division="gold")
    told = only_embed(await fill(stage, stage.coach, opened, rows=WINDS))
    assert text(told.description) == SET
    opened = await stage.coach.slash(stage.questions, "line many")
    preview = only_message(await fill(stage, stage.coach, opened, rows=LINES))
    assert labels_of(preview)[0] == "Save 4"
    rows = [row for row in text(preview.embeds[0].description).split("\n") if "⚠" not in row]
    assert [row.split(" · ")[0:2] for row in rows if row] == [
        ["★ **1A** over", "Gold: driver 225 5.0 left; 7-iron 140 5.0 right, 2.0 long"],
        ["**1B** safe", "Gold: 3-wood 210 3.0 left; 6-iron 150 5.8 right, 3.2 long"],
        ["★ **2A**", "Gold: 6-iron 150 10.0 long"],
        [
            "**6A** cut the race",
            "Silver, Bronze: driver 225 2.0 right; pitching wedge 105 1.0 right",
        ],
    ]
    await stage.coach.click(preview, label="Save 4")
    shown = await card(stage, stage.coach, "cup line", hole=1, line="B")
    assert "Leaves 150 yd" in text(shown.fields[0].value)
    shown = await card(stage, stage.coach, "cup line", hole=6, line="A")
    assert "tested" in str(shown.to_dict())


async def test_what_lacks_its_hole_is_not_taken_for_another(stage: Stage) -> None:
    """8.4 is no hole 8, and 12 from 3 no wind of hole 12."""
    opened = await stage.coach.slash(stage.questions, "event new")
    facts = {"name": "Reed Bowl", "divisions": "Gold", "rounds": "R1"}
    await fill(stage, stage.coach, opened, **facts, holes="8 par 4, 401\n12 par 3, 160")
    opened = await stage.coach.slash(stage.questions, "event winds", division="Gold")
    message = only_message(await fill(stage, stage.coach, opened, rows="8.4 from 2\n12 from 3"))
    assert message.embeds[0].title == "No wind was set: a row under “Winds” can't be read"
    said = text(message.embeds[0].description)
    assert "**Row 1** `8.4 from 2`" in said and "**Row 2** `12 from 3`" in said


async def test_where_no_cup_is_the_first_thing_said_is_how_to_begin_one(stage: Stage) -> None:
    for command in ("cup show", "round", "line many"):
        who = stage.coach
        message = only_message(await who.slash(stage.questions, command))
        assert stage.env.errors
        assert "There is no cup here yet" in message.content and "`/event new`" in message.content
