"""Landing text: where a ball came down and where it ended, either or both, as its player types it.

"came down 3 short, ended 2 long", "came down 12 short and went in", "ended 1 right". Both are told
from the hole. A text that names neither is a plain miss, see ``shared.miss_text``.
"""

import re
from dataclasses import dataclass
from typing import Final, Literal

from shared.errors import InputError
from shared.miss_text import HOLED, MAX_MISS_TEXT, Miss, parse_miss
from shared.units import UnitSystem

LANDING_EXAMPLE: Final = "came down 3 short, ended 2 long"
AT_THE_HOLE: Final = "at the hole"

Part = Literal["down", "ended"]
_OTHER: Final[dict[Part, Part]] = {"down": "ended", "ended": "down"}
_SAYS: Final[dict[Part, str]] = {"down": "where it came down", "ended": "where it ended"}
_MARK: Final = re.compile(
    r"\b(?:(?P<down>came down|comes? down|landed|lands|pitched|carried)"
    r"|ended(?: up)?|ends(?: up)?|finished|finishes|came to rest|stopped"
    r"|(?:rolled|ran)(?: on| out)?(?= \d))\b"
)
_WENT_IN: Final = re.compile(
    r"[,;]?\s*\b(?:(?:and|then|but) )*(?:it )?(?:(?:went|rolled|dropped|ran) )?(?:in|holed)"
    r"(?: the hole| the cup)?$"
)
_JOINS: Final = re.compile(r"^(?:[,;.]|\band\b|\bthen\b|\bbut\b|\bit\b|\s)+")
_TRAILS: Final = re.compile(r"(?:[,;.]|\band\b|\bthen\b|\bbut\b|\bit\b|\s)+$")
_THERE: Final = re.compile(r"(?:at|on|by) (?:the )?(?:hole|target|pin|flag|it)|right there|there")


@dataclass(frozen=True, slots=True)
class Landing:
    """What became of a ball: where it ``came_down`` and ``ended``, None where that was not said.

    ``plain`` is a text that names neither.
    """

    came_down: Miss | None = None
    ended: Miss | None = None
    plain: Miss | None = None


def parse_landing(text: str, *, units: UnitSystem, mark: str = "mark") -> Landing:
    """What ``text`` says of a ball. What it names by name needs an amount, or "at the hole".

    Errors: InputError.
    """
    if len(text) > MAX_MISS_TEXT:
        return Landing(plain=parse_miss(text, units=units, mark=mark))  # its own error says so
    said = " ".join(text.casefold().split())
    marks = list(_MARK.finditer(said))
    if not marks:
        return Landing(plain=parse_miss(text, units=units, mark=mark))
    found: dict[Part, str] = {}
    for part, piece in _pieces(said, marks):
        if part in found:
            raise InputError(f"That says twice {_SAYS[part]}.", LANDING_EXAMPLE, text)
        found[part] = piece
    if "ended" not in found and (went_in := _WENT_IN.search(found["down"])):
        found = {"down": found["down"][: went_in.start()], "ended": "in"}
    read = {part: _miss(part, piece, text, units, mark) for part, piece in found.items()}
    return Landing(came_down=read.get("down"), ended=read.get("ended"))


def _pieces(said: str, marks: list[re.Match[str]]) -> list[tuple[Part, str]]:
    """What stands behind each name; what stands before the first belongs to the other."""
    parts: list[Part] = ["down" if mark["down"] else "ended" for mark in marks]
    ends = [*(mark.start() for mark in marks[1:]), len(said)]
    found: list[tuple[Part, str]] = [
        (part, said[mark.end() : end]) for part, mark, end in zip(parts, marks, ends, strict=True)
    ]
    before = _TRAILS.sub("", _JOINS.sub("", said[: marks[0].start()]))
    first: list[tuple[Part, str]] = [(_OTHER[parts[0]], before)] if before else []
    return first + found


def _miss(part: Part, piece: str, text: str, units: UnitSystem, mark: str) -> Miss:
    bare = _TRAILS.sub("", _JOINS.sub("", piece))
    bare = "pin high, on line" if _THERE.fullmatch(bare) else bare
    try:
        miss = parse_miss(bare, units=units, mark=mark)
    except InputError as error:
        raise InputError(error.sentence, LANDING_EXAMPLE, text) from error
    sides = [each for each in (miss.along, miss.across) if each is not None]
    unknown = not sides or any(each.amount is None for each in sides)
    if miss == HOLED and part == "ended":
        return miss
    if miss.is_holed or unknown:
        raise InputError(f"Say {_SAYS[part]}, and by how much.", LANDING_EXAMPLE, text)
    return miss
