"""A community as a plain value: what is kept of it, for holding what happened against."""

from dataclasses import dataclass, replace
from typing import Any


@dataclass(frozen=True, order=True)
class Shot:
    """A result that stands: the press that logged it, the one that corrected it last."""

    press: int
    last: int
    club: str
    holed: bool
    long_cm: int
    weight: float = 1.0
    left_out: str = ""


@dataclass(frozen=True)
class State:
    """Everything that is kept of a community."""

    shots: frozenset[Shot] = frozenset()
    presses: frozenset[int] = frozenset()
    bags: frozenset[tuple[int, str, str]] = frozenset()  # member, club, grade
    votes: frozenset[tuple[int, int]] = frozenset()  # member, answer
    is_open: bool = True
    frozen: frozenset[tuple[str, str]] = frozenset()  # club, reason
    decisions: tuple[tuple[str, str], ...] = ()  # what, reason; oldest first
    line: tuple[str, ...] = ()
    log: tuple[str, ...] = ()
    series: tuple[str, ...] = ()

    def shot(self, press: int) -> Shot | None:
        """What stands of the result that a press logged."""
        return next((each for each in self.shots if each.press == press), None)

    def with_shots(self, gone: list[Shot], new: list[Shot], **others: Any) -> "State":
        return replace(self, shots=(self.shots - set(gone)) | set(new), **others)

    def decided(self, what: str, why: str, **others: Any) -> "State":
        return replace(self, decisions=(*self.decisions, (what, why)), **others)
