"""The kinds of items a text is made of, and patterns over runs of them."""

import re
from string import ascii_letters
from typing import Final, Literal, get_args

Kind = Literal[
    # numbers, by the unit behind them
    "number",
    "speed",
    "length",
    "percent",
    "signed_percent",
    "degrees",
    "clock",
    # names
    "club",
    "grade",
    "ball",
    # where the wind comes from
    "into",
    "helping",
    "in",
    "from",
    "at",
    "off",
    "left",
    "right",
    "sideways",
    "crosswind",
    "quartering",
    "compass",
    "line",
    "bearing",
    "calm",
    "wind",
    # height, spin, shape, share of full carry
    "up",
    "down",
    "height",
    "back",
    "top",
    "side",
    "spin",
    "draw",
    "fade",
    "full",
    # what the ball is to finish on: the word alone, and with a ground behind it
    "onto",
    "surface",
    # what says nothing
    "separator",
    "filler",
    "not_a_number",
]

# A regular expression counts characters: each kind gets one, so that places in a match are items.
_CHARACTER: Final[dict[str, str]] = dict(zip(get_args(Kind), ascii_letters, strict=False))
_NAME = re.compile(r"\(\?P<\w+>|[a-z_]+")


def pattern_of(names: str) -> re.Pattern[str]:
    """A regular expression over kinds, written with their names: "wind? (number|speed) wind?".

    It is matched against ``run_of`` items; a place in the match is the place of an item.
    """
    characters = _NAME.sub(
        lambda found: found[0] if found[0][0] == "(" else _CHARACTER[found[0]], names
    )
    return re.compile("".join(characters.split()))


def run_of(kinds: list[Kind]) -> str:
    """The kinds of a run of items as a string that patterns are matched against."""
    return "".join(_CHARACTER[kind] for kind in kinds)
