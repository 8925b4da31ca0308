"""Putting the wind together: a speed, where it comes from, and the bearing a compass wind needs."""

from collections.abc import Sequence
from typing import Final

from shared.errors import ShotTextError
from shared.quantities import MAX_WIND_MPS, Speed, Wind
from shared.shot_text.cursor import Item
from shared.shot_text.grammar import Fragment
from shared.shot_text.kinds import Kind
from shared.shot_text.lexicon import SPEED_UNITS
from shared.shot_text.source import Source
from shared.shot_text.write import HOURS, example_wind, number_text, wind_text
from shared.units import DEGREES_PER_HOUR, MPS_PER, SPEED_UNIT_OF

FULL_CIRCLE_DEG: Final = 360.0
EXAMPLE_BEARING_DEG: Final = 40.0
NO_HOUR_OF_A_DAY: Final = 25.0  # from it a number without a unit can only be degrees
MOST_HOLES: Final = 18

# "in off the left", "down off the left"
_ALONG: Final[dict[Kind, float]] = {"into": 0.0, "in": 0.0, "helping": 180.0, "down": 180.0}
_ACROSS: Final[dict[Kind, float]] = {"right": 90.0, "left": 270.0}
_BOTH: Final = {(0.0, 90.0): 45.0, (180.0, 90.0): 135.0, (180.0, 270.0): 225.0, (0.0, 270.0): 315.0}
_NUMBERS: Final = ("number", "compass", "degrees", "clock")


class WindBuilder:
    """What a text says of the wind."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.speeds: list[tuple[Fragment, Item]] = []
        self.directions: list[tuple[Fragment, tuple[Item, ...]]] = []
        self.crosswinds: list[Fragment] = []
        self.bearing: tuple[Fragment, float] | None = None

    @property
    def is_said(self) -> bool:
        """Whether anything of a wind was said."""
        return bool(self.speeds or self.directions)

    @property
    def lacks_speed(self) -> bool:
        """Whether there is a direction and no speed."""
        return bool(self.directions) and not self.speeds

    def add(self, fragment: Fragment) -> None:
        """Takes a speed, a direction or both."""
        if fragment.rule == "calm":
            self.speeds.append((fragment, Item("calm", fragment.start, fragment.end, unit="mph")))
        if fragment.speed is not None:
            self.speeds.append((fragment, fragment.speed))
        if fragment.direction:
            self.directions.append((fragment, fragment.direction))

    def add_crosswind(self, fragment: Fragment) -> None:
        """Takes a wind that blows across from a side that is not said here."""
        self.crosswinds.append(fragment)
        if len(fragment.items) > 1:
            self.speeds.append((fragment, fragment.number))

    def add_number(self, fragment: Fragment) -> None:
        """Takes a number that nothing else claims as the speed."""
        self.speeds.append((fragment, fragment.number))

    def add_bearing(self, fragment: Fragment) -> None:
        """Takes the bearing of the hole."""
        degrees = fragment.items[1].number
        if self.bearing is not None:
            first, second = self._quote(self.bearing[0]), self._quote(fragment)
            raise self._error(f"There are two bearings, {first} and {second}.", fragment)
        if not 0 <= degrees <= FULL_CIRCLE_DEG:
            sentence = f"The bearing {self._quote(fragment)} is not from 0 to 360 degrees."
            raise self._compass_error(sentence, fragment)
        self.bearing = fragment, degrees

    def wind(self) -> Wind | None:
        """The wind, None where the text says nothing of one."""
        if len(self.speeds) > 1:
            raise self._two("winds", self.speeds[0][0], self.speeds[1][0])
        direction = self._direction()
        self._check_crosswind(direction)
        if not self.is_said:
            return None
        if not self.speeds:
            fragment = self.directions[0][0]
            raise self._error(
                f"{self._quote(fragment)} says where a wind comes from, but not how strong.",
                fragment,
            )
        speed = self._speed()
        if direction is None:
            if speed.value:
                raise self.no_direction(self.speeds[0][0], speed)
            return Wind(speed=speed, from_deg=0.0)
        return self._from(speed, direction)

    def no_direction(self, fragment: Fragment, speed: Speed | None = None) -> ShotTextError:
        """The error about a speed without where the wind comes from."""
        sentence = f"{self._quote(fragment)} does not say where the wind comes from."
        speed = speed or self._speed_of(fragment, fragment.number)
        return self._error(sentence, fragment, wind_text(Wind(speed=speed, from_deg=60.0)))

    # Speed ------------------------------------------------------------------------------------

    def _speed(self) -> Speed:
        return self._speed_of(*self.speeds[0])

    def _speed_of(self, fragment: Fragment, item: Item) -> Speed:
        unit = SPEED_UNITS.get(item.unit, SPEED_UNIT_OF[self.source.units])
        quoted = self._quote(item)
        if item.number < 0:
            raise self._error(
                f"The wind {quoted} is negative; turn its direction round instead.", fragment
            )
        if round(item.number, 3) * MPS_PER[unit] > MAX_WIND_MPS:
            most = int(MAX_WIND_MPS / MPS_PER[unit])
            raise self._error(
                f"The wind {quoted} is stronger than any that is played in ({most} {unit}).", item
            )
        return Speed(value=item.number, unit=unit)

    # Direction --------------------------------------------------------------------------------

    def _direction(self) -> tuple[Item, ...] | None:
        """The items of the one direction, or of an along and an across one taken together."""
        if not self.directions:
            return None
        if len(self.directions) == 1:
            return self.directions[0][1]
        (first, items), (second, more) = self.directions[:2]
        together = (*items, *more)
        along = [item for item in together if item.kind in ("into", "helping")]
        across = [item for item in together if _side(item) is not None]
        rest = [item for item in together if item.kind not in ("from", "off", "crosswind")]
        if len(self.directions) > 2 or not (len(along) == len(across) == 1 and len(rest) == 2):
            raise self._two("directions of the wind", first, second)
        return together

    def _check_crosswind(self, direction: Sequence[Item] | None) -> None:
        if not self.crosswinds or any(_side(item) is not None for item in direction or ()):
            return
        fragment = self.crosswinds[0]
        typed = ""
        if len(fragment.items) > 1:
            typed = self.source.text[fragment.number.start : fragment.number.end] + " "
        raise self.source.error(
            f"{self._quote(fragment)} does not say from which side the wind comes.",
            start=fragment.start,
            end=fragment.end,
            instead=[f"{typed}off the left", f"{typed}off the right"],
        )

    def _from(self, speed: Speed, items: Sequence[Item]) -> Wind:
        place = Fragment("wind", tuple(items))
        number = next((item for item in items if item.kind in _NUMBERS), None)
        if number is None:
            return Wind(speed=speed, from_deg=_by_words(items))
        if not 0 <= number.number <= FULL_CIRCLE_DEG:
            raise self._error(
                f"{self._quote(place)} is no direction; a clock face has 12 hours and a compass"
                " 360 degrees.",
                place,
            )
        if any(item.kind == "line" for item in items):
            return Wind(speed=speed, from_deg=number.number)
        if number.kind == "clock" and number.number >= HOURS + 1:
            sentence = f"{self._quote(place)} is not on a clock face of 12 hours."
            raise self._error(sentence, place)
        is_hour = number.kind == "clock" or (
            number.kind == "number"
            and (number.number <= HOURS or (number.number < HOURS + 1 and self.bearing is None))
        )
        if not is_hour:
            return self._degrees(speed, number, place)
        if self.bearing is not None and number.kind == "number":
            raise self._clock_or_compass(speed, number, place)
        return Wind(speed=speed, from_deg=number.number % HOURS * DEGREES_PER_HOUR)

    def _degrees(self, speed: Speed, number: Item, place: Fragment) -> Wind:
        """Degrees: of the compass where the hole's bearing is known, else from the line of play."""
        bearing = self.source.bearing_deg if self.bearing is None else self.bearing[1]
        if number.kind == "number" and self.bearing is None:
            self._require_no_hour(speed, number, place, bearing)
        if number.kind == "degrees" and bearing is None:
            return Wind(speed=speed, from_deg=number.number)
        if bearing is None:
            sentence = (
                f"{self._quote(place)} is a compass direction, which needs the bearing of the hole."
            )
            raise self._compass_error(sentence, place, speed=speed, degrees=number.number)
        if number.kind == "compass" or number.number >= HOURS + 1:
            self._require_bearing(number)
        return Wind(speed=speed, compass_deg=number.number, bearing_deg=bearing)

    def _require_no_hour(
        self, speed: Speed, number: Item, place: Fragment, bearing: float | None
    ) -> None:
        """A number past 12 without a unit is degrees only where nothing else can be meant."""
        if bearing is not None and number.number >= NO_HOUR_OF_A_DAY:
            return
        typed = self.source.text[number.start : number.end]
        raise self.source.error(
            f"{self._quote(place)} is past the 12 hours of a clock face; degrees need their unit.",
            start=number.start,
            end=number.end,
            wind=f"{number_text(speed.value)} {speed.unit} from {typed} deg",
            instead=[f"{typed} deg"],
        )

    def _require_bearing(self, number: Item) -> None:
        """A hole of a small number may be the seventh hole, not one that lies at 7 degrees."""
        if self.bearing is None or number.kind == "number":
            return
        fragment, degrees = self.bearing
        word, value = fragment.items[:2]
        typed = self.source.text[word.start : word.end].casefold()
        if typed == "hole" and value.kind == "number" and 1 <= degrees <= MOST_HOLES:
            raise self.source.error(
                f"{self._quote(fragment)} could be the number of the hole or its bearing.",
                start=fragment.start,
                end=fragment.end,
                instead=[f"bearing {number_text(degrees)} deg"],
            )

    def _clock_or_compass(self, speed: Speed, number: Item, place: Fragment) -> ShotTextError:
        assert self.bearing is not None
        hour = number_text(number.number)
        sentence = (
            f"With a bearing of the hole, {self._quote(place)} could be {hour} o'clock or {hour}"
            " degrees."
        )
        wind = Wind(speed=speed, compass_deg=number.number, bearing_deg=self.bearing[1])
        return self.source.error(
            sentence,
            start=number.start,
            end=number.end,
            wind=wind_text(wind),
            instead=[f"{hour} o'clock", f"{hour} deg"],
        )

    # Errors -----------------------------------------------------------------------------------

    def _quote(self, place: Fragment | Item) -> str:
        return self.source.quote(place.start, place.end)

    def _error(self, sentence: str, place: Fragment | Item, wind: str = "") -> ShotTextError:
        return self.source.error(sentence, start=place.start, end=place.end, wind=wind)

    def _compass_error(
        self,
        sentence: str,
        place: Fragment,
        *,
        speed: Speed | None = None,
        degrees: float = 300.0,
    ) -> ShotTextError:
        wind = Wind(
            speed=speed or example_wind(self.source.units).speed,
            compass_deg=degrees,
            bearing_deg=EXAMPLE_BEARING_DEG,
        )
        return self._error(sentence, place, wind_text(wind))

    def _two(self, what: str, first: Fragment, second: Fragment) -> ShotTextError:
        return self._error(
            f"There are two {what}, {self._quote(first)} and {self._quote(second)}, where a shot"
            " has one.",
            second,
        )


def _side(item: Item) -> float | None:
    """The direction a side stands for, None for anything else."""
    return item.number if item.kind == "sideways" else _ACROSS.get(item.kind)


def _by_words(items: Sequence[Item]) -> float:
    along = next((_ALONG[item.kind] for item in items if item.kind in _ALONG), None)
    across = next((side for item in items if (side := _side(item)) is not None), None)
    if along is not None and across is not None:
        return _BOTH[along, across]
    one = along if across is None else across
    assert one is not None
    return one
