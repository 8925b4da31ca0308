"""Pictures in a stored message: kept as their numbers under ``bars``, drawn when it is posted."""

from typing import Any

from pydantic import TypeAdapter

from bot.drawing.trust_scene import BarsScene
from storage.json import JsonObject

BARS = "bars"
SCENES = TypeAdapter(tuple[BarsScene, ...])


def with_bars(body: JsonObject, bars: tuple[BarsScene, ...]) -> JsonObject:
    """The body with these pictures; without any it stays as it is."""
    dumped: Any = SCENES.dump_python(bars, mode="json")
    return {**body, BARS: dumped} if bars else body


def bars_in(body: JsonObject) -> tuple[BarsScene, ...]:
    """The pictures of a stored body. Errors: pydantic's ValidationError for one never stored."""
    return SCENES.validate_python(body.get(BARS, []))
