"""The book: events with divisions and rounds, their holes, and each hole's lines.

One event is one TOML file. Shots and winds stand in it as shot text; ``bot.book`` checks them
against the kit. A line is an ordered list of shots from tee to hole, in the wind and with the bag
it was tested in; the lines of one hole are its variants A, B, ...
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Literal, cast, get_args

from pydantic import AfterValidator, Field, field_validator, model_validator

from shared.keys import MOST_SHARED, VARIANT, EventKey, HoleKey, variant_order
from shared.model import Model
from shared.toml_file import DATE
from shared.units import UnitSystem


def _text(value: str) -> str:
    """Lines end in a line feed and blanks at the end of a line go; NUL and its kin are refused."""
    lines = [line.rstrip() for line in value.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    text = "\n".join(lines).strip("\n").replace("\t", " ")
    for letter in text:
        if letter != "\n" and unicodedata.category(letter) in ("Cc", "Cs"):
            raise ValueError(f"the character U+{ord(letter):04X} can't be shown")
    return text


def _one_line(value: str) -> str:
    return " ".join(_text(value).split())


def _title(value: str) -> str:
    """One line with single blanks that shows at least one letter, digit or picture."""
    title = _one_line(value)
    if not any(unicodedata.category(letter)[0] in "LNS" for letter in title):
        raise ValueError("write a name that can be seen")
    return title


Title = Annotated[str, Field(max_length=60), AfterValidator(_title)]
Text = Annotated[str, Field(max_length=600), AfterValidator(_text)]
ShotText = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_one_line)]
Variant = Annotated[str, Field(pattern=rf"^({VARIANT})$")]
Yards = Annotated[float, Field(ge=0, le=200)]
Distance = Annotated[float, Field(ge=0, le=900)]
Status = Literal["idea", "tested", "recommended", "retired"]

STATUSES: tuple[Status, ...] = get_args(Status)
BEST_FIRST: tuple[Status, ...] = ("recommended", "tested", "idea", "retired")

MOST_SHOTS = 8
MOST_LETTERS = 26
MOST_LINES = MOST_LETTERS + MOST_SHARED


class Room(Model):
    """How far the ball may land from the target and still be fine, in yards; None is no limit."""

    short_yd: Yards | None = None
    long_yd: Yards | None = None
    left_yd: Yards | None = None
    right_yd: Yards | None = None


class Worked(Model):
    """The allowance that worked when the line was tested: right + and long +."""

    right: Annotated[float, Field(ge=-200, le=200)] = 0.0
    long: Annotated[float, Field(ge=-200, le=200)] = 0.0
    unit: Literal["marks", "yd"] = "marks"


class LineShot(Model):
    """One shot of a line.

    ``shot`` is shot text: club, grade, distance, height, ball, spin, shape; a wind in it is the one
    this shot was tested in, else the line's holds. ``leaves_yd`` is the window of distance to the
    hole that the shot should leave.
    """

    shot: ShotText
    worked: Worked | None = None
    room: Room | None = None
    leaves_yd: tuple[Distance, Distance] | None = None
    note: Text = ""

    @field_validator("leaves_yd")
    @classmethod
    def _window(cls, window: tuple[float, float] | None) -> tuple[float, float] | None:
        if window is not None and window[0] > window[1]:
            raise ValueError("give the window as [least, most]")
        return window


class Line(Model):
    """One variant of a hole. ``divisions`` names those it is for; none named is all.

    ``copied`` names the line it was copied from until it is tested itself. ``shared_as`` is what
    it was named when a member shared it; ``waiting`` says that a coach has yet to approve it.
    """

    variant: Variant
    title: Title | None = None
    status: Status = "idea"
    author: Title = "unknown"
    divisions: tuple[Title, ...] = ()
    wind: ShotText
    shots: Annotated[tuple[LineShot, ...], Field(min_length=1, max_length=MOST_SHOTS)]
    notes: Text = ""
    copied: Title | None = None
    shared_as: Variant | None = None
    waiting: bool = False

    @property
    def retired(self) -> bool:
        """Whether members are not shown it: not any more, or not yet."""
        return self.status == "retired" or self.waiting

    @property
    def rank(self) -> int:
        """The place of its status among all, from 0 for the best."""
        return BEST_FIRST.index(self.status)

    @property
    def order(self) -> tuple[int, int, str]:
        """What sorts lines best status first, then by letter, shared ones last."""
        return self.rank, *variant_order(self.variant)

    def is_for(self, division: str | None) -> bool:
        """Whether it is for a division; every line is for None, which stands for all."""
        return division is None or not self.divisions or division in self.divisions


class HoleWind(Model):
    """The wind of a hole for a division and a round, as shot text."""

    division: Title
    round: Title
    wind: ShotText


Par = Annotated[int, Field(ge=3, le=6)]
Length = Annotated[float, Field(gt=0, le=900)]


class Tee(Model):
    """The par and length of a hole from a division's tee; None is the hole's own."""

    division: Title
    par: Par | None = None
    yards: Length | None = None


class Hole(Model):
    """A hole: number, par, yardage, bearing (degrees clockwise from north), winds and lines.

    ``tees`` are those of divisions that play it otherwise. ``played`` are the keys it had in
    earlier events, whose results count here too.
    """

    number: Annotated[int, Field(ge=1, le=18)]
    name: Title | None = None
    par: Par
    yards: Length
    tees: tuple[Tee, ...] = ()
    bearing_deg: Annotated[float, Field(ge=0, lt=360)] | None = None
    winds: tuple[HoleWind, ...] = ()
    played: Annotated[tuple[ShotText, ...], Field(max_length=20)] = ()
    lines: Annotated[tuple[Line, ...], Field(max_length=MOST_LINES)] = ()

    @field_validator("lines")
    @classmethod
    def _in_order(cls, lines: tuple[Line, ...]) -> tuple[Line, ...]:
        return tuple(sorted(lines, key=lambda line: variant_order(line.variant)))

    @model_validator(mode="after")
    def _unique(self) -> "Hole":
        _refuse_repeated("line", [line.variant for line in self.lines])
        _refuse_repeated("wind", [f"{wind.division}, {wind.round}" for wind in self.winds])
        _refuse_repeated("tee of the division", [tee.division for tee in self.tees])
        return self

    def from_tee(self, division: str | None) -> "Hole":
        """The hole with the par and length a division plays (None: as it stands)."""
        tee = next((each for each in self.tees if each.division == division), None)
        if tee is None:
            return self
        return self.model_copy(
            update={"par": tee.par or self.par, "yards": tee.yards or self.yards}
        )

    def line(self, variant: str) -> Line | None:
        """The line of that letter, or None; a shared one also by the name it had before."""
        own = next((line for line in self.lines if line.variant == variant), None)
        return own or next((line for line in self.lines if line.shared_as == variant), None)

    @property
    def in_use(self) -> tuple[Line, ...]:
        """The lines that are not retired, by letter."""
        return tuple(line for line in self.lines if not line.retired)

    def lines_for(self, division: str | None) -> list[Line]:
        """What a division (None: all) sees of the lines: best status first, none retired."""
        seen = (line for line in self.in_use if line.is_for(division))
        return sorted(seen, key=lambda line: line.order)

    def wind(self, *, division: str, round_: str) -> str | None:
        """The wind's text for a division and a round, or None where it isn't known."""
        for wind in self.winds:
            if (wind.division, wind.round) == (division, round_):
                return wind.wind
        return None


class RoundStart(Model):
    """When a round begins; a time without a zone is UTC."""

    round: Title
    at: datetime

    @field_validator("at", mode="before")
    @classmethod
    def _of_a_file(cls, at: object) -> object:
        """A date as a file has it, written as TOML's own or as text."""
        if not isinstance(at, dict):
            return at
        given = cast("dict[str, object]", at)
        return datetime.fromisoformat(str(given.get(DATE, "")))

    @field_validator("at")
    @classmethod
    def _utc(cls, at: datetime) -> datetime:
        return at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)


class Event(Model):
    """A cup: its divisions, its rounds in order, and 1 to 18 holes, any of 1 to 18.

    ``units`` are those of what is published, ``starts`` when rounds begin, where that is known.
    """

    name: Title
    divisions: Annotated[tuple[Title, ...], Field(min_length=1, max_length=25)]
    rounds: Annotated[tuple[Title, ...], Field(min_length=1, max_length=25)]
    units: UnitSystem = "yards"
    starts: tuple[RoundStart, ...] = ()
    holes: Annotated[tuple[Hole, ...], Field(min_length=1, max_length=18)]

    @field_validator("holes")
    @classmethod
    def _in_order(cls, holes: tuple[Hole, ...]) -> tuple[Hole, ...]:
        return tuple(sorted(holes, key=lambda hole: hole.number))

    @model_validator(mode="after")
    def _consistent(self) -> "Event":
        _refuse_repeated("division", list(self.divisions))
        _refuse_repeated("round", list(self.rounds))
        _refuse_repeated("start of the round", [start.round for start in self.starts])
        for start in self.starts:
            if start.round not in self.rounds:
                raise ValueError(f"the event has no round {start.round!r} to begin")
        numbers = [hole.number for hole in self.holes]
        if len(set(numbers)) != len(numbers):
            raise ValueError("an event has each of its holes once")
        for hole in self.holes:
            for wind in hole.winds:
                _refuse_unknown("division", wind.division, self.divisions, hole.number)
                _refuse_unknown("round", wind.round, self.rounds, hole.number)
            for tee in hole.tees:
                _refuse_unknown("division", tee.division, self.divisions, hole.number)
            for line in hole.lines:
                for division in line.divisions:
                    _refuse_unknown("division", division, self.divisions, hole.number)
        return self

    @property
    def key(self) -> EventKey:
        """The key it is kept under."""
        return EventKey.of(self.name)

    def start(self, round_: str) -> datetime | None:
        """When a round begins, or None where that isn't known."""
        return next((start.at for start in self.starts if start.round == round_), None)

    @property
    def hole_keys(self) -> tuple[HoleKey, ...]:
        """The keys of its holes, in order."""
        return tuple(self.key.hole(hole.number) for hole in self.holes)

    @property
    def hole_words(self) -> str:
        """Its holes in words: 'holes 1 to 9', 'hole 4', 'holes 3, 4, 11'."""
        numbers = [hole.number for hole in self.holes]
        if len(numbers) > 1 and numbers == list(range(numbers[0], numbers[-1] + 1)):
            return f"holes {numbers[0]} to {numbers[-1]}"
        return f"{'hole' if len(numbers) == 1 else 'holes'} {', '.join(map(str, numbers))}"

    def hole(self, number: int) -> Hole | None:
        """The hole of that number, or None."""
        return next((hole for hole in self.holes if hole.number == number), None)


def _refuse_repeated(noun: str, names: list[str]) -> None:
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"{noun} {name!r} stands twice")


def _refuse_unknown(noun: str, name: str, known: Sequence[str], hole: int) -> None:
    if name not in known:
        raise ValueError(f"hole {hole} names the {noun} {name!r}, which the event lacks")


@dataclass(frozen=True)
class BookChange:
    """Something of a community's book is not as it was.

    ``holes`` are those whose notes may read otherwise now; ``event`` is the event's name.
    """

    community_id: int
    event: str
    holes: frozenset[int]
