"""Kit names as people type them into an option: exact, alias, or near enough."""

from collections.abc import Callable

from rapidfuzz import fuzz, process

from shared.errors import InputError
from shared.kit import Kit

NEAR = 75.0  # per cent of likeness at which a misspelling is taken for a name


def club_name(kit: Kit, typed: str) -> str:
    """The club meant by ``typed``. Errors: InputError naming the nearest."""
    by_name = {club.name.casefold(): club.name for club in kit.clubs}
    by_name |= {alias.casefold(): club.name for club in kit.clubs for alias in club.aliases}

    def example(near: str) -> str:
        return f"/bag club:{near} grade:{kit.club(near).grades[-1].name}"

    return _name(by_name, typed, "club", example)


def ball_name(kit: Kit, typed: str) -> str:
    """The ball meant by ``typed``. Errors: InputError naming the nearest."""
    by_name = {ball.name.casefold(): ball.name for ball in kit.balls}
    return _name(by_name, typed, "ball", lambda near: f"/bag ball:{near}")


def clubs_like(kit: Kit, typed: str) -> list[str]:
    """Clubs for an option, best match first; all of them for nothing typed."""
    return _like([club.name for club in kit.clubs], typed)


def balls_like(kit: Kit, typed: str) -> list[str]:
    """Balls for an option, best match first."""
    return _like([ball.name for ball in kit.balls], typed)


def grades_like(kit: Kit, typed: str, *, club: str | None = None) -> list[str]:
    """Grades for an option: the club's where one is chosen, else every grade of the kit."""
    clubs = [each for each in kit.clubs if club is None or each.name == club] or list(kit.clubs)
    return _like(list(dict.fromkeys(g.name for each in clubs for g in each.grades)), typed)


def _like(names: list[str], typed: str) -> list[str]:
    word = typed.strip().casefold()
    if not word:
        return names
    starts = [name for name in names if name.casefold().startswith(word)]
    inside = [name for name in names if word in name.casefold() and name not in starts]
    return starts + inside or names


def _name(by_name: dict[str, str], typed: str, noun: str, example: Callable[[str], str]) -> str:
    word = typed.strip().casefold()
    if word in by_name:
        return by_name[word]
    nearest = process.extract(word[:100], list(by_name), scorer=fuzz.ratio, limit=2)
    if nearest and nearest[0][1] >= NEAR:
        first = by_name[nearest[0][0]]
        rival = len(nearest) > 1 and nearest[1][1] > nearest[0][1] - 5
        if not rival or by_name[nearest[1][0]] == first:
            return first
    near = by_name[nearest[0][0]] if nearest else next(iter(by_name.values()))
    raise InputError(
        f"The kit has no {noun} by this name; the nearest is {near}.", example(near), typed
    )
