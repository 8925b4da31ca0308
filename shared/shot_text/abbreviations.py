"""The short forms golfers use for a club, made from its name where the kit lists no alias."""

import re
from collections.abc import Iterable
from typing import Final

from shared.kit import Club, Kit

_NUMBERED: Final = re.compile(r"(\d{1,2})[ -]?(iron|wood|hybrid)", re.IGNORECASE)
_WEDGE: Final = re.compile(r"([^\W\d_])[^\W\d_]* wedge", re.IGNORECASE)
_SHORT: Final = {"iron": ("i",), "wood": ("w",), "hybrid": ("h", "hy", "hyb", "rescue")}
_BEFORE: Final = re.compile(r"\b([1-9])[ -]+(?:hybrid|hyb|hy|h)\b", re.IGNORECASE)
_BEHIND: Final = re.compile(r"\b(?:hybrid|hyb|hy|h)[ -]*([1-9])(?![\w.,:])", re.IGNORECASE)
_HYBRID_NUMBERS: Final = range(1, 10)


def reversed_names(kit: Kit) -> Iterable[tuple[str, str]]:
    """Each numbered club's name with what it may be typed as the other way round: "iron 5"."""
    for club in kit.clubs:
        numbered = _NUMBERED.fullmatch(club.name)
        if numbered:
            yield club.name, f"{numbered[2]} {numbered[1]}"


def abbreviations(kit: Kit) -> Iterable[tuple[str, str, bool]]:
    """A club's name, a short form of it, and whether that counts only without blanks.

    "5i", "i5", "3w", "4h", "h", "pw", "d". Where the game has one hybrid, and that without a
    number, any number before "h" is that hybrid.
    """
    for club in kit.clubs:
        numbered = _NUMBERED.fullmatch(club.name)
        if numbered:
            for short in _SHORT[numbered[2].lower()]:
                yield club.name, f"{numbered[1]}{short}", short != "i"
                yield club.name, f"{short}{numbered[1]}", True
        wedge = _WEDGE.fullmatch(club.name)
        if wedge:
            yield club.name, f"{wedge[1]}w", True
        if club.name.lower() == "driver":
            yield from ((club.name, short, True) for short in ("d", "dr", "1w", "1wood"))
    hybrids = [club for club in kit.clubs if club.family == "hybrid"]
    if len(hybrids) == 1:
        yield from _of_the_only_hybrid(hybrids[0])


def numbered_hybrids(text: str) -> tuple[str, ...]:
    """The text with the number beside a "hybrid" joined to it: "4 hybrid" and "hybrid 4"."""
    found = (_BEFORE.sub(r"\1-hybrid", text, 1), _BEHIND.sub(r"\1-hybrid", text, 1))
    return tuple(each for each in found if each != text)


def _of_the_only_hybrid(club: Club) -> Iterable[tuple[str, str, bool]]:
    for short in _SHORT["hybrid"]:
        yield club.name, short, True
    if not any(letter.isdecimal() for letter in club.name):
        for number in _HYBRID_NUMBERS:
            for short in (*_SHORT["hybrid"], "hybrid"):
                yield club.name, f"{number}{short}", True
            yield club.name, f"h{number}", True
