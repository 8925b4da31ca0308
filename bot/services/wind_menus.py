"""The two menus under an answer: how strong the wind is, and from which hour it comes.

The winds a member asked in lately come first, then a ladder of their own unit. Knows no Discord.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from math import atan2, degrees, hypot

from shared.menu import MenuFields, Option
from shared.quantities import Speed, Wind
from shared.units import DEGREES_PER_HOUR, MPS_PER, SPEED_UNIT_OF, SpeedUnit, UnitSystem

SPEED, HOUR = "speed", "hour"
MOST_USUAL = 5  # speeds and hours that come before the ladder
MOST = 25  # options of a menu

# Steps a game's winds come in, and as far as most go; what is asked beyond stands first.
LADDER: dict[SpeedUnit, tuple[float, ...]] = {
    "mph": tuple(range(21)),
    "m/s": tuple(step / 2 for step in range(20)),
    "km/h": tuple(range(0, 38, 2)),
    "kn": tuple(range(19)),
}
NAMED_HOURS = {12: "into", 3: "off the right", 6: "helping", 9: "off the left"}

Whole = tuple[int, int]


def wind_menus(
    ids: Callable[[str], str], *, wind: Wind, usual: Sequence[Whole], units: UnitSystem
) -> list[MenuFields]:
    """The menus for an answer in ``wind``; ``ids`` gives the custom id of each part.

    ``usual`` are the member's latest winds as the air's velocity in mm/s, the newest first.
    """
    return [
        MenuFields(ids(SPEED), "Wind speed", _speeds(wind, usual, units)),
        MenuFields(ids(HOUR), "From which hour", _hours(wind, usual)),
    ]


def changed_wind(wind: Wind, *, part: str, picked: str) -> Wind:
    """The wind with what was picked of a menu. Errors: ValueError for what no menu holds."""
    value = float(picked)
    if part == SPEED:
        return Wind(speed=Speed(value=value, unit="m/s"), from_deg=wind.relative_deg)
    return Wind(speed=wind.speed, from_deg=value)


def _speeds(wind: Wind, usual: Sequence[Whole], units: UnitSystem) -> tuple[Option, ...]:
    unit = SPEED_UNIT_OF[units]
    now = round(wind.speed.mps / MPS_PER[unit], 1)
    lately = [round(hypot(*each) / 1000 / MPS_PER[unit], 1) for each in usual]
    found = _in_order(now, lately, LADDER[unit])
    return tuple(
        (_speed_words(each, unit), f"{each * MPS_PER[unit]:.3f}", each == now) for each in found
    )


def _hours(wind: Wind, usual: Sequence[Whole]) -> tuple[Option, ...]:
    now = round(wind.relative_deg, 1) % 360
    blowing = [each for each in usual if each != (0, 0)]
    lately = [_nearest_hour(degrees(atan2(-right, -along))) for along, right in blowing]
    ladder = [hour * DEGREES_PER_HOUR % 360 for hour in (12, *range(1, 12))]
    found = _in_order(now, lately, ladder)
    return tuple((_hour_words(each), f"{each:.1f}", each == now) for each in found)


def _in_order(now: float, lately: Sequence[float], ladder: Iterable[float]) -> list[float]:
    """The usual ones, the likeliest first, then the ladder; what holds now is always there."""
    counted = [each for each, _ in Counter(lately).most_common()]
    before = counted[:MOST_USUAL]
    rest = list(ladder)
    if now not in (*before, *rest):
        before = [now, *before]
    return list(dict.fromkeys([*before, *rest]))[:MOST]


def _nearest_hour(deg: float) -> float:
    return round(deg / DEGREES_PER_HOUR) * DEGREES_PER_HOUR % 360


def _speed_words(value: float, unit: SpeedUnit) -> str:
    return f"{value:g} {unit}" if value else "calm"


def _hour_words(deg: float) -> str:
    hour, between = divmod(deg, DEGREES_PER_HOUR)
    if between:
        return f"from {deg:g}°"
    number = int(hour) or 12
    return f"from {number}, {NAMED_HOURS[number]}" if number in NAMED_HOURS else f"from {number}"
