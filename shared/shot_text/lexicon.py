"""The grammar's own words and units, in English as golfers type it."""

import re
from typing import Final, Literal

from shared.kit import SURFACE_KINDS
from shared.shot_text.kinds import Kind
from shared.units import METRES_PER, MPS_PER, LengthUnit, SpeedUnit


def _phrases(kind: Kind, phrases: str, number: float = 0.0) -> dict[str, tuple[Kind, float]]:
    return {phrase.strip(): (kind, number) for phrase in phrases.split(",")}


_IN_THE_FACE = ", ".join(
    f"{before} {whose} {what}"
    for before in ("in", "into")
    for whose in ("my", "the", "your", "our")
    for what in ("face", "teeth")
)
_AT_THE_BACK = ", ".join(
    f"{before} {whose} {what}"
    for before in ("at", "on", "from")
    for whose in ("my", "the", "your", "our")
    for what in ("back", "backs")
)

# What a ball may be said to finish on, by its place in ``SURFACE_KINDS``.
SURFACE_WORDS: Final = {
    **{word: SURFACE_KINDS.index(word) for word in SURFACE_KINDS},
    "bunker": SURFACE_KINDS.index("sand"),
}

LEXICON: Final[dict[str, tuple[Kind, float]]] = {
    **_phrases(
        "into",
        "into, against, hurting, hurts, hurt, headwind, head wind, upwind, into the wind, head,"
        "into me, against me, at me, in face, from in front, from the front, from ahead,"
        "in front, against the wind, from straight ahead, hw, front, facing, head on, towards me,"
        "toward me, towards us, at us, against us, from front",
    ),
    **_phrases("into", _IN_THE_FACE),
    **_phrases(
        "helping",
        "helping, helps, help, behind, tailwind, tail wind, downwind, down wind, following,"
        "assisting, down the wind, with the wind, behind me, behind us, from behind,"
        "from behind me, tail, with me, with us, with wind, tw, back wind, backwind, at back,"
        "down breeze, downbreeze, assist, assists, assisted",
    ),
    **_phrases("helping", _AT_THE_BACK),
    **_phrases("in", "in"),
    **_phrases("from", "from, out of, out the, frm, fr, fm, direction, dir"),
    **_phrases("at", "at"),
    **_phrases("off", "off"),
    **_phrases("left", "left, l, lhs, left hand side, the left side"),
    **_phrases("right", "right, r, rhs, right hand side, the right side"),
    **_phrases("sideways", "left to right, ltr", 270.0),
    **_phrases("sideways", "right to left, rtl", 90.0),
    **_phrases(
        "crosswind",
        "crosswind, cross wind, cross, crosswinds, sidewind, side wind,"
        "full cross, full crosswind, pure cross, straight cross",
    ),
    **_phrases("quartering", "quartering, quarter, diagonal"),
    **_phrases("line", "line, line of play"),
    **_phrases("bearing", "hole, bearing, hole bearing, heading, hole heading"),
    **_phrases(
        "calm",
        "calm, no wind, windless, wind still, still, still air, no breeze, nothing, none, nil,"
        "without wind, no wind at all",
    ),
    **_phrases("wind", "wind, winds, breeze, w"),
    **_phrases("up", "up, uphill, above, higher, raised, elevated, rise, rises, rising"),
    **_phrases("down", "down, downhill, below, lower, drop, drops, dropping"),
    **_phrases("height", "height, elevation, elev"),
    **_phrases("back", "back, backspin, back spin, bs"),
    **_phrases("top", "top, topspin, top spin, ts"),
    **_phrases("side", "side, sidespin, side spin"),
    **_phrases("spin", "spin"),
    **_phrases("draw", "draw, hook"),
    **_phrases("fade", "fade, cut, slice"),
    **_phrases("onto", "onto, on to, onto the, on to the"),
    **{
        f"{before}{word}": ("surface", float(place))
        for word, place in SURFACE_WORDS.items()
        for before in ("onto ", "on to ", "onto the ", "on to the ")
    },
    **_phrases("full", "full, full carry, full shot, full swing, power"),
    **_phrases("not_a_number", "nan, inf, infinity, infinite"),
    **_phrases(
        "filler",
        "to, with, the, a, an, and, is, of, it, by, be, target, carry, shot, please,"
        "shape, club, ball, grade, my, me, i, for, need, hit, hitting, want, play, playing, about,"
        "around, approx, away, distance, pin, flag, level, flat, set, using,"
        "what, how, much, do, does, aim, can, should, where, hello, hi, thanks,"
        "wind is, dist, yardage, speed, wind speed, blowing, coming, light, gentle, strong, stiff,"
        "dead, straight, directly, out, to go, to the hole, to hole, have, got, has, swing,"
        "swinging, going, moving, pushing, click, clicks, step, steps, notch, notches, there,"
        "roughly",
    ),
}

# "l to r", "left-right", "R>L", "l2r": which side it blows from and to. One token, see ``tokens``.
SIDE_TO_SIDE: Final = (
    r"(?:left|l)(?:\s+to\s+|\s*-*[>→]+\s*|[-/]|to|2)(?:right|r)(?![^\W_])"
    r"|(?:right|r)(?:\s+to\s+|\s*-*[>→]+\s*|[-/]|to|2)(?:left|l)(?![^\W_])"
    r"|(?:l\s2\sr|left\s2\sright)(?![^\W_])|(?:r\s2\sl|right\s2\sleft)(?![^\W_])"
)
_SIDE_TO_SIDE: Final = re.compile(SIDE_TO_SIDE)


def side_blown_from(word: str) -> float | None:
    """The direction in degrees that a word such as "r2l" says, None where it is no such word."""
    if not _SIDE_TO_SIDE.fullmatch(word):
        return None
    return LEXICON["left to right" if word[0] == "l" else "right to left"][1]


POINTS: Final = (
    *("n", "nne", "ne", "ene", "e", "ese", "se", "sse"),
    *("s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"),
)
COMPASS: Final[dict[str, float]] = {point: 22.5 * place for place, point in enumerate(POINTS)}
_QUARTERS: Final = ("north", "east", "south", "west")
COMPASS_WORDS: Final[dict[str, float]] = {
    **{f"{word}{end}": 90.0 * n for n, word in enumerate(_QUARTERS) for end in ("", "erly")},
    **{
        f"{first}{blank}{second}{end}": COMPASS[first[0] + second[0]]
        for first in ("north", "south")
        for second in ("east", "west")
        for blank in ("", " ")
        for end in ("", "erly")
    },
}

Measure = Literal["speed", "length", "percent", "degrees", "clock"]
_UNITS: Final[dict[Measure, dict[str, str]]] = {
    "speed": {
        "mph": "mph, mi/h, mi/hr, miles per hour, miles an hour",
        "m/s": "m/s, ms, mps, m/sec, metres per second, meters per second",
        "km/h": "km/h, km/hr, kmh, kph, kmph, kilometres per hour, kilometers per hour",
        "kn": "kn, kt, kts, knot, knots",
    },
    "length": {
        "yd": "yd, yds, yard, yards, y",
        "m": "m, metre, metres, meter, meters, mtr",
        "ft": "ft, foot, feet, '",
    },
    "percent": {"%": "%, percent, per cent, pct"},
    "degrees": {"deg": "deg, degs, degree, degrees, °"},
    "clock": {"h": "o'clock, oclock, o clock, o' clock"},
}
UNITS: Final[dict[str, tuple[Measure, str]]] = {
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
# What comes before an hour, and the part of an hour it adds.
PARTS_OF_AN_HOUR: Final = {"half past": 0.5, "quarter past": 0.25, "quarter to": -0.25}
CATEGORY_WORDS: Final = ("club", "grade", "ball")
CLUB_WORDS: Final = ("iron", "wood", "wedge", "hybrid", "driver", "putter")

LONGEST_PHRASE: Final = 4  # words

# Without letters and grounds that stand in names of clubs too.
RESERVED: Final[frozenset[str]] = frozenset(
    word for phrase in (*LEXICON, *UNITS, *COMPASS_WORDS) for word in phrase.split()
) - {"i", "w", "l", "r", *SURFACE_WORDS}
