"""A community's own names, for examples: its cup, divisions and rounds. Knows no Discord."""

from dataclasses import dataclass

from shared.book import Event

LONGEST = 56  # of a name that gets a number


@dataclass(frozen=True)
class CupWords:
    """What examples name: the cup that is current, or common words where none is."""

    event: str = "Spring Cup"
    divisions: tuple[str, ...] = ("First", "Second")
    rounds: tuple[str, ...] = ("Saturday", "Sunday")

    @classmethod
    def of(cls, event: Event) -> "CupWords":
        """An event's."""
        return cls(event.name, event.divisions, event.rounds)


def next_name(name: str) -> str:
    """A name like this one that is not it: 'Spring Cup 2', 'Spring Cup 3'."""
    before, _, number = name.rpartition(" ")
    if before and number.isdecimal():
        return f"{before} {int(number) + 1}"
    return f"{name[:LONGEST].rstrip()} 2"
