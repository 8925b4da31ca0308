"""What players type that the grammar reads otherwise or not at all, in words it has: offered only.

Each rule changes one habit of speech ("165 left", "7 30", "→", "three quarter") wherever a text
was refused. Nobody's text is read through these: what they give is offered, one press away.
"""

import re
from collections.abc import Callable, Iterator
from typing import Final

from shared.shot_text.wind_builder import NO_HOUR_OF_A_DAY

_AMOUNT: Final = r"\d+(?:[.,]\d+)?"
_LENGTH: Final = r"(?:y|yd|yds|yards?|m|metres?|meters?)"
_ON_THE_LINE: Final = (12, 360)  # degrees behind "from" are more than hours and at most a circle

# An arrow shows where the wind blows to.
_ARROWS: Final = {
    "→": "left to right",
    "➡": "left to right",
    "←": "right to left",
    "⬅": "right to left",
    "↑": "helping",
    "⬆": "helping",
    "↓": "into",
    "⬇": "into",
    "↗": "helping off the left",
    "↖": "helping off the right",
    "↘": "into off the left",
    "↙": "into off the right",
}
_DRAWN: Final = re.compile(rf"[{''.join(_ARROWS)}]\ufe0f?|<-+|-+>|<=+|=+>")

Rule = tuple[str, str | Callable[[re.Match[str]], str]]


def _half_between(found: re.Match[str]) -> str:
    first, last = int(found[1]), int(found[2])
    return f"{first}:30" if last == first % 12 + 1 else found[0]


def _far(found: re.Match[str]) -> str:
    return found[1] if int(found[1]) > NO_HOUR_OF_A_DAY else found[0]


def _in_degrees(found: re.Match[str]) -> str:
    low, high = _ON_THE_LINE
    return f"from {found[1]} deg" if low < int(found[1]) <= high else found[0]


def _arrow(found: re.Match[str]) -> str:
    drawn = found[0][0]
    if drawn in _ARROWS:
        return f" {_ARROWS[drawn]} "
    return " right to left " if drawn == "<" else " left to right "


_RULES: Final[tuple[Rule, ...]] = (
    (rf"({_AMOUNT}\s*{_LENGTH}?)\s+left\b", r"\1"),
    (r"\bfrom\s+(\d{2,3})\b(?!\s*(?:deg|°|o))", _far),
    (r"\b(\d{1,2})(?:\s+|\s*h\s*)(00|15|30|45)\b", r"\1:\2"),
    (r"\b(?:between\s+)?(\d{1,2})\s*(?:/|-|and|to|or)\s*(\d{1,2})\b", _half_between),
    (r"(?:\bfrom|\bat|@)\s*(\d{2,3})\b(?!\s*(?:deg|°))", _in_degrees),
    (r"\b(?:three[ -]quarters?|3 quarters?|3/4)(?:\s+of)?|¾", "75%"),
    (r"\b(?:half(?:\s+of)?(?:\s+an?)?|1/2)(?!\w)|(?<!\d)½", "50%"),
    (r"\b(?:three[ -]quarters?|3 quarters?|3/4|half|1/2)\b|¾", ""),
    (r"(?<![\w/])([nesw])(?![\w/])(?!\s*wind)", r"from \1"),
    (r"(?<![\w/])([nesw])\s+wind\b", r"from \1"),
    (rf"(?:\+|\bplus\b)\s*({_AMOUNT})", r"up \1"),
    (rf"(?:(?<=\s)-|\bminus\b)\s*({_AMOUNT})", r"down \1"),
    (r"\bdown\b", "helping"),
    (r"\bdirection\b", ""),
    (r"(\d)\s*k(?:m(?:/u)?)?\b(?!/)", r"\1 km/h"),
    (r",(?=\d)", ", "),
    (r"\bgreen\s+(?:is\s+)?(?=\d|up\b|down\b|above\b|below\b)", ""),
)
_COMPILED: Final = tuple((re.compile(pattern, re.IGNORECASE), said) for pattern, said in _RULES)


def reworded(text: str) -> Iterator[str]:
    """The text with one habit of speech after another put in the grammar's words.

    Whether what comes can be read is for the caller to find out.
    """
    drawn = _DRAWN.sub(_arrow, text)
    if drawn != text:
        yield " ".join(drawn.split())
    for pattern, said in _COMPILED:
        changed = pattern.sub(said, text)
        if changed != text:
            yield " ".join(changed.split())
