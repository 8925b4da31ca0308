"""From fragments to a shot: each thing said at most once, within what a shot can have."""

from collections.abc import Callable, Sequence
from typing import Final

from shared.errors import ShotTextError
from shared.quantities import MAX_LENGTH, Curve, Height, Length, Wind
from shared.shot import MAX_SPIN_STEPS, Shot
from shared.shot_text.cursor import Item
from shared.shot_text.names import key_of
from shared.shot_text.read import UNREAD, Fragment
from shared.shot_text.source import Source, listed
from shared.shot_text.winds import WindDraft
from shared.shot_text.words import LENGTH_UNITS
from shared.units import LENGTH_UNIT_OF

MAX_TILT_DEG: Final = 45.0  # as in ``Curve``
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
}
# What a lone word lacks, by its kind, and what to put behind the example.
_LACKS: Final[dict[str, tuple[str, str]]] = {
    **dict.fromkeys("ude", ("does not say by how much", "up 5")),
    **dict.fromkeys("BT", ("does not say how many steps of spin", "back 2")),
    "S": ("needs the steps of sidespin, and left or right", "side 1 left"),
    "I": ("is read before “off the left” only, a wind against you is “into”", ""),
    "P": ("does not say back, top or side", "back 2"),
    **dict.fromkeys("fo", ("does not say where the wind comes from", "")),
    **dict.fromkeys("LR", ("needs “off the” before it for a wind, or “side 1” for a spin", "")),
    "p": ("does not say whether the target is up or down", "up 10%"),
    "g": ("does not say what is turned by that", "draw 4 deg"),
    "t": ("does not say what it belongs to", ""),
}


class Draft:
    """A shot being put together; ``shot`` gives it when every fragment was added."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.wind = WindDraft(source)
        self.values: dict[str, object] = {}
        self.said: dict[str, Fragment] = {}
        self.bare: list[Fragment] = []
        self._adders: Final[dict[str, Callable[[Fragment], None]]] = {
            "wind": self.wind.add,
            "calm": self.wind.add,
            "bearing": self.wind.add_bearing,
            "height": self._add_height,
            "backspin": self._add_backspin,
            "sidespin": self._add_sidespin,
            "shape": self._add_shape,
            "distance": self._add_distance,
            "bare": self.bare.append,
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
        self._place_bare_numbers()
        wind: Wind | None = self.wind.wind()
        self._check_grade()
        return Shot.model_validate({**self.values, "wind": wind})

    def _error(self, sentence: str, place: Fragment | Item, more: str = "") -> ShotTextError:
        return self.source.error(sentence, start=place.start, end=place.end, more=more)

    def _piece(self, place: Fragment | Item) -> str:
        return self.source.piece(place.start, place.end)

    def _put(self, what: str, fragment: Fragment, value: object) -> None:
        if what in self.said:
            raise self._two(what, self.said[what], fragment)
        self.said[what] = fragment
        self.values[what] = value

    def _two(self, what: str, first: Fragment, second: Fragment) -> ShotTextError:
        return self._error(
            f"There are two {_PLURALS[what]}, {self._piece(first)} and {self._piece(second)},"
            " where a shot has one.",
            second,
        )

    # One fragment each ------------------------------------------------------------------------

    def _add_name(self, fragment: Fragment) -> None:
        self._put(fragment.rule, fragment, fragment.items[0].name)

    def _add_distance(self, fragment: Fragment) -> None:
        item = fragment.items[-1]
        unit = LENGTH_UNITS.get(item.unit, LENGTH_UNIT_OF[self.source.units])
        piece = self._piece(item)
        if item.number < 0:
            raise self._error(f"The distance {piece} is negative.", item)
        if item.number < LEAST:
            raise self._error(f"The distance {piece} is nothing to hit.", item)
        if item.number > MAX_LENGTH:
            most = f"{MAX_LENGTH:g} {unit}"
            raise self._error(f"The distance {piece} is longer than any hole ({most}).", item)
        self._put("distance", fragment, Length(value=item.number, unit=unit))

    def _add_height(self, fragment: Fragment) -> None:
        item = next(item for item in fragment.items if item.kind in "nlpq")
        way = next((item.kind for item in fragment.items if item.kind in "ude"), "e")
        if item.number < 0 and way != "e":
            raise self._error(
                f"{self._piece(fragment)} has both a minus and a word for up or down.",
                fragment,
                "down 5",
            )
        value = -item.number if way == "d" else item.number
        if abs(value) > MAX_LENGTH:
            raise self._error(
                f"The height {self._piece(fragment)} is more than any hole has.", fragment, "up 5"
            )
        if item.kind in "pq":
            height = Height(value=value, unit="%")
        else:
            unit = LENGTH_UNITS.get(item.unit, LENGTH_UNIT_OF[self.source.units])
            height = Height(value=value, unit=unit)
        self._put("height", fragment, height)

    def _steps(self, fragment: Fragment, example: str) -> float:
        item = next(item for item in fragment.items if item.kind == "n")
        if item.number < 0:
            raise self._error(
                f"The spin {self._piece(fragment)} has a minus; the other way has its own word.",
                fragment,
                example,
            )
        if item.number > MAX_SPIN_STEPS:
            raise self._error(
                f"The spin {self._piece(fragment)} is more than {MAX_SPIN_STEPS:g} steps.",
                fragment,
                example,
            )
        return item.number

    def _add_backspin(self, fragment: Fragment) -> None:
        back = any(item.kind == "B" for item in fragment.items)
        steps = self._steps(fragment, "back 2" if back else "top 2")
        self._put("backspin", fragment, steps if back else -steps)

    def _add_sidespin(self, fragment: Fragment) -> None:
        steps = self._steps(fragment, "side 1 left")
        right = any(item.kind == "R" for item in fragment.items)
        self._put("sidespin", fragment, steps if right else -steps)

    def _add_shape(self, fragment: Fragment) -> None:
        kind = "draw" if any(item.kind == "A" for item in fragment.items) else "fade"
        tilt = next((item.number for item in fragment.items if item.kind in "ng"), None)
        if tilt is not None and not LEAST <= tilt <= MAX_TILT_DEG:
            raise self._error(
                f"{self._piece(fragment)} is not a tilt of above 0 and at most"
                f" {MAX_TILT_DEG:g} degrees.",
                fragment,
                f"{kind} 4",
            )
        self._put("curve", fragment, Curve(kind=kind, tilt_deg=tilt))

    def _add_unread(self, fragment: Fragment) -> None:
        kind = "P" if fragment.rule == "spin" else fragment.items[0].kind
        lacks, more = _LACKS.get(kind, ("was not understood", ""))
        raise self._error(f"{self._piece(fragment)} {lacks}.", fragment, more)

    # All together -----------------------------------------------------------------------------

    def _place_bare_numbers(self) -> None:
        """A bare number is the distance; beside one it is the speed that a wind still lacks."""
        numbers = sorted(self.bare, key=lambda fragment: fragment.items[0].number)
        distance = self.said.get("distance")
        if len(numbers) == 1 and distance is None:
            self._add_distance(numbers[0])
        elif len(numbers) == 1 and self.wind.lacks_speed:
            self.wind.add_bare(numbers[0])
        elif len(numbers) == 2 and distance is None and self._is_speed(*numbers):
            self.wind.add_bare(numbers[0])
            self._add_distance(numbers[1])
        elif numbers:
            first, second = ([distance] if distance else []) + self.bare[: 1 if distance else 2]
            raise self._error(
                f"There are two distances, {self._piece(first)} and {self._piece(second)};"
                " one is enough, and a wind also needs where it comes from.",
                second,
            )

    def _is_speed(self, smaller: Fragment, larger: Fragment) -> bool:
        speed, distance = smaller.items[0].number, larger.items[0].number
        if self.wind.lacks_speed:
            return 0 <= speed <= distance / 2
        return speed == 0 and not self.wind.is_said

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
            f"The {club} has no grade {self._piece(fragment)}; it has {listed(names)}.", fragment
        )
