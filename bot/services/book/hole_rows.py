"""A hole's facts as a row: '1 par 4, 372, bearing 20, The Groyne'. Knows no Discord."""

import re
from collections.abc import Sequence

from pydantic import ValidationError

from bot.services.book.events import named
from shared.book import Hole, Tee
from shared.errors import InputError
from shared.shot_text.lexicon import COMPASS, COMPASS_WORDS
from shared.units import LENGTH_UNIT_OF, METRES_PER_YARD, UnitSystem

HOLE_EXAMPLE = "1 par 4, 372, bearing 20"
_LENGTH = r"(?P<length>\d+(?:[.]\d+)?)\s*(?P<unit>yds?\b|yards?\b|m\b|metres?\b|meters?\b)?"
_BETWEEN = r"[\s,;:.|)–—-]+"
_START = rf"^\s*#?\s*(?:hole\s*)?#?(?P<number>\d{{1,2}}){_BETWEEN}"
_PAR = r"(?:par|p)?\s*(?P<par>\d)(?!\d)"
_REST = rf"(?:{_BETWEEN}(?P<rest>.+?))?\s*$"
_HEADS = (
    re.compile(rf"{_START}{_PAR}{_BETWEEN}{_LENGTH}{_REST}", re.IGNORECASE),
    re.compile(rf"{_START}{_LENGTH}{_BETWEEN}par\s*(?P<par>\d)(?!\d){_REST}", re.IGNORECASE),
)
_COMMAS, _DASHES = re.compile(r"\s*[,;|]\s*"), re.compile(r"\s+[-–—]\s+")
_BEARING = re.compile(
    r"^(?:(?:hole\s+)?(?:bearing|brg)\s*:?\s*(?P<said>[\d.]+|[a-z-]+)|(?P<alone>[\d.]+)\s*(?=°|deg))"
    r"\s*(?:degrees?|deg|°)?(?:\s+(?P<more>.+))?$",
    re.IGNORECASE,
)
_TEE = re.compile(
    rf"^(?P<division>.+?)\s*:?\s+(?:par\s*(?P<par>\d)(?:\s+{_LENGTH})?"
    rf"|{_LENGTH.replace('length', 'alone').replace('unit', 'alone_unit')})$",
    re.IGNORECASE,
)


def hole_example(divisions: Sequence[str] = ()) -> str:
    """A right row, with a length of its own for one of several divisions."""
    if len(divisions) < 2:
        return HOLE_EXAMPLE
    return f"1 par 4, 372, {divisions[-1]} 340, bearing 20"


def read_hole_row(row: str, units: UnitSystem, divisions: Sequence[str] = ()) -> Hole:
    """A hole of one row such as ``hole_example``; a division's own par and length stand in it too.

    Errors: InputError that quotes the row.
    """
    match = next((found for head in _HEADS if (found := head.match(row)) is not None), None)
    if match is None:
        raise InputError(
            "A hole's row is its number, its par, its length, and what else is known.",
            hole_example(divisions),
            row,
        )
    bearing: float | None = None
    tees: list[Tee] = []
    rest = (match["rest"] or "").strip()
    parts = [part for part in (_COMMAS if _COMMAS.search(rest) else _DASHES).split(rest) if part]
    try:
        while parts:
            if (found := _BEARING.match(parts[0])) is not None and bearing is None:
                bearing = _degrees(found["said"] or found["alone"], row)
                parts[1:1] = [found["more"]] if found["more"] else []
            elif (found_tee := _tee_first(parts[0], units, divisions)) is not None:
                tees.append(found_tee[0])
                parts[1:1] = [found_tee[1]] if found_tee[1] else []
            else:
                break
            parts.pop(0)
        _refuse_late(parts, units, divisions, row)
        return Hole(
            number=int(match["number"]),
            par=int(match["par"]),
            yards=_yards(match["length"], match["unit"], units),
            tees=tuple(tees),
            bearing_deg=bearing,
            name=", ".join(parts) or None,
        )
    except ValidationError as error:
        problem = error.errors()[0]
        field = str(problem["loc"][-1]) if problem["loc"] else "row"
        said = problem["msg"].removeprefix("Value error, ")
        raise InputError(f"The {field}: {said}.", hole_example(divisions), row) from error


def hole_row(hole: Hole) -> str:
    """A hole's facts as its row."""
    said = [f"{hole.number} par {hole.par}", f"{hole.yards:g} yd"]
    for tee in hole.tees:
        par = "" if tee.par is None else f" par {tee.par}"
        yards = "" if tee.yards is None else f" {tee.yards:g} yd"
        said.append(f"{tee.division}{par}{yards}")
    if hole.bearing_deg is not None:
        said.append(f"bearing {hole.bearing_deg:g}")
    return ", ".join([*said, hole.name] if hole.name else said)


def _degrees(text: str, row: str) -> float:
    """A bearing in degrees or as a point of the compass. Errors: InputError for anything else."""
    point = COMPASS.get(text.casefold().replace("-", ""))
    point = COMPASS_WORDS.get(text.casefold().replace("-", " ")) if point is None else point
    if point is not None:
        return point
    try:
        return float(text)
    except ValueError as error:
        raise InputError(
            "A bearing is in degrees or a compass point.", HOLE_EXAMPLE, row
        ) from error


def _tee(part: str, units: UnitSystem, divisions: Sequence[str]) -> Tee | None:
    """'Oar 340', 'Oar par 3 200': a division's tee; None for anything else."""
    match = _TEE.match(part)
    division = named(divisions, match["division"]) if match else None
    if match is None or division is None:
        return None
    length, unit = (match["length"], match["unit"])
    if match["alone"]:
        length, unit = match["alone"], match["alone_unit"]
    return Tee(
        division=division,
        par=None if match["par"] is None else int(match["par"]),
        yards=None if length is None else _yards(length, unit, units),
    )


def _tee_first(part: str, units: UnitSystem, divisions: Sequence[str]) -> tuple[Tee, str] | None:
    """A division's tee at the start of a part, and what follows it."""
    words = part.split()
    for count in range(len(words), 1, -1):
        tee = _tee(" ".join(words[:count]), units, divisions)
        if tee is not None:
            return tee, " ".join(words[count:])
    return None


def _refuse_late(
    parts: Sequence[str], units: UnitSystem, divisions: Sequence[str], row: str
) -> None:
    """Refuse a row in which a fact follows what could only be the name."""
    for part in parts[1:]:
        if _BEARING.match(part) or _tee(part, units, divisions):
            has = f" ({', '.join(divisions)})" if divisions else ""
            raise InputError(
                f"“{parts[0][:40]}” is no bearing and no division{has} with its length; "
                "the name stands last.",
                hole_example(divisions),
                row,
            )


def _yards(length: str, unit: str | None, units: UnitSystem) -> float:
    unit = (unit or "").lower()
    metric = unit.startswith("m") or (not unit and LENGTH_UNIT_OF[units] == "m")
    return round(float(length) / METRES_PER_YARD, 1) if metric else float(length)
