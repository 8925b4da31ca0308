"""What is suggested while holes, lines, revisions, events, divisions and rounds are typed.

A suggestion is what is shown and what is taken.
"""

from collections.abc import Sequence
from typing import get_args

from bot.services.book.book import Book
from bot.services.book.stored import KeptLine
from shared.book import Event, Line, Status
from shared.errors import LeewardError

Numbers = list[tuple[str, int]]
Texts = list[tuple[str, str]]


async def holes(book: Book, community_id: int, typed: object) -> Numbers:
    """The holes of the current event, each with its par and its lines."""
    event = await _event(book, community_id)
    found: Numbers = []
    if event is None:
        return found
    for hole in event.holes:
        if str(hole.number).startswith(str(typed).strip()):
            letters = " ".join(line.variant for line in hole.in_use)
            pars = sorted({hole.from_tee(division).par for division in event.divisions})
            said = f"{hole.number} · par {' or '.join(map(str, pars))}"
            said += f" · lines {letters}" if letters else ""
            found.append((said, hole.number))
    return found


async def lines(book: Book, community_id: int, hole: object, typed: str) -> Texts:
    """The lines of a hole, each with its title and status."""
    event = await _event(book, community_id)
    found = event.hole(hole) if event and isinstance(hole, int) else None
    letter = typed.strip().upper()
    return [
        (_said(line), line.variant)
        for line in (found.lines if found else ())
        if line.variant.startswith(letter)
    ]


async def revisions(
    book: Book, community_id: int, hole: object, variant: object, typed: object
) -> Numbers:
    """The revisions of a line, newest first, without the one that stands."""
    if not isinstance(hole, int) or not isinstance(variant, str):
        return []
    try:
        found = await book.lines.history(community_id, hole, variant)
    except LeewardError:
        return []
    return [
        (_revision_words(each), each.revision)
        for each in found[1:]
        if each.line is not None and str(each.revision).startswith(str(typed).strip())
    ]


async def events(book: Book, community_id: int, typed: str) -> Texts:
    """The events of the community."""
    return _like(await book.names(community_id), typed)


async def divisions(book: Book, community_id: int, typed: str) -> Texts:
    """The divisions of the current event."""
    event = await _event(book, community_id)
    return _like(event.divisions if event else (), typed)


async def rounds(book: Book, community_id: int, typed: str) -> Texts:
    """The rounds of the current event."""
    event = await _event(book, community_id)
    return _like(event.rounds if event else (), typed)


def statuses(typed: str) -> Texts:
    """How far a line can have come."""
    found: tuple[Status, ...] = get_args(Status)
    return _like(found, typed)


def _like(names: Sequence[str], typed: str) -> Texts:
    word = typed.strip().casefold()
    return [(name, name) for name in names if word in name.casefold()]


def _revision_words(kept: KeptLine) -> str:
    return f"{kept.revision} · {kept.author_name or 'somebody'} · {kept.at:%d %b %H:%M} UTC"


def _said(line: Line) -> str:
    title = f" · {line.title}" if line.title else ""
    return f"{line.variant}{title} · {line.status}"


async def _event(book: Book, community_id: int) -> Event | None:
    try:
        return await book.event(community_id)
    except LeewardError:
        return None
