"""Miss text: what became of a shot, as its player types it. "in", "5 short, 3 right", "a bit left".

A player often knows only on which side a shot missed. That is kept: a direction said without a
number has a side and no amount.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, cast

from shared.errors import InputError
from shared.shot_text.lexicon import NUMBER_WORDS
from shared.shot_text.source import quoted
from shared.units import (
    METRES_PER,
    METRES_PER_YARD,
    UNITS,
    DistanceUnit,
    UnitSystem,
    distance_number,
)

MISS_EXAMPLE: Final = "5 short, 3 right"
MISS_HINT: Final = f"{MISS_EXAMPLE}; or: a bit left"  # what a phone's field shows
SEVERAL_EXAMPLE: Final = "10 tries, 2 in"
MAX_OUTCOME: Final = 90  # characters of a form's field
MAX_MISS_M: Final = 300 * METRES_PER_YARD  # farther off, and it was another shot that was meant
MAX_MISS_TEXT: Final = 120  # characters

MissUnit = Literal["yd", "m", "ft", "marks"]
Side = Literal[-1, 0, 1]

_HOLED: Final = re.compile(
    r"(?:it |the ball )?(?:(?:went|was|is|dropped|rolled) )?in(?: the hole| the cup)?"
    r"|(?:it |i |we )?holed(?: it| out)?|hole[ -]?out|hole in one|hio|ace|aced|worked|yes|made it"
    r"|(?:it )?dropped|(?:i |we )?(?:drained|sank|sunk)(?: it)?|bottom of the cup|[✓✔✅]"
)
# A miss of which nothing is measured; a ball that lipped out missed too, nobody knows by how much.
_NOT_HOLED: Final = re.compile(
    r"|missed(?: it)?|miss|no|nah|nope|out|not in|[x✗✘❌]"
    r"|(?:it )?(?:did not|didn't|didnt|would not|wouldn't) (?:go in|drop|fall)"
    r"|(?:it )?(?:just |nearly |almost )?(?:lipped|rimmed|horseshoed|spun|bounced|popped)(?: out)?"
    r"|lip ?out|in and out|just missed|(?:so |very )?close|nearly|almost|unlucky"
    r"|(?:hit|off|kissed|rattled|clipped) the (?:flag|pin|stick|edge)|burned the edge"
    r"|(?:in |in the |into |into the )?(?:water|bunker|sand|rough|trees|hazard)|ob|out of bounds"
)
_DIRECTIONS: Final[dict[str, tuple[str, Side]]] = {
    **dict.fromkeys(("long", "over", "past", "beyond", "lg"), ("along", 1)),
    **dict.fromkeys(("short", "s", "sh"), ("along", -1)),
    **dict.fromkeys(("right", "r", "rt"), ("across", 1)),
    **dict.fromkeys(("left", "l", "lt"), ("across", -1)),
}
_UNITS: Final[dict[str, str]] = {
    **dict.fromkeys(("y", "yd", "yds", "yard", "yards"), "yd"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("ft", "foot", "feet"), "ft"),
    **dict.fromkeys(("inch", "inches"), "inches"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("mark", "marks"), "marks"),
}
_NAMES: Final[dict[DistanceUnit, str]] = {"yd": "yards", "m": "metres"}
_ASK: Final = "Say whether it went in, or how far it missed and which way."
_SAYS_NO_AMOUNT: Final = frozenset(
    (
        *("a", "an", "bit", "little", "touch", "tad", "way", "just", "slightly", "miles"),
        *("too", "hair", "lot", "much", "well", "so", "few", "couple"),
    )
)
_FILLER: Final = frozenset(
    (
        *("and", "by", "to", "of", "the", "it", "i", "was", "went", "missed", "miss", "but", "off"),
        *("on", "also", "about", "around", "roughly", "ish", "came", "up", "wide", "rolled", "ran"),
        *(
            "pushed",
            "pulled",
            "hooked",
            "sliced",
            "drifted",
            "hole",
            "pin",
            "flag",
            "cup",
            "target",
        ),
    )
)
_SEPARATORS: Final = ("~", ",", ";", "&", "+", "/", ".", "-", "!", "'")
_LINE_UP: Final = (
    "pin high",
    "pin-high",
    "pinhigh",
    "hole high",
    "flag high",
    "good distance",
    "right distance",
)  # neither long nor short
_ON_LINE: Final = (
    "on line",
    "online",
    "good line",
    "right line",
    "dead straight",
    "straight",
)  # neither left nor right
_WORD: Final = re.compile(r"\d+(?:[.,]\d+)?|[.,]\d+|[^\W\d_]+|\S")
_MINUS: Final = re.compile(r"(?:^|\s)[-−]\s?\d")
_NUMBER: Final = re.compile(r"[.,]?\d")
_POWER: Final = re.compile(r"\d+(?:[.,]\d+)?e[+-]?\d+")
_RANGE: Final = re.compile(r"\d+(?:[.,]\d+)?\s*(?:-|\bto\b|\bor\b)\s*\d+(?:[.,]\d+)?")
_PARTS: Final[dict[str, tuple[float, MissUnit]]] = {"inches": (12.0, "ft"), "cm": (100.0, "m")}
_MARKS_FOR_UNITS: Final = (
    (re.compile(r"(?<=\d)\s?(?:''|[\"”″])"), " inches "),
    (re.compile(r"(?<=\d)\s?['′]"), " ft "),
    (re.compile(r"(?<=\d)\s*½|(?<=\d) +1/2\b|(?<=\d) and a half\b"), ".5"),
    (re.compile(r"½|(?<![\d.,])1/2\b|\bhalf(?= an?\b)"), "0.5"),
    (re.compile(r"(?<=0\.5) an?\b"), ""),
)


@dataclass(frozen=True, slots=True)
class Component:
    """A miss one way. ``side`` is + long or right, - short or left, 0 neither.

    ``amount`` counts ``unit``, None where only the side is known.
    """

    side: Side
    amount: float | None = None
    unit: MissUnit = "yd"

    def metres(self, *, mark_m: float) -> float | None:
        """The miss with its sign in metres; ``mark_m`` is an aim mark's size. None: not known."""
        if self.amount is None:
            return None
        scale = mark_m if self.unit == "marks" else METRES_PER[self.unit]
        return self.side * self.amount * scale


@dataclass(frozen=True, slots=True)
class Miss:
    """What became of a shot: holed, or missed along and across as far as that is known.

    Along is long + and short -, across right + and left -. None: nothing was said of that way.
    """

    is_holed: bool
    along: Component | None = None
    across: Component | None = None

    def along_m(self, *, mark_m: float) -> float | None:
        """How far long in metres, None where it is not known."""
        return None if self.along is None else self.along.metres(mark_m=mark_m)

    def across_m(self, *, mark_m: float) -> float | None:
        """How far right in metres, None where it is not known."""
        return None if self.across is None else self.across.metres(mark_m=mark_m)


HOLED: Final = Miss(is_holed=True)
NOT_MEASURED: Final = Miss(is_holed=False)


def parse_miss(text: str, *, units: UnitSystem, mark: str = "mark") -> Miss:
    """What ``text`` says of a shot; an empty text is a miss of which nothing is known.

    "went in", "5 short, 3 right", "2l", "long 2 m", "short", "a bit left", "pin high 3 right".
    A number without a unit is in the distance of ``units``, or in the one unit the text names;
    ``mark`` is the kit's name of an aim mark. Errors: InputError.
    """
    if len(text) > MAX_MISS_TEXT:
        raise _error(f"A miss is said in at most {MAX_MISS_TEXT} characters.", text)
    said = _folded(text)
    if power := _POWER.search(said):
        raise _error(f"{quoted(power[0])} is not a number that a miss can have.", text)
    if span := _RANGE.search(said):
        raise _error(f"{quoted(span[0])} is a range; its middle is enough.", text)
    if _MINUS.search(said):
        raise _error("A miss has no minus; the other way has its own word.", text)
    if _HOLED.fullmatch(said):
        return HOLED
    if _NOT_HOLED.fullmatch(said):
        return NOT_MEASURED
    known: dict[str, Component] = {}
    for phrases, axis in ((_LINE_UP, "along"), (_ON_LINE, "across")):
        for phrase in phrases:
            if re.search(rf"\b{phrase}\b", said):
                known[axis] = Component(side=0, amount=0.0)
                said = re.sub(rf"\b{phrase}\b", " ", said)
    marks = dict.fromkeys((f"{mark.casefold()}{end}" for end in ("", "s", "es")), "marks")
    words = _Words(text, {**_UNITS, **marks})
    words.read(_WORD.findall(said))
    return _miss(known, words, units, text)


def _folded(text: str) -> str:
    """The text in lower case, its marks for units and halves as words and numbers."""
    said = " ".join(text.casefold().replace("’", "'").split())
    if len(said) > 1 and said[0] == said[-1] and said[0] in "'\"":
        said = said[1:-1]
    said = said.rstrip(" .!,").lstrip(" !,")
    for mark, word in _MARKS_FOR_UNITS:
        said = mark.sub(word, said)
    return " ".join(said.split())


class _Words:
    """The words of one text, read into a side and an amount for each way."""

    def __init__(self, text: str, units: Mapping[str, str]) -> None:
        self.text = text
        self.units = units
        self.sides: dict[str, Side] = {}
        self.amounts: dict[str, float] = {}
        self.named: set[str] = set()  # units
        self.number: float | None = None  # whose way is not said yet
        self.before = ""  # the way that a number may still follow
        self.either = ""  # a way whose number, "short 3 right", may belong to the next instead
        self.shared: list[str] = []  # ways that come right behind such a number
        self.is_vague = False

    def read(self, words: list[str]) -> None:
        """Takes in all words. Errors: InputError."""
        for place, word in enumerate(words):
            if _NUMBER.match(word) or word in NUMBER_WORDS:
                self._number(float(NUMBER_WORDS.get(word, word).replace(",", ".")))
            elif word in _DIRECTIONS:
                self._direction(*_DIRECTIONS[word])
            elif word in self.units:
                self.named.add(self.units[word])
                if self.number is None and place and words[place - 1] in ("a", "an"):
                    self._number(1.0)
            elif word in _SEPARATORS:
                self.before = self.either = ""
            elif word in _SAYS_NO_AMOUNT:
                self.is_vague = True
            elif word not in _FILLER:
                raise _error(f"{quoted(word)} was not understood. {_ASK}", self.text)
        if self.number is not None:
            raise self._no_way()
        if any(axis not in self.amounts for axis in self.shared):
            raise _error("A comma must say to which way the number belongs.", self.text)

    def _number(self, number: float) -> None:
        if self.number is not None:
            raise self._no_way()
        if self.before and not self.is_vague:
            self.amounts[self.before] = number
            self.before, self.either = "", self.before
        else:
            self.number = number

    def _direction(self, axis: str, side: Side) -> None:
        if axis in self.sides:
            raise _error("That says twice how far it missed one way.", self.text)
        if self.number is None and self.either and not self.is_vague:
            self.shared.append(axis)
        self.sides[axis] = side
        if self.number is not None:
            self.amounts[axis] = self.number
        is_open = self.number is None and not self.is_vague
        self.before = axis if is_open else ""
        self.number, self.either, self.is_vague = None, "", False

    def _no_way(self) -> InputError:
        return _error(f"“{self.number:g}” does not say which way it missed.", self.text)


def _miss(known: dict[str, Component], words: _Words, units: UnitSystem, text: str) -> Miss:
    if len(words.named) > 1:
        raise _error("Give both ways in one unit.", text)
    named = next(iter(words.named), UNITS[units].distance)
    parts, unit = _PARTS.get(named, (1.0, cast(MissUnit, named)))
    for axis, side in words.sides.items():
        if axis in known:
            raise _error("That says twice how far it missed one way.", text)
        amount = words.amounts.get(axis)
        known[axis] = Component(side, None if amount is None else amount / parts, unit)
    if not known:
        raise _error(_ASK, text)
    miss = Miss(False, along=known.get("along"), across=known.get("across"))
    farthest = (miss.along_m(mark_m=METRES_PER_YARD), miss.across_m(mark_m=METRES_PER_YARD))
    if any(abs(each or 0.0) > MAX_MISS_M for each in farthest):
        most = f"{distance_number(MAX_MISS_M, units):.0f} {_NAMES[UNITS[units].distance]}"
        raise _error(f"A miss is at most {most}.", text)
    return miss


def _error(sentence: str, text: str) -> InputError:
    return InputError(sentence, MISS_EXAMPLE, text)
