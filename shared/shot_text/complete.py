"""Finishing a shot text while it is typed: whole texts that begin with what stands there."""

from collections.abc import Iterable, Sequence
from typing import Final

from shared.bag import Bag
from shared.errors import ShotTextError
from shared.kit import SURFACE_KINDS, Club, Kit
from shared.shot_text.grammar import UNREAD, Fragment
from shared.shot_text.lexicon import CATEGORY_WORDS, LEXICON, UNITS
from shared.shot_text.name_index import Entry, index_of, name_part
from shared.shot_text.reader import Reader
from shared.shot_text.tokens import Token, tokenise
from shared.shot_text.write import club_text, example_distance, number_text
from shared.units import (
    LENGTH_UNIT_OF,
    METRES_PER,
    MPS_PER,
    SPEED_UNIT_OF,
    LengthUnit,
    SpeedUnit,
    UnitSystem,
)

MOST: Final = 25  # choices a chat shows
LONGEST: Final = 100  # characters of one choice

DIRECTIONS: Final = ("into", "helping", "off the left", "off the right")
CLOCK: Final = tuple(f"from {hour}" for hour in range(1, 13))
EXTRAS: Final = (
    *("up 5", "down 5", "up 10%", "down 10%", "draw", "fade", "back 2", "top 2"),
    *("onto green", "onto fairway"),
)
SIDES: Final = ("side 1 left", "side 1 right")
WORDS: Final = (
    *DIRECTIONS,
    "from",
    "calm",
    "up",
    "down",
    "back",
    "top",
    "side",
    "draw",
    "fade",
    "ball",
    "onto",
)
# What may follow a word that can't stand alone, by its kind.
FOLLOWS: Final[dict[str, tuple[str, ...]]] = {
    "from": (*(hour.removeprefix("from ") for hour in CLOCK), "the left", "the right"),
    "off": ("the left", "the right"),
    **dict.fromkeys(("up", "down"), ("3", "5", "10", "5%", "10%")),
    **dict.fromkeys(("back", "top"), ("1", "2", "3")),
    "side": ("1 left", "1 right", "2 left", "2 right"),
    "onto": ("green", *(kind for kind in SURFACE_KINDS if kind != "green")),
}
WINDS: Final[dict[SpeedUnit, tuple[str, ...]]] = {
    "mph": ("2", "4", "6", "8", "10", "12", "15"),
    "m/s": ("1", "2", "3", "4", "5", "6", "7"),
    "km/h": ("3", "6", "10", "12", "15", "20", "25"),
    "kn": ("2", "4", "6", "8", "10", "12", "14"),
}
LIKELY_WIND_MPS: Final = 20.0  # above it a bare number is not offered as a wind
STEP: Final = 5.0  # between the distances offered, yards or metres
MOST_NAMES: Final = 4  # tokens of a name looked back over


def complete(
    text: str, *, kit: Kit, bag: Bag | None = None, units: UnitSystem = "yards"
) -> list[str]:
    """Texts that finish the next word of ``text``, likeliest first, the bag's clubs before others.

    At most 25, each of at most 100 characters and beginning with what was typed, save for a name
    that is being finished. No error: what can't be read has no suggestions.
    """
    if len(text) > LONGEST:
        return []
    completion = _Completion(kit=kit, bag=bag or Bag(), units=units)
    if not text.strip(" ,"):
        found = completion.starts()
    else:
        found = [*completion.unfinished(text), *completion.following(text)]
    unlike = dict.fromkeys(choice for choice in found if choice != text and len(choice) <= LONGEST)
    return list(unlike)[:MOST]


class _Completion:
    """The suggestions for one member's kit, bag and units."""

    def __init__(self, *, kit: Kit, bag: Bag, units: UnitSystem) -> None:
        self.kit = kit
        self.bag = bag
        self.units: UnitSystem = units
        self.reader = Reader(kit, units)
        self._read: dict[str, list[Fragment]] = {}
        owned = [club for club in kit.clubs if club.name in bag.grades]
        self.clubs = [*owned, *(club for club in kit.clubs if club not in owned)]
        self.speed_unit: SpeedUnit = SPEED_UNIT_OF[units]
        self.length_unit: LengthUnit = LENGTH_UNIT_OF[units]

    def starts(self) -> list[str]:
        """For an empty text: a whole question, then winds, then clubs."""
        club = self.clubs[0] if self.bag.grades else self.kit.clubs[len(self.kit.clubs) // 2]
        distance = example_distance(club, self._grade(club), self.units)
        wind = f"{WINDS[self.speed_unit][3]} {self.speed_unit} from 2"
        whole = f"{wind}, {club_text(club.name)}, {number_text(distance.value)}"
        return [whole, *self._winds(), *(club_text(own.name) for own in self.clubs)]

    # The word being typed ---------------------------------------------------------------------

    def unfinished(self, text: str) -> Iterable[str]:
        """What the last word may become."""
        tokens = tokenise(text)
        if not tokens:
            return
        if tokens[-1].text in CATEGORY_WORDS:
            yield from (f"{text.rstrip()} {name}" for name in self._called(tokens[-1].text))
            return
        if tokens[-1].end != len(text):
            return
        before = tokens[-2].text if len(tokens) > 1 else ""
        number = tokens[-1].kind == "number"
        if not (number and LEXICON.get(before, ("filler", 0.0))[0] in FOLLOWS):
            yield from self._names_begun(text, tokens)
        head = text[: tokens[-1].start]
        choices: Iterable[str]
        if number and before == "from":
            choices = [hour.removeprefix("from ") for hour in CLOCK]
        elif number:
            fragments = self._fragments(head)
            choices = () if "distance" in _rules(fragments) else self._distances(fragments)
        elif before == "onto":
            choices = FOLLOWS["onto"]
        else:
            counted = len(tokens) > 1 and tokens[-2].kind == "number"
            choices = [*WORDS, *(self._units() if counted else ())]
        word = tokens[-1].text
        yield from (head + choice for choice in choices if choice.startswith(word))

    def _called(self, category: str) -> list[str]:
        if category == "club":
            return [club.name for club in self.clubs]
        if category == "ball":
            return [ball.name for ball in self.kit.balls]
        return list(dict.fromkeys(grade.name for club in self.clubs for grade in club.grades))

    def _names_begun(self, text: str, tokens: Sequence[Token]) -> Iterable[str]:
        """The text with its last few words made a name, for each name that they begin."""
        unit = tokens[-1].text in UNITS and len(tokens) > 1 and tokens[-2].kind == "number"
        for count in range(min(MOST_NAMES, len(tokens)), int(unit), -1):
            last = tokens[-count:]
            pieces = [piece for piece in map(name_part, last) if piece]
            if not name_part(last[0]) or (
                count == 1 and last[0].kind == "word" and last[0].attached
            ):
                continue
            head = text[: last[0].start]
            found = self._beginning(pieces)
            if found:
                said = _rules(self._fragments(head))
                yield from (head + _label(e) for e in found if e.category not in said)
                return

    def _beginning(self, pieces: Sequence[str]) -> list[Entry]:
        """The names that what is typed begins, those of the bag first."""
        typed = "".join(pieces)
        word = pieces[0] if len(pieces) == 1 and pieces[0].isalpha() else ""
        if word in LEXICON:
            return []
        found = [
            entry
            for entry in index_of(self.kit).entries
            if (entry.key.startswith(typed) and (entry.label == entry.name or entry.key == typed))
            or (word and any(piece.startswith(word) for piece in entry.parts))
        ]
        order = {club.name: place for place, club in enumerate(self.clubs)}
        found.sort(key=lambda entry: order.get(entry.name, len(order)))
        return found

    def _units(self) -> tuple[str, ...]:
        return (self.speed_unit, self.length_unit, "mph", "m/s", "km/h", "kn", "yd", "m", "ft")

    # What may come next -----------------------------------------------------------------------

    def following(self, text: str) -> Iterable[str]:
        """What may stand behind the text as it is, its last name written out."""
        fragments = [part for part in self._fragments(text) if part.rule != "nothing"]
        typed = text.rstrip()
        if not fragments or typed[-1] in "-+(":
            return
        last, said = fragments[-1], _rules(fragments)
        apart = typed.endswith(",")
        if not apart:
            yield from (f"{typed} {more}" for more in self._more(last, said))
        if any(fragment.rule == UNREAD for fragment in fragments):
            return
        if last.rule in ("club", "ball") and last.end == len(typed):
            name = next(item.name for item in last.items if item.name)
            typed = typed[: last.start] + (club_text(name) if last.rule == "club" else name)
        blank = " " if apart else ", "
        yield from (typed + blank + more for more in self._parts(fragments, said))

    def _more(self, last: Fragment, said: set[str]) -> Iterable[str]:
        """What carries on the last thing said."""
        if last.rule == UNREAD:
            return FOLLOWS.get(last.items[-1].kind, ())
        if last.rule == "wind" and "direction" not in said:
            return (*DIRECTIONS, *CLOCK)
        if last.rule == "wind" and "speed" not in said:
            return [f"{speed} {self.speed_unit}" for speed in WINDS[self.speed_unit]]
        if last.rule != "number":
            return ()
        more: list[str] = []
        speed = last.number.number * MPS_PER[self.speed_unit]
        if "wind" not in said and 0 <= speed <= LIKELY_WIND_MPS:
            more += [f"{self.speed_unit} {way}" for way in (*DIRECTIONS, *CLOCK)]
        if "distance" not in said:
            more.append(self.length_unit)
        return more

    def _parts(self, fragments: Sequence[Fragment], said: set[str]) -> Iterable[str]:
        """New parts: what a question lacks first, then what it may have besides."""
        numbers = sum(fragment.rule == "number" for fragment in fragments)
        half = "wind" in said and not said >= {"direction", "speed"}
        if half and numbers == 0:
            return
        if "wind" not in said:
            yield from self._winds()
        if "club" not in said:
            yield from (club_text(club.name) for club in self.clubs)
        if "distance" not in said and numbers == 0:
            yield from self._distances(fragments)
        if said >= {"wind", "club"}:
            kinds = {word: LEXICON[word.split()[0]][0] for word in (*EXTRAS, *SIDES)}
            rules = {
                "up": "height",
                "down": "height",
                "draw": "shape",
                "fade": "shape",
                "side": "sidespin",
                "onto": "onto",
            }
            for word, kind in kinds.items():
                if rules.get(kind, "backspin") not in said:
                    yield word
            if "ball" not in said:
                yield from (f"ball {ball.name}" for ball in self.kit.balls)

    def _winds(self) -> list[str]:
        return [f"{speed} {self.speed_unit}" for speed in WINDS[self.speed_unit]] + ["calm"]

    def _distances(self, fragments: Sequence[Fragment]) -> Iterable[str]:
        """Distances in steps of five from the club's full carry down to its shortest."""
        name = next((part.items[-1].name for part in fragments if part.rule == "club"), None)
        club = next((club for club in self.kit.clubs if club.name == name), None)
        if club is None:
            return
        grade = club.grade(self._grade(club))
        metres = METRES_PER[self.length_unit]
        distance = grade.full_m / metres // STEP * STEP
        while distance > 0 and distance * metres >= grade.short_m:
            yield number_text(distance)
            distance -= STEP

    def _grade(self, club: Club) -> str | None:
        """The bag's grade of the club, None where it has none that the kit knows."""
        grade = self.bag.grades.get(club.name)
        return grade if any(own.name == grade for own in club.grades) else None

    # What stands there ------------------------------------------------------------------------

    def _fragments(self, text: str) -> list[Fragment]:
        """The parts of the text, none where it can't be read; each text is read once."""
        if text not in self._read:
            try:
                self._read[text] = self.reader.fragments(text)
            except ShotTextError:
                self._read[text] = []
        return self._read[text]


def _rules(fragments: Iterable[Fragment]) -> set[str]:
    """The rules said; for the wind also which half of it: "speed", "direction"."""
    said: set[str] = set()
    for fragment in fragments:
        said.add("wind" if fragment.rule == "calm" else fragment.rule)
        if fragment.rule == "calm":
            said |= {"speed", "direction"}
        if fragment.speed is not None:
            said.add("speed")
        if fragment.direction:
            said.add("direction")
    return said


def _label(entry: Entry) -> str:
    return club_text(entry.name) if entry.category == "club" else entry.name
