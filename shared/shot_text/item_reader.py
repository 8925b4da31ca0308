"""From tokens to items: the way through a text, word by word."""

from typing import Final

from shared.errors import ShotTextError
from shared.shot_text.cursor import Cursor, Item
from shared.shot_text.lexicon import (
    CATEGORY_WORDS,
    COMPASS,
    COMPASS_WORDS,
    LEXICON,
    NUMBER_WORDS,
    RESERVED,
    UNITS,
    side_blown_from,
)
from shared.shot_text.name_reader import (
    is_missing_club,
    read_after_category,
    read_bracket,
    read_name,
    unknown,
)
from shared.shot_text.number_reader import read_number, read_part_of_an_hour, read_sign
from shared.shot_text.slips import certain_word, offered, words_near
from shared.shot_text.source import Source

IGNORED: Final = frozenset(".'\":!?=&")


def items_of(source: Source) -> list[Item]:
    """The items of a text; raises ShotTextError at the first thing that is not known."""
    return _read_all(Cursor(source))


def other_items_of(source: Source) -> list[Item] | None:
    """The items where "4 iron 7" is a 4 and the 7-iron, None where no such text stands there."""
    cursor = Cursor(source, number_last=True)
    items = _read_all(cursor)
    return items if cursor.number_was_last else None


def _read_all(cursor: Cursor) -> list[Item]:
    at = 0
    while at < len(cursor.tokens):
        at = _next(cursor, at)
    return cursor.items


def _next(cursor: Cursor, at: int) -> int:
    match cursor.tokens[at].kind:
        case "comma" | "close":
            return cursor.push("separator", at, at + 1)
        case "open":
            return read_bracket(cursor, at)
        case "sign":
            return read_sign(cursor, at)
        case "symbol":
            return _symbol(cursor, at)
        case "mention":
            sentence = f"{cursor.quote(at, at + 1)} is a mention or a link, which no shot has."
            raise cursor.error(sentence, at, at + 1)
        case "word" | "number":
            return _word_or_number(cursor, at)


def _symbol(cursor: Cursor, at: int) -> int:
    token = cursor.tokens[at]
    if token.text == "@":
        return cursor.push("at", at, at + 1)
    if token.text == '"' and _counts_inches(cursor, at):
        sentence = f"{cursor.quote(at - 1, at + 1)} would be inches, which no shot is told in."
        raise cursor.error(sentence, at - 1, at + 1, more="up 5 ft")
    if token.text in IGNORED:
        return at + 1
    if not token.text.isprintable():
        sentence = (
            f"The character at place {token.start + 1} (U+{ord(token.text[0]):04X}) can't be read."
        )
        raise cursor.error(sentence, at, at + 1)
    end = at + 1
    while (more := cursor.attached(end, kind="symbol")) and more.text not in IGNORED:
        end += 1
    raise cursor.error(f"{cursor.quote(at, end)} was not understood.", at, end)


def _counts_inches(cursor: Cursor, at: int) -> bool:
    """Whether the mark at ``at`` stands right behind a number and ends no quotation."""
    marks = [token for token in cursor.tokens[:at] if token.text == '"']
    return bool(at and cursor.attached(at, kind="symbol")) and (
        cursor.tokens[at - 1].kind == "number" and not marks
    )


def _word_or_number(cursor: Cursor, at: int) -> int:
    token = cursor.tokens[at]
    if token.text in COMPASS and cursor.last_kind in ("from", "off", "bearing"):
        return cursor.push("compass", at, at + 1, number=COMPASS[token.text])
    if token.text in CATEGORY_WORDS:
        end = read_after_category(cursor, at + 1, token.text)
        if end:
            return end
    match = cursor.index.exact_at(cursor.tokens, at)
    if match and cursor.number_last and _has_number_behind(cursor, at, match.end):
        cursor.number_was_last = True
        return read_number(cursor, at)
    if match:
        return read_name(cursor, at, match, exact=True)
    if len(token.text) > 1 and token.text in COMPASS:
        return cursor.push("compass", at, at + 1, number=COMPASS[token.text])
    if token.kind == "number" or token.text in NUMBER_WORDS:
        return _number_or_name(cursor, at)
    return read_part_of_an_hour(cursor, at) or _phrase(cursor, at) or _misspelt(cursor, at)


def _has_number_behind(cursor: Cursor, at: int, end: int) -> bool:
    """Whether the club's word from ``at`` to ``end`` makes a club with the number behind it too."""
    if end != at + 2 or cursor.tokens[at].kind != "number" or cursor.tokens[at + 1].attached:
        return False
    reversed_name = cursor.index.exact_at(cursor.tokens, at + 1)
    return reversed_name is not None and reversed_name.end == at + 3


def _misspelt(cursor: Cursor, at: int) -> int:
    """Reads a short form or a certain slip at ``at``; what may be several things is asked back."""
    token = cursor.tokens[at]
    match = cursor.index.abbreviated_at(cursor.tokens, at)
    if match:
        return read_name(cursor, at, match)
    match = cursor.index.misspelt_at(cursor.tokens, at)
    word = certain_word(token.text)
    if match and not (word or (not match.is_certain and words_near(token.text))):
        return read_name(cursor, at, match)
    if match or not word:
        raise unknown(cursor, at, at + 1)
    return cursor.restart_with(at, word)


def _phrase(cursor: Cursor, at: int) -> int:
    """Reads the longest phrase of the grammar at ``at``, 0 where none stands there."""
    side = side_blown_from(cursor.tokens[at].text)
    if side is not None:
        return cursor.push("sideways", at, at + 1, number=side)
    for end, words in reversed(cursor.phrases(at)):
        if words in COMPASS_WORDS:
            return cursor.push("compass", at, end, number=COMPASS_WORDS[words])
        if words not in LEXICON:
            continue
        kind, number = LEXICON[words]
        if kind == "not_a_number":
            raise _no_number(cursor, at, end)
        return end if kind == "filler" else cursor.push(kind, at, end, number=number)
    if cursor.tokens[at].text in UNITS:
        sentence = f"{cursor.quote(at, at + 1)} stands without a number."
        raise cursor.error(sentence, at, at + 1)
    return 0


def _no_number(cursor: Cursor, at: int, end: int) -> ShotTextError:
    return cursor.error(f"{cursor.quote(at, end)} is not a number a shot can have.", at, end)


def _number_or_name(cursor: Cursor, at: int) -> int:
    """Reads a number, or the club that it begins in a short or misspelt form."""
    word = at + 1
    while (dash := cursor.attached(word, kind="sign")) and dash.text == "-":
        word += 1
    token = cursor.token(word)
    if token is None or token.kind != "word" or token.text in RESERVED | NUMBER_WORDS.keys():
        return read_number(cursor, at)
    joined = token.attached and cursor.tokens[at + 1].attached
    if not joined and cursor.index.exact_at(cursor.tokens, word):
        return read_number(cursor, at)
    match = cursor.index.abbreviated_at(cursor.tokens, at)
    if match is None and not joined and certain_word(token.text):
        return read_number(cursor, at)
    match = match or cursor.index.misspelt_at(cursor.tokens, at)
    if match and match.end > word and not (match.is_misspelt and words_near(token.text)):
        return read_name(cursor, at, match)
    if joined and offered(token.text, ()):
        raise unknown(cursor, word, word + 1)
    if is_missing_club(cursor, at, word) or joined:
        raise unknown(cursor, at, word + 1)
    return read_number(cursor, at)
