"""An event from what a coach types in one form: a hole a row. Knows no Discord."""

import re
from collections.abc import Mapping, Sequence

from pydantic import ValidationError

from bot.services.book.cup_words import CupWords, next_name
from bot.services.book.hole_rows import hole_example, read_hole_row
from bot.services.book.shot_rows import RowError, RowsError
from bot.services.book.whole_events import PlayedHole, with_played
from shared.book import Event, Hole
from shared.errors import InputError
from shared.units import UnitSystem

_KNOWN = re.compile(r"^\s*(?:hole\s+)?(?P<number>\d{1,2})\s*[:.,]?\s+(?P<name>.+?)\s*$", re.I)


def new_event(
    *,
    name: str,
    divisions: str,
    rounds: str,
    holes: str,
    units: UnitSystem,
    played: Mapping[str, PlayedHole],
    published: UnitSystem = "yards",
    words: CupWords | None = None,
) -> Event:
    """The event typed in a form: divisions and rounds parted by commas, a hole a row.

    A hole whose name is in ``played`` comes back with its lines; by number and name alone with its
    facts too. ``units`` are those of who types, ``published`` those of what is published;
    ``words`` are what examples name.

    Errors: RowsError with every row that can't be read, InputError for the rest.
    """
    names = _names(divisions)
    found = tuple(
        with_played(hole, before, names)
        if (before := played.get((hole.name or "").casefold())) is not None
        else hole
        for hole in _holes(holes, units, played, names)
    )
    try:
        return Event(
            name=name, divisions=names, rounds=_names(rounds), units=published, holes=found
        )
    except ValidationError as error:
        problem = error.errors()[0]
        field = str(problem["loc"][0]) if problem["loc"] else "event"
        given = {"name": name, "divisions": divisions, "rounds": rounds}.get(field, holes)
        said = problem["msg"].removeprefix("Value error, ")
        own = words or CupWords()
        examples = {
            "name": next_name(own.event),
            "divisions": ", ".join(own.divisions),
            "rounds": ", ".join(own.rounds),
        }
        example = examples.get(field, hole_example(names))
        raise InputError(f"The {field} can't be kept: {said}.", example, given) from error


def _names(text: str) -> tuple[str, ...]:
    names = re.split(r"[,;\n/|]|\s+(?:and|&)\s+", text)
    return tuple(name.strip() for name in names if name.strip())


def _known(row: str, played: Mapping[str, PlayedHole]) -> Hole | None:
    """A hole played before, by its number and its name alone."""
    match = _KNOWN.match(row)
    before = played.get(" ".join(match["name"].casefold().split())) if match else None
    if match is None or before is None:
        return None
    number = int(match["number"])
    return before.hole.model_copy(update={"number": number, "winds": (), "lines": ()})


def _holes(
    rows: str, units: UnitSystem, played: Mapping[str, PlayedHole], divisions: Sequence[str]
) -> tuple[Hole, ...]:
    found: list[Hole] = []
    errors: list[RowError] = []
    for place, row in enumerate(rows.splitlines(), start=1):
        if not row.strip():
            continue
        try:
            hole = _known(row, played) or read_hole_row(row, units, divisions)
            if any(each.number == hole.number for each in found):
                raise InputError(f"Hole {hole.number} stands twice.", hole_example(divisions), row)
            found.append(hole)
        except InputError as error:
            errors.append(RowError(error.sentence, error.example, row.strip(), place))
    if errors:
        first = errors[0]
        raise RowsError(first.sentence, first.example, first.given, tuple(errors))
    return tuple(found)
