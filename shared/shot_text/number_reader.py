"""Reading numbers: decimal point or comma, sign, clock time, unit."""

import math
from typing import Final

from shared.shot_text.cursor import Cursor
from shared.shot_text.kinds import Kind
from shared.shot_text.lexicon import LEXICON, NUMBER_WORDS, PARTS_OF_AN_HOUR, UNITS
from shared.shot_text.slips import words_near
from shared.shot_text.source import listed

SIGNED_BEHIND: Final = ("height", "up", "down")  # behind these a sign is of a height
FOOT_MARK: Final = "'"
SIDES: Final = ("left", "right")
MINUTES: Final = 60
HOURS: Final = 12
MOST_WITH_HALF: Final = 60  # a distance is not told in halves, a wind and an hour are
TIMES: Final = ("00", "15", "30", "45")  # minutes that are likely meant as such


def read_sign(cursor: Cursor, at: int) -> int:
    """Reads a plus or minus before a number; a dash that joins or parts words means little."""
    token, before = cursor.tokens[at], cursor.token(at - 1)
    after = cursor.token(at + 1)
    leads = cursor.attached(at + 1, kind="number") is not None
    apart = before is None or not token.attached or before.kind in ("comma", "open")
    if leads and token.attached and before is not None and before.kind == "number":
        sentence = (
            f"{cursor.quote(at - 1, at + 2)} is a range or a sum, where one number is needed."
        )
        raise cursor.error(sentence, at - 1, at + 2)
    if leads and (apart or token.text == "+"):
        return read_number(cursor, at + 1, sign=-1 if token.text == "-" else 1)
    if token.text == "+":
        raise cursor.error(f"{cursor.quote(at, at + 1)} was not understood.", at, at + 1)
    if not token.attached and (after is None or not after.attached):
        return cursor.push("separator", at, at + 1)
    return at + 1


def read_number(cursor: Cursor, at: int, *, sign: int = 0) -> int:
    """Reads the number at ``at`` with its unit; ``sign`` is that of a sign before it."""
    text, end = _digits(cursor, at)
    first = at - 1 if sign else at
    if cursor.attached(end, kind="number"):
        raise cursor.error(f"{cursor.quote(at, end + 1)} is not one number.", at, end + 1)
    number = float(text)
    if not math.isfinite(number):
        sentence = f"{cursor.quote(first, end)} is not a number a shot can have."
        raise cursor.error(sentence, first, end)
    if sign < 0:
        number = -number
    colon, minutes = cursor.attached(end, kind="symbol"), cursor.attached(end + 1, kind="number")
    if colon and colon.text == ":" and minutes:
        return _clock(cursor, first, end + 2, number, minutes.text)
    kind, unit, end = unit_at(cursor, end)
    if sign and kind == "percent":
        kind = "signed_percent"
    if sign > 0 and kind != "signed_percent" and cursor.last_kind not in SIGNED_BEHIND:
        sentence = f"{cursor.quote(first, end)} has a sign but does not say of what."
        raise cursor.error(sentence, first, end, more="up 5")
    if kind == "clock" or cursor.last_kind in ("from", "off", "at"):
        _require_no_time(cursor, first, end, text)
        if kind == "number":
            _require_no_side(cursor, first, end)
    return cursor.push(kind, first, end, number=number, unit=unit)


def read_part_of_an_hour(cursor: Cursor, at: int) -> int:
    """Reads "half past 2" at ``at``, 0 where it does not stand there."""
    for end, words in reversed(cursor.phrases(at)):
        hour = cursor.token(end)
        if words not in PARTS_OF_AN_HOUR or hour is None:
            continue
        text = NUMBER_WORDS.get(hour.text, hour.text)
        if text.isdecimal() and 1 <= int(text[:3]) <= HOURS:
            number = (int(text) + PARTS_OF_AN_HOUR[words]) % HOURS
            return cursor.push("clock", at, end + 1, number=number)
    return 0


def _require_no_time(cursor: Cursor, at: int, end: int, text: str) -> None:
    """An hour such as "2.30" may be half past two or three tenths of an hour."""
    hour, _, minutes = text.partition(".")
    if len(minutes) == 2 and minutes in TIMES and hour.isdecimal() and int(hour) <= HOURS:
        sentence = f"{cursor.quote(at, end)} could be a time or a decimal number."
        raise cursor.error(sentence, at, end, instead=[f"{hour}:{minutes}"])


def _require_no_side(cursor: Cursor, at: int, end: int) -> None:
    """A spelt hour such as "eight" may be a slip of the side that it looks like, "right"."""
    word = cursor.tokens[at].text
    if word not in NUMBER_WORDS:
        return
    sides = [near for near in words_near(word) if LEXICON.get(near, ("", 0.0))[0] in SIDES]
    if sides:
        sentence = f"{cursor.quote(at, end)} could be the hour or {listed(sides, last='or')}."
        hour = f"{NUMBER_WORDS[word]} o'clock"
        raise cursor.error(sentence, at, end, instead=[*sides, hour])


def unit_at(cursor: Cursor, at: int) -> tuple[Kind, str, int]:
    """The kind and unit that the tokens at ``at`` give the number before, and their end."""
    dashed = cursor.attached(at, kind="sign") and cursor.attached(at + 1, kind="word")
    for end, words in reversed(cursor.phrases(at + 1 if dashed else at)):
        if words == FOOT_MARK and (not cursor.tokens[at].attached or _in_quotes(cursor, at)):
            continue
        if words in UNITS:
            measure, unit = UNITS[words]
            return measure, unit, end
    return "number", "", at


def half_at(cursor: Cursor, at: int) -> int:
    """The end of "1/2" or "and a half" at ``at``, 0 where neither stands there."""
    words = [token.text for token in cursor.tokens[at : at + 3]]
    if words == ["1", "/", "2"] and all(cursor.tokens[at + n].attached for n in (1, 2)):
        return at + 3
    if words[:1] == [".5"] and cursor.typed(at, at + 1) == "½":
        return at + 1
    if words == ["and", "a", "half"]:
        return at + 3
    return at + 2 if words[:2] == ["and", "half"] else 0


def _in_quotes(cursor: Cursor, at: int) -> bool:
    """Whether the mark at ``at`` ends what an earlier one began, and stands for no feet."""
    marks = [n for n in range(at) if cursor.tokens[n].text == FOOT_MARK]
    opens = [n for n in marks if not n or not cursor.tokens[n].attached]
    return len(opens) > 0


def fraction_at(cursor: Cursor, at: int) -> str | None:
    """The digits behind a decimal comma at ``at``: one or two, glued, and no club's number."""
    comma, digits = cursor.attached(at, kind="comma"), cursor.attached(at + 1, kind="number")
    if comma is None or comma.text != "," or digits is None:
        return None
    if not digits.text.isdecimal() or len(digits.text) > 2:
        return None
    index, tokens = cursor.index, cursor.tokens
    match = index.exact_at(tokens, at + 1) or index.abbreviated_at(tokens, at + 1)
    return None if match and match.end > at + 2 else digits.text


def _clock(cursor: Cursor, at: int, end: int, hour: float, minutes: str) -> int:
    if len(minutes) != 2 or not minutes.isdecimal() or int(minutes) >= MINUTES or hour % 1:
        raise cursor.error(f"{cursor.quote(at, end)} is not a time on a clock face.", at, end)
    kind, _, after = unit_at(cursor, end)
    return cursor.push(
        "clock", at, after if kind == "clock" else end, number=hour + int(minutes) / MINUTES
    )


def _digits(cursor: Cursor, at: int) -> tuple[str, int]:
    """The digits of a number, with a decimal comma read where one can stand."""
    token = cursor.tokens[at]
    text = NUMBER_WORDS.get(token.text, token.text)
    thousands = cursor.attached(at + 2, kind="number")
    if cursor.attached(at + 1, kind="comma") and thousands and thousands.text == "000":
        sentence = f"{cursor.quote(at, at + 3)} has a comma for thousands, which is left out here."
        raise cursor.error(sentence, at, at + 3)
    if text.isdecimal() and int(text) <= MOST_WITH_HALF and (half := half_at(cursor, at + 1)):
        return f"{text}.5", half
    fraction = fraction_at(cursor, at + 1) if token.text.isdecimal() else None
    if fraction is None:
        return text, at + 1
    if fraction_at(cursor, at + 3) is not None:
        sentence = (
            f"{cursor.quote(at, at + 5)} can be split into numbers in two ways; put a blank"
            " behind a comma that is not a decimal comma."
        )
        raise cursor.error(sentence, at, at + 5)
    return f"{text}.{fraction}", at + 3
