"""From fragments to a shot: each thing said at most once, within what a shot can have."""

import itertools
from collections.abc import Callable, Sequence
from typing import Final

from shared.errors import ShotTextError
from shared.kit import SURFACE_KINDS
from shared.quantities import MAX_LENGTH, MAX_WIND_MPS, Curve, Height, Length, Wind
from shared.shot import MAX_SPIN_STEPS, Shot
from shared.shot_text.abbreviations import numbered_hybrids
from shared.shot_text.cursor import Item
from shared.shot_text.grammar import MAX_TILT_DEG, UNREAD, Fragment
from shared.shot_text.lexicon import LENGTH_UNITS
from shared.shot_text.name_index import key_of
from shared.shot_text.source import Source, listed
from shared.shot_text.wind_builder import WindBuilder
from shared.units import LENGTH_UNIT_OF, METRES_PER, MPS_PER, SPEED_UNIT_OF

LEAST: Final = 0.0005  # what rounds to less than a thousandth is nothing

_PLURALS: Final = {
    "club": "clubs",
    "grade": "grades",
    "ball": "balls",
    "distance": "distances",
    "height": "heights",
    "backspin": "amounts of backspin or topspin",
    "sidespin": "amounts of sidespin",
    "curve": "shapes",
    "onto": "grounds to end on",
}
# What a lone word lacks, by its kind, and what to put behind the example.
_NO_HEIGHT: Final = ("does not say by how much", "up 5")
_NO_STEPS: Final = ("does not say how many steps of spin", "back 2")
_NO_SIDE: Final = ("needs “off the” before it for a wind, or “side 1” for a spin", "")
_NO_PLACE: Final = ("does not say where the wind comes from", "")
_LACKS: Final[dict[str, tuple[str, str]]] = {
    **dict.fromkeys(("up", "down", "height"), _NO_HEIGHT),
    **dict.fromkeys(("back", "top"), _NO_STEPS),
    "side": ("needs the steps of sidespin, and left or right", "side 1 left"),
    "in": ("is read before “off the left” only, a wind against you is “into”", ""),
    "onto": (f"is read before what the ball is to end on: {listed(SURFACE_KINDS, last='or')}", ""),
    "spin": ("does not say back, top or side", "back 2"),
    **dict.fromkeys(("from", "off", "at"), _NO_PLACE),
    **dict.fromkeys(("left", "right"), _NO_SIDE),
    "quartering": ("needs into or helping, and from which side", ""),
    "degrees": ("needs “from” before it for a wind, or draw or fade for a tilt", ""),
    "clock": ("does not say what it belongs to", ""),
}
_NO_HEIGHT_SIDE: Final = ("does not say whether the target is up or down", "up 10%")
_SHARES: Final = (20.0, 130.0)  # per cent of full carry that a shot may be set up for
_LATEST_HOUR: Final = 12.5


class ShotBuilder:
    """A shot being put together; ``shot`` gives it when every fragment was added."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.wind = WindBuilder(source)
        self.values: dict[str, object] = {}
        self.said: dict[str, Fragment] = {}
        self.numbers: list[Fragment] = []
        self.shares: list[Fragment] = []
        self._adders: Final[dict[str, Callable[[Fragment], None]]] = {
            "wind": self.wind.add,
            "calm": self.wind.add,
            "crosswind": self.wind.add_crosswind,
            "bearing": self.wind.add_bearing,
            "height": self._add_height,
            "backspin": self._add_backspin,
            "sidespin": self._add_sidespin,
            "shape": self._add_shape,
            "onto": self._add_onto,
            "share": self.shares.append,
            "distance": self._add_distance,
            "number": self.numbers.append,
            "club": self._add_name,
            "grade": self._add_name,
            "ball": self._add_name,
            "spin": self._add_unread,
            UNREAD: self._add_unread,
        }

    def add(self, fragments: Sequence[Fragment]) -> None:
        """Takes in fragments in the order of the text."""
        for fragment in fragments:
            if fragment.rule in self._adders:
                self._adders[fragment.rule](fragment)

    def shot(self) -> Shot:
        """The shot, or a ShotTextError where the parts do not fit together."""
        self._place_numbers()
        wind: Wind | None = self.wind.wind()
        self._check_grade()
        self._place_share()
        self._check_plain_numbers()
        return Shot.model_validate({**self.values, "wind": wind})

    def _error(self, sentence: str, place: Fragment | Item, more: str = "") -> ShotTextError:
        return self.source.error(sentence, start=place.start, end=place.end, more=more)

    def _quote(self, place: Fragment | Item) -> str:
        return self.source.quote(place.start, place.end)

    def _put(self, what: str, fragment: Fragment, value: object) -> None:
        if what in self.said:
            raise self._two(what, self.said[what], fragment)
        self.said[what] = fragment
        self.values[what] = value

    def _two(self, what: str, first: Fragment, second: Fragment) -> ShotTextError:
        return self._error(
            f"There are two {_PLURALS[what]}, {self._quote(first)} and {self._quote(second)},"
            " where a shot has one.",
            second,
        )

    # One fragment each ------------------------------------------------------------------------

    def _add_name(self, fragment: Fragment) -> None:
        name = next(item.name for item in fragment.items if item.name)
        self._put(fragment.rule, fragment, name)

    def _add_distance(self, fragment: Fragment) -> None:
        item = fragment.items[-1]
        unit = LENGTH_UNITS.get(item.unit, LENGTH_UNIT_OF[self.source.units])
        quoted = self._quote(item)
        if item.number < 0:
            raise self._error(f"The distance {quoted} is negative.", item)
        if item.number < LEAST:
            raise self._error(f"The distance {quoted} is nothing to hit.", item)
        if item.number > MAX_LENGTH:
            most = f"{MAX_LENGTH:g} {unit}"
            raise self._error(f"The distance {quoted} is longer than any hole ({most}).", item)
        self._put("distance", fragment, Length(value=item.number, unit=unit))

    def _add_height(self, fragment: Fragment) -> None:
        item = fragment.number
        words = ("up", "down", "height")
        side = next((item.kind for item in fragment.items if item.kind in words), "height")
        if item.number < 0 and side != "height":
            raise self._error(
                f"{self._quote(fragment)} has both a minus and a word for up or down.",
                fragment,
                "down 5",
            )
        value = -item.number if side == "down" else item.number
        if abs(value) > MAX_LENGTH:
            raise self._error(
                f"The height {self._quote(fragment)} is more than any hole has.", fragment, "up 5"
            )
        if item.kind in ("percent", "signed_percent"):
            height = Height(value=value, unit="%")
        else:
            unit = LENGTH_UNITS.get(item.unit, LENGTH_UNIT_OF[self.source.units])
            height = Height(value=value, unit=unit)
        self._put("height", fragment, height)

    def _steps(self, fragment: Fragment, example: str) -> float:
        item = fragment.number
        if item.number < 0:
            raise self._error(
                f"The spin {self._quote(fragment)} has a minus; the other way has its own word.",
                fragment,
                example,
            )
        if item.number > MAX_SPIN_STEPS:
            raise self._error(
                f"The spin {self._quote(fragment)} is more than {MAX_SPIN_STEPS:g} steps.",
                fragment,
                example,
            )
        return item.number

    def _add_backspin(self, fragment: Fragment) -> None:
        back = any(item.kind == "back" for item in fragment.items)
        steps = self._steps(fragment, "back 2" if back else "top 2")
        self._put("backspin", fragment, steps if back else -steps)

    def _add_sidespin(self, fragment: Fragment) -> None:
        steps = self._steps(fragment, "side 1 left")
        right = any(item.kind == "right" for item in fragment.items)
        self._put("sidespin", fragment, steps if right else -steps)

    def _add_shape(self, fragment: Fragment) -> None:
        kind = "draw" if any(item.kind == "draw" for item in fragment.items) else "fade"
        tilt = next(
            (item.number for item in fragment.items if item.kind in ("number", "degrees")), None
        )
        if tilt is not None and not LEAST <= tilt <= MAX_TILT_DEG:
            raise self._error(
                f"{self._quote(fragment)} is not a tilt of above 0 and at most"
                f" {MAX_TILT_DEG:g} degrees.",
                fragment,
                f"{kind} 4",
            )
        self._put("curve", fragment, Curve(kind=kind, tilt_deg=tilt))

    def _add_onto(self, fragment: Fragment) -> None:
        self._put("onto", fragment, SURFACE_KINDS[int(fragment.items[0].number)])

    def _add_unread(self, fragment: Fragment) -> None:
        item = fragment.items[0]
        kind = "spin" if fragment.rule == "spin" else item.kind
        lacks, more = _LACKS.get(kind, ("was not understood", ""))
        typed = self.source.text[item.start : item.end]
        instead: tuple[str, ...] = ()
        if kind in ("left", "right"):
            instead = (f"off the {kind}", "right to left" if kind == "left" else "left to right")
        if kind in ("in", "onto"):
            instead = ("into", "onto green") if kind == "onto" else ("into",)
        if kind in ("degrees", "clock"):
            instead = (f"from {typed}",)
        raise self.source.error(
            f"{self._quote(fragment)} {lacks}.",
            start=fragment.start,
            end=fragment.end,
            more=more,
            instead=instead,
        )

    # All together -----------------------------------------------------------------------------

    def _place_numbers(self) -> None:
        """A number alone is the distance; beside one it is the speed that a wind still lacks."""
        by_size = sorted(self.numbers, key=lambda fragment: fragment.number.number)
        distance = self.said.get("distance")
        if len(by_size) == 1 and distance is None and not self.shares:
            self._add_distance(by_size[0])
        elif len(by_size) == 1 and self.wind.lacks_speed:
            self.wind.add_number(by_size[0])
        elif len(by_size) == 2 and distance is None and self._is_speed(*by_size):
            self.wind.add_number(self._speed_among(by_size))
            self._add_distance(by_size[1])
        elif by_size:
            raise self._too_many_numbers(by_size)

    def _is_speed(self, smaller: Fragment, larger: Fragment) -> bool:
        speed, distance = smaller.number.number, larger.number.number
        if self.wind.lacks_speed:
            return 0 <= speed <= distance / 2
        return speed == 0 and not self.wind.is_said

    def _speed_among(self, by_size: Sequence[Fragment]) -> Fragment:
        """The smaller number, but the one beside the direction where neither is a wind's speed."""
        unit = SPEED_UNIT_OF[self.source.units]
        if not self.wind.directions or by_size[0].number.number * MPS_PER[unit] <= MAX_WIND_MPS:
            return by_size[0]
        place = self.wind.directions[0][0]
        return min(by_size, key=lambda fragment: abs(place.start - fragment.end))

    def _too_many_numbers(self, by_size: Sequence[Fragment]) -> ShotTextError:
        if not self.wind.directions:
            speeds = [fragment for fragment, _ in self.wind.speeds]
            pairs = itertools.product([*speeds, *self.numbers], self.numbers)
            for speed, hour in pairs:
                if self._is_hour_behind(speed, hour):
                    return self._no_from(speed, hour)
        distance = self.said.get("distance") or next(iter(self.shares), None)
        smaller = by_size[0]
        others = [distance, *by_size[1:]] if distance else by_size[1:]
        unit = SPEED_UNIT_OF[self.source.units]
        is_wind = 0 <= smaller.number.number * MPS_PER[unit] <= MAX_WIND_MPS / 2
        if (
            len(others) == 1
            and not self.wind.is_said
            and is_wind
            and self._is_less(smaller, others[0])
        ):
            return self.wind.no_direction(smaller)
        first, second = ([distance] if distance else []) + self.numbers[: 1 if distance else 2]
        error = self._error(
            f"There are two distances, {self._quote(first)} and {self._quote(second)};"
            " one is enough, and a wind also needs where it comes from.",
            second,
        )
        error.suggestions = numbered_hybrids(self.source.text)
        return error

    def _is_less(self, smaller: Fragment, other: Fragment) -> bool:
        return other.rule == "share" or smaller.number.number <= other.number.number / 2

    def _is_hour_behind(self, speed: Fragment, hour: Fragment) -> bool:
        """Whether the two numbers stand side by side and the second may be an hour."""
        between = self.source.text[speed.end : hour.start]
        number = hour.number.number
        return (
            speed is not hour
            and speed.end < hour.start
            and not between.strip(" ,;/")
            and 0 < number <= _LATEST_HOUR
            and number * 2 % 1 == 0
        )

    def _no_from(self, speed: Fragment, hour: Fragment) -> ShotTextError:
        typed = self.source.text[hour.start : hour.end]
        quoted = self.source.quote(speed.start, hour.end)
        error = self.source.error(
            f"{quoted} does not say where the wind comes from.",
            start=speed.end,
            end=hour.end,
            instead=[f" from {typed}"],
        )
        error.start = speed.start
        return error

    def _place_share(self) -> None:
        """Per cent of full carry are the distance of the club, in the member's own grade."""
        if not self.shares:
            return
        fragment, *more = self.shares
        if more:
            raise self._two("distance", fragment, more[0])
        percent = next((item for item in fragment.items if item.kind == "percent"), None)
        share = 100.0 if percent is None else percent.number
        if not _SHARES[0] <= share <= _SHARES[1]:
            lacks, example = _NO_HEIGHT_SIDE
            raise self._error(f"{self._quote(fragment)} {lacks}.", fragment, example)
        if "distance" in self.said:
            raise self._two("distance", self.said["distance"], fragment)
        club = self.values.get("club")
        if club is None:
            sentence = f"{self._quote(fragment)} of full carry needs the club it is of."
            raise self._error(sentence, fragment)
        unit = LENGTH_UNIT_OF[self.source.units]
        length = share / 100 * self._full_m(str(club)) / METRES_PER[unit]
        self._put("distance", fragment, Length(value=round(length, 1), unit=unit))

    def _full_m(self, club_name: str) -> float:
        """Full carry in metres of the grade typed, else the bag's, else the kit's default."""
        club = self.source.kit.club(club_name)
        own = self.source.bag.grades.get(club_name)
        held = own if any(grade.name == own for grade in club.grades) else None
        typed = self.values.get("grade")
        return club.grade(held if typed is None else str(typed)).full_m

    def _check_plain_numbers(self) -> None:
        """Refuses numbers without units that make sense only if they are changed round."""
        distance = self.said.get("distance")
        if distance is None or distance.rule == "share" or distance.number.kind != "number":
            return
        far = distance.number.number
        speed = next((item for _, item in self.wind.speeds if item.kind == "number"), None)
        if speed is not None and speed.number > far:
            raise self._changed_round(speed, distance.number)
        height = self.said.get("height")
        if height is not None and height.number.kind == "number" and height.number.number > far:
            raise self._error(
                f"The height {self._quote(height)} is more than the distance"
                f" {self._quote(distance)}; say which is which with units.",
                height,
                "up 5 yd",
            )

    def _changed_round(self, speed: Item, distance: Item) -> ShotTextError:
        text, units = self.source.text, self.source.units
        texts: list[str] = []
        pair = (LENGTH_UNIT_OF[units], SPEED_UNIT_OF[units])
        for of_speed, of_distance in (pair, pair[::-1]):
            whole = text
            for item, unit in sorted(
                ((speed, of_speed), (distance, of_distance)), key=lambda each: -each[0].start
            ):
                whole = f"{whole[: item.end]} {unit}{whole[item.end :]}"
            texts.append(whole)
        error = self._error(
            f"The wind {self._quote(speed)} and the distance {self._quote(distance)} could be the"
            " other way round; units say which is which.",
            speed,
        )
        error.suggestions = tuple(texts)
        return error

    def _check_grade(self) -> None:
        """The grade must be one of the club's own; the club may spell it in its own way."""
        club, typed = self.values.get("club"), self.values.get("grade")
        if club is None or typed is None:
            return
        names = [grade.name for grade in self.source.kit.club(str(club)).grades]
        key = key_of(str(typed))[1]
        same = [typed] if typed in names else [name for name in names if key_of(name)[1] == key]
        if same:
            self.values["grade"] = same[0]
            return
        fragment = self.said["grade"]
        raise self._error(
            f"The {club} has no grade {self._quote(fragment)}; it has {listed(names)}.", fragment
        )
