"""Reading numbers: decimal point or comma, sign, clock time, unit."""

import math
from typing import Final

from shared.shot_text.cursor import Cursor
from shared.shot_text.words import NUMBER_WORDS, UNITS

TOLD_BY: Final = "eud"  # behind these a sign is of a height
MINUTES: Final = 60


def read_sign(cursor: Cursor, at: int) -> int:
    """Reads a plus or minus before a number; a dash that joins or parts words means little."""
    token, before = cursor.tokens[at], cursor.token(at - 1)
    after = cursor.token(at + 1)
    leads = cursor.glued(at + 1, kind="number") is not None
    apart = before is None or not token.glued or before.kind in ("comma", "open")
    if leads and token.glued and before is not None and before.kind == "number":
        sentence = (
            f"{cursor.piece(at - 1, at + 2)} is a range or a sum, where one number is needed."
        )
        raise cursor.error(sentence, at - 1, at + 2)
    if leads and (apart or token.text == "+"):
        return read_number(cursor, at + 1, sign=-1 if token.text == "-" else 1)
    if token.text == "+":
        raise cursor.error(f"{cursor.piece(at, at + 1)} was not understood.", at, at + 1)
    if not token.glued and (after is None or not after.glued):
        return cursor.push(",", at, at + 1)
    return at + 1


def read_number(cursor: Cursor, at: int, *, sign: int = 0) -> int:
    """Reads the number at ``at`` with its unit; ``sign`` is that of a sign before it."""
    text, end = _digits(cursor, at)
    first = at - 1 if sign else at
    if cursor.glued(end, kind="number"):
        raise cursor.error(f"{cursor.piece(at, end + 1)} is not one number.", at, end + 1)
    number = float(text)
    if not math.isfinite(number):
        sentence = f"{cursor.piece(first, end)} is not a number a shot can have."
        raise cursor.error(sentence, first, end)
    if sign < 0:
        number = -number
    colon, minutes = cursor.glued(end, kind="mark"), cursor.glued(end + 1, kind="number")
    if colon and colon.text == ":" and minutes:
        return _clock(cursor, first, end + 2, number, minutes.text)
    kind, unit, end = unit_at(cursor, end)
    if sign and kind == "p":
        kind = "q"
    if sign > 0 and kind != "q" and cursor.last_kind not in TOLD_BY:
        sentence = f"{cursor.piece(first, end)} has a sign but does not say of what."
        raise cursor.error(sentence, first, end, more="up 5")
    return cursor.push(kind, first, end, number=number, unit=unit)


def unit_at(cursor: Cursor, at: int) -> tuple[str, str, int]:
    """The kind and unit that the tokens at ``at`` give the number before, and their end."""
    dashed = cursor.glued(at, kind="sign") and cursor.glued(at + 1, kind="word")
    for end, words in reversed(cursor.words(at + 1 if dashed else at)):
        if words in UNITS:
            kind, unit = UNITS[words]
            return kind, unit, end
    return "n", "", at


def fraction_at(cursor: Cursor, at: int) -> str | None:
    """The digits behind a decimal comma at ``at``: one or two, glued, and no club's number."""
    comma, digits = cursor.glued(at, kind="comma"), cursor.glued(at + 1, kind="number")
    if comma is None or comma.text != "," or digits is None:
        return None
    if not digits.text.isdecimal() or len(digits.text) > 2:
        return None
    index, tokens = cursor.index, cursor.tokens
    hit = index.exact_at(tokens, at + 1) or index.short_at(tokens, at + 1)
    return None if hit and hit.end > at + 2 else digits.text


def _clock(cursor: Cursor, at: int, end: int, hour: float, minutes: str) -> int:
    if len(minutes) != 2 or not minutes.isdecimal() or int(minutes) >= MINUTES or hour % 1:
        raise cursor.error(f"{cursor.piece(at, end)} is not a time on a clock face.", at, end)
    kind, _, after = unit_at(cursor, end)
    return cursor.push("t", at, after if kind == "t" else end, number=hour + int(minutes) / MINUTES)


def _digits(cursor: Cursor, at: int) -> tuple[str, int]:
    """The digits of a number, with a decimal comma read where one can stand."""
    token = cursor.tokens[at]
    text = NUMBER_WORDS.get(token.text, token.text)
    thousands = cursor.glued(at + 2, kind="number")
    if cursor.glued(at + 1, kind="comma") and thousands and thousands.text == "000":
        sentence = f"{cursor.piece(at, at + 3)} has a comma for thousands, which is left out here."
        raise cursor.error(sentence, at, at + 3)
    fraction = fraction_at(cursor, at + 1) if token.text.isdecimal() else None
    if fraction is None:
        return text, at + 1
    if fraction_at(cursor, at + 3) is not None:
        sentence = (
            f"{cursor.piece(at, at + 5)} can be split into numbers in two ways; put a blank"
            " behind a comma that is not a decimal comma."
        )
        raise cursor.error(sentence, at, at + 5)
    return f"{text}.{fraction}", at + 3
