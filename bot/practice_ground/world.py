"""The community of the practice ground, described without any chat library."""

import os
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


@dataclass(frozen=True, kw_only=True)
class Room:
    """One text channel; ``welcome`` is what the bot posts there first."""

    name: str
    topic: str = ""
    welcome: str = ""


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody whose eyes the page can be seen through.

    A coach has the coach role, and with it the permission to manage the server.
    """

    name: str
    coach: bool = False


DEFAULT_PEOPLE = (Person(name="Rosalind", coach=True), Person(name="Tamsin"))


def local_zone() -> str:
    """Name the time zone of this machine as the time zone database does; UTC where unknown."""
    try:
        linked = str(Path("/etc/localtime").resolve(strict=True))
    except OSError:
        linked = ""
    for name in (os.environ.get("TZ", "").lstrip(":"), linked.partition("zoneinfo/")[2]):
        try:
            return ZoneInfo(name).key
        except (ZoneInfoNotFoundError, ValueError, OSError):
            continue
    return "UTC"


@dataclass(frozen=True, kw_only=True)
class World:
    """What a practice ground is made of: each room gets its own page, in this order.

    ``others`` are members through whose eyes no page can be seen.
    """

    guild: str
    bot: str
    rooms: tuple[Room, ...]
    people: tuple[Person, ...] = DEFAULT_PEOPLE
    others: tuple[str, ...] = ()
    coach_role: str = "Coach"
    zone: str = field(default_factory=local_zone)
