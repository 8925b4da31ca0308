"""Texts as a reader sees them: how long they count, clipped, without what shows nothing."""

import unicodedata

HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
JOINERS = "\u200c\u200d\ufe0f"  # they hold together an emoji or a word, and hide nothing


def visible(text: str) -> str:
    """The text without what shows nothing: controls, direction marks, lone halves."""
    return "".join(
        letter
        for letter in text
        if letter == "\n" or letter in JOINERS or unicodedata.category(letter) not in HIDDEN
    )


def clipped(text: str, most: int) -> str:
    """At most ``most`` characters by ``size``, the last an ellipsis where something was cut."""
    if size(text) <= most:
        return text
    kept: list[str] = []
    used = 1  # the ellipsis
    for letter in text:
        used += size(letter)
        if used > most:
            break
        kept.append(letter)
    return "".join(kept).rstrip() + "…"


def size(text: str) -> int:
    """Length of a text in UTF-16 units, which is never less than how Discord counts."""
    return len(text) + sum(1 for letter in text if ord(letter) > 0xFFFF)
