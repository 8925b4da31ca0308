"""The error tree. Errors carry data; one place in bot/ turns them into words for people.

LeewardError
├── InputError               what a person typed or sent; ``sentence`` and ``example`` are for them
│   ├── ShotTextError        part of a shot text that cannot be read, with its place
│   ├── KitFileError         a kit (or book) file that cannot be used, with its line and field
│   └── DivisionUnknownError who asks has not said in which division they play
├── EngineError              the calculation has no answer
│   ├── OutOfReachError      the target is not among the carries the club can be set up for
│   │   └── UnreachableShotError   the same for a member's shot, with what would reach
│   ├── TargetHeightError    the target is too high or too low for any swing of the club
│   ├── TooStrongWindError   no aim holds the ball against this wind
│   └── NotConvergedError    the solve stopped before it was good enough
└── StorageError             what must last could not be kept
"""

from dataclasses import dataclass, field

GONE = "This button is not from here any more."  # pressed under a message that asks nothing known


class LeewardError(Exception):
    """Root of every error Leeward raises on purpose."""


@dataclass
class InputError(LeewardError):
    """Something a person gave cannot be used.

    ``sentence`` says what was not understood, ``example`` is a right one, ``given`` is the
    person's own text so that nothing typed is lost; ``asked`` is the field of a form or the option
    of a command it was typed into, where whoever raises knows.
    """

    sentence: str
    example: str
    given: str = ""
    asked: str = field(default="", kw_only=True)

    def __str__(self) -> str:
        return f"{self.sentence} For example: {self.example}"


@dataclass
class ShotTextError(InputError):
    """A part of a shot text that cannot be read: ``start`` and ``end`` are places in ``given``.

    ``suggestions`` are whole texts that can be read, at most three, one of which may be meant.
    """

    start: int = 0
    end: int = 0
    suggestions: tuple[str, ...] = ()


@dataclass
class KitFileError(InputError):
    """A file that cannot be used: ``file`` its name, ``line`` counted from 1, ``field`` dotted."""

    file: str = ""
    line: int = 0
    field: str = ""

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line or "", self.field) if part)
        return f"{place}: {self.sentence} For example: {self.example}"


class DivisionUnknownError(InputError):
    """The answer depends on the division, and who asks never said theirs in ``event``."""

    def __init__(self, event: str, divisions: tuple[str, ...]) -> None:
        super().__init__(
            "Which division do you play in? Winds and lines are those of your division.",
            f"/me division division:{divisions[0]}",
        )
        self.event, self.divisions = event, divisions


@dataclass
class EngineError(LeewardError):
    """The calculation has no answer; ``reason`` is one clause in plain words.

    ``example`` is a question like the one asked that has an answer, where whoever raises knows one.
    """

    reason: str
    example: str = field(default="", kw_only=True)

    def __str__(self) -> str:
        return self.reason


@dataclass
class OutOfReachError(EngineError):
    """The shot would have to carry ``needed_m``; the club carries ``least_m`` to ``most_m``."""

    needed_m: float
    least_m: float
    most_m: float


@dataclass
class UnreachableShotError(OutOfReachError):
    """A member's shot that its club can't be set up for; ``reaching`` names what would reach.

    ``windy`` says that a wind blew.
    """

    club: str
    grade: str
    distance_m: float
    reaching: tuple[str, ...]
    windy: bool = field(default=True, kw_only=True)


@dataclass
class TargetHeightError(EngineError):
    """No swing of the club comes down on a target ``height_m`` up (negative: down), wind or not."""

    club: str
    grade: str
    distance_m: float
    height_m: float
    reaching: tuple[str, ...]


@dataclass
class TooStrongWindError(EngineError):
    """No aim holds the ball; the best try missed by ``miss_m``; ``reaching`` would hold it."""

    speed_mps: float
    miss_m: float
    reaching: tuple[str, ...] = ()


@dataclass
class NotConvergedError(EngineError):
    """The solve stopped after ``iterations`` with ``miss_m`` still to go."""

    iterations: int
    miss_m: float


class StorageError(LeewardError):
    """What must last could not be kept or read."""
