"""From typed characters to tokens: folded (case, accents, widths, digits), each with its place."""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from shared.shot_text.lexicon import SIDE_TO_SIDE

TokenKind = Literal["word", "number", "comma", "open", "close", "sign", "symbol", "mention"]


@dataclass(frozen=True, slots=True)
class Token:
    """One word, number or symbol. ``start`` and ``end`` are places in the text as typed.

    ``attached`` says that no blank stands before it.
    """

    kind: TokenKind
    text: str
    start: int
    end: int
    attached: bool


# Emphasis and escapes of chat markdown fall away, line breaks and bars part like a comma.
_ASCII = {ord(mark): " " for mark in "*_`~\\\t"} | {ord(mark): ";" for mark in "\n\r|\v\f"}
_SPECIAL = {
    "½": ".5",
    "¼": ".25",
    "¾": ".75",
    "’": "'",
    "‘": "'",
    "ʼ": "'",
    "“": '"',
    "”": '"',
    "„": '"',
    "−": "-",
    "،": ";",
    "、": ";",
    "٫": ".",
    "؛": ";",
    "٪": "%",
    "º": "°",
}
_KEPT_AS_TYPED = ("No", "Nl", "Cc", "Cs", "Co", "Cn")  # no digit may appear out of a "²" or a "①"

_TOKEN = re.compile(
    rf"""(?P<mention><(?:[@#:]|a:)[^<>\s]*>|@[^\W\d_]\w*|https?://\S*)
    |(?P<number>(?:\d+(?:\.\d+)?|(?<![^\W\d_])\.\d+)(?:e[+-]?\d+)?)
    |(?P<word>{SIDE_TO_SIDE}|(?:km/hr?|m/s(?:ec)?|mi/hr?|o'?[ ]?clock)(?![^\W\d_])|[^\W\d_]+)
    |(?P<comma>[,;/])|(?P<open>\()|(?P<close>\))|(?P<sign>[+-])|(?P<symbol>\S)""",
    re.VERBOSE,
)


_SHORT_IS = re.compile(r"(?<=[^\W\d_])'s(?!\w)")  # of "wind's 8": says nothing of a shot


def tokenise(text: str) -> list[Token]:
    """The tokens of ``text`` in their order; every character that is no blank is in one."""
    folded, places = _fold(text)
    folded = _SHORT_IS.sub("  ", folded)
    tokens: list[Token] = []
    end = -1
    for match in _TOKEN.finditer(folded):
        first, last = match.span()
        tokens.append(
            Token(
                kind=_kind(match),
                text=match.group(),
                start=places[first],
                end=places[last - 1] + 1,
                attached=first == end,
            )
        )
        end = last
    return tokens


def folded(text: str) -> str:
    """``text`` in lower case, without accents, in plain widths and digits."""
    return _fold(text)[0]


def _kind(match: re.Match[str]) -> TokenKind:
    kind = match.lastgroup
    assert kind is not None
    return kind  # pyright: ignore[reportReturnType]  # the group names are the kinds


def _fold(text: str) -> tuple[str, list[int]]:
    if text.isascii():
        return text.lower().translate(_ASCII), list(range(len(text)))
    pieces = [_fold_one(character) for character in text]
    places = [place for place, piece in enumerate(pieces) for _ in piece]
    return "".join(pieces), places


@lru_cache(maxsize=4096)
def _fold_one(character: str) -> str:
    if character in _SPECIAL:
        return _SPECIAL[character]
    category = unicodedata.category(character)
    if category == "Nd":
        return str(unicodedata.decimal(character))
    if category == "Pd":
        return "-"
    if category == "Cf":  # invisible: joiners, direction marks
        return ""
    if category in _KEPT_AS_TYPED:
        return character.translate(_ASCII)
    if category[0] == "Z":
        return " " if category == "Zs" else ";"
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", character).casefold())
    kept = (part for part in plain if unicodedata.category(part)[0] != "M")
    return "".join(kept).lower().translate(_ASCII)
