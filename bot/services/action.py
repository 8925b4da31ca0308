"""What a button or a form asks for, as text that outlives a restart.

An action's ``id`` is the custom id of its button or form: its name, then its fields in order,
parted by ``sign``. The last field takes the rest, so an event's name may hold the sign. Messages
of earlier versions stand in channels: change no name, field or order.
"""

from dataclasses import dataclass, fields
from functools import cache
from typing import Any, ClassVar, Self, get_type_hints

from shared.errors import GONE, InputError
from shared.quantities import Speed, Wind

ButtonFields = dict[str, str]
"""A button as the outbox keeps it: ``label``, ``custom_id`` and, where it has one, ``style``."""


@dataclass(frozen=True)
class Action:
    """Base of all actions; a field is an int, a str or a wind (or none)."""

    name: ClassVar[str]
    sign: ClassVar[str] = "|"

    @property
    def id(self) -> str:
        """The action as text."""
        parts = [self.name]
        for field in fields(self):
            value = getattr(self, field.name)
            parts += _wind_parts(value) if _is_wind(type(self), field.name) else [str(value)]
        return self.sign.join(parts)

    @classmethod
    def read(cls, custom_id: str) -> Self:
        """The action of a custom id. Errors: InputError for one that is none of these."""
        kinds = _kinds(cls)
        count = sum(2 if kind is Wind else 1 for kind in kinds.values())
        start = cls.name + cls.sign
        parts = custom_id.removeprefix(start).split(cls.sign, count - 1)
        if not custom_id.startswith(start) or len(parts) != count:
            raise InputError(GONE, "/help")
        left = iter(parts)
        try:
            values = {
                field: _wind_of(next(left), next(left)) if kind is Wind else kind(next(left))
                for field, kind in kinds.items()
            }
        except ValueError as error:
            raise InputError(GONE, "/help") from error
        return cls(**values)

    def button(self, label: str, style: str = "secondary") -> ButtonFields:
        """The action as a button."""
        return {"label": label, "custom_id": self.id, "style": style}


@cache
def _kinds(action: type[Action]) -> dict[str, Any]:
    """The kind of every field: int, str or Wind."""
    hints = get_type_hints(action)
    kinds: dict[str, Any] = {}
    for field in fields(action):
        kind = hints[field.name]
        kinds[field.name] = kind if kind in (int, str) else Wind if kind == Wind | None else str
    return kinds


def _is_wind(action: type[Action], field: str) -> bool:
    return _kinds(action)[field] is Wind


def _wind_parts(wind: Wind | None) -> list[str]:
    return ["", ""] if wind is None else [f"{wind.speed.mps:.3f}", f"{wind.relative_deg:.1f}"]


def _wind_of(mps: str, deg: str) -> Wind | None:
    if not mps:
        return None
    return Wind(speed=Speed(value=float(mps), unit="m/s"), from_deg=float(deg))
