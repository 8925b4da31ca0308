"""The grammar's own words and units, in English as golfers type it."""

from typing import Final

from shared.units import METRES_PER, MPS_PER, LengthUnit, SpeedUnit

# One letter per kind, so that a run of items can be matched by a regular expression (``read``).
FILLER: Final = ""
NOT_A_NUMBER: Final = "!"


def _phrases(kind: str, phrases: str, number: float = 0.0) -> dict[str, tuple[str, float]]:
    return {phrase.strip(): (kind, number) for phrase in phrases.split(",")}


LEXICON: Final[dict[str, tuple[str, float]]] = {
    **_phrases("i", "into, against, hurting, headwind, head wind, upwind, into the wind"),
    **_phrases("h", "helping, help, behind, tailwind, tail wind, downwind, following, assisting"),
    **_phrases("I", "in"),
    **_phrases("f", "from, out of"),
    **_phrases("o", "off"),
    **_phrases("L", "left"),
    **_phrases("R", "right"),
    **_phrases("X", "left to right", 270.0),
    **_phrases("X", "right to left", 90.0),
    **_phrases("z", "line, line of play"),
    **_phrases("b", "hole, bearing, hole bearing, heading, hole heading"),
    **_phrases("c", "calm, no wind, windless, wind still"),
    **_phrases("w", "wind, winds, breeze"),
    **_phrases("u", "up, uphill, above, higher, raised, elevated"),
    **_phrases("d", "down, downhill, below, lower"),
    **_phrases("e", "height, elevation, elev"),
    **_phrases("B", "back, backspin, back spin"),
    **_phrases("T", "top, topspin, top spin"),
    **_phrases("S", "side, sidespin, side spin"),
    **_phrases("P", "spin"),
    **_phrases("A", "draw"),
    **_phrases("F", "fade"),
    **_phrases(NOT_A_NUMBER, "nan, inf, infinity, infinite"),
    **_phrases(
        FILLER,
        "at, to, with, the, a, an, and, is, of, it, by, be, target, carry, shot, please,"
        "shape, club, ball, grade, my, me, i, for, need, hit, hitting, want, play, playing, about,"
        "around, approx, away, distance, pin, flag, cross, crosswind, level, flat, set, using,"
        "what, how, much, do, does, aim, can, should, where, hello, hi, thanks,"
        "wind is",
    ),
}

POINTS: Final = (
    *("n", "nne", "ne", "ene", "e", "ese", "se", "sse"),
    *("s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"),
)
COMPASS: Final[dict[str, float]] = {point: 22.5 * place for place, point in enumerate(POINTS)}
COMPASS_WORDS: Final[dict[str, float]] = {
    **{word: 90.0 * place for place, word in enumerate(("north", "east", "south", "west"))},
    **{
        f"{first}{blank}{second}": COMPASS[first[0] + second[0]]
        for first in ("north", "south")
        for second in ("east", "west")
        for blank in ("", " ")
    },
}

_UNITS = {
    "v": {
        "mph": "mph, mi/h, miles per hour, miles an hour",
        "m/s": "m/s, ms, mps, metres per second, meters per second",
        "km/h": "km/h, kmh, kph, kmph, kilometres per hour, kilometers per hour",
        "kn": "kn, kt, kts, knot, knots",
    },
    "l": {
        "yd": "yd, yds, yard, yards, y",
        "m": "m, metre, metres, meter, meters, mtr",
        "ft": "ft, foot, feet",
    },
    "p": {"%": "%, percent, per cent, pct"},
    "g": {"deg": "deg, degs, degree, degrees, °"},
    "t": {"h": "o'clock, oclock, o clock, o' clock"},
}
UNITS: Final[dict[str, tuple[str, str]]] = {
    phrase.strip(): (kind, unit)
    for kind, units in _UNITS.items()
    for unit, phrases in units.items()
    for phrase in phrases.split(",")
}
LENGTH_UNITS: Final[dict[str, LengthUnit]] = {unit: unit for unit in METRES_PER}
SPEED_UNITS: Final[dict[str, SpeedUnit]] = {unit: unit for unit in MPS_PER}

_NUMBERS = (
    *("zero", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
NUMBER_WORDS: Final[dict[str, str]] = {word: str(number) for number, word in enumerate(_NUMBERS)}
CATEGORY_WORDS: Final = ("club", "grade", "ball")
CLUB_WORDS: Final = ("iron", "wood", "wedge", "hybrid", "driver", "putter")

LONGEST_PHRASE: Final = 4  # words

# "i" also stands for iron.
RESERVED: Final[frozenset[str]] = frozenset(
    word for phrase in (*LEXICON, *UNITS, *COMPASS_WORDS) for word in phrase.split()
) - {"i"}
