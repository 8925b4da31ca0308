"""Whether an event, a line or a wind can be read with the kit: every text of it, by its place."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import cast

from bot.services.caddie.adapt import read_line, read_wind
from shared.book import MOST_LINES, MOST_SHOTS, Line, LineShot
from shared.errors import InputError
from shared.kit import Kit
from shared.quantities import Wind
from shared.units import UnitSystem

Path = tuple[str | int, ...]
Finding = tuple[Path, str]
Data = Mapping[str, object]
MOST_TEXT_FINDINGS = 50  # more of them say nothing new, and a hostile file could hold thousands
MOST_HOLES = 18
MOST_TEES = 25
MOST_WINDS = 625  # 25 divisions in 25 rounds


def require_wind(
    text: str, *, kit: Kit, bearing_deg: float | None, units: UnitSystem = "yards"
) -> Wind:
    """The wind of a text that says nothing else. Errors: those of ``read_wind``."""
    return read_wind(text=text, kit=kit, bearing_deg=bearing_deg, units=units)


def require_line(line: Line, *, kit: Kit, bearing_deg: float | None) -> None:
    """Refuse a line of which anything can't be read. Errors: InputError, ShotTextError."""
    read_line(line=line, kit=kit, bearing_deg=bearing_deg)


def findings(data: Data, *, kit: Kit) -> Iterator[Finding]:
    """What is wrong in a file's data beyond the shape of its fields, each with its place.

    The data need not be an event: what is of another shape is left to the model to refuse.
    """
    yield from _repeated(data)
    yield from _unknown_names(data)
    found = 0
    for path, text, bearing_deg in _texts(data):
        sentence = _trouble(path, text, bearing_deg, kit)
        if sentence:
            yield path, sentence
            found += 1
        if found == MOST_TEXT_FINDINGS:
            return


def _trouble(path: Path, text: str, bearing_deg: float | None, kit: Kit) -> str:
    try:
        if path[-1] == "wind":
            require_wind(text, kit=kit, bearing_deg=bearing_deg)
        else:
            alone = Line(variant="A", wind="calm", shots=(LineShot(shot=text),))
            require_line(alone, kit=kit, bearing_deg=bearing_deg)
    except InputError as error:
        return error.sentence
    except ValueError:
        return ""  # empty or too long: the model says so
    return ""


def _texts(data: Data) -> Iterator[tuple[Path, str, float | None]]:
    for i, hole in _tables(data, "holes", MOST_HOLES):
        given = hole.get("bearing_deg")
        bearing = float(given) if isinstance(given, int | float) and 0 <= given < 360 else None
        at: Path = ("holes", i)
        for j, wind in _tables(hole, "winds", MOST_WINDS):
            yield from _text(wind, "wind", (*at, "winds", j), bearing)
        for j, line in _tables(hole, "lines", MOST_LINES):
            yield from _text(line, "wind", (*at, "lines", j), bearing)
            for k, shot in _tables(line, "shots", MOST_SHOTS):
                yield from _text(shot, "shot", (*at, "lines", j, "shots", k), bearing)


def _text(
    table: Data, name: str, at: Path, bearing_deg: float | None
) -> Iterator[tuple[Path, str, float | None]]:
    text = table.get(name)
    if isinstance(text, str):
        yield (*at, name), text, bearing_deg


def _repeated(data: Data) -> Iterator[Finding]:
    """Holes, lines and winds that stand twice."""
    numbers: list[object] = []
    for i, hole in _tables(data, "holes", MOST_HOLES):
        number = hole.get("number")
        if number in numbers and isinstance(number, int):
            yield ("holes", i, "number"), f"Hole {number} stands twice."
        numbers.append(number)
        letters: list[object] = []
        for j, line in _tables(hole, "lines", MOST_LINES):
            letter = line.get("variant")
            if letter in letters and isinstance(letter, str):
                yield ("holes", i, "lines", j, "variant"), f"Line {letter[:10]} stands twice."
            letters.append(letter)
        tees: list[object] = []
        for j, tee in _tables(hole, "tees", MOST_TEES):
            division = tee.get("division")
            if division in tees and isinstance(division, str):
                yield ("holes", i, "tees", j), f"The tee of {division[:40]} stands twice."
            tees.append(division)
        pairs: list[tuple[object, object]] = []
        for j, wind in _tables(hole, "winds", MOST_WINDS):
            pair = (wind.get("division"), wind.get("round"))
            if pair in pairs and None not in pair:
                sentence = "The wind of this division and round stands twice for this hole."
                yield ("holes", i, "winds", j), sentence
            pairs.append(pair)


def _unknown_names(data: Data) -> Iterator[Finding]:
    """Divisions and rounds that a hole names and the event lacks."""
    divisions, rounds = _names(data, "divisions"), _names(data, "rounds")
    for i, hole in _tables(data, "holes", MOST_HOLES):
        for j, wind in _tables(hole, "winds", MOST_WINDS):
            at: Path = ("holes", i, "winds", j)
            yield from _unknown((*at, "division"), "division", wind.get("division"), divisions)
            yield from _unknown((*at, "round"), "round", wind.get("round"), rounds)
        for j, tee in _tables(hole, "tees", MOST_TEES):
            at = ("holes", i, "tees", j, "division")
            yield from _unknown(at, "division", tee.get("division"), divisions)
        for j, line in _tables(hole, "lines", MOST_LINES):
            named = line.get("divisions")
            for k, name in enumerate(
                cast("list[object]", named) if isinstance(named, list) else []
            ):
                at = ("holes", i, "lines", j, "divisions", k)
                yield from _unknown(at, "division", name, divisions)


def _unknown(path: Path, noun: str, name: object, known: Sequence[str]) -> Iterable[Finding]:
    if isinstance(name, str) and known and " ".join(name.split()) not in known:
        yield path, f"The event has no {noun} “{name[:40]}”; it has {', '.join(known[:10])}."


def _names(data: Data, field: str) -> list[str]:
    found = data.get(field)
    entries = cast("list[object]", found) if isinstance(found, list) else []
    return [" ".join(entry.split()) for entry in entries[:25] if isinstance(entry, str)]


def _tables(data: Data, field: str, most: int) -> Iterator[tuple[int, Data]]:
    found = data.get(field)
    entries = cast("list[object]", found) if isinstance(found, list) else []
    for place, entry in enumerate(entries[:most]):
        if isinstance(entry, dict):
            yield place, cast(Data, entry)
