"""One shot as a shot text says it: everything optional, in the units it was typed in."""

from typing import Annotated

from pydantic import Field, field_validator

from shared.kit import SurfaceKind
from shared.model import Model
from shared.quantities import Amount, Curve, Height, Length, Wind

MAX_SPIN_STEPS = 20.0


class Shot(Model):
    """A shot. Names are the kit's own.

    Spin is counted in the kit's steps: ``backspin`` back + and top -, ``sidespin`` right + left -.
    ``onto`` is what the ball is to finish on at its target, None where that is where it comes down.
    """

    wind: Wind | None = None
    club: str | None = None
    grade: str | None = None
    distance: Length | None = None
    height: Height | None = None
    ball: str | None = None
    backspin: Annotated[Amount, Field(ge=-MAX_SPIN_STEPS, le=MAX_SPIN_STEPS)] = 0.0
    sidespin: Annotated[Amount, Field(ge=-MAX_SPIN_STEPS, le=MAX_SPIN_STEPS)] = 0.0
    curve: Curve | None = None
    onto: SurfaceKind | None = None

    @field_validator("distance")
    @classmethod
    def _some_distance(cls, distance: Length | None) -> Length | None:
        if distance is not None and distance.value <= 0:
            raise ValueError("the distance must be above 0")
        return distance
