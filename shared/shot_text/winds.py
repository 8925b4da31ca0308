"""Putting the wind together: a speed, where it comes from, and the bearing a compass wind needs."""

from collections.abc import Sequence
from typing import Final

from shared.errors import ShotTextError
from shared.quantities import MAX_WIND_MPS, Speed, Wind
from shared.shot_text.cursor import Item
from shared.shot_text.read import Fragment
from shared.shot_text.source import Source
from shared.shot_text.words import SPEED_UNITS
from shared.shot_text.write import HOURS, example_wind, number_text, wind_text
from shared.units import DEGREES_PER_HOUR, MPS_PER, SPEED_UNIT_OF

TURN_DEG: Final = 360.0
EXAMPLE_BEARING_DEG: Final = 40.0

_ALONG: Final = {"i": 0.0, "I": 0.0, "h": 180.0, "d": 180.0}  # "in off the left", "down off ..."
_ACROSS: Final = {"R": 90.0, "L": 270.0}
_BOTH: Final = {(0.0, 90.0): 45.0, (180.0, 90.0): 135.0, (180.0, 270.0): 225.0, (0.0, 270.0): 315.0}


class WindDraft:
    """What a text says of the wind."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.speeds: list[tuple[Fragment, Item]] = []
        self.ways: list[tuple[Fragment, tuple[Item, ...]]] = []
        self.bearing: tuple[Fragment, float] | None = None

    @property
    def is_said(self) -> bool:
        """Whether anything of a wind was said."""
        return bool(self.speeds or self.ways)

    @property
    def lacks_speed(self) -> bool:
        """Whether there is a direction and no speed."""
        return bool(self.ways) and not self.speeds

    def add(self, fragment: Fragment) -> None:
        """Takes a speed, a direction or both."""
        if fragment.rule == "calm":
            self.speeds.append((fragment, Item("c", fragment.start, fragment.end, unit="mph")))
        if fragment.speed is not None:
            self.speeds.append((fragment, fragment.speed))
        if fragment.way:
            self.ways.append((fragment, fragment.way))

    def add_bare(self, fragment: Fragment) -> None:
        """Takes a number that nothing else claims as the speed."""
        self.speeds.append((fragment, fragment.items[0]))

    def add_bearing(self, fragment: Fragment) -> None:
        """Takes the bearing of the hole."""
        degrees = fragment.items[1].number
        if self.bearing is not None:
            first = self.source.piece(self.bearing[0].start, self.bearing[0].end)
            second = self.source.piece(fragment.start, fragment.end)
            raise self._error(f"There are two bearings, {first} and {second}.", fragment)
        if not 0 <= degrees <= TURN_DEG:
            piece = self.source.piece(fragment.start, fragment.end)
            raise self._compass_error(
                f"The bearing {piece} is not from 0 to 360 degrees.", fragment
            )
        self.bearing = fragment, degrees

    def wind(self) -> Wind | None:
        """The wind, None where the text says nothing of one."""
        if not self.is_said:
            return None
        if len(self.speeds) > 1:
            raise self._two("winds", self.speeds[0][0], self.speeds[1][0])
        kinds = self._way_kinds()
        if not self.speeds:
            fragment = self.ways[0][0]
            piece = self.source.piece(fragment.start, fragment.end)
            raise self._error(
                f"{piece} says where a wind comes from, but not how strong.", fragment
            )
        speed = self._speed()
        if kinds is None:
            if speed.value:
                raise self._no_way(speed)
            return Wind(speed=speed, from_deg=0.0)
        return self._from(speed, kinds)

    # Speed ------------------------------------------------------------------------------------

    def _speed(self) -> Speed:
        fragment, item = self.speeds[0]
        unit = SPEED_UNITS.get(item.unit, SPEED_UNIT_OF[self.source.units])
        piece = self.source.piece(item.start, item.end)
        if item.number < 0:
            raise self._error(
                f"The wind {piece} is negative; turn its direction round instead.", fragment
            )
        if round(item.number, 3) * MPS_PER[unit] > MAX_WIND_MPS:
            most = int(MAX_WIND_MPS / MPS_PER[unit])
            raise self._error(
                f"The wind {piece} is stronger than any that is played in ({most} {unit}).", item
            )
        return Speed(value=item.number, unit=unit)

    def _no_way(self, speed: Speed) -> ShotTextError:
        fragment = self.speeds[0][0]
        piece = self.source.piece(fragment.start, fragment.end)
        example = wind_text(Wind(speed=speed, from_deg=60.0))
        return self._error(f"{piece} does not say where the wind comes from.", fragment, example)

    # Direction --------------------------------------------------------------------------------

    def _way_kinds(self) -> tuple[Item, ...] | None:
        """The items of the one direction, or of an along and an across one taken together."""
        if not self.ways:
            return None
        if len(self.ways) == 1:
            return self.ways[0][1]
        (first, items), (second, more) = self.ways[:2]
        together = (*items, *more)
        letters = "".join(sorted(item.kind for item in together if item.kind not in "fo"))
        if len(self.ways) > 2 or letters not in ("Li", "Ri", "Lh", "Rh"):
            what = "directions of the wind"
            raise self._two(what, first, second)
        return together

    def _from(self, speed: Speed, items: Sequence[Item]) -> Wind:
        place = Fragment("wind", tuple(items))
        kinds = [item.kind for item in items]
        number = next((item for item in items if item.kind in "nkgtX"), None)
        if number is None:
            return Wind(speed=speed, from_deg=_by_words(kinds))
        piece = self.source.piece(place.start, place.end)
        if not 0 <= number.number <= TURN_DEG:
            raise self._error(
                f"{piece} is no direction; a clock face has 12 hours and a compass 360 degrees.",
                place,
            )
        if "X" in kinds or "z" in kinds:
            return Wind(speed=speed, from_deg=number.number)
        if number.kind == "t":
            if number.number >= HOURS + 1:
                raise self._error(f"{piece} is not on a clock face of 12 hours.", place)
            return Wind(speed=speed, from_deg=number.number % HOURS * DEGREES_PER_HOUR)
        if number.kind == "n" and number.number <= HOURS:
            if self.bearing is not None:
                raise self._clock_or_compass(speed, number, piece, place)
            return Wind(speed=speed, from_deg=number.number % HOURS * DEGREES_PER_HOUR)
        return self._compass(speed, number.number, piece, place)

    def _compass(self, speed: Speed, degrees: float, piece: str, place: Fragment) -> Wind:
        bearing = self.source.bearing_deg if self.bearing is None else self.bearing[1]
        if bearing is None:
            raise self._compass_error(
                f"{piece} is a compass direction, which needs the bearing of the hole.",
                place,
                speed=speed,
                degrees=degrees,
            )
        return Wind(speed=speed, compass_deg=degrees, bearing_deg=bearing)

    def _clock_or_compass(
        self, speed: Speed, number: Item, piece: str, place: Fragment
    ) -> ShotTextError:
        assert self.bearing is not None
        hour = number_text(number.number)
        sentence = f"With a bearing of the hole, {piece} could be {hour} o'clock or {hour} degrees."
        wind = Wind(speed=speed, compass_deg=number.number, bearing_deg=self.bearing[1])
        return self._error(sentence, place, wind_text(wind))

    # Errors -----------------------------------------------------------------------------------

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
        one, other = (self.source.piece(part.start, part.end) for part in (first, second))
        return self._error(
            f"There are two {what}, {one} and {other}, where a shot has one.", second
        )


def _by_words(kinds: Sequence[str]) -> float:
    along = next((_ALONG[kind] for kind in kinds if kind in _ALONG), None)
    across = next((_ACROSS[kind] for kind in kinds if kind in _ACROSS), None)
    if along is not None and across is not None:
        return _BOTH[along, across]
    one = along if across is None else across
    assert one is not None
    return one
