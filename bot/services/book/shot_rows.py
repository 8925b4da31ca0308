"""A line's shots as a coach types them into a form: one shot a row.

    driver oak 231, up 3  aim 5.2 right 2 long  room 8 short 12 long  leaves 95 to 110  note low

The shot text comes first; ``aim`` (the allowance that worked), ``room`` and ``leaves`` follow in
any order, ``note`` takes the rest of the row.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from pydantic import ValidationError

from shared.book import MOST_SHOTS, LineShot, Room, Worked
from shared.errors import InputError
from shared.shot_text.write import number_text
from shared.units import LENGTH_UNIT_OF, METRES_PER_YARD, UnitSystem

EXAMPLE_AIM = "aim 5.2 right 2 long"
EXAMPLE_ROOM = "room 8 short 12 long"
EXAMPLE_LEAVES = "leaves 95 to 110"
SEPARATORS = " \t,;|·"
_NUMBERING = re.compile(r"^\s*(?:shot\s*)?\d{1,2}\s*[.):]\s+", re.IGNORECASE)
_PART = re.compile(r"(?<![\w-])(aim|room|leaves)\b(?![\w-])\s*:?", re.IGNORECASE)
_NOTE = re.compile(r"(?<![\w-])note\b\s*:?", re.IGNORECASE)
_WORD = re.compile(r"[-+]?\d+(?:[.,]\d+)?|[^\W\d]+|\S")
_AIM_ALONE = re.compile(
    r"^(?P<shot>.+?)[\s,]+(?P<aim>(?:\d+(?:[.,]\d+)?\s*(?:right|left|long|short|r|l)\b[\s,]*)+)$",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[-+]?\d+(?:[.,]\d+)?$")
_UNIT = r"yds?|yards?|m|met(?:re|er)s?"
_WINDOW = re.compile(
    rf"^(?:about|~)?\s*(\d+(?:[.,]\d+)?)\s*(?:{_UNIT})?\s*"
    rf"(?:(?:to|-|–|—|\s)\s*(\d+(?:[.,]\d+)?))?\s*((?<=\s|\d)(?:{_UNIT}))?$",
    re.IGNORECASE,
)
_ALL_ROUND = re.compile(
    rf"^(\d+(?:[.,]\d+)?)\s*({_UNIT})?(?:\s*all\s+(?:a?round))?$", re.IGNORECASE
)
_WAYS = {"right": 1.0, "left": -1.0, "long": 1.0, "short": -1.0}
_SHORT = {"r": "right", "l": "left"}
_YARDS = ("yd", "yds", "yard", "yards", "y")
_METRES = ("m", "metre", "metres", "meter", "meters")
_FILLING = (",", "and", ";")


@dataclass
class RowError(InputError):
    """A row that can't be read; ``row`` counts the shots from 1."""

    row: int = 0


@dataclass
class RowsError(InputError):
    """Everything that can't be read in a line's rows, in their order."""

    errors: tuple[RowError, ...] = ()


@dataclass(frozen=True)
class RowReader:
    """How rows are read: ``units`` for numbers without one, ``mark`` the kit's name of a mark.

    ``shot`` reads a shot text and gives it back with all its units written out; ``example`` is a
    right one.
    """

    units: UnitSystem
    mark: str
    shot: Callable[[str], str]
    example: str

    @property
    def example_row(self) -> str:
        """A right row."""
        return f"{self.example} {EXAMPLE_AIM} {EXAMPLE_ROOM}"

    def read(self, text: str) -> tuple[LineShot, ...]:
        """The shots of a line. Errors: RowsError with all that can't be read."""
        rows = [row for row in text.splitlines() if row.strip(SEPARATORS)]
        if not rows:
            raise _rows_error([RowError("Write one shot a row.", self.example_row, text, 1)])
        if len(rows) > MOST_SHOTS:
            many = f"A line has {MOST_SHOTS} shots at most, and these are {len(rows)} rows."
            raise _rows_error([RowError(many, self.example_row, rows[MOST_SHOTS], MOST_SHOTS + 1)])
        shots: list[LineShot] = []
        errors: list[RowError] = []
        for place, row in enumerate(rows, start=1):
            try:
                shots.append(self._row(_NUMBERING.sub("", row)))
            except InputError as error:
                errors.append(RowError(error.sentence, error.example, row.strip(), place))
        if errors:
            raise _rows_error(errors)
        return tuple(shots)

    def _row(self, row: str) -> LineShot:
        head, note = _split_note(row)
        pieces = _PART.split(head)
        given: dict[str, str] = {}
        for name, text in zip(pieces[1::2], pieces[2::2], strict=True):
            if name.lower() in given:
                raise InputError(f"{name.lower()} stands twice.", self.example_row, row)
            given[name.lower()] = text.strip(SEPARATORS)
        shot = pieces[0].strip(SEPARATORS)
        if not shot:
            raise InputError("The shot itself is missing.", self.example_row, row)
        text = self._shot_of(shot, given)
        try:
            return LineShot(
                shot=text,
                worked=self._aim(given["aim"]) if "aim" in given else None,
                room=self._room(given["room"]) if "room" in given else None,
                leaves_yd=self._leaves(given["leaves"]) if "leaves" in given else None,
                note=note,
            )
        except ValidationError as error:
            raise InputError(_first(error), self.example_row, row) from error

    def _shot_of(self, text: str, given: dict[str, str]) -> str:
        """The shot of a row; where ``aim`` was forgotten before "5 right 2 long", that is given."""
        try:
            return self.shot(text)
        except InputError:
            match = None if "aim" in given else _AIM_ALONE.match(text)
            if match is None:
                raise
            given["aim"] = match["aim"].strip(SEPARATORS)
            return self.shot(match["shot"])

    def _aim(self, text: str) -> Worked:
        if text.lower() in ("none", "straight", "at it", "0"):
            return Worked()
        marks = (self.mark.lower(), f"{self.mark.lower()}s", "mark", "marks")
        offsets, unit = self._offsets(text, example=EXAMPLE_AIM, more_units=marks)
        if unit in marks or not unit:
            return Worked(right=offsets[0], long=offsets[1], unit="marks")
        scale = self._yards_per(unit)
        return Worked(
            right=round(offsets[0] * scale, 3), long=round(offsets[1] * scale, 3), unit="yd"
        )

    def _room(self, text: str) -> Room:
        if (same := _ALL_ROUND.match(text)) is not None:
            found, unit = dict.fromkeys(_WAYS, _number(same[1])), (same[2] or "").lower()
        else:
            found, unit = self._ways(text, example=EXAMPLE_ROOM, more_units=())
        scale = self._yards_per(unit)
        return Room(**{f"{way}_yd": round(number * scale, 3) for way, number in found.items()})

    def _leaves(self, text: str) -> tuple[float, float]:
        match = _WINDOW.match(text)
        if match is None:
            raise InputError("leaves takes the least and the most distance.", EXAMPLE_LEAVES, text)
        unit = re.search(rf"({_UNIT})\s*$", text, re.IGNORECASE)
        scale = self._yards_per(unit[1].lower() if unit else "")
        ends = sorted(round(_number(each) * scale, 3) for each in (match[1], match[2] or match[1]))
        return ends[0], ends[1]

    def _offsets(
        self, text: str, *, example: str, more_units: tuple[str, ...]
    ) -> tuple[tuple[float, float], str]:
        found, unit = self._ways(text, example=example, more_units=more_units)
        for one, other in (("right", "left"), ("long", "short")):
            if one in found and other in found:
                raise InputError(f"aim can't be {one} and {other} at once.", example, text)
        right = sum(_WAYS[way] * found.get(way, 0.0) for way in ("right", "left"))
        long = sum(_WAYS[way] * found.get(way, 0.0) for way in ("long", "short"))
        return (right + 0.0, long + 0.0), unit

    def _ways(
        self, text: str, *, example: str, more_units: tuple[str, ...]
    ) -> tuple[dict[str, float], str]:
        """Numbers by way: "8 short, 12 yd long", or each way before its number."""
        said: list[str] = _WORD.findall(text.lower())
        words = [_SHORT.get(word, word) for word in said if word not in _FILLING]
        found: dict[str, float] = {}
        unit, way, number = "", "", ""
        for word in words:
            if _NUMBER.match(word) and not number:
                number = word
            elif word in (*_YARDS, *_METRES, *more_units) and unit in ("", word):
                unit = word
            elif word in _WAYS and not way:
                way = word
            else:
                raise InputError(f"{word!r} was not understood.", example, text)
            if way and number:
                if way in found:
                    raise InputError(f"{way} stands twice.", example, text)
                found[way] = _number(number)
                way, number = "", ""
        if way or number or not found:
            raise InputError("Give each number with its way.", example, text)
        return found, unit

    def _yards_per(self, unit: str) -> float:
        metres = unit in _METRES or (not unit and LENGTH_UNIT_OF[self.units] == "m")
        return 1 / METRES_PER_YARD if metres else 1.0


def format_rows(shots: tuple[LineShot, ...], *, mark: str) -> str:
    """Shots as rows with every unit written out; a reader of any units reads them back."""
    return "\n".join(_format_row(shot, mark) for shot in shots)


def _format_row(shot: LineShot, mark: str) -> str:
    parts = [shot.shot]
    if shot.worked is not None:
        unit = f"{mark}s" if shot.worked.unit == "marks" else "yd"
        ways = _format_ways(
            {
                "right" if shot.worked.right >= 0 else "left": abs(shot.worked.right),
                "long" if shot.worked.long >= 0 else "short": abs(shot.worked.long),
            },
            unit,
            zeros=shot.worked.unit != "marks" and shot.worked.right == shot.worked.long == 0,
        )
        parts.append(f"aim {ways or 'straight'}")
    if shot.room is not None:
        room = {
            way: value
            for way in ("short", "long", "left", "right")
            if (value := getattr(shot.room, f"{way}_yd")) is not None
        }
        if room:
            parts.append(f"room {_format_ways(room, 'yd')}")
    if shot.leaves_yd is not None:
        least, most = map(number_text, shot.leaves_yd)
        parts.append(f"leaves {least} yd" if least == most else f"leaves {least} to {most} yd")
    if shot.note:
        parts.append(f"note: {' '.join(shot.note.split())}")
    return "; ".join(parts)


def _format_ways(ways: dict[str, float], unit: str, *, zeros: bool = True) -> str:
    said = {way: value for way, value in ways.items() if zeros or value}
    return " ".join(f"{number_text(value)} {unit} {way}" for way, value in said.items())


def _split_note(row: str) -> tuple[str, str]:
    match = _NOTE.search(row)
    if match is None:
        return row, ""
    return row[: match.start()], row[match.end() :].strip()


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _first(error: ValidationError) -> str:
    problem = error.errors()[0]
    place = next((str(part) for part in problem["loc"] if isinstance(part, str)), "the row")
    limit = problem.get("ctx", {}).get("le")
    name = place.removesuffix("_yd")
    if limit is not None:
        return f"{name} can be {limit:g} at most."
    return f"{name} can't be kept: {problem['msg'].removeprefix('Value error, ')}."


def _rows_error(errors: list[RowError]) -> RowsError:
    first = errors[0]
    return RowsError(first.sentence, first.example, first.given, tuple(errors))
