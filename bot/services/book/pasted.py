"""Many lines typed at once, one a row: what each row says. Knows no Discord.

    3, Sail, recommended, left of the wall | 10 mph from 11 | driver 226 aim 5 left | 4-iron 163

First the hole, with a letter where one is wanted (3C), then in any order divisions, a status and a
title; then the wind, empty for the hole's own; then the shots, each as in the form of one line.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from bot.services.book.drafts import LineDraft
from bot.services.book.events import hole_of, named
from bot.services.book.shot_rows import RowError, RowsError
from shared.book import STATUSES, Event, Line, Status
from shared.errors import InputError

_PARTS = re.compile(r"\s*\|\s*|\s+/\s+")
_HEAD = re.compile(
    r"^(?:hole\s*)?(?P<hole>\d{1,2})\s*(?P<letter>[A-Za-z](?![A-Za-z]))?\s*(?P<more>.*)$"
)
_STATUSES: dict[str, Status] = {each: each for each in STATUSES}
NO_WIND = ("", "-", "–", "—")


def _parts(row: str) -> list[str]:
    """A row's head, wind and shots; without its own signs between them, by semicolons and colon."""
    parts = _PARTS.split(row.strip())
    if len(parts) > 1 or ";" not in row:
        return parts
    first, *rest = re.split(r"\s*;\s*", row.strip().rstrip(";"))
    head, colon, wind = first.partition(":")
    return [head.strip(), wind.strip(), *rest] if colon else [first, *rest]


Read = Callable[[LineDraft], Line]


@dataclass(frozen=True)
class NewLine:
    """A line that is to be kept; ``wanted`` is the letter it should get, empty for the next."""

    hole: int
    wanted: str
    line: Line


@dataclass
class _Head:
    hole: int
    wanted: str
    status: Status = "idea"
    title: list[str] = field(default_factory=list[str])
    divisions: list[str] = field(default_factory=list[str])


@dataclass(frozen=True)
class PastedReader:
    """How rows are read: the event, its round, a draft's reader for each hole, a right row."""

    event: Event
    round: str
    author: str
    example: str
    reader: Callable[[int], Read]

    def read(self, text: str) -> list[NewLine]:
        """The lines of a text. Errors: RowsError with every row that can't be read."""
        found: list[NewLine] = []
        errors: list[RowError] = []
        for place, row in enumerate(text.splitlines(), start=1):
            if not row.strip():
                continue
            try:
                found.append(self._row(row))
            except RowsError as error:
                shots = [f"Shot {each.row}: {each.sentence}" for each in error.errors]
                errors.append(RowError(" ".join(shots), error.example, row.strip(), place))
            except InputError as error:
                errors.append(RowError(error.sentence, error.example, row.strip(), place))
        if not found and not errors:
            errors = [RowError("Write one line a row.", self.example, text, 1)]
        if errors:
            first = errors[0]
            raise RowsError(first.sentence, first.example, first.given, tuple(errors))
        return found

    def _row(self, row: str) -> NewLine:
        first, *rest = _parts(row)
        if len(rest) < 2:
            raise InputError(
                "A row is hole, wind and shots with | between them.", self.example, row
            )
        head = self._head(first)
        wind = rest[0].strip()
        draft = LineDraft(
            token="0",
            event=self.event.name,
            hole=head.hole,
            author=self.author,
            title=", ".join(head.title),
            status=head.status,
            divisions=tuple(head.divisions),
            wind=self._own_wind(head) if wind in NO_WIND else wind,
            rows="\n".join(rest[1:]),
        )
        return NewLine(head.hole, head.wanted, self.reader(head.hole)(draft))

    def _head(self, text: str) -> _Head:
        pieces = [piece.strip() for piece in text.split(",")]
        match = _HEAD.match(pieces[0])
        if match is None:
            raise InputError("A row begins with its hole.", self.example, text)
        hole = hole_of(self.event, int(match["hole"]))
        head = _Head(hole.number, (match["letter"] or "").upper())
        for piece in filter(None, (match["more"].strip(), *pieces[1:])):
            title = self._facts_first(head, piece)
            head.title += [title] if title else []
        return head

    def _facts_first(self, head: _Head, piece: str) -> str:
        """Take divisions and a status from the start of a piece; what is left is a title."""
        words = piece.split()
        while words:
            for count in range(len(words), 0, -1):
                said = " ".join(words[:count]).strip(" :")
                division, status = named(self.event.divisions, said), _STATUSES.get(said.casefold())
                if division is not None:
                    head.divisions.append(division)
                elif status is not None:
                    head.status = status
                else:
                    continue
                words = words[count:]
                break
            else:
                break
        return " ".join(words)

    def _own_wind(self, head: _Head) -> str:
        division = head.divisions[0] if head.divisions else self.event.divisions[0]
        hole = hole_of(self.event, head.hole)
        wind = hole.wind(division=division, round_=self.round)
        if wind is None:
            raise InputError(
                f"The wind of hole {head.hole} for {division} is not known yet; write the one the "
                "line was tested in.",
                self.example,
            )
        return wind
