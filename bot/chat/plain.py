"""People's own words in our messages: shown as typed, never as markdown, mention or control."""

import re
import unicodedata

from shared.text import clipped, visible

MARKDOWN = re.compile(r"([\\`*_~|<\[])|^([ ]*)(-?#{1,3}|[-+>]{1,3}|\d+\.)(?=\s)", re.MULTILINE)
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


def code_block(text: str, most: int) -> str:
    """A text in a code block, to be copied from; a backtick in it becomes an apostrophe."""
    shown = clipped(visible(text.replace("\t", " ")), most).replace("`", "'")
    return f"```\n{shown or ' '}\n```"
