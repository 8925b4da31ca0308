"""The shot text: what it reads, and how it writes."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from shared.errors import ShotTextError
from shared.kit import Ball, Club, Grade, Kit, MarkSize
from shared.kit_file import read_kit
from shared.quantities import Curve, Height, Length, Speed, Wind
from shared.shot import Shot
from shared.shot_text import Reader, format_shot, parse

DEMO = Path(__file__).parents[2] / "bot" / "demo" / "kit.toml"
KIT = read_kit(DEMO.read_text(encoding="utf-8"), file="kit.toml")


def wind(speed: float, from_deg: float, unit: str = "mph") -> Wind:
    return Wind(speed=Speed.model_validate({"value": speed, "unit": unit}), from_deg=from_deg)


def yd(value: float) -> Length:
    return Length(value=value, unit="yd")


WHOLE = Shot(wind=wind(8.4, 60), club="5-iron", distance=yd(165))


@pytest.mark.parametrize(
    "text",
    [
        "8.4 mph from 2, 5-iron, 165",
        "8.4 mph from 2 5-iron 165",
        "165 5-iron from 2 8.4 mph",
        "5-iron, from 2, 8.4, 165",
        "8,4 mph from 2, 5-iron, 165",
        "8.4 mph from 2,5-iron,165",
        "8.4 mph from 2,165,5-iron",
        "165,5-iron,8,4 from 2",
        "8.4mph from 2, 5iron, 165yd",
        "8.4 from 2 5 iron 165",
        "8.4 mph from two, five iron, 165 yards",
        "8.4 MPH FROM 2, 5-IRON, 165 YDS",
        "8.4 mph from 2 o'clock; 5i; 165 y",
        "at 2 o’clock 8.4 mph\n5–iron\n165",
        "165 with a 5-iron please, the wind is 8.4 mph from 2",
        "target at 165 | club 5-iron | wind 8.4 from 2",
        "**8.4 mph** from `2`, __5-iron__, ~165~",
        "８.４ mph from ２, 5-irón, 165",
        "8.4 mph from ٢, ٥-iron, ١٦٥",
        "8.4 mph from 2:00, (5-iron), 165 yd.",
        "carry 165, 5-irn, 8.4 mph from 2",
    ],
)
def test_one_question_in_many_ways(text: str) -> None:
    assert parse(text, kit=KIT) == WHOLE


@pytest.mark.parametrize(
    ("text", "speed", "from_deg"),
    [
        ("8 into", 8, 0),
        ("into 8", 8, 0),
        ("8 headwind", 8, 0),
        ("6 helping", 6, 180),
        ("helping 6 mph", 6, 180),
        ("7 off the left", 7, 270),
        ("off left 7", 7, 270),
        ("7 from the right", 7, 90),
        ("7 mph left to right", 7, 270),
        ("8 into off the left", 8, 315),
        ("8 off the left, into", 8, 315),
        ("8 into off the right", 8, 45),
        ("9 helping from the right", 9, 135),
        ("9 helping off the left", 9, 225),
        ("9 down off the left", 9, 225),
        ("9 mph in off the right", 9, 45),
        ("8 from 2.5", 8, 75),
        ("8 from 2:30", 8, 75),
        ("8 from 12:30", 8, 15),
        ("8 from 12", 8, 0),
        ("8 from 9 o'clock", 8, 270),
        ("8 from 63.4 off line", 8, 63.4),
        ("8 from 63.4 degrees off the line", 8, 63.4),
        ("7½ from 11", 7.5, 330),
        ("helpng 6", 6, 180),
    ],
)
def test_relative_winds(text: str, speed: float, from_deg: float) -> None:
    assert parse(text, kit=KIT) == Shot(wind=wind(speed, from_deg))


@pytest.mark.parametrize("text", ["calm", "no wind", "0 wind", "wind 0", "0 mph", "windless"])
def test_calm(text: str) -> None:
    shot = parse(f"{text}, 5-iron, 165", kit=KIT)
    assert shot == WHOLE.model_copy(update={"wind": wind(0, 0)})


def test_a_bare_nought_beside_a_distance_is_calm() -> None:
    assert parse("0, 5-iron, 165", kit=KIT) == WHOLE.model_copy(update={"wind": wind(0, 0)})


@pytest.mark.parametrize(
    ("text", "compass", "bearing", "relative"),
    [
        ("5 m/s from 300 hole 40", 300, 40, 260),
        ("5 m/s from NW, hole 40", 315, 40, 275),
        ("hole 350, 5 m/s from the east", 90, 350, 100),
        ("5 m/s north-west, bearing 10", 315, 10, 305),
        ("5 m/s from 8 deg hole 40", 8, 40, 328),
        ("5 m/s from SW hole S", 225, 180, 45),
    ],
)
def test_compass_winds(text: str, compass: float, bearing: float, relative: float) -> None:
    read = parse(text, kit=KIT).wind
    speed = Speed(value=5, unit="m/s")
    assert read == Wind(speed=speed, compass_deg=compass, bearing_deg=bearing)
    assert read is not None and read.relative_deg == relative


def test_the_bearing_may_come_from_the_hole_and_the_text_goes_first() -> None:
    hole = Reader(KIT, bearing_deg=70)
    assert hole.parse("5 from 300").wind == Wind(
        speed=Speed(value=5), compass_deg=300, bearing_deg=70
    )
    assert hole.parse("5 from 300 hole 40").wind == Wind(
        speed=Speed(value=5), compass_deg=300, bearing_deg=40
    )
    assert hole.parse("5 from 2").wind == wind(5, 60)


@pytest.mark.parametrize(
    ("text", "unit", "mps"),
    [
        ("12 km/h from 4", "km/h", 12 / 3.6),
        ("12kmh from 4", "km/h", 12 / 3.6),
        ("12 kn from 4", "kn", 12 * 1852 / 3600),
        ("12 knots from 4", "kn", 12 * 1852 / 3600),
        ("12 miles per hour from 4", "mph", 12 * 0.44704),
        ("12 metres per second from 4", "m/s", 12),
    ],
)
def test_speed_units(text: str, unit: str, mps: float) -> None:
    read = parse(text, kit=KIT).wind
    assert read == wind(12, 120, unit)
    assert read is not None and read.speed.mps == pytest.approx(mps, rel=1e-12)


def test_units_of_bare_numbers() -> None:
    text = "5 from 4, 151, up 3"
    assert parse(text, kit=KIT, units="metric") == Shot(
        wind=wind(5, 120, "m/s"),
        distance=Length(value=151, unit="m"),
        height=Height(value=3, unit="m"),
    )
    assert parse(text, kit=KIT) == Shot(
        wind=wind(5, 120), distance=yd(151), height=Height(value=3, unit="yd")
    )


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("165", 165, "yd"),
        ("165y", 165, "yd"),
        ("151 m", 151, "m"),
        ("151m", 151, "m"),
        ("151,5 metres", 151.5, "m"),
        ("500 ft", 500, "ft"),
        ("from 165 yards", 165, "yd"),
    ],
)
def test_distances(text: str, value: float, unit: str) -> None:
    read = parse(text, kit=KIT)
    assert read == Shot(distance=Length.model_validate({"value": value, "unit": unit}))


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("up 5", 5, "yd"),
        ("5 up", 5, "yd"),
        ("up 3 m", 3, "m"),
        ("3m uphill", 3, "m"),
        ("down 10%", -10, "%"),
        ("10 % up", 10, "%"),
        ("10 per cent up", 10, "%"),
        ("-7%", -7, "%"),
        ("+7%", 7, "%"),
        ("up 12 ft", 12, "ft"),
        ("height -4 m", -4, "m"),
        ("elevation +4", 4, "yd"),
    ],
)
def test_heights(text: str, value: float, unit: str) -> None:
    height = Height.model_validate({"value": value, "unit": unit})
    assert parse(text, kit=KIT) == Shot(height=height)
    assert parse(f"{text}, 165", kit=KIT) == Shot(height=height, distance=yd(165))


@pytest.mark.parametrize(
    "text",
    ["165 up 5 8 into", "5 up 165 into 8", "8 into 165 up 5", "up 5 into 8 165", "8 into 5 up 165"],
)
def test_without_commas_each_number_goes_where_it_is_likely(text: str) -> None:
    assert parse(text, kit=KIT) == Shot(
        wind=wind(8, 0), distance=yd(165), height=Height(value=5, unit="yd")
    )


@pytest.mark.parametrize(
    ("text", "club"),
    [
        ("5 iron", "5-iron"),
        ("5iron", "5-iron"),
        ("5i", "5-iron"),
        ("5 i", "5-iron"),
        ("7-Iron", "7-iron"),
        ("seven iron", "7-iron"),
        ("5 w", "5-wood"),
        ("3w", "3-wood"),
        ("1w", "driver"),
        ("pitching", "pitching wedge"),
        ("p wedge", "pitching wedge"),
        ("PW", "pitching wedge"),
        ("P.W.", "pitching wedge"),
        ("sandwedge", "sand wedge"),
        ("5-irn", "5-iron"),
        ("5 irn", "5-iron"),
        ("pichting wedge", "pitching wedge"),
        ("hybird", "hybrid"),
        ("drivr", "driver"),
        ("driv", "driver"),
    ],
)
def test_clubs(text: str, club: str) -> None:
    assert parse(text, kit=KIT) == Shot(club=club)
    assert parse(f"165 {text} 8 into", kit=KIT).club == club


@pytest.mark.parametrize(
    "text", ["5-iron yew", "yew 5 iron", "5i (yew)", "5i, grade yew", "5i YEW"]
)
def test_grades(text: str) -> None:
    assert parse(text, kit=KIT) == Shot(club="5-iron", grade="yew")


@pytest.mark.parametrize("text", ["tern", "ball tern", "tern ball", "Tern", "ball: tern", "ternn"])
def test_balls(text: str) -> None:
    assert parse(text, kit=KIT) == Shot(ball="tern")


@pytest.mark.parametrize(
    ("text", "back", "side"),
    [
        ("back 2", 2, 0),
        ("2 back", 2, 0),
        ("backspin 2", 2, 0),
        ("back spin 2", 2, 0),
        ("topspin 1.5", -1.5, 0),
        ("1,5 top", -1.5, 0),
        ("side 1 left", 0, -1),
        ("side left 1", 0, -1),
        ("1 side left", 0, -1),
        ("2 right side", 0, 2),
        ("sidespin 2 right, back 3", 3, 2),
        ("back 3 side 2 right", 3, 2),
    ],
)
def test_spin(text: str, back: float, side: float) -> None:
    assert parse(text, kit=KIT) == Shot(backspin=back, sidespin=side)


@pytest.mark.parametrize(
    ("text", "kind", "tilt"),
    [("draw", "draw", None), ("fade", "fade", None), ("draw 4", "draw", 4), ("5° fade", "fade", 5)],
)
def test_shapes(text: str, kind: str, tilt: float | None) -> None:
    curve = Curve.model_validate({"kind": kind, "tilt_deg": tilt})
    assert parse(text, kit=KIT) == Shot(curve=curve)
    assert parse(f"{text}, 165", kit=KIT) == Shot(curve=curve, distance=yd(165))


def test_a_draw_beside_a_distance_is_not_a_tilt() -> None:
    assert parse("draw 165", kit=KIT) == Shot(curve=Curve(kind="draw"), distance=yd(165))


def test_everything_at_once() -> None:
    text = (
        "tern, back 2, side 1 left, fade 3, down 3 m, 9-iron oak, 110, 6 km/h helping off the right"
    )
    shot = Shot(
        wind=wind(6, 135, "km/h"),
        club="9-iron",
        grade="oak",
        distance=yd(110),
        height=Height(value=-3, unit="m"),
        ball="tern",
        backspin=2,
        sidespin=-1,
        curve=Curve(kind="fade", tilt_deg=3),
    )
    assert parse(text, kit=KIT) == shot
    assert format_shot(shot) == (
        "6 km/h from 4:30, 9-iron (oak), 110 yd, down 3 m, ball tern, back 2, side 1 left,"
        " fade 3 deg"
    )


@pytest.mark.parametrize(
    ("given_wind", "text"),
    [
        (wind(8.4, 60), "8.4 mph from 2"),
        (wind(8, 0), "8 mph from 12"),
        (wind(8, 15), "8 mph from 12:30"),
        (wind(8, 63.4), "8 mph from 63.4 off line"),
        (wind(0, 0), "calm"),
        (wind(0, 90), "0 mph from 3"),
        (wind(0, 0, "m/s"), "0 m/s from 12"),
        (Wind(speed=Speed(value=5), compass_deg=300, bearing_deg=40), "5 mph from 300 hole 40"),
        (Wind(speed=Speed(value=5), compass_deg=12, bearing_deg=4), "5 mph from 12 deg hole 4"),
    ],
)
def test_how_winds_are_written(given_wind: Wind, text: str) -> None:
    assert format_shot(Shot(wind=given_wind)) == text


def kit_of(clubs: Sequence[str], grades: Sequence[str], balls: Sequence[str]) -> Kit:
    return Kit(
        name="made up",
        mark=MarkSize(full_yd=1.7, short_yd=0.9),
        balls=tuple(Ball(name=name) for name in balls),
        clubs=tuple(
            Club(
                name=name,
                family="wedge",
                grades=tuple(Grade(name=grade, full_yd=90, short_yd=40) for grade in grades),
            )
            for name in clubs
        ),
    )


@pytest.mark.parametrize("club", ["up", "7", "8 mph", "the"])
def test_names_that_look_like_grammar_are_written_with_their_category(club: str) -> None:
    kit = kit_of([club, "long-iron"], ["3", "up"], ["into"])
    shot = Shot(club=club, grade="up", ball="into", distance=yd(47))
    assert format_shot(shot) == f"club {club} (up), 47 yd, ball into"
    assert parse(format_shot(shot), kit=kit) == shot
    assert parse("8 into, 165 up 5", kit=kit).club is None


def test_a_grade_that_is_a_number_is_read_right_behind_its_club_only() -> None:
    kit = kit_of(["5-iron", "driver"], ["2", "3"], ["tern"])
    assert parse("5-iron 3, 165", kit=kit) == Shot(club="5-iron", grade="3", distance=yd(165))
    assert parse("5-iron 3 7 into", kit=kit) == Shot(club="5-iron", grade="3", wind=wind(7, 0))
    assert parse("5-iron 3 into", kit=kit) == Shot(club="5-iron", wind=wind(3, 0))
    assert parse("5-iron, 3", kit=kit) == Shot(club="5-iron", distance=yd(3))
    assert parse("5-iron 3 yd", kit=kit) == Shot(club="5-iron", distance=yd(3))


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("8 from 2, 5-iron, 160, onto green", "green"),
        ("onto the fringe 8 from 2 5i 160", "fringe"),
        ("8 from 2, 5-iron, 160 on to the bunker", "sand"),
        ("8 into, sand wedge, 60, onto sand", "sand"),
        ("8 from 2, 5-iron, 160, Onto Rough", "rough"),
    ],
)
def test_what_the_ball_is_to_end_on_is_read_in_any_place(typed: str, kind: str) -> None:
    shot = parse(typed, kit=KIT)
    assert shot.onto == kind
    assert parse(format_shot(shot), kit=KIT) == shot


def test_onto_without_a_ground_is_asked_back_and_may_have_been_into() -> None:
    with pytest.raises(ShotTextError) as caught:
        parse("8 onto, 5-iron, 160", kit=KIT)
    assert "tee, fairway, rough, sand, fringe or green" in caught.value.sentence
    assert "8 into, 5-iron, 160" in caught.value.suggestions
    with pytest.raises(ShotTextError, match="two grounds to end on"):
        parse("8 into, 5-iron, 160, onto green, onto sand", kit=KIT)
