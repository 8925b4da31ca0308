"""Kits for tests: the demo's, and variations on it."""

import tomllib
from functools import cache
from pathlib import Path

from bot.services.caddie.caddie import Caddie
from shared.kit import Kit

DEMO_KIT = Path(__file__).resolve().parent.parent / "bot" / "demo" / "kit.toml"


@cache
def demo_kit() -> Kit:
    """The demo's kit."""
    return Kit.model_validate(tomllib.loads(DEMO_KIT.read_text(encoding="utf-8")))


@cache
def demo_caddie() -> Caddie:
    """A caddie for the demo's kit."""
    return Caddie(demo_kit())


def kit_with(*, club: str, **fields: object) -> Kit:
    """The demo's kit with some fields of one club changed."""
    kit = demo_kit()
    clubs = [each.model_copy(update=fields) if each.name == club else each for each in kit.clubs]
    return Kit.model_validate(kit.model_dump() | {"clubs": [each.model_dump() for each in clubs]})
