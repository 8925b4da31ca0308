"""People's own words in our messages."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.text import clipped, code_block, plain, size, visible


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("over the bunker, 5-iron (oak) #1: 10%", "over the bunker, 5-iron (oak) #1: 10%"),
        ("**b** _i_ ~~no~~ `c` ||s||", r"\*\*b\*\* \_i\_ \~\~no\~\~ \`c\` \|\|s\|\|"),
        ("[here](http://x.y) <@12> <#3> <t:1:R>", r"\[here](http://x.y) \<@12> \<#3> \<t:1:R>"),
        ("# big\n- dot\n> said\n1. one", "\\# big\n\\- dot\n\\> said\n1\\. one"),
        ("a\u202ed\u200bc\x07e\u2066f", "adcef"),
        ("👩\u200d🚀 ❤\ufe0f", "👩\u200d🚀 ❤\ufe0f"),
        ("דגל left", "\u2068דגל left\u2069"),
        ("דגל\nb", "\u2068דגל\u2069\n\u2068b\u2069"),
        ("back\\slash", r"back\\slash"),
    ],
)  # fmt: skip
def test_words_are_shown_as_typed(text: str, shown: str) -> None:
    assert plain(text) == shown


def test_a_code_block_cant_be_left() -> None:
    assert code_block("a```b\n*c*", 99) == "```\na'''b\n*c*\n```"
    assert code_block("", 99) == "```\n \n```"


@given(st.text(alphabet="a🏆\n ", max_size=40), st.integers(1, 30))
def test_clipping_counts_as_discord_does(text: str, most: int) -> None:
    cut = clipped(text, most)
    assert len(cut.encode("utf-16-le")) // 2 == size(cut) <= most
    assert cut == text or (cut.endswith("…") and text.startswith(cut[:-1]))


@given(st.text(max_size=60))
def test_nothing_invisible_is_left(text: str) -> None:
    assert visible(visible(text)) == visible(text)
    assert not any(letter in visible(text) for letter in "\u202e\u2067\x00\u200b\u2028")
