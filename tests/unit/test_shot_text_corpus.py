"""A generated corpus: questions typed in many ways, each with its meaning known beforehand.

The generator knows no table of the parser. It builds a question from what a golfer means and says
each part in one of the ways written down here; a question is then read as it was meant or refused.
Where nothing was left to guess (commas, units or a usual order, no slip) it must be read.
"""

from dataclasses import dataclass
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from shared.errors import ShotTextError
from shared.shot import Shot
from shared.shot_text import missing, parse
from shared.units import UnitSystem
from tests.unit.test_shot_text import KIT

TYPED_DISTANCE = {"yards": "yd", "metric": "m", "metres mph": "m", "yards knots": "yd"}
TYPED_SPEED = {"yards": "mph", "metric": "m/s", "metres mph": "mph", "yards knots": "kn"}
SPEED_WORDS = {
    "mph": ["mph", " mph", "MPH", " miles per hour"],
    "m/s": ["m/s", " m/s", "ms", " metres per second"],
    "km/h": ["km/h", " kmh", "kph"],
    "kn": ["kn", " knots", "kts"],
}
DISTANCE_WORDS = {"yd": ["yd", " yards", "y", " yds", "Yd"], "m": ["m", " m", " metres", " meters"]}

# Where the wind comes from, degrees clockwise from the line of play, said with its words alone.
WORDED = [
    (0, ["into", "headwind", "hurting", "against", "into the wind", "in my face", "in the face"]),
    (0, ["hw", "facing", "towards me", "coming at me", "from the front", "dead into"]),
    (
        180,
        ["helping", "downwind", "tailwind", "behind", "down the wind", "at my back", "following"],
    ),
    (270, ["l2r", "l>r", "L-R", "left to right", "l to r", "off the left", "from the left"]),
    (180, ["tw", "back wind", "down breeze", "at my back", "straight behind", "with us"]),
    (270, ["left 2 right", "from left to right", "off lhs", "from the left side", "out the left"]),
    (90, ["right 2 left", "from right to left", "off rhs", "from the right side", "out the right"]),
    (270, ["L/R", "l->r", "left-right", "from left", "off left", "crosswind from the left"]),
    (90, ["r2l", "r>l", "R-L", "right to left", "r to l", "off the right", "from the right"]),
    (90, ["R/L", "r->l", "right-left", "from right", "off right", "cross off the right"]),
    (
        45,
        [
            "into off the right",
            "into from the right",
            "off the right into",
            "quartering in from the right",
        ],
    ),
    (315, ["into off the left", "in off the left", "quartering into off the left"]),
    (135, ["helping off the right", "down off the right", "from the right helping"]),
    (225, ["helping from the left", "off the left helping", "quartering downwind off the left"]),
]
CLUBS = {
    "driver": ["driver", "Driver", "d", "dr", "1w"],
    "3-wood": ["3-wood", "3 wood", "3w", "3wood", "wood 3", "w3", "three wood"],
    "5-wood": ["5-wood", "5 wood", "5w", "five wood", "wood 5"],
    "hybrid": ["hybrid", "hy", "h", "4h", "hyb"],
    "4-iron": ["4-iron", "4 iron", "4i", "iron 4", "four iron"],
    "5-iron": ["5-iron", "5 iron", "5i", "5 i", "iron 5", "i5", "5IRON"],
    "7-iron": ["7-iron", "7 iron", "7i", "iron 7", "seven iron"],
    "9-iron": ["9-iron", "9iron", "9i", "9 iron"],
    "pitching wedge": ["pw", "PW", "pitching wedge", "p wedge", "pitching"],
    "gap wedge": ["gw", "gap wedge", "gap"],
    "sand wedge": ["sw", "sand wedge", "sand"],
}
REACHES_YD = {
    "driver": (150, 240),
    "3-wood": (138, 216),
    "5-wood": (129, 202),
    "hybrid": (121, 190),
    "4-iron": (113, 178),
    "5-iron": (107, 168),
    "7-iron": (91, 143),
    "9-iron": (75, 118),
    "pitching wedge": (57, 105),
    "gap wedge": (45, 92),
    "sand wedge": (31, 79),
}


@dataclass(frozen=True)
class Question:
    """What was meant, and how each part of it is said."""

    meant: Shot
    parts: tuple[str, ...]
    units: UnitSystem


def amount(value: float, *, comma: bool = False) -> str:
    """A number as it is typed."""
    text = f"{value:g}"
    return text.replace(".", ",") if comma else text


def halves(value: float) -> list[str]:
    """A number and a half as golfers type it."""
    whole = int(value)
    return [f"{whole}.5", f"{whole} 1/2", f"{whole}½", f"{whole} and a half"]


@st.composite
def winds(draw: st.DrawFn, units: UnitSystem) -> tuple[float, str, float, list[str]]:
    """Speed, its unit, where it comes from and the phrase."""
    unit = draw(st.sampled_from([TYPED_SPEED[units], TYPED_SPEED[units], "mph", "km/h"]))
    speed = draw(st.integers(2, 25).map(float) | st.integers(4, 50).map(lambda half: half / 2))
    bare = unit == TYPED_SPEED[units] and draw(st.booleans())
    plain = f"{speed:g}" if speed % 1 == 0 else draw(st.sampled_from(halves(speed)))
    named = "" if bare else draw(st.sampled_from(SPEED_WORDS[unit]))
    said = f"{plain} {named.strip()}".strip() if plain.endswith("half") else plain + named
    if draw(st.booleans()):
        half = draw(st.integers(1, 24))
        hour, rest = divmod(half, 2)
        number = f"{hour or 12}:30" if rest else f"{hour}"
        o_clock = draw(st.sampled_from([" o'clock", " oclock", "oclock", " o clock", ""]))
        link = draw(st.sampled_from(["from ", "from ", "@", "@ ", "at "]))
        if rest and draw(st.booleans()):
            direction = f"from half past {hour or 12}"
        elif rest or o_clock:
            direction = draw(st.sampled_from([link, ""])) + number + o_clock
        else:
            direction = link + number
        from_deg = half * 15.0 % 360
    else:
        from_deg, phrases = draw(st.sampled_from(WORDED))
        direction = draw(st.sampled_from(phrases))
    first = draw(st.booleans()) or direction[0] == "@" or direction.startswith("at ")
    said_both = f"{said} {direction}" if first else f"{direction} {said}"
    if draw(st.integers(0, 4)) == 0:
        said_both = draw(st.sampled_from([f"wind {said_both}", f"wind: {said_both}"]))
    return speed, unit, from_deg, [said_both]


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """A whole question."""
    units: UnitSystem = draw(st.sampled_from(["yards", "metric", "metres mph", "yards knots"]))
    speed, speed_unit, from_deg, parts = draw(winds(units))
    club = draw(st.sampled_from(sorted(CLUBS)))
    parts.append(draw(st.sampled_from(CLUBS[club])))
    meant: dict[str, object] = {
        "wind": {"speed": {"value": speed, "unit": speed_unit}, "from_deg": from_deg},
        "club": club,
    }
    unit = draw(st.sampled_from([TYPED_DISTANCE[units], TYPED_DISTANCE[units], "yd", "m"]))
    low, high = REACHES_YD[club]
    distance = draw(st.integers(low, high))
    bare = unit == TYPED_DISTANCE[units] and draw(st.booleans())
    parts.append(f"{distance}" + ("" if bare else draw(st.sampled_from(DISTANCE_WORDS[unit]))))
    meant["distance"] = {"value": distance, "unit": unit}
    extra = draw(st.integers(0, 6))
    step = draw(st.integers(1, 9))
    if extra == 1:
        up = draw(st.booleans())
        side = ["up", "uphill"] if up else ["down", "downhill", "below"]
        word = draw(st.sampled_from(side))
        parts.append(draw(st.sampled_from([f"{word} {step}", f"{step} {word}"])))
        meant["height"] = {"value": step if up else -step, "unit": TYPED_DISTANCE[units]}
    elif extra == 5:
        up = draw(st.booleans())
        word = draw(st.sampled_from(["up", "above", "rise"] if up else ["down", "lower", "drop"]))
        mark = draw(st.sampled_from(["'", "ft", " feet"]))
        parts.append(draw(st.sampled_from([f"{word} {step}{mark}", f"{step}{mark} {word}"])))
        meant["height"] = {"value": step if up else -step, "unit": "ft"}
    elif extra == 2:
        kind = draw(st.sampled_from(["draw", "fade"]))
        word = draw(st.sampled_from({"draw": ["draw", "hook"], "fade": ["fade", "cut"]}[kind]))
        parts.append(
            draw(st.sampled_from([f"{word} {step}", f"{step} {word}", f"{word} {step} deg"]))
        )
        meant["curve"] = {"kind": kind, "tilt_deg": step}
    elif extra == 3:
        parts.append(
            draw(
                st.sampled_from([f"back {step}", f"backspin {step}", f"{step} back", f"bs {step}"])
            )
        )
        meant["backspin"] = step
    elif extra == 4:
        ball = draw(st.sampled_from(["tern", "heron", "plover"]))
        parts.append(draw(st.sampled_from([ball, f"ball {ball}", f"{ball} ball"])))
        meant["ball"] = ball
    return Question(Shot.model_validate(meant), tuple(parts), units)


def read(text: str, units: UnitSystem) -> Shot | None:
    """The question that is read, None where the text is refused or something is asked for."""
    try:
        shot = parse(text, kit=KIT, units=units)
        return None if missing(shot) else shot
    except ShotTextError as error:
        assert error.given == text and 0 <= error.start <= error.end <= len(text)
        return None


SETTINGS = settings(max_examples=600, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(question=questions(), data=st.data())
@SETTINGS
def test_parts_between_commas_are_read_as_meant_in_every_order(
    question: Question, data: st.DataObject
) -> None:
    parts = data.draw(st.permutations(question.parts))
    text = data.draw(st.sampled_from([", ", "; ", " | ", " - ", "\n", ",  "])).join(parts)
    assert read(text, question.units) == question.meant, text


@given(question=questions(), data=st.data())
@SETTINGS
def test_parts_between_blanks_are_read_as_meant_or_refused(
    question: Question, data: st.DataObject
) -> None:
    parts = data.draw(st.permutations(question.parts))
    text = " ".join(parts)
    assert read(text, question.units) in (question.meant, None), text


@given(question=questions(), data=st.data())
@SETTINGS
def test_numbers_with_units_between_blanks_are_read_as_meant(
    question: Question, data: st.DataObject
) -> None:
    assert question.meant.wind is not None and question.meant.distance is not None
    speed, distance = question.meant.wind.speed, question.meant.distance
    parts = [
        f"{amount(speed.value)} {speed.unit} from {int(question.meant.wind.relative_deg)} deg",
        question.parts[1],
        f"{distance.value:g} {distance.unit}",
    ]
    text = " ".join(data.draw(st.permutations(parts)))
    plain = question.meant.model_copy(
        update={"height": None, "curve": None, "backspin": 0.0, "ball": None}
    )
    assert read(text, question.units) in (plain, None), text
    assert read(", ".join(parts), question.units) == plain, text


EDITS = ("swap", "drop", "double", "change")


def slipped(text: str, at: int, edit: str, letter: str) -> str:
    """The text with one slip of the thumb at a place."""
    if edit == "swap":
        return text[:at] + text[at : at + 2][::-1] + text[at + 2 :]
    if edit == "drop":
        return text[:at] + text[at + 1 :]
    if edit == "double":
        return text[: at + 1] + text[at] + text[at + 1 :]
    return text[:at] + letter + text[at + 1 :]


@dataclass(frozen=True)
class Slip:
    """What was meant, and the text with a slip in it."""

    meant: Shot
    typed: str
    units: UnitSystem = "yards"


def slip(meant: str, typed: str) -> Slip:
    """The slip of a text."""
    return Slip(parse(meant, kit=KIT), typed)


@st.composite
def slips(draw: st.DrawFn) -> Slip:
    """In a word of four letters or more; a slip in a digit or an abbreviation is another text."""
    question = draw(questions())
    text = ", ".join(draw(st.permutations(question.parts)))
    letters = [
        at
        for at in range(len(text))
        if any(
            len(word) >= 4 and start <= at < start + len(word) - 1 for start, word in _words(text)
        )
    ]
    assume(letters)
    at = draw(st.sampled_from(letters))
    edit, letter = draw(st.sampled_from(EDITS)), draw(st.sampled_from("aeinorstlmk"))
    return Slip(question.meant, slipped(text, at, edit, letter), question.units)


@given(slip=slips())
@settings(max_examples=1500, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example(slip("2 off the right, gw, 63", "2 off the eight, gw, 63"))
@example(slip("24.5 kmh from right, 9i, 104", "24.5 kmh from eight, 9i, 104"))
@example(slip("93, 5 into from the right, 7i", "93, 5 knto from the right, 7i"))
@example(slip("93, 5 knot off the left, 7i", "93, 5 inot off the left, 7i"))
def test_a_slip_in_a_word_is_read_as_meant_or_refused(slip: Slip) -> None:
    assert read(slip.typed, slip.units) in (slip.meant, None), slip.typed


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("9 from eight, 5i, 150", ["9 off the right, 5i, 150", "9 from 8, 5i, 150"]),
        (
            "5 knto off the left, 7i, 93",
            ["5 kn off the left, 7i, 93", "5 into off the left, 7i, 93"],
        ),
    ],
)
def test_a_slip_of_two_words_offers_both(typed: str, meant: list[str]) -> None:
    with pytest.raises(ShotTextError) as caught:
        parse(typed, kit=KIT)
    offers = [parse(each, kit=KIT) for each in caught.value.suggestions[:2]]
    assert offers == [parse(each, kit=KIT) for each in meant]


def test_a_spelt_hour_that_is_no_sides_slip_is_read() -> None:
    for typed in ("9 from eight o'clock, 5i, 150", "9 from 8, 5i, 150"):
        assert parse(typed, kit=KIT).wind == parse("9 from 240 deg", kit=KIT).wind
    assert parse("9 from seven, 5i, 150", kit=KIT).wind == parse("9 from 210 deg", kit=KIT).wind


def _words(text: str) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    start = 0
    for at, (one, other) in enumerate(pairwise(text + "  ")):
        if not one.isalpha() and other.isalpha():
            start = at + 1
        if one.isalpha() and not other.isalpha():
            found.append((start, text[start : at + 1]))
    return found


def test_the_words_of_a_text_are_found_with_their_places() -> None:
    assert _words("8mph from, 5-iron") == [(1, "mph"), (5, "from"), (13, "iron")]


@given(
    club=st.sampled_from(sorted(CLUBS)),
    hour=st.integers(1, 12),
    at=st.integers(0, 3),
    edit=st.sampled_from(EDITS),
    letter=st.sampled_from("abdghjkpqstuvwxyz"),
)
@SETTINGS
def test_a_slip_in_from_is_taken_or_offered_as_meant(
    club: str, hour: int, at: int, edit: str, letter: str
) -> None:
    text = f"7.5 from {hour}, {club}, {REACHES_YD[club][0] + hour}"
    meant = parse(text, kit=KIT)
    typed = slipped(text, 4 + at, edit, letter)
    assume(edit != "swap" or at < 3)  # the last letter swapped with the blank leaves "fro m"
    shot = read(typed, "yards")
    if shot is not None:
        assert shot == meant, typed
        return
    with pytest.raises(ShotTextError) as caught:
        parse(typed, kit=KIT)
    offers = [parse(each, kit=KIT) for each in caught.value.suggestions]
    assert meant in offers, (typed, caught.value.sentence)
