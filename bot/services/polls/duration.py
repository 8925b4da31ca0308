"""How long a poll is open, as people say it: '2 days', '36h', 'a week', '1 day 12 hours'."""

import math
import re

from shared import limits
from shared.errors import InputError
from shared.wording import plural

LEAST_HOURS = 1
EXAMPLE = "2 days"
HOURS_IN_DAY = 24
_HOURS = {"m": 1 / 60, "h": 1.0, "d": 24.0, "w": 168.0}
_NUMBERS = {
    word: number
    for number, words in {
        0.5: "half",
        1: "a an one",
        2: "two",
        3: "three",
        4: "four",
        5: "five",
        6: "six",
        7: "seven",
        8: "eight",
        9: "nine",
        10: "ten",
        12: "twelve",
    }.items()
    for word in words.split()
}
_AMOUNT = re.compile(
    r"(?P<number>\d{1,6}(?:[.,]\d{1,4})?|[a-z]+)\s*"
    r"(?P<unit>m|mins?|minutes?|h|hrs?|hours?|d|days?|w|wks?|weeks?)(?![a-z])"
)
_BETWEEN = re.compile(r"[\s,+&]*(?:and\b)?[\s,]*")


def hours_of(text: str) -> int:
    """Whole hours, rounded up; a bare number is hours.

    Errors: InputError for what is no time, and for less than an hour or more than 32 days.
    """
    typed = " ".join(text.casefold().split()).removeprefix("for ").replace("half a ", "half ")
    if re.fullmatch(r"\d{1,6}(?:[.,]\d{1,4})?", typed):
        typed += "h"
    hours, at = 0.0, 0
    while at < len(typed):
        found = _AMOUNT.match(typed, at)
        number = _number(found["number"]) if found else None
        if found is None or number is None:
            raise InputError("This is no length of time in hours or days.", EXAMPLE, text)
        hours += number * _HOURS[found["unit"][0]]
        at = _after(typed, found.end())
    whole = math.ceil(hours - 1e-9)
    if hours < LEAST_HOURS or whole > limits.POLL_HOURS:
        raise InputError("A poll is open for 1 hour to 32 days.", EXAMPLE, text)
    return whole


def hours_words(hours: int) -> str:
    """'36 hours' as '1 day 12 hours'."""
    days, rest = divmod(hours, HOURS_IN_DAY)
    said = [plural(count, noun) for count, noun in ((days, "day"), (rest, "hour")) if count]
    return " ".join(said)


def _number(word: str) -> float | None:
    if word[0].isdigit():
        return float(word.replace(",", "."))
    return _NUMBERS.get(word)


def _after(typed: str, at: int) -> int:
    found = _BETWEEN.match(typed, at)
    return found.end() if found else at
