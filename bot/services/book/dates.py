"""When rounds begin, a row a round: 'Saturday: 2026-12-05 18:00'. Knows no Discord."""

import re
from datetime import UTC, datetime

from bot.services.book.events import named
from bot.services.book.shot_rows import RowError, RowsError
from shared.book import Event, RoundStart
from shared.errors import InputError

DATE_EXAMPLE = "2026-12-05 18:00"
_ROW = re.compile(r"^(?P<round>.+?)\s*:\s*(?P<at>\d{4}-.*)?$")


def read_starts(rows: str, event: Event) -> tuple[RoundStart, ...]:
    """The rounds that have a time, in the event's order; a row without one takes it away.

    Errors: RowsError with every row that can't be read.
    """
    found: dict[str, datetime | None] = {start.round: start.at for start in event.starts}
    errors: list[RowError] = []
    for place, row in enumerate(rows.splitlines(), start=1):
        if not row.strip():
            continue
        try:
            round_, at = _start(row.strip(), event)
            found[round_] = at
        except InputError as error:
            errors.append(RowError(error.sentence, error.example, row.strip(), place))
    if errors:
        first = errors[0]
        raise RowsError(first.sentence, first.example, first.given, tuple(errors))
    return tuple(
        RoundStart(round=each, at=at)
        for each in event.rounds
        if (at := found.get(each)) is not None
    )


def _start(row: str, event: Event) -> tuple[str, datetime | None]:
    match = _ROW.match(row)
    round_ = named(event.rounds, match["round"]) if match else None
    example = f"{event.rounds[0]}: {DATE_EXAMPLE}"
    if match is None or round_ is None:
        has = ", ".join(event.rounds)
        raise InputError(f"A row is a round, a colon and its time; rounds: {has}.", example, row)
    if not match["at"]:
        return round_, None
    try:
        at = datetime.fromisoformat(match["at"].strip())
    except ValueError as error:
        raise InputError("This is no date and time.", example, row) from error
    return round_, at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)
