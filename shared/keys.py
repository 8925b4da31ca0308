"""Keys of the book as text: ``cup-0a1b2c3d4e`` an event, then ``/04`` its hole 4, ``/A`` a line.

Everything kept about an event, a hole or a line stands under these texts, and so do the messages
about them, so the text form is not to change. Whoever needs a part of one parses it here.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import ClassVar, Self

MOST_NUMBER = 99  # two digits, so that keys sort as numbers do
MEASURED = "measure"
VARIANT = r"[A-Z]|S[1-9][0-9]?"
MOST_SHARED = 99  # of a hole
_LONGEST_SLUG = 40


@dataclass(frozen=True, slots=True)
class EventKey:
    """The key of an event. Raises ValueError for a text that is none."""

    kind: ClassVar[str] = "event"
    text: str

    def __post_init__(self) -> None:
        if not self.text or "/" in self.text:
            raise ValueError(f"no key of an event: {self.text!r}")

    @classmethod
    def of(cls, name: str) -> Self:
        """The key of the event of that name: readable, and the same for a name in capitals."""
        folded = " ".join(name.casefold().split())
        slug = re.sub(r"[^a-z0-9]+", "-", folded).strip("-")[:_LONGEST_SLUG]
        return cls(f"{slug}-{hashlib.sha256(folded.encode()).hexdigest()[:10]}")

    @property
    def slug(self) -> str:
        """The readable part: the name in small letters, digits and hyphens; may be empty."""
        return self.text.rpartition("-")[0]

    @property
    def prefix(self) -> str:
        """What the keys of its holes and lines begin with, and no other's."""
        return f"{self}/"

    def hole(self, number: int) -> "HoleKey":
        """The key of its hole of that number."""
        return HoleKey(self, number)

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class HoleKey:
    """The key of a hole. Raises ValueError for a number beyond two digits."""

    kind: ClassVar[str] = "hole"
    event: EventKey
    number: int

    def __post_init__(self) -> None:
        if not 1 <= self.number <= MOST_NUMBER:
            raise ValueError(f"no number of a hole: {self.number}")

    @classmethod
    def parse(cls, text: str) -> Self:
        """A text as the key it is. Raises ValueError for any other."""
        event, _, number = text.rpartition("/")
        if not re.fullmatch(r"[0-9]{2}", number):
            raise ValueError(f"no key of a hole: {text!r}")
        return cls(EventKey(event), int(number))

    @property
    def prefix(self) -> str:
        """What the keys of its lines begin with, and no other's."""
        return f"{self}/"

    def line(self, variant: str) -> "LineKey":
        """The key of its line of that letter."""
        return LineKey(self, variant)

    def __str__(self) -> str:
        return f"{self.event}/{self.number:02d}"


@dataclass(frozen=True, slots=True)
class LineKey:
    """The key of a line. Raises ValueError for what is no variant."""

    kind: ClassVar[str] = "line"
    hole: HoleKey
    variant: str

    def __post_init__(self) -> None:
        if not is_variant(self.variant):
            raise ValueError(f"no variant of a line: {self.variant!r}")

    @classmethod
    def parse(cls, text: str) -> Self:
        """A text as the key it is. Raises ValueError for any other."""
        hole, _, variant = text.rpartition("/")
        return cls(HoleKey.parse(hole), variant)

    def __str__(self) -> str:
        return f"{self.hole}/{self.variant}"


BookKey = EventKey | HoleKey | LineKey


def is_variant(text: str) -> bool:
    """Whether a text names a line: a coach's letter, or S and a number for a shared one."""
    return re.fullmatch(VARIANT, text) is not None


def is_shared(variant: str) -> bool:
    """Whether it names a line that a member shared and no coach has taken in."""
    return len(variant) > 1


def variant_order(variant: str) -> tuple[int, str]:
    """What sorts a hole's lines: the coach's by letter, then the shared ones by number."""
    return int(variant[1:] or 0), variant


def hole_played(text: str) -> HoleKey | None:
    """The hole of a result kept under this hole key; None for a measured shot, played on none.

    Raises ValueError for a text that is neither.
    """
    return None if text == MEASURED else HoleKey.parse(text)


def measured_line(club: str) -> str:
    """What stands for the line of a measured shot: its club's series."""
    return f"{MEASURED}/{club}"


def note_key(hole: HoleKey) -> str:
    """The key of the message that is a hole's note."""
    return f"note/{hole}"


def share_key(line: LineKey) -> str:
    """The key of the message that shows a shared line."""
    return f"share/{line}"


def outcome_key(poll_id: int) -> str:
    """The key of the message that tells a poll's outcome."""
    return f"poll/{poll_id}/outcome"


def names_key(poll_id: int) -> str:
    """The key of the message that says what lines in a poll are named by now."""
    return f"poll/{poll_id}/names"


def hole_told(message_key: str) -> HoleKey | None:
    """The hole that the message under this key is about; None for one about no hole."""
    kind, _, about = message_key.partition("/")
    if kind == "note":
        return HoleKey.parse(about)
    return LineKey.parse(about).hole if kind == "share" else None
