"""Quantities as a person typed them: the number and its unit, with SI beside it.

Keeping the typed unit lets a shot text be written back just as it was read.
"""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from shared.model import Model
from shared.units import METRES_PER, MPS_PER, LengthUnit, SpeedUnit

MAX_WIND_MPS = 60.0  # above every wind a game offers; a hurricane (Beaufort 12) starts at 32.7
MAX_LENGTH = 1000.0  # longer than any hole, in any unit


def _thousandths(value: float) -> float:
    return round(value, 3) + 0.0  # + 0.0 turns -0.0 into 0.0


def _tenths_of_turn(value: float) -> float:
    return round(value, 1) % 360.0


Amount = Annotated[float, AfterValidator(_thousandths)]
Bearing = Annotated[float, AfterValidator(_tenths_of_turn)]


class Length(Model):
    """A distance along the ground, never negative."""

    value: Annotated[Amount, Field(ge=0, le=MAX_LENGTH)]
    unit: LengthUnit = "yd"

    @property
    def m(self) -> float:
        """The distance in metres."""
        return self.value * METRES_PER[self.unit]


class Speed(Model):
    """A wind speed, never negative; 0 is calm."""

    value: Annotated[Amount, Field(ge=0)]
    unit: SpeedUnit = "mph"

    @property
    def mps(self) -> float:
        """The speed in metres per second."""
        return self.value * MPS_PER[self.unit]

    @model_validator(mode="after")
    def _plausible(self) -> "Speed":
        if self.mps > MAX_WIND_MPS:
            raise ValueError(f"no game blows harder than {MAX_WIND_MPS:g} m/s (134 mph)")
        return self


class Height(Model):
    """The target above (+) or below (-) the ball; ``%`` is per cent of the distance."""

    value: Annotated[Amount, Field(ge=-MAX_LENGTH, le=MAX_LENGTH)]
    unit: Literal["yd", "m", "ft", "%"] = "yd"

    def m(self, *, distance_m: float) -> float:
        """The height in metres for a target ``distance_m`` away."""
        if self.unit == "%":
            return self.value / 100 * distance_m
        return self.value * METRES_PER[self.unit]

    def fraction(self, *, distance_m: float) -> float:
        """The height allowance: height over distance, up positive."""
        return self.m(distance_m=distance_m) / distance_m


class Wind(Model):
    """A wind: its speed and where it comes from.

    Either ``from_deg``, clockwise from the line of play, or ``compass_deg`` together with the
    hole's ``bearing_deg`` (both clockwise from north).
    """

    speed: Speed
    from_deg: Bearing | None = None
    compass_deg: Bearing | None = None
    bearing_deg: Bearing | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "Wind":
        compass = self.compass_deg is not None and self.bearing_deg is not None
        partial = (self.compass_deg is None) != (self.bearing_deg is None)
        if partial or compass == (self.from_deg is not None):
            raise ValueError("give from_deg, or compass_deg and bearing_deg")
        return self

    @property
    def relative_deg(self) -> float:
        """Where it comes from, degrees clockwise from the line of play, 0 <= x < 360."""
        if self.from_deg is not None:
            return self.from_deg
        assert self.compass_deg is not None and self.bearing_deg is not None
        return round(self.compass_deg - self.bearing_deg, 1) % 360.0


class Curve(Model):
    """A draw or a fade (right-handed), with its spin-axis tilt where one was given."""

    kind: Literal["draw", "fade"]
    tilt_deg: Annotated[Amount, Field(gt=0, le=45)] | None = None
