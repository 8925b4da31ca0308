"""Questions as golfers type them on a phone, and what each means."""

import pytest

from shared.bag import Bag
from shared.errors import ShotTextError
from shared.quantities import Curve, Height, Length, Speed, Wind
from shared.shot import Shot
from shared.shot_text import format_shot, in_units, missing, parse, require_question
from shared.units import UnitSystem
from tests.kits import demo_kit
from tests.unit.test_shot_text import KIT, kit_of, wind, yd

# Written out with units; each question after it means that. Speed 8 and 165 yards with the 5-iron.
PHRASINGS = {
    "8 mph from 2, 5-iron, 165 yd": [
        *("8 from 2 5i 165", "165 5i 8 from 2", "8@2 5i 165", "8 @ 2 5i 165", "8 at 2 5i 165"),
        *("wind 8 2 oclock 5 iron 165", "8mph 2oclock 5i 165y", "8 2 o'clock 165 5i"),
        *("8 form 2 5i 165", "8 from 2 5-irn 165", "8 from 2 iron 5 165", "i5 165 8mph from 2"),
        *("165 yds 5 iron wind 8mph 2 o'clock", "5iron, 165, 8from2", "8mph@2oclock 165yds 5iron"),
        *("from 2 at 8, 5i, 165", "5i at 165 8 at 2", "at 2 8 5i 165", "wind 8 dir 2 5i 165"),
        *("8 from 60 deg 5i 165", "8 at 60 degrees 5i 165", "8 from 60° 5i 165", "8 frm 2 5i 165"),
        *(
            "5i for 165, wind's 8 from 2",
            "the wind’s 8 from 2, 5i, 165",
            "what about 5i 165 with 8 from 2?",
        ),
        *(
            "8 MPH FROM 2 5I 165",
            "５i 165 8 from 2",
            "\u202a8 from 2\u202c 5i 165",
            "*8* from 2 5i 165",
        ),
        *("8.0 from 2.0 5i 165.0", "8 from two, five iron, 165", "light wind 8 from 2, 5i, 165"),
        *("8 coming from 2 5i 165", "8 blowing from 2 5i 165", "dist 165 club 5i wind 8 from 2"),
    ],
    "8 mph from 2:30, 5-iron, 165 yd": [
        *("8 2:30 5i 165", "half past 2, 8mph, 5i, 165", "8 from half past two 5i 165"),
        *("8 from 2.5 5i 165", "165 5i 8@2:30", "8 from 75 deg 5i 165"),
    ],
    "8 mph from 3, 5-iron, 165 yd": [
        *("8 mph r2l 5i 165", "8mph r2l 5i 165", "8 r>l 5i 165", "8 R-L 5i 165", "8 rtl 5i 165"),
        *("crosswind from the right 8 5i 165", "8 crosswind from right 5i 165", "8 off r 5i 165"),
        *("8 right to left 165 5i", "5i 165 8 r to l", "8 cross off the right 5i 165"),
        *("w 8 r>l 165 5i", "8 right->left 5i 165", "8 off the rihgt 5i 165", "3 oclock 8 5i 165"),
    ],
    "8 mph from 9, 5-iron, 165 yd": [
        *("l>r 8 5i 165", "l2r 8 165 5i", "8 L-R 5i 165", "8 left to right 5i 165"),
        *("8 from the l 5i 165", "cross wind 8 from left, 5 iron, 165", "8 out of the left 5i 165"),
    ],
    "8 mph from 12, 5-iron, 165 yd": [
        *("8 in my face 5i 165", "into 8, 165, 5i", "8 hurting 5i 165", "5i 165 8 headwind"),
        *("8 against 5i 165", "165 into the wind 8 mph 5 iron", "headwnd 8 5i 165"),
        *("in an 8 mph headwind 5i 165", "dead into 8 5i 165", "8 into me 5i 165", "8 head 5i 165"),
    ],
    "8 mph from 6, 5-iron, 165 yd": [
        *("8 down the wind 5i 165", "8 behind 5i 165", "downwind 8 5i 165", "8 from behind 5i 165"),
        *("8 mph wind at my back 5i 165", "8mph tailwind 165 5i", "helpng 8 5i 165"),
        *(
            "8 with the wind 5i 165",
            "8 tail 5i 165",
            "8 down teh wind".replace("teh", "the") + " 5i 165",
        ),
    ],
    "8 mph from 10:30, 5-iron, 165 yd": [
        *("quartering in from the left 8 5i 165", "8 into off the left 5i 165"),
        *("hurting 8 left to right 5i 165", "8 into l>r 5i 165"),
    ],
    "8 mph from 10, 5-iron, 165 yd": ["8 at 300 degrees 5i 165", "8 from 300 deg, 5i, 165"],
    "calm, 5-iron, 165 yd": ["no wind 5i 165", "5i calm 165", "0 wind 5i 165", "0mph 5i 165"],
}
PAIRS = [(text, meant) for meant, texts in PHRASINGS.items() for text in texts]


@pytest.mark.parametrize(("text", "meant"), PAIRS)
def test_phrasings(text: str, meant: str) -> None:
    assert format_shot(parse(text, kit=KIT)) == meant


@pytest.mark.parametrize(
    ("text", "club", "distance_yd"),
    [
        ("h 8 into 180", "hybrid", 180),
        ("4h 8 into 180", "hybrid", 180),
        ("3-hybrid 8 into 180", "hybrid", 180),
        ("8 into d 230", "driver", 230),
        ("w3 8 into 210", "3-wood", 210),
        ("wood 5 8 into 190", "5-wood", 190),
        ("sand 60 8 into", "sand wedge", 60),
        ("80% 5i 8 into", "5-iron", 132),
        ("8 into 80 percent of 5 iron", "5-iron", 132),
        ("full pw 8 into", "pitching wedge", 103),
        ("5i yew 80% 8 into", "5-iron", 136),
    ],
)
def test_clubs_and_shares(text: str, club: str, distance_yd: float) -> None:
    shot = parse(text, kit=KIT)
    assert (shot.wind, shot.club, shot.distance) == (wind(8, 0), club, yd(distance_yd))


def test_a_share_is_of_the_grade_in_the_bag_and_in_the_members_unit() -> None:
    bag = Bag(grades={"5-iron": "oak"})
    assert parse("80% 5i", kit=KIT, bag=bag).distance == yd(134.4)  # the oak's full 168 yd
    metric = parse("80% 5i", kit=KIT, bag=bag, units="metres mph").distance
    assert metric == Length(value=122.9, unit="m")


def test_a_numbered_hybrid_of_the_kit_is_not_any_other() -> None:
    kit = kit_of(["4-hybrid", "5-hybrid"], ["ash"], ["tern"])
    assert parse("4h", kit=kit).club == "4-hybrid" and parse("h5", kit=kit).club == "5-hybrid"
    with pytest.raises(ShotTextError):
        parse("3h", kit=kit)


@pytest.mark.parametrize(
    ("text", "compass"),
    [("NE 10", 45), ("10 from NE", 45), ("10 north-easterly", 45), ("10 nnw", 337.5)],
)
def test_a_compass_word_needs_the_bearing_from_the_text_or_the_caller(
    text: str, compass: float
) -> None:
    expected = Wind(speed=Speed(value=10), compass_deg=compass, bearing_deg=40)
    assert parse(f"{text} hole 40", kit=KIT).wind == expected
    assert parse(text, kit=KIT, bearing_deg=40).wind == expected
    with pytest.raises(ShotTextError):
        parse(text, kit=KIT)


def test_degrees_are_the_compass_where_the_bearing_is_known_and_the_line_of_play_elsewhere() -> (
    None
):
    assert parse("8 from 60 deg", kit=KIT).wind == wind(8, 60)
    known = parse("8 from 60 deg", kit=KIT, bearing_deg=100).wind
    assert known is not None and known.relative_deg == 320


@pytest.mark.parametrize(
    ("text", "sentence", "offered"),
    [
        (
            "crosswind 10",
            "“crosswind 10” does not say from which side the wind comes.",
            ["10 off the left", "10 off the right"],
        ),
        ("8 2", "“8 2” does not say where the wind comes from.", ["8 from 2"]),
        (
            "8 2 5i 165",
            "“8 2” does not say where the wind comes from.",
            ["8 from 2 5i 165"],
        ),
        ("8, 2, 5i, 165", "“8, 2” does not say where the wind", ["8 from 2, 5i, 165"]),
        ("8 mph 2 5i 165", "“8 mph 2” does not say where the wind", ["8 mph from 2 5i 165"]),
        ("8 5i 165", "“8” does not say where the wind comes from.", []),
        ("999 from 2 5i 165", "The wind “999” is stronger than any that is played in", []),
        ("8 from 2 5i 9999", "The distance “9999” is longer than any hole", []),
        ("60 degrees", "“60 degrees” needs “from” before it for a wind,", []),
        (
            "8 mph 60 degrees 5i 165",
            "“60 degrees” needs “from” before it for a wind,",
            ["8 mph from 60 degrees 5i 165"],
        ),
        ("80%", "“80%” of full carry needs the club it is of.", []),
        ("80% 5i 165", "There are two distances, “80%” and “165”", []),
        ("10% 5i", "“10%” does not say whether the target is up or down.", []),
        ("help", "There is nothing in the text that says a shot.", []),
        ("Help me please?", "There is nothing in the text that says a shot.", []),
        (
            "fade 16",
            "The numbers of the text can be read in two ways; units or commas say which.",
            ["fade 16 deg", "16 yd, fade"],
        ),
        (
            "8 from 14 5i 165",
            "“from 14” is past the 12 hours of a clock face",
            ["8 from 14 deg 5i 165"],
        ),
        ("8 from 2.30 5i 165", "“2.30” could be a time or", ["8 from 2:30 5i 165"]),
        ("100 into 9i 8", "The wind “100” and the distance “8” could be", ["100 yd into 9i 8 mph"]),
        ("165 up, 5 into 8", "The height “165 up” is more than the distance “8”", []),
        ("8 mph left 5i 165", "“left” needs “off the”", ["8 mph off the left 5i 165"]),
        ("quartering from the left 10", "“quartering” needs into or helping", []),
        (
            "8 from NE hole 7",
            "“hole 7” could be the number of the hole",
            ["8 from NE bearing 7 deg"],
        ),
        ("8 from 2, 4 hybrid 180", "There are two distances", ["8 from 2, 4-hybrid 180"]),
        ("8 from 2 hybrid 4 180", "There are two distances", ["8 from 2 4-hybrid 180"]),
        ("180 5 hy, 8 from 2", "There are two distances", ["180 5-hybrid, 8 from 2"]),
        ("8mhp from 2 5i 165", "“mhp” was not understood", ["8mph from 2 5i 165"]),
        ("8 fron 2 5i 165", "“fron” was not understood", ["8 from 2 5i 165"]),
        ("8 fron 2 mhp 5i 165", "“fron” was not understood", []),
        ("5i 8 from 2 16o", "“16o” was not understood", ["5i 8 from 2 160"]),
        ("8mphfrom 2 5i 165", "“mphfrom” was not understood", ["8mph from 2 5i 165"]),
        ("in 8 5i 165", "“in” is read before “off the left” only", ["into 8 5i 165"]),
    ],
)
def test_what_is_missing_or_doubtful_is_named_and_a_whole_text_offered(
    text: str, sentence: str, offered: list[str]
) -> None:
    with pytest.raises(ShotTextError) as caught:
        parse(text, kit=KIT)
    error = caught.value
    assert error.sentence.startswith(sentence)
    assert list(error.suggestions)[: len(offered)] == offered and bool(offered) == bool(
        error.suggestions
    )
    assert missing(parse(error.example, kit=KIT)) == ()
    for each in error.suggestions:
        parse(each, kit=KIT)


def test_the_first_whole_question_offered_is_the_example() -> None:
    with pytest.raises(ShotTextError) as caught:
        parse("8 2 5i 165", kit=KIT)
    assert caught.value.example == "8 from 2 5i 165"


@pytest.mark.parametrize(
    ("text", "shot"),
    [
        ("8 2 5i 165 fade 16".replace("8 2", "8 from 2"), Curve(kind="fade", tilt_deg=16)),
        ("8 from 2 5i 165 draw", Curve(kind="draw")),
    ],
)
def test_a_tilt_beside_a_distance_is_a_tilt(text: str, shot: Curve) -> None:
    assert parse(text, kit=KIT).curve == shot


def test_a_question_without_a_club_is_a_shot_that_lacks_just_that() -> None:
    shot = parse("8 from 2 165", kit=KIT)
    assert missing(shot) == ("club",) and shot.distance == yd(165)
    with pytest.raises(ShotTextError) as caught:
        require_question(shot, "8 from 2 165", kit=KIT)
    assert caught.value.sentence == "A wind question also needs a club."


@pytest.mark.parametrize(
    "text",
    [
        *("light", "8 light 2", "5-10 from 2 5i 165", "8 to 12 from 2 5i 165", "not 8 into 5i 165"),
        *(
            "8 from 4 iron 165",
            "8 iron 5 into 165 7i",
            "off the loft 8",
            "8 slightly into off left",
        ),
        *("8 gusting 12 from 2 5i 165", "8 from 12 30 5i 165", "3/4 5i 8 from 2", "8 ↓ 5i 165"),
        *("8 or 9 from 2 5i 165", "<@1> 8 from 2", "8 from 2 5i 165 || 🏌", "8 from 2 5i ¹⁶⁵"),
        *("8 from nan 5i 165", "8 from 2 5i 1e400", "8 from −2 5i 165", "8 from 2 5i 165 165"),
    ],
)
def test_what_could_be_misread_is_refused(text: str) -> None:
    with pytest.raises(ShotTextError):
        parse(text, kit=KIT)


@pytest.mark.parametrize(
    ("units", "written"),
    [
        ("metres mph", "8 mph from 2, 5-iron, 150.876 m, up 4.572 m"),
        ("yards", "8 mph from 2, 5-iron, 165 yd, up 5 yd"),
        ("yards knots", "6.952 kn from 2, 5-iron, 165 yd, up 5 yd"),
        ("metric", "3.576 m/s from 2, 5-iron, 150.876 m, up 4.572 m"),
        ("metres km/h", "12.875 km/h from 2, 5-iron, 150.876 m, up 4.572 m"),
    ],
)
def test_a_shot_is_written_in_a_persons_units_and_read_back(
    units: UnitSystem, written: str
) -> None:
    shot = parse("8 from 2, 5i, 165, up 5", kit=KIT)
    assert format_shot(in_units(shot, units)) == written
    assert parse(written, kit=KIT, units="yards") == in_units(shot, units)
    plain = "8 from 2, 150, up 3"
    assert parse(plain, kit=KIT, units=units) == parse(_with_units(plain, units), kit=KIT)


def _with_units(plain: str, units: UnitSystem) -> str:
    """The text with the units that its numbers are meant in."""
    distance, speed = {
        "yards": ("yd", "mph"),
        "yards knots": ("yd", "knots"),
        "metric": ("m", "m/s"),
        "metres mph": ("m", "mph"),
        "metres km/h": ("m", "km/h"),
    }[units]
    return plain.replace("8 ", f"8 {speed} ").replace("150", f"150 {distance}") + f" {distance}"


def test_a_height_in_per_cent_stays_one_in_other_units() -> None:
    shot = Shot(height=Height(value=-7, unit="%"))
    assert in_units(shot, "metric") == shot


def test_a_dash_between_blanks_parts_a_number_from_the_club_behind_it() -> None:
    """ "1 - w" is no driver there."""
    said = parse("into 2 - 138 - draw 1 - w3", kit=demo_kit())
    assert said == parse("2 mph from 12, 3-wood, 138 yd, draw 1 deg", kit=demo_kit())
    said = parse("2km/h @4 - iron 4 - 113 - down 1", kit=demo_kit())
    assert said == parse("2 km/h from 4, 4-iron, 113 yd, down 1 yd", kit=demo_kit())
    assert parse("8 from 2, 4 - iron 165", kit=demo_kit()).club == "4-iron"
    assert parse("8 from 2 - 1 - w - 240", kit=demo_kit()).club == "driver"
