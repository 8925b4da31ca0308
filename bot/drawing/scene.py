"""What a shot picture shows, as plain values in SI: the scene."""

from dataclasses import dataclass

from shared.book import Room
from shared.units import UnitSystem


@dataclass(frozen=True)
class Spot:
    """A place near the target: right + and long +, metres."""

    right_m: float
    long_m: float


@dataclass(frozen=True)
class Curve:
    """A flight's samples from the ball on: right, along and up, metres."""

    right_m: tuple[float, ...]
    long_m: tuple[float, ...]
    up_m: tuple[float, ...]


@dataclass(frozen=True)
class Spread:
    """How the group's shots came down round ``centre``: standard deviations, and of how many.

    Drawn as the ellipse that holds half of a normal's shots (``view.HALF_INSIDE``).
    """

    right_sd_m: float
    long_sd_m: float
    shots: int
    centre: Spot = Spot(0.0, 0.0)


@dataclass(frozen=True)
class Run:
    """What a ball does on the ground: where it comes down, comes down again, begins to roll and
    ends; places from the target."""

    down: Spot
    second: Spot
    rolls: Spot
    ends: Spot


@dataclass(frozen=True)
class Facts:
    """The flight in the wind: apex, landing angle and time."""

    apex_m: float
    landing_deg: float
    time_s: float


@dataclass(frozen=True)
class ShotScene:
    """One shot to be drawn. ``flight`` flies in the wind, ``still`` is the same without it.

    Without curves (a chart that answers beyond what can be flown) only the ground is drawn. Where
    the ball is to finish at the target, ``run`` is its way there from where it comes down.
    """

    headline: str
    shot: str
    mark: str
    mark_m: float
    distance_m: float
    height_m: float
    aim: Spot
    margin: Spot
    plays_m: float
    wind_mps: float
    wind_from_deg: float
    flight: Curve | None = None
    still: Curve | None = None
    facts: Facts | None = None
    room: Room | None = None
    spread: Spread | None = None
    law: str = "flight"
    run: Run | None = None
    units: UnitSystem = "yards"
