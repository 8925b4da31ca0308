"""What players say that the grammar has no words for, said in its own: offered, never assumed."""

import re
from collections.abc import Iterator
from typing import Final

from shared.kit import Kit

_NUMBER: Final = r"(\d+(?:[.,]\d+)?)"
_UNIT: Final = r"(mph|m/s|mps|km/h|kmh|kph|kn|kts?|knots)?"
_BETWEEN: Final = r"(?:-|–|\bto\b|\band\b|\bgust(?:ing|s)?\b(?:\s*(?:to|up to|of|at)\b)?)"
_RANGE: Final = re.compile(
    rf"(?:\bgust(?:ing|s|y)?\b\s*(?:from\b|between\b)?\s*)?\b{_NUMBER}\s*{_UNIT}\s*,?\s*{_BETWEEN}\s*"
    rf"{_NUMBER}\s*{_UNIT}(?![\w.%])(?:\s*gust(?:ing|s|y)?\b)?",
    re.IGNORECASE,
)
_GUST: Final = re.compile(r"\s*\b(?:with\s+)?gust(?:ing|s|y)?\b", re.IGNORECASE)
_HALF: Final = re.compile(r"\b(\d{1,2})\s*(?:and a half|and half|[ -]?1/2)(?!\w)", re.IGNORECASE)
_SPIN: Final = re.compile(
    r"\b(?:(?:max(?:imum|imal)?|full|most|all the)\s+(back|top)[ -]?(?:spin)?"
    r"|(back|top)[ -]?(?:spin)?\s+(?:max(?:imum)?|full))\b",
    re.IGNORECASE,
)


def rephrased(text: str, kit: Kit) -> tuple[str, ...]:
    """Texts one of which may be meant: the middle and the ends of a gusting wind, a half hour,
    as much spin as the kit has. Whether they can be read is for the caller to find out."""
    return tuple(dict.fromkeys(each for each in _every(text, kit) if each != text))


def says_gusts(text: str) -> bool:
    """Whether a text speaks of gusts."""
    return _GUST.search(text) is not None


def _every(text: str, kit: Kit) -> Iterator[str]:
    steps = f"{kit.limits.spin_steps:g}"
    said = _SPIN.sub(lambda found: f"{found[1] or found[2]} {steps}", text)
    said = _HALF.sub(lambda found: f"{found[1]}:30", said)
    match = _RANGE.search(said)
    if match is None:
        yield _GUST.sub("", said)
        return
    low, high = sorted((float(match[1].replace(",", ".")), float(match[3].replace(",", "."))))
    unit = match[4] or match[2] or ""
    for value in ((low + high) / 2, high, low):
        speed = f"{value:g} {unit}".rstrip()
        yield _GUST.sub("", said[: match.start()] + speed + said[match.end() :])
