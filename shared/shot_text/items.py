"""From tokens to items: the way through a text, word by word."""

from typing import Final

from rapidfuzz.distance import OSA

from shared.errors import ShotTextError
from shared.shot_text.called import (
    is_missing_club,
    read_after_category,
    read_bracket,
    read_name,
    unknown,
)
from shared.shot_text.cursor import Cursor, Item
from shared.shot_text.numbers import read_number, read_sign
from shared.shot_text.source import Source
from shared.shot_text.words import (
    CATEGORY_WORDS,
    COMPASS,
    COMPASS_WORDS,
    FILLER,
    LEXICON,
    NOT_A_NUMBER,
    NUMBER_WORDS,
    RESERVED,
    UNITS,
)

LONG_WORD: Final = 6  # letters; shorter words of the grammar are too like other English words
LIKE_WORD: Final = 0.8  # similarity as in ``names``
IGNORED: Final = frozenset(".'\":!?=&@")


def items_of(source: Source) -> list[Item]:
    """The items of a text; raises ShotTextError at the first thing that is not known."""
    cursor = Cursor(source)
    at = 0
    while at < len(cursor.tokens):
        at = _next(cursor, at)
    return cursor.items


def _next(cursor: Cursor, at: int) -> int:
    match cursor.tokens[at].kind:
        case "comma" | "close":
            return cursor.push(",", at, at + 1)
        case "open":
            return read_bracket(cursor, at)
        case "sign":
            return read_sign(cursor, at)
        case "mark":
            return _mark(cursor, at)
        case "mention":
            sentence = f"{cursor.piece(at, at + 1)} is a mention or a link, which no shot has."
            raise cursor.error(sentence, at, at + 1)
        case "word" | "number":
            return _word_or_number(cursor, at)


def _mark(cursor: Cursor, at: int) -> int:
    token = cursor.tokens[at]
    if token.text in IGNORED:
        return at + 1
    if not token.text.isprintable():
        sentence = (
            f"The character at place {token.start + 1} (U+{ord(token.text[0]):04X}) can't be read."
        )
        raise cursor.error(sentence, at, at + 1)
    end = at + 1
    while (more := cursor.glued(end, kind="mark")) and more.text not in IGNORED:
        end += 1
    raise cursor.error(f"{cursor.piece(at, end)} was not understood.", at, end)


def _word_or_number(cursor: Cursor, at: int) -> int:
    token = cursor.tokens[at]
    if token.text in COMPASS and cursor.last_kind in "fb":
        return cursor.push("k", at, at + 1, number=COMPASS[token.text])
    if token.text in CATEGORY_WORDS:
        end = read_after_category(cursor, at + 1, token.text)
        if end:
            return end
    hit = cursor.index.exact_at(cursor.tokens, at)
    if hit:
        return read_name(cursor, at, hit, exact=True)
    if token.kind == "number" or token.text in NUMBER_WORDS:
        return _number_or_name(cursor, at)
    end = _phrase(cursor, at)
    if end:
        return end
    hit = cursor.index.short_at(cursor.tokens, at) or cursor.index.like_at(cursor.tokens, at)
    if hit:
        return read_name(cursor, at, hit)
    kind = _like_word(token.text)
    if kind:
        return cursor.push(kind, at, at + 1)
    raise unknown(cursor, at, at + 1)


def _like_word(typed: str) -> str:
    """The kind of the one long word of the grammar that ``typed`` misspells, else nothing."""
    likely = [
        kind
        for word, (kind, _) in LEXICON.items()
        if kind not in (FILLER, NOT_A_NUMBER)
        and len(word) >= LONG_WORD
        and OSA.normalized_similarity(typed, word) >= LIKE_WORD
    ]
    return likely[0] if len(set(likely)) == 1 else ""


def _phrase(cursor: Cursor, at: int) -> int:
    """Reads the longest phrase of the grammar at ``at``, 0 where none stands there."""
    for end, words in reversed(cursor.words(at)):
        if words in COMPASS_WORDS:
            return cursor.push("k", at, end, number=COMPASS_WORDS[words])
        if words not in LEXICON:
            continue
        kind, number = LEXICON[words]
        if kind == NOT_A_NUMBER:
            raise _no_number(cursor, at, end)
        return end if kind == FILLER else cursor.push(kind, at, end, number=number)
    if cursor.tokens[at].text in UNITS:
        sentence = f"{cursor.piece(at, at + 1)} stands without a number."
        raise cursor.error(sentence, at, at + 1)
    return 0


def _no_number(cursor: Cursor, at: int, end: int) -> ShotTextError:
    return cursor.error(f"{cursor.piece(at, end)} is not a number a shot can have.", at, end)


def _number_or_name(cursor: Cursor, at: int) -> int:
    """Reads a number, or the club that it begins in a short or misspelt form."""
    word = at + 1
    while (dash := cursor.glued(word, kind="sign")) and dash.text == "-":
        word += 1
    token = cursor.token(word)
    if token is None or token.kind != "word" or token.text in RESERVED | NUMBER_WORDS.keys():
        return read_number(cursor, at)
    joined = token.glued and cursor.tokens[at + 1].glued
    if not joined and cursor.index.exact_at(cursor.tokens, word):
        return read_number(cursor, at)
    hit = cursor.index.short_at(cursor.tokens, at) or cursor.index.like_at(cursor.tokens, at)
    if hit and hit.end > word:
        return read_name(cursor, at, hit)
    if is_missing_club(cursor, at, word) or joined:
        raise unknown(cursor, at, word + 1)
    return read_number(cursor, at)
