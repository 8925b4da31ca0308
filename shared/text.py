"""People's own words in our messages: shown as typed, never as markdown, mention or control."""

import re
import unicodedata
from datetime import datetime

MARKDOWN = re.compile(r"([\\`*_~|<\[])|^([ ]*)(-?#{1,3}|[-+>]{1,3}|\d+\.)(?=\s)", re.MULTILINE)
HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
JOINERS = "\u200c\u200d\ufe0f"  # they hold together an emoji or a word, and hide nothing
ISOLATE, END_ISOLATE = "\u2068", "\u2069"
RIGHT_TO_LEFT = {"R", "AL", "AN"}


def plain(text: str, most: int = 600) -> str:
    """Text safe to show in a message or an embed, clipped to ``most`` characters before escaping.

    Right-to-left text is isolated, so that it turns nothing around it.
    """
    shown = clipped(visible(text), most)
    escaped = MARKDOWN.sub(_escaped, shown)
    if any(unicodedata.bidirectional(letter) in RIGHT_TO_LEFT for letter in shown):
        return "\n".join(f"{ISOLATE}{line}{END_ISOLATE}" for line in escaped.split("\n"))
    return escaped


def _escaped(match: re.Match[str]) -> str:
    if match[1]:
        return f"\\{match[1]}"
    bullet = match[3]
    # A number's dot makes it a list, else its first sign does.
    return f"{match[2]}{bullet[:-1]}\\." if bullet[-1] == "." else f"{match[2]}\\{bullet}"


def visible(text: str) -> str:
    """The text without what shows nothing: controls, direction marks, lone halves."""
    return "".join(
        letter
        for letter in text
        if letter == "\n" or letter in JOINERS or unicodedata.category(letter) not in HIDDEN
    )


def code_block(text: str, most: int) -> str:
    """A text in a code block, to be copied from; a backtick in it becomes an apostrophe."""
    shown = clipped(visible(text.replace("\t", " ")), most).replace("`", "'")
    return f"```\n{shown or ' '}\n```"


def clipped(text: str, most: int) -> str:
    """At most ``most`` characters as Discord counts them (UTF-16 units)."""
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
    if text.isascii():
        return len(text)
    return len(text) + sum(1 for letter in text if ord(letter) > 0xFFFF)


def when(at: datetime) -> str:
    """A time as the chat shows it to each reader: '5 minutes ago'."""
    return f"<t:{int(at.timestamp())}:R>"
