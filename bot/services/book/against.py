"""What stands in the book against a file that is loaded over it: newer than it, missing from it."""

from dataclasses import dataclass

from pydantic import ValidationError

from bot.services.book.made import Made
from bot.services.book.stored import Frame, Kept, body_of
from shared.book import Event, Hole
from shared.errors import InputError
from shared.keys import is_shared

LineName = tuple[int, str]
NAMED_LINES = 12


@dataclass(frozen=True)
class Against:
    """Newer: changed in the book after the file was made. Missing: the file says nothing of it.

    ``frame`` is whether divisions, rounds or dates are newer.
    """

    newer_lines: tuple[LineName, ...] = ()
    newer_holes: tuple[int, ...] = ()
    missing_lines: tuple[LineName, ...] = ()
    missing_holes: tuple[int, ...] = ()
    frame: bool = False

    def __bool__(self) -> bool:
        lines, holes = (*self.newer_lines, *self.missing_lines), self.missing_holes
        return bool(lines or holes or self.newer_holes or self.frame)


def against(old: Kept | None, event: Event, made: Made) -> Against:
    """What a file, made as it says, would overwrite or take out."""
    if old is None:
        return Against()
    newer_lines: list[LineName] = []
    newer_holes: list[int] = []
    missing_lines: list[LineName] = []
    for hole in old.event.holes:
        wanted = event.hole(hole.number)
        key = old.key.hole(hole.number)
        revision = old.revision(key)
        if wanted is not None and revision is not None and made.before(revision):
            newer_holes += [hole.number] * (_bare(wanted) != _bare(hole))
        for line in hole.lines:
            name, revision = (hole.number, line.variant), old.revision(key.line(line.variant))
            its = wanted.line(line.variant) if wanted else None
            if revision is not None and made.before(revision) and its != line:
                newer_lines.append(name)
            elif its is None and wanted is not None:
                missing_lines.append(name)
    frame = old.revision(old.key)
    return Against(
        newer_lines=tuple(newer_lines),
        newer_holes=tuple(newer_holes),
        missing_lines=tuple(missing_lines),
        missing_holes=tuple(
            hole.number for hole in old.event.holes if event.hole(hole.number) is None
        ),
        frame=frame is not None and made.before(frame) and Frame.of(event) != Frame.of(old.event),
    )


def renamed(old: Kept | None, event: Event) -> Event:
    """The event with shared lines under the letters they were taken in by since."""
    if old is None:
        return event
    holes: list[Hole] = []
    for hole in event.holes:
        stands = old.event.hole(hole.number)
        now = {line.shared_as: line.variant for line in stands.lines} if stands else {}
        lines = tuple(
            line.model_copy(update={"variant": now[line.variant], "shared_as": line.variant})
            if is_shared(line.variant) and line.variant in now
            else line
            for line in hole.lines
        )
        holes.append(hole.model_copy(update={"lines": lines}))
    return event.model_copy(update={"holes": tuple(holes)})


def with_standing(old: Kept, event: Event, found: Against) -> Event:
    """The event with what is newer in the book or missing from it left as it stands.

    Errors: InputError where the two can't be one event.
    """
    stays = {*found.newer_lines, *found.missing_lines}
    holes: list[Hole] = [hole for hole in old.event.holes if hole.number in found.missing_holes]
    for hole in event.holes:
        stands = old.event.hole(hole.number)
        if stands is None:
            holes.append(hole)
            continue
        kept = [line for line in stands.lines if (hole.number, line.variant) in stays]
        letters = {line.variant for line in kept}
        lines = [line for line in hole.lines if line.variant not in letters]
        facts = stands if hole.number in found.newer_holes else hole
        holes.append(facts.model_copy(update={"lines": (*lines, *kept)}))
    frame = Frame.of(old.event if found.frame else event)
    whole = {name: getattr(frame, name) for name in Frame.model_fields}
    try:
        return Event.model_validate({**whole, "holes": [hole.model_dump() for hole in holes]})
    except ValidationError as error:
        said = error.errors()[0]["msg"].removeprefix("Value error, ")
        raise InputError(
            f"What is newer here doesn't fit the file: {said}. Load the file as it is, or export "
            "the event and change that.",
            "/cup export",
        ) from error


def against_lines(found: Against) -> list[str]:
    """What is newer here and what is missing from the file, a sentence each."""
    said: list[str] = []
    newer = [holes_words(found.newer_holes)] if found.newer_holes else []
    newer += [lines_words(found.newer_lines)] if found.newer_lines else []
    newer += ["divisions, rounds or dates"] if found.frame else []
    if newer:
        said.append(f"Newer here than the file: {'; '.join(newer)}.")
    missing = [holes_words(found.missing_holes)] if found.missing_holes else []
    missing += [lines_words(found.missing_lines)] if found.missing_lines else []
    if missing:
        said.append(f"Missing from the file: {'; '.join(missing)}.")
    return said


def holes_words(numbers: tuple[int, ...]) -> str:
    """'hole 3', 'holes 3, 7'."""
    return f"{'hole' if len(numbers) == 1 else 'holes'} {', '.join(map(str, numbers))}"


def lines_words(names: tuple[LineName, ...], authors: dict[LineName, str] | None = None) -> str:
    """'line 1B (last by Rosalind)', 'lines 2A, 2B and 3 more'."""
    shown: list[str] = []
    for name in names[:NAMED_LINES]:
        by = f" (last by {authors[name]})" if authors and name in authors else ""
        shown.append(f"{name[0]}{name[1]}{by}")
    more = f" and {len(names) - NAMED_LINES} more" if len(names) > NAMED_LINES else ""
    return f"{'line' if len(names) == 1 else 'lines'} {', '.join(shown)}{more}"


def _bare(hole: Hole) -> str:
    return body_of(hole.model_copy(update={"lines": ()}))
